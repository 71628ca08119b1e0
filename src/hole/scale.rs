//! Millimetres to a pixel.

use super::uncertainty::expanded_from_half_width;
use crate::error::{Error, Wanted};
use crate::quantity::Quantity;
use crate::raster::Resolution;

/// A scanner's resolution is taken to hold within this share of itself. Common practice, no source.
const DPI_HALF_WIDTH: f64 = 0.005;

/// Resolutions of a scan that can be believed, in dots per inch: with less a pinhole is some fifteen
/// pixels wide at most, and 72, 96, 180 and 300 are what programs write who have measured nothing.
const BELIEVABLE_DPI: std::ops::RangeInclusive<f64> = 600.0..=20_000.0;

/// Millimetres to a pixel that a picture of a pinhole may have: from a nanometre to a metre.
const MM_PER_PX: std::ops::RangeInclusive<f64> = 1e-6..=1e3;

/// What to do where a picture has no scale.
const NO_SCALE: &str = "give a length that you know in the picture, a scan's resolution, or the spacing of a \
                        rule's lines in it";

/// Where a picture's scale comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum ScaleSource {
    /// A person stated it.
    Stated(Scale),
    /// The picture's file states a resolution.
    Resolution,
    /// The lines of a rule in the picture, neighbours so many mm apart.
    Graduation {
        /// The spacing, in mm.
        spacing_mm: f64,
    },
}

/// Reports a picture whose scale nothing tells.
pub(super) fn no_scale() -> Error {
    Error::not_there(
        "nothing says how many pixels make a millimetre, so no size can be given",
        NO_SCALE,
    )
    .wanting(Wanted::Scale)
}

/// The scale of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Millimetres to a pixel, along the rows and down the columns.
    pub mm_per_px: [f64; 2],
    /// Where that comes from, in words.
    pub source: String,
    /// Expanded (k = 2) uncertainty over the value.
    pub relative_uncertainty: f64,
    /// The lines of the rule that gave it, each from end to end in px of the picture; none without one.
    pub lines_px: Vec<[[f64; 2]; 2]>,
    /// What to bear in mind.
    pub warnings: Vec<String>,
}

impl Scale {
    /// Reads "412 px = 1 mm", or "2400 dpi" (pixels to an inch); with pixels that are not square
    /// "412 x 206 px = 1 mm" or "2400 x 1200 dpi", along the rows first.
    ///
    /// Of a resolution it is assumed that it is the one the picture was scanned at, not changed
    /// since, and that the scanner keeps it within 0.5 % (common practice, no source).
    /// Of a measured length, each end is taken to be known within half a pixel (common practice, no
    /// source): together 0.82 px, k = 2.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) for anything else, and for lengths or numbers that are not positive.
    pub fn read(words: &str) -> Result<Scale, Error> {
        const REMEDY: &str = "write \"412 px = 1 mm\" for a length you measured in the picture, or \
                              \"2400 dpi\" for a scan";
        let wrong = |what: &str| Error::words(words, what, REMEDY);
        let number = |text: &str| match text.trim().parse::<f64>() {
            Ok(value) if value > 0.0 && value.is_finite() => Ok(value),
            _ => Err(wrong(&format!("has no number above zero in \"{}\"", text.trim()))),
        };
        let pair = |text: &str| match text.split_once(['x', '×']) {
            Some((across, down)) => Ok([number(across)?, number(down)?]),
            None => number(text).map(|both| [both; 2]),
        };
        let finite = |scale: Scale| {
            let sound = scale.mm_per_px.iter().all(|mm| MM_PER_PX.contains(mm));
            if sound { Ok(scale) } else { Err(wrong("is the scale of no picture of a pinhole")) }
        };
        if let Some(dpi) = words.trim().strip_suffix("dpi") {
            return finite(Scale::of_resolution(
                pair(dpi)?.map(|dots| dots / 25.4),
                &format!("{} dpi as given", dpi.trim()),
            ));
        }
        let (pixels, length) =
            words.split_once('=').ok_or_else(|| wrong("is not a scale: it has no \"=\""))?;
        let pixels = pixels.trim().strip_suffix("px").map(str::trim).ok_or_else(|| {
            wrong("is not a scale: its left side must be a number of pixels, as in \"412 px\"")
        })?;
        let (counts, length_mm) = (pair(pixels)?, Quantity::Length.read_positive(length)?);
        finite(Scale {
            mm_per_px: counts.map(|count| length_mm / count),
            source: format!("{pixels} px = {} as given", Quantity::Length.write(length_mm)),
            relative_uncertainty: expanded_from_half_width(0.5 * 2f64.sqrt())
                / counts[0].min(counts[1]),
            lines_px: Vec::new(),
            warnings: Vec::new(),
        })
    }

