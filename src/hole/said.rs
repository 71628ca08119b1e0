//! The words that name a hole, and what they mean: the one place where words become a [`Source`].

use super::outline_file::{self, Form};
use super::scale::{Scale, ScaleSource, no_scale};
use super::source::{Photo, PhotoFile, SheetScan, Source};
use super::trace::{RimBlur, rim_blur};
use crate::error::{Error, Wanted};
use crate::raster::{
    Scan, Transfer, decoded, is_picture_name, not_read, stated_resolution, unread_by_name,
};
use std::path::Path;
use std::sync::Arc;

/// Brings the bytes of a file by its name: from a disk, from what was uploaded, or not at all.
pub type Files<'a> = dyn Fn(&str) -> Result<Vec<u8>, Error> + 'a;

/// What was said of a hole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Said {
    /// Its words ("0.34 mm", "4.5 per mm"), or the name of an outline file or photo; several photos of the
    /// same hole.
    pub holes: Vec<String>,
    /// The scale of all photos, or one for each: as [`Scale::read`] takes it, or "auto".
    pub scales: Vec<String>,
    /// The spacing of a rule's lines in the photos, in mm, for the scale "auto".
    pub graduation_mm: Option<f64>,
    /// Where the hole is in all photos, or in each: column and row in pixels from the upper left.
    pub places_px: Vec<[f64; 2]>,
    /// How well a count is read, in diameters: a half-width.
    pub reading: Option<f64>,
    /// How the photos' pixel values map to light.
    pub transfer: Transfer,
    /// The name of a well exposed photo of the same set-up (camera, distance, focus), of a hole that stands alone in
    /// it: over-exposed holes are then measured better.
    pub blur_from: Option<String>,
}

impl Said {
    /// A hole of which nothing more is said.
    pub fn of(words: impl Into<String>) -> Said {
        Said { holes: vec![words.into()], ..Said::default() }
    }

    /// Whether words are the name of a photo, by their ending.
    pub fn is_photo(words: &str) -> bool {
        is_picture_name(words.trim())
    }

    /// What was meant, its files brought by `files`.
    ///
    /// # Errors
    /// A fault when the words do not go together or name nothing, and when a file cannot be used.
    pub fn source(&self, files: &Files<'_>) -> Result<Source, Error> {
        self.check()?;
        let [words] = &self.holes[..] else {
            return self.photos(files);
        };
        let words = words.trim();
        if Said::is_photo(words) {
            return self.photos(files);
        }
        let Ok(form) = Form::of_name(words) else {
            return Source::of_words(words, self.reading).map_err(|why| self.as_file(why, files));
        };
        let text = files(words).and_then(|bytes| {
            String::from_utf8(bytes)
                .map_err(|_| Error::damaged("is not text in UTF-8", "save it as plain text"))
        });
        text.and_then(|text| outline_file::parse(&text, form))
            .map(Source::Outline)
            .map_err(|why| why.in_file(words))
    }

    fn photos(&self, files: &Files<'_>) -> Result<Source, Error> {
        let bytes_of = |name: &String| files(name.trim()).map_err(|why| why.in_file(name.trim()));
        let mut all = self.holes.iter().map(bytes_of).collect::<Result<Vec<_>, Error>>()?;
        if let ([name], [bytes]) = (&self.holes[..], &mut all[..])
            && Scan::is_needed(bytes)
        {
            let name = name.trim();
            let scale = self.scale_of(0)?.ok_or_else(|| no_scale().in_file(name))?;
            let scan =
                Scan::of(std::mem::take(bytes), self.transfer).map_err(|why| why.in_file(name))?;
            return Ok(Source::Scan(SheetScan { name: name.into(), scan: Arc::new(scan), scale }));
        }
        let blur = self.blur(files)?;
        let photo = |(index, (name, bytes)): (usize, (&String, Vec<u8>))| {
            let name = name.trim();
            let scale = self.scale_of(index)?;
            if self.holes.len() > 1 {
                return Ok(Photo {
                    name: name.into(),
                    resolution: stated_resolution(&bytes),
                    picture: PhotoFile::Closed(bytes, self.transfer),
                    scale: scale.ok_or_else(|| no_scale().in_file(name))?,
                    place_px: self.at(index),
                    blur,
                });
            }
            // Opened before a scale is asked for: a wrong name is the more useful news.
            // Where the bytes say nothing, the name may say what they are.
            let picture = decoded(&bytes, self.transfer)
                .map_err(|why| unread_by_name(name).map_or(why, not_read).in_file(name))?;
            Ok(Photo { blur, ..Photo::of(name, picture, scale, self.at(index))? })
        };
        Ok(Source::Photos {
            photos: self.holes.iter().zip(all).enumerate().map(photo).collect::<Result<_, _>>()?,
            one_scale: self.scales.len() < 2,
        })
    }

