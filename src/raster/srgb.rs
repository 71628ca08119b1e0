//! The transfer curve of sRGB. Source: `IEC61966`.

/// Returns the linear light (0..1) of an sRGB value (0..1).
pub fn decode(value: f64) -> f64 {
    if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

/// Returns the sRGB value (0..1) of linear light; what is outside 0..1 is clipped.
pub fn encode(linear: f64) -> f64 {
    let linear = linear.clamp(0.0, 1.0);
    if linear <= 0.003_130_8 { linear * 12.92 } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curve_passes_through_known_values() {
        // W3C CSS Color 4, sample conversion: sRGB 0.5 is linear 0.214041.
        assert!((decode(0.5) - 0.214_041_14).abs() < 1e-8);
        for value in [0.0, 0.02, 0.04045, 0.2, 0.73, 1.0] {
            // The standard's two pieces meet only to about 1e-7.
            assert!((encode(decode(value)) - value).abs() < 1e-6);
        }
    }
}