    fn of_resolution(px_per_mm: [f64; 2], source: &str) -> Scale {
        Scale {
            mm_per_px: px_per_mm.map(|count| 1.0 / count),
            source: format!("{source}, taken to hold within 0.5 %"),
            relative_uncertainty: expanded_from_half_width(DPI_HALF_WIDTH),
            lines_px: Vec::new(),
            warnings: Vec::new(),
        }
    }

    /// The scale that a scan's file states, if it can be believed: no camera took it, and it is 600 to
    /// 20 000 dpi. As with a resolution in words, the picture may have been resized since.
    ///
    /// # Errors
    /// A fault when the file states none, or none to believe.
    pub fn of_resolution_stated(stated: Option<&Resolution>) -> Result<Scale, Error> {
        let refuse = |wrong: String| Error::not_there(wrong, NO_SCALE).wanting(Wanted::Scale);
        let Some(stated) = stated else {
            return Err(refuse("states no resolution, so no size can be given".into()));
        };
        let dpi = stated.px_per_mm.map(|count| count * 25.4);
        let words = if (dpi[0] / dpi[1] - 1.0).abs() < 1e-3 {
            format!("{:.0} dpi by {}", dpi[0], stated.stated_by)
        } else {
            format!("{:.0} x {:.0} dpi by {}", dpi[0], dpi[1], stated.stated_by)
        };
        if stated.by_camera {
            return Err(refuse(format!(
                "was taken by a camera, whose {words} says nothing of the hole's size"
            )));
        }
        // A file rounds what it states: 599.4 dpi is 600.
        let believable = |dots: &f64| {
            BELIEVABLE_DPI.contains(&(dots * (1.0 + DPI_HALF_WIDTH)))
                || BELIEVABLE_DPI.contains(&(dots * (1.0 - DPI_HALF_WIDTH)))
        };
        if !dpi.iter().all(believable) {
            return Err(refuse(format!(
                "states {words}, which is what programs write who have measured nothing, or too coarse"
            )));
        }
        let mut scale = Scale::of_resolution(stated.px_per_mm, &words);
        scale.warnings.push(
            "The scale is what the file states: it is wrong if the picture was resized since."
                .into(),
        );
        Ok(scale)
    }

    /// Millimetres to a pixel where a single number must do: the geometric mean, which keeps areas.
    pub fn mean_mm_per_px(&self) -> f64 {
        (self.mm_per_px[0] * self.mm_per_px[1]).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_as_people_write_them() {
        let scale = Scale::read("412 px = 1 mm").unwrap();
        assert!((scale.mm_per_px[0] - 1.0 / 412.0).abs() < 1e-15);
        // Half a pixel at each end, uniform: 2/√3 · √(0.5² + 0.5²) = 0.816 px of 412.
        assert!((scale.relative_uncertainty - 0.8165 / 412.0).abs() < 1e-6);
        let close = |words: &str, mm: [f64; 2]| {
            let found = Scale::read(words).unwrap().mm_per_px;
            assert!((0..2).all(|i| (found[i] - mm[i]).abs() < 1e-15), "{words}: {found:?}");
        };
        close("2400dpi", [25.4 / 2400.0; 2]);
        close("254 px=1 in", [0.1; 2]);
        close("2400 x 1200 dpi", [25.4 / 2400.0, 25.4 / 1200.0]);
        close("412 × 206 px = 1 mm", [1.0 / 412.0, 1.0 / 206.0]);
    }

    #[test]
    fn what_is_no_scale_is_refused() {
        let cases = [
            ("0 px = 1 mm", "above zero"),
            ("NaN px = 1 mm", "above zero"),
            ("-3 dpi", "above zero"),
            ("412 px = 0 mm", "above zero"),
            ("412 px = 1", "no unit"),
            ("412 = 1 mm", "pixels"),
            ("1 mm", "no \"=\""),
            ("1e-320 px = 1 mm", "no picture of a pinhole"),
            ("1e-320 dpi", "no picture of a pinhole"),
            ("1e300 dpi", "no picture of a pinhole"),
            ("412 px = 1 s", "not a unit of length"),
            ("", "no \"=\""),
            ("400 x px = 1 mm", "above zero"),
            ("400 x 0 dpi", "above zero"),
            ("412 px = 1,0 mm", "comma"),
        ];
        for (words, expected) in cases {
            let said = Scale::read(words).unwrap_err().to_string();
            assert!(said.contains(expected), "{words}: {said}");
        }
    }
}