    /// The blur of the photo that is named for it.
    fn blur(&self, files: &Files<'_>) -> Result<Option<RimBlur>, Error> {
        let Some(name) = self.blur_from.as_deref().map(str::trim) else { return Ok(None) };
        files(name)
            .and_then(|bytes| decoded(&bytes, self.transfer))
            .and_then(|good| rim_blur(&good.raster, None))
            .map(Some)
            .map_err(|why| why.in_file(name))
    }

    /// Where the scale of a photo comes from, by the words.
    fn scale_of(&self, index: usize) -> Result<Option<ScaleSource>, Error> {
        let words = self.scales.get(index).or(self.scales.first()).map(|words| words.trim());
        Ok(match (words, self.graduation_mm) {
            (None, None) => None,
            (Some(words), _) if words != "auto" => Some(ScaleSource::Stated(Scale::read(words)?)),
            (_, Some(spacing_mm)) => Some(ScaleSource::Graduation { spacing_mm }),
            (Some(_), None) => Some(ScaleSource::Resolution),
        })
    }

    /// A fault about words that may have been meant as a file.
    fn as_file(&self, why: Error, files: &Files<'_>) -> Error {
        let words = self.holes.first().map_or("", |words| words.trim());
        let looks_like_a_file =
            Path::new(words).components().count() > 1 || Path::new(words).extension().is_some();
        if why.wanted() != Some(Wanted::Hole) || words.is_empty() {
            return why;
        }
        let (wrong, remedy) = match files(words) {
            Ok(_) => (
                "is a file of a kind that is not read here",
                "give an outline (.csv .svg), or a photo saved as JPEG, PNG or TIFF",
            ),
            Err(fault) if looks_like_a_file || fault.wrong().contains("folder") => {
                return fault.in_file(words);
            }
            Err(_) => return why,
        };
        Error::words(words, wrong, remedy).wanting(Wanted::Hole)
    }

