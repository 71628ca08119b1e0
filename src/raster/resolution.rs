//! The resolution that a picture file states.

use crate::quantity::MM_PER_INCH;
use exif::{Exif, In, Tag, Value};
use std::io::Cursor;

/// Describes a resolution that a file states.
#[derive(Debug, Clone, PartialEq)]
pub struct Resolution {
    /// Pixels to a millimetre, along the rows and down the columns of the upright picture.
    pub px_per_mm: [f64; 2],
    /// What states it.
    pub stated_by: &'static str,
    /// Whether the file says that a camera exposed it: its resolution is then a number for printers.
    pub by_camera: bool,
}

/// The resolution that the bytes of a file state: the pHYs chunk of a PNG, else its EXIF or TIFF tags, else
/// the JFIF header of a JPEG. None when they state none, or no unit.
pub(crate) fn stated_resolution(bytes: &[u8]) -> Option<Resolution> {
    let tags = exif::Reader::new().read_from_container(&mut Cursor::new(bytes)).ok();
    let by_camera = tags.as_ref().is_some_and(is_exposed);
    let stated = png_pixels(bytes)
        .map(|px| (px, "the PNG's pHYs chunk"))
        .or_else(|| tags.as_ref().and_then(tag_pixels).map(|px| (px, "the file's tags")))
        .or_else(|| jfif_pixels(bytes).map(|px| (px, "the JPEG's JFIF header")))
        .or_else(|| bmp_pixels(bytes).map(|px| (px, "the BMP's header")));
    stated.filter(|(px, _)| px.iter().all(|n| *n > 0.0 && n.is_finite())).map(
        |(px_per_mm, stated_by)| {
            let turned = tags.as_ref().is_some_and(is_turned);
            let [x, y] = px_per_mm;
            Resolution { px_per_mm: if turned { [y, x] } else { [x, y] }, stated_by, by_camera }
        },
    )
}

/// Pixels to a metre (PNG specification, 11.3.4.3; unit 1 is the metre).
fn png_pixels(bytes: &[u8]) -> Option<[f64; 2]> {
    let reader = png::Decoder::new(Cursor::new(bytes)).read_info().ok()?;
    let density = reader.info().pixel_dims?;
    (density.unit == png::Unit::Meter)
        .then(|| [density.xppu, density.yppu].map(|n| f64::from(n) / 1000.0))
}

/// XResolution, YResolution and their unit: 2 the inch, which is meant when none is stated, 3 the
/// centimetre (TIFF 6.0, section 8).
fn tag_pixels(tags: &Exif) -> Option<[f64; 2]> {
    let number = |tag| match &tags.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(numbers) => numbers.first().map(exif::Rational::to_f64),
        _ => None,
    };
    let unit = tags.get_field(Tag::ResolutionUnit, In::PRIMARY).and_then(|f| f.value.get_uint(0));
    let unit_mm = match unit.unwrap_or(2) {
        2 => MM_PER_INCH,
        3 => 10.0,
        _ => return None,
    };
    Some([number(Tag::XResolution)? / unit_mm, number(Tag::YResolution)? / unit_mm])
}

/// Density of the APP0 segment (ITU-T T.871, 10.1): unit 1 the inch, 2 the centimetre.
fn jfif_pixels(bytes: &[u8]) -> Option<[f64; 2]> {
    let header = bytes.get(..20)?.strip_prefix(b"\xFF\xD8\xFF\xE0")?;
    if header.get(2..7)? != b"JFIF\0" {
        return None;
    }
    let unit_mm = match header.get(9)? {
        1 => MM_PER_INCH,
        2 => 10.0,
        _ => return None,
    };
    let number =
        |at: usize| Some(f64::from(u16::from_be_bytes([*header.get(at)?, *header.get(at + 1)?])));
    Some([number(10)? / unit_mm, number(12)? / unit_mm])
}

/// Pixels to a metre, along and down, at bytes 38 and 42 of a bitmap whose header has 40 bytes or more (the
/// bitmap file format, from memory).
fn bmp_pixels(bytes: &[u8]) -> Option<[f64; 2]> {
    let header = bytes.strip_prefix(b"BM")?.get(..44)?;
    let number = |at: usize| {
        let part = header.get(at - 2..at + 2)?;
        Some(u32::from_le_bytes([part[0], part[1], part[2], part[3]]))
    };
    (number(14)? >= 40).then_some(())?;
    Some([f64::from(number(38)?) / 1000.0, f64::from(number(42)?) / 1000.0])
}

