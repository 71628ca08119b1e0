//! What is said of a hole on the bench: its words or photos, and how they are to be read.

use super::graduation::{contradiction, scale_of_graduation};
use super::scale::Scale;
use crate::error::Error;
use crate::quantity::number_of;
use crate::raster::{self, Raster, Transfer};
use std::path::Path;

/// What is said of a hole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Source {
    /// Its words ("0.34 mm", "4.5 per mm"), or the path of an outline file or photo; several photos
    /// of the same hole.
    pub holes: Vec<String>,
    /// The scale of all photos, or one for each: as [`Scale::read`] takes it, or "auto".
    pub scales: Vec<String>,
    /// The spacing of a rule's lines in the photos, in mm, for the scale "auto".
    pub graduation_mm: Option<f64>,
    /// Where the hole is in all photos, or in each: column and row in pixels from the upper left.
    pub places_px: Vec<[f64; 2]>,
    /// How well a count is read, in diameters: a half-width.
    pub reading: Option<f64>,
    /// How the photos' numbers stand for light.
    pub transfer: Transfer,
}

impl Source {
    /// A hole of which nothing more is said.
    pub fn of(words: impl Into<String>) -> Source {
        Source { holes: vec![words.into()], ..Source::default() }
    }

    /// Whether words are the path of a photo, by their ending.
    pub fn is_photo(words: &str) -> bool {
        raster::is_picture_name(words)
    }

    /// Refuses what does not go together.
    pub(super) fn check(&self) -> Result<(), Error> {
        let photos = self.holes.iter().filter(|words| Source::is_photo(words.trim())).count();
        let all = self.holes.len();
        let name = self.holes.first().map_or("", |words| words.trim());
        if all == 0 {
            return Err(Error::words("", "there is no hole", "give a diameter or a photo"));
        }
        if all > 1 && photos < all {
            return Err(Error::words(
                &self.holes.join(", "),
                "are several holes, and not all of them photos",
                "several photos of one hole are combined; anything else comes alone",
            ));
        }
        let one_or_each = |count: usize| count <= 1 || count == all;
        if !one_or_each(self.scales.len()) || !one_or_each(self.places_px.len()) {
            return Err(Error::words(
                name,
                format!(
                    "comes with {} scales and {} places for {all} photos",
                    self.scales.len(),
                    self.places_px.len()
                ),
                "give one for all photos, or one for each in their order",
            ));
        }
        if photos == 0 {
            let said = [
                (!self.scales.is_empty(), "scale"),
                (self.graduation_mm.is_some(), "graduation"),
                (!self.places_px.is_empty(), "place in pixels"),
            ];
            if let Some((_, what)) = said.iter().find(|said| said.0) {
                return Err(Error::words(
                    name,
                    format!("needs no {what}: that is for photos"),
                    "leave it out, or give a photo (.png .jpg .jpeg .tif .tiff .webp .bmp)",
                ));
            }
        }
        Ok(())
    }

    /// Each as a hole of its own: photos with their scale and place, in the order of the photos.
    ///
    /// # Errors
    /// [`Error::Words`] when scales or places are neither one for all photos nor one for each.
    pub fn each(&self) -> Result<Vec<Source>, Error> {
        let is_photo = |words: &String| Source::is_photo(words.trim());
        let photos: Vec<String> =
            self.holes.iter().filter(|words| is_photo(words)).cloned().collect();
        let of_photos = Source { holes: photos, ..self.clone() };
        if !of_photos.holes.is_empty() {
            of_photos.check()?;
        }
        let mut photo = 0;
        let alone = |words: &String| {
            let bare = Source { reading: self.reading, ..Source::of(words.as_str()) };
            if !is_photo(words) {
                return bare;
            }
            photo += 1;
            let one = |all: &[String]| all.get(photo - 1).or(all.first()).cloned();
            Source {
                scales: one(&self.scales).into_iter().collect(),
                graduation_mm: self.graduation_mm,
                places_px: self.at(photo - 1).into_iter().collect(),
                transfer: self.transfer,
                ..bare
            }
        };
        Ok(self.holes.iter().map(alone).collect())
    }

    pub(super) fn at(&self, index: usize) -> Option<[f64; 2]> {
        self.places_px.get(index).or(self.places_px.first()).copied()
    }
}