    /// Refuses what does not go together.
    fn check(&self) -> Result<(), Error> {
        let photos = self.holes.iter().filter(|words| Said::is_photo(words)).count();
        let all = self.holes.len();
        let name = self.holes.first().map_or("", |words| words.trim());
        if all == 0 {
            return Err(Error::not_understood("no hole is named", "give a size or a photo")
                .wanting(Wanted::Hole));
        }
        if all > 1 && photos < all {
            return Err(Error::words(
                &self.holes.join(", "),
                "are several holes, and not all of them photos",
                "give several photos of one hole, or anything else alone",
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
                (self.blur_from.is_some(), "photo for its blur"),
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
    /// A fault when scales or places are neither one for all photos nor one for each.
    pub fn each(&self) -> Result<Vec<Said>, Error> {
        let photos: Vec<String> =
            self.holes.iter().filter(|words| Said::is_photo(words)).cloned().collect();
        let of_photos = Said { holes: photos, ..self.clone() };
        if !of_photos.holes.is_empty() {
            of_photos.check()?;
        }
        let mut photo = 0;
        let alone = |words: &String| {
            let bare = Said { reading: self.reading, ..Said::of(words.as_str()) };
            if !Said::is_photo(words) {
                return bare;
            }
            photo += 1;
            let one = |all: &[String]| all.get(photo - 1).or(all.first()).cloned();
            Said {
                scales: one(&self.scales).into_iter().collect(),
                graduation_mm: self.graduation_mm,
                places_px: self.at(photo - 1).into_iter().collect(),
                transfer: self.transfer,
                ..bare
            }
        };
        Ok(self.holes.iter().map(alone).collect())
    }

    fn at(&self, index: usize) -> Option<[f64; 2]> {
        self.places_px.get(index).or(self.places_px.first()).copied()
    }
}

/// Reads a place in a picture, "412,300 px": column and row from the upper left corner.
///
/// # Errors
/// A fault for anything else.
pub fn read_place(words: &str) -> Result<[f64; 2], Error> {
    let wrong = || {
        Error::words(
            words,
            "is not a place in a picture",
            "write column and row in pixels from the upper left corner, as in \"412,300 px\"",
        )
    };
    let text = words.trim();
    let (x, y) = text.strip_suffix("px").unwrap_or(text).split_once(',').ok_or_else(wrong)?;
    let number =
        |text: &str| text.trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
    Ok([number(x).ok_or_else(wrong)?, number(y).ok_or_else(wrong)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn no_files(_: &str) -> Result<Vec<u8>, Error> {
        Err(Error::not_there("does not exist", "check the name"))
    }

    #[test]
    fn places_are_read() {
        assert_eq!(read_place("412,300 px").unwrap(), [412.0, 300.0]);
        assert_eq!(read_place(" 4.5 , 3px").unwrap(), [4.5, 3.0]);
        for bad in ["", "412", "a,b", "-3,4 px", "1,2,3", "NaN,1"] {
            assert!(read_place(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn what_does_not_go_together_is_refused() {
        let photos = |count: usize| vec!["a.png".to_owned(); count];
        let scales = |count: usize| vec!["400 px = 1 mm".to_owned(); count];
        let sources = [
            (Said::default(), "no hole"),
            (Said { holes: vec!["0.3 mm".into(), "a.png".into()], ..Said::default() }, "several"),
            (Said { holes: photos(3), scales: scales(2), ..Said::default() }, "2 scales"),
            (Said { scales: scales(1), ..Said::of("0.3 mm") }, "needs no scale"),
            (Said { graduation_mm: Some(1.0), ..Said::of("4 per mm") }, "graduation"),
            (Said { places_px: vec![[1.0, 2.0]], ..Said::of("a.csv") }, "no place"),
        ];
        for (source, expected) in sources {
            let said = source.source(&no_files).unwrap_err().to_string();
            assert!(said.contains(expected), "{said}");
        }
    }

    #[test]
    fn words_become_what_was_meant() {
        let picture = crate::raster::Raster { linear: ndarray::Array3::ones((3, 20, 20)) };
        let png = crate::raster::png(&crate::raster::display(&picture).unwrap()).unwrap();
        let files = |name: &str| match name {
            "hole.PNG" => Ok(png.clone()),
            "notes.txt" => Ok(b"notes".to_vec()),
            _ => no_files(name),
        };
        let unscaled = Said::of("hole.PNG").source(&files).unwrap_err();
        assert_eq!(unscaled.wanted(), Some(Wanted::Scale));
        assert!(unscaled.to_string().starts_with("hole.PNG: nothing says how many pixels"));
        let scaled = Said { scales: vec!["40 px = 1 mm".into()], ..Said::of("hole.PNG") };
        assert!(matches!(scaled.source(&files), Ok(Source::Photos { one_scale: true, .. })));
        let cases = [
            ("hello", "what hole"),
            ("0.34", "no unit"),
            ("0,34 mm", "comma"),
            ("0 mm", "above zero"),
            ("missing.csv", "does not exist"),
            ("missing.png", "does not exist"),
            ("folder/hole", "does not exist"),
            ("notes.txt", "kind"),
            ("", "what hole"),
        ];
        for (words, expected) in cases {
            let said = Said::of(words).source(&files).unwrap_err().to_string();
            assert!(said.contains(expected), "{words}: {said}");
        }
    }
}
