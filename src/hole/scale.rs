//! Millimetres to a pixel.

use super::uncertainty::expanded_from_half_width;
use crate::error::Error;
use crate::quantity::Quantity;

/// A scanner's resolution is taken to hold within this share of itself. Common practice, no source.
const DPI_HALF_WIDTH: f64 = 0.005;

/// The scale of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Millimetres to a pixel.
    pub mm_per_px: f64,
    /// Where that comes from, in words.
    pub source: String,
    /// Expanded (k = 2) uncertainty over the value.
    pub relative_uncertainty: f64,
}

impl Scale {
    /// Reads "412 px = 1 mm", or "2400 dpi" (pixels to an inch).
    ///
    /// Of a resolution it is assumed that it is the one the picture was scanned at, not changed
    /// since, and that the scanner keeps it within 0.5 % (common practice, no source).
    /// Of a measured length, each end is taken to be known within half a pixel (common practice, no
    /// source): together 0.82 px, k = 2.
    ///
    /// # Errors
    /// [`Error::Words`] for anything else, and for lengths or numbers that are not positive.
    pub fn read(words: &str) -> Result<Scale, Error> {
        const REMEDY: &str = "write \"412 px = 1 mm\" for a length you measured in the picture, or \
                              \"2400 dpi\" for a scan";
        let wrong = |what: &str| Error::words(words, what, REMEDY);
        if words.trim() == "auto" {
            return Err(wrong("is not available yet: the scale is not found by itself"));
        }
        let number = |text: &str| match text.trim().parse::<f64>() {
            Ok(value) if value > 0.0 && value.is_finite() => Ok(value),
            _ => Err(wrong(&format!("has no number above zero in \"{}\"", text.trim()))),
        };
        let finite = |mm_per_px: f64| match mm_per_px {
            scale if scale > 0.0 && scale.is_finite() => Ok(scale),
            _ => Err(wrong("leaves no number of millimetres to a pixel")),
        };
        if let Some(dpi) = words.trim().strip_suffix("dpi") {
            return Ok(Scale {
                mm_per_px: finite(25.4 / number(dpi)?)?,
                source: format!("{} dpi as given, taken to hold within 0.5 %", dpi.trim()),
                relative_uncertainty: expanded_from_half_width(DPI_HALF_WIDTH),
            });
        }
        let (pixels, length) =
            words.split_once('=').ok_or_else(|| wrong("is no scale: no \"=\" stands in it"))?;
        let pixels = pixels.trim().strip_suffix("px").ok_or_else(|| {
            wrong("is no scale: its left side is no number of pixels, as in \"412 px\"")
        })?;
        let (pixels, length_mm) = (number(pixels)?, Quantity::Length.read_positive(length)?);
        Ok(Scale {
            mm_per_px: finite(length_mm / pixels)?,
            source: format!("{pixels} px = {} as given", Quantity::Length.write(length_mm)),
            relative_uncertainty: expanded_from_half_width(0.5 * 2f64.sqrt()) / pixels,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_as_people_write_them() {
        let scale = Scale::read("412 px = 1 mm").unwrap();
        assert!((scale.mm_per_px - 1.0 / 412.0).abs() < 1e-15);
        // Half a pixel at each end, uniform: 2/√3 · √(0.5² + 0.5²) = 0.816 px of 412.
        assert!((scale.relative_uncertainty - 0.8165 / 412.0).abs() < 1e-6);
        assert!((Scale::read("2400dpi").unwrap().mm_per_px - 25.4 / 2400.0).abs() < 1e-15);
        assert!((Scale::read("254 px=1 in").unwrap().mm_per_px - 0.1).abs() < 1e-15);
    }

    #[test]
    fn what_is_no_scale_is_refused() {
        let cases = [
            ("auto", "not available yet"),
            ("0 px = 1 mm", "above zero"),
            ("NaN px = 1 mm", "above zero"),
            ("-3 dpi", "above zero"),
            ("412 px = 0 mm", "above zero"),
            ("412 px = 1", "no unit"),
            ("412 = 1 mm", "pixels"),
            ("1 mm", "no \"=\""),
            ("1e-320 px = 1 mm", "millimetres to a pixel"),
            ("1e-320 dpi", "millimetres to a pixel"),
            ("412 px = 1 s", "no unit of length"),
            ("", "no \"=\""),
            ("412 px = 1,0 mm", "comma"),
        ];
        for (words, expected) in cases {
            let said = Scale::read(words).unwrap_err().to_string();
            assert!(said.contains(expected), "{words}: {said}");
        }
    }
}