/// Reads a place in a picture, "412,300 px": column and row from the upper left corner.
///
/// # Errors
/// [`Error::Words`] for anything else.
pub fn read_place(words: &str) -> Result<[f64; 2], Error> {
    let wrong = || {
        Error::words(
            words,
            "is no place in a picture",
            "write column and row in pixels from the upper left corner, as in \"412,300 px\"",
        )
    };
    let text = words.trim();
    let (x, y) = text.strip_suffix("px").unwrap_or(text).split_once(',').ok_or_else(wrong)?;
    let number =
        |text: &str| text.trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
    Ok([number(x).ok_or_else(wrong)?, number(y).ok_or_else(wrong)?])
}

/// Reads how well a count is read, in diameters: "1/4", "0.1".
///
/// # Errors
/// [`Error::Words`] unless it is above 0 and no more than 2.
pub fn read_reading(words: &str) -> Result<f64, Error> {
    match number_of(words.trim()) {
        Some(share) if share > 0.0 && share <= 2.0 => Ok(share),
        _ => Err(Error::words(
            words,
            "is no part of a diameter",
            "write how far a count may be off, as in \"1/4\" or \"0.1\"",
        )),
    }
}

/// A photo and its scale.
pub(super) fn opened(path: &Path, source: &Source, index: usize) -> Result<(Raster, Scale), Error> {
    let words = source.scales.get(index).or(source.scales.first()).map(|words| words.trim());
    let given = match words {
        Some(words) if words != "auto" => Some(Scale::read(words)?),
        _ => None,
    };
    // Opened before a scale is asked for: a wrong name is the more useful news.
    let picture = raster::open(path, source.transfer)?;
    let scale = match (given, source.graduation_mm, words) {
        (Some(mut scale), spacing_mm, _) => {
            scale.warnings.extend(contradiction(&picture, &scale, spacing_mm));
            scale
        }
        (None, Some(spacing_mm), _) => scale_of_graduation(&picture, spacing_mm, path)?,
        (None, None, Some(_)) => Scale::of_file(path)?,
        (None, None, None) => return Err(no_scale(path)),
    };
    Ok((picture, scale))
}

/// The scale of a scan that was made smaller by `side`, in its own pixels.
pub(super) fn scale_of_scan(
    reduced: &Raster,
    side: usize,
    source: &Source,
    path: &Path,
) -> Result<Scale, Error> {
    match (source.scales.first().map(|words| words.trim()), source.graduation_mm) {
        (Some(words), _) if words != "auto" => Scale::read(words),
        (_, Some(spacing_mm)) => {
            let scale = scale_of_graduation(reduced, spacing_mm, path)?;
            Ok(Scale { mm_per_px: scale.mm_per_px.map(|mm| mm / side as f64), ..scale })
        }
        (Some(_), None) => Scale::of_file(path),
        (None, None) => Err(no_scale(path)),
    }
}

fn no_scale(path: &Path) -> Error {
    Error::file(
        path,
        "nothing says how many pixels make a millimetre, so no size can be given",
        "give the scale: \"412 px = 1 mm\" for a length you know in the picture, \"2400 dpi\" for a \
         scan, or auto with --graduation \"1 mm\" when a rule lies in the picture",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_readings() {
        assert_eq!(read_place("412,300 px").unwrap(), [412.0, 300.0]);
        assert_eq!(read_place(" 4.5 , 3px").unwrap(), [4.5, 3.0]);
        for bad in ["", "412", "a,b", "-3,4 px", "1,2,3", "NaN,1"] {
            assert!(read_place(bad).is_err(), "{bad}");
        }
        assert_eq!(read_reading("1/4").unwrap(), 0.25);
        for bad in ["0", "-1", "3", "x", ""] {
            assert!(read_reading(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn what_does_not_go_together_is_refused() {
        let photos = |count: usize| vec!["a.png".to_owned(); count];
        let scales = |count: usize| vec!["400 px = 1 mm".to_owned(); count];
        let sources = [
            (Source::default(), "no hole"),
            (
                Source { holes: vec!["0.3 mm".into(), "a.png".into()], ..Source::default() },
                "several",
            ),
            (Source { holes: photos(3), scales: scales(2), ..Source::default() }, "2 scales"),
            (Source { scales: scales(1), ..Source::of("0.3 mm") }, "needs no scale"),
            (Source { graduation_mm: Some(1.0), ..Source::of("4 per mm") }, "graduation"),
            (Source { places_px: vec![[1.0, 2.0]], ..Source::of("a.csv") }, "no place"),
        ];
        for (source, expected) in sources {
            let said = source.check().unwrap_err().to_string();
            assert!(said.contains(expected), "{said}");
        }
    }
}
