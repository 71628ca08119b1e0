//! Numbers as files that NumPy reads (NumPy Enhancement Proposal 1, version 1.0), in C order.

/// A file of float64.
pub fn float64(shape: &[usize], values: impl Iterator<Item = f64>) -> Vec<u8> {
    let mut bytes = header("<f8", shape);
    bytes.extend(values.flat_map(f64::to_le_bytes));
    bytes
}

/// A file of complex128: each value by its real and its imaginary part.
pub fn complex128(shape: &[usize], parts: impl Iterator<Item = [f64; 2]>) -> Vec<u8> {
    let mut bytes = header("<c16", shape);
    bytes.extend(parts.flatten().flat_map(f64::to_le_bytes));
    bytes
}

/// A file of uint8.
pub fn uint8(shape: &[usize], values: &[u8]) -> Vec<u8> {
    let mut bytes = header("|u1", shape);
    bytes.extend(values);
    bytes
}

fn header(kind: &str, shape: &[usize]) -> Vec<u8> {
    let lengths: String = shape.iter().map(|length| format!("{length}, ")).collect();
    let mut header = format!(
        "{{'descr': '{kind}', 'fortran_order': False, 'shape': ({}), }}",
        lengths.trim_end()
    );
    // Magic, version and length take ten bytes; the data begins at a multiple of 64.
    while !(10 + header.len() + 1).is_multiple_of(64) {
        header.push(' ');
    }
    header.push('\n');
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.as_bytes());
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_is_numpys() {
        let bytes = float64(&[2, 3], [0.0; 6].into_iter());
        assert_eq!(&bytes[..8], b"\x93NUMPY\x01\x00");
        let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        assert_eq!(start % 64, 0);
        assert_eq!(bytes.len(), start + 6 * 8);
        let text = String::from_utf8_lossy(&bytes[10..start]);
        assert!(
            text.starts_with("{'descr': '<f8', 'fortran_order': False, 'shape': (2, 3,), }"),
            "{text}"
        );
        assert_eq!(uint8(&[3], &[1, 2, 3]).len(), start + 3);
        assert_eq!(complex128(&[1], [[1.0, 2.0]].into_iter()).len(), start + 16);
    }
}