fn is_exposed(tags: &Exif) -> bool {
    let said_by_cameras = [Tag::ExposureTime, Tag::FNumber, Tag::FocalLength];
    said_by_cameras.iter().any(|tag| tags.get_field(*tag, In::PRIMARY).is_some())
}

/// Orientations 5 to 8 stand a quarter turn off (CIPA DC-008, tag 0x0112).
fn is_turned(tags: &Exif) -> bool {
    let field = tags.get_field(Tag::Orientation, In::PRIMARY);
    field.and_then(|f| f.value.get_uint(0)).is_some_and(|n| (5..=8).contains(&n))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stated(bytes: &[u8]) -> Option<Resolution> {
        stated_resolution(bytes)
    }

    fn png_of(density: Option<(u32, u32)>) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, 1, 1);
        encoder.set_pixel_dims(density.map(|(xppu, yppu)| png::PixelDimensions {
            xppu,
            yppu,
            unit: png::Unit::Meter,
        }));
        encoder.write_header().unwrap().write_image_data(&[0]).unwrap();
        bytes
    }

    /// 2400 dpi is 94 488 pixels a metre.
    #[test]
    fn a_png_states_pixels_to_a_metre() {
        let found = stated(&png_of(Some((94_488, 47_244)))).unwrap();
        assert_eq!(found.px_per_mm, [94.488, 47.244]);
        assert!(!found.by_camera);
        assert_eq!(stated(&png_of(None)), None);
    }

    #[test]
    fn a_jpeg_states_it_in_its_header() {
        let header = |unit: u8| {
            let mut bytes = b"\xFF\xD8\xFF\xE0\0\x10JFIF\0\x01\x02".to_vec();
            bytes.extend([unit, 4, 176, 9, 96, 0, 0, 0xFF, 0xD9]);
            bytes
        };
        assert_eq!(stated(&header(1)).unwrap().px_per_mm, [1200.0 / 25.4, 2400.0 / 25.4]);
        assert_eq!(stated(&header(2)).unwrap().px_per_mm, [120.0, 240.0]);
        assert_eq!(stated(&header(0)), None);
    }

    /// 600 dpi is 23 622 pixels a metre.
    #[test]
    fn a_bmp_states_pixels_to_a_metre() {
        let mut bytes = b"BM".to_vec();
        bytes.resize(54, 0);
        bytes[14] = 40;
        bytes[38..42].copy_from_slice(&23_622u32.to_le_bytes());
        bytes[42..46].copy_from_slice(&11_811u32.to_le_bytes());
        assert_eq!(stated(&bytes).unwrap().px_per_mm, [23.622, 11.811]);
    }

    /// A TIFF header with the given tags (TIFF 6.0, section 2): x 1200, y 600 to an inch.
    fn tiff(more: &[[u8; 12]]) -> Vec<u8> {
        let mut entries: Vec<[u8; 12]> = vec![
            *b"\x01\x1a\0\x05\0\0\0\x01\0\0\x01\0",
            *b"\x01\x1b\0\x05\0\0\0\x01\0\0\x01\x08",
            *b"\x01\x28\0\x03\0\0\0\x01\0\x02\0\0",
        ];
        entries.extend(more);
        entries.sort_unstable();
        let mut bytes = b"MM\0\x2a\0\0\0\x08".to_vec();
        bytes.extend((entries.len() as u16).to_be_bytes());
        bytes.extend(entries.concat());
        bytes.resize(256, 0);
        for number in [1200u32, 1, 600, 1] {
            bytes.extend(number.to_be_bytes());
        }
        bytes
    }

    #[test]
    fn tags_are_read_and_turned_with_the_picture() {
        let plain = stated(&tiff(&[])).unwrap();
        assert_eq!((plain.px_per_mm, plain.by_camera), ([1200.0 / 25.4, 600.0 / 25.4], false));
        let turned = stated(&tiff(&[*b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0"])).unwrap();
        assert_eq!(turned.px_per_mm, [600.0 / 25.4, 1200.0 / 25.4]);
    }
}
