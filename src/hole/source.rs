//! What was meant by a hole: a size, an outline, or photos, each with its scale and place.

use super::SizeUncertainty;
use super::count::{read_count, read_size};
use super::graduation::{contradiction, scale_of_graduation};
use super::scale::{Scale, ScaleSource, no_scale};
use super::shape::Shape;
use super::trace::RimBlur;
use crate::error::{Error, Wanted};
use crate::geometry::Outline;
use crate::raster::{self, Decoded, Raster, Resolution, Scan, Transfer, not_read, unread_by_name};
use std::sync::Arc;

/// What was meant by a hole.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// A disc of a diameter that somebody states.
    Diameter(Size),
    /// A disc whose diameter follows from a count under the loupe.
    Count(Size),
    /// A shape that somebody states.
    Shape(Shape),
    /// An outline in mm.
    Outline(Outline),
    /// Photos of one hole.
    Photos {
        /// The photos.
        photos: Vec<Photo>,
        /// Whether one scale was given for all of them, so that its error is common to all.
        one_scale: bool,
    },
    /// A scan of a whole sheet, too large to be opened at once.
    Scan(SheetScan),
}

/// A scan of a sheet of holes, read in strips.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetScan {
    /// What it is called in messages.
    pub name: String,
    /// The scan.
    pub scan: Arc<Scan>,
    /// Where its scale comes from.
    pub scale: ScaleSource,
}

/// A diameter, and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// The diameter, in mm.
    pub diameter_mm: f64,
    /// How well it is known.
    pub uncertainty: SizeUncertainty,
}

/// A photo of a hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// What it is called in messages: its file's name, or what stands for it.
    pub name: String,
    /// The picture.
    pub picture: PhotoFile,
    /// The resolution that its file states.
    pub resolution: Option<Resolution>,
    /// Where its scale comes from.
    pub scale: ScaleSource,
    /// Where the hole is in it, column and row in pixels; none where it is the only one.
    pub place_px: Option<[f64; 2]>,
    /// The blur that a well exposed photo of the same set-up (camera, distance, focus) shows.
    pub blur: Option<RimBlur>,
}

/// The picture of a photo.
#[derive(Debug, Clone, PartialEq)]
pub enum PhotoFile {
    /// In linear light, with what to bear in mind about its file.
    Opened(Arc<Raster>, Vec<String>),
    /// The bytes of its file, opened when they are measured: of several photos one at a time.
    Closed(Vec<u8>, Transfer),
}

impl Source {
    /// Reads a diameter ("0.34 mm"), a count under the loupe ("4.5 per mm") or a shape ("oval 0.42 x 0.37 mm", see
    /// [`Shape`]) in words. `reading` is how far a count may be off, in diameters. No words ever open a file here.
    ///
    /// # Errors
    /// A fault when the words are none of these.
    pub fn of_words(words: &str, reading: Option<f64>) -> Result<Source, Error> {
        let words = words.trim();
        if let Some(shape) = Shape::read(words)? {
            return Ok(Source::Shape(shape));
        }
        if let Some((diameter_mm, uncertainty)) = read_count(words, reading)? {
            return Ok(Source::Count(Size { diameter_mm, uncertainty }));
        }
        if !words.starts_with(|c: char| c.is_ascii_digit() || "+-.½¼¾".contains(c)) {
            return Err(Error::words(
                words,
                "does not say what hole is meant",
                "give a diameter (\"0.34 mm\"), a count (\"4.5 per mm\"), a shape (\"oval 0.42 x 0.37 mm\"), an outline \
                 or a photo",
            )
            .wanting(Wanted::Hole));
        }
        let (diameter_mm, uncertainty) = read_size(words)?;
        Ok(Source::Diameter(Size { diameter_mm, uncertainty }))
    }
}

impl SheetScan {
    /// The scale of the scan, which was made smaller by `side` for a look at the whole, in its own pixels.
    ///
    /// # Errors
    /// As [`Photo::scale`].
    pub(super) fn scale(&self, reduced: &Raster, side: usize) -> Result<Scale, Error> {
        match &self.scale {
            ScaleSource::Stated(scale) => Ok(scale.clone()),
            ScaleSource::Resolution => Scale::of_resolution_stated(self.scan.resolution().as_ref()),
            ScaleSource::Graduation { spacing_mm } => {
                let scale = scale_of_graduation(reduced, *spacing_mm)?;
                Ok(Scale { mm_per_px: scale.mm_per_px.map(|mm| mm / side as f64), ..scale })
            }
        }
    }
}

impl Photo {
    /// A photo of a decoded picture.
    ///
    /// # Errors
    /// A fault that wants a scale, where none is given.
    pub fn of(
        name: &str,
        decoded: Decoded,
        scale: Option<ScaleSource>,
        place_px: Option<[f64; 2]>,
    ) -> Result<Photo, Error> {
        Ok(Photo {
            name: name.into(),
            picture: PhotoFile::Opened(Arc::new(decoded.raster), decoded.warnings),
            resolution: decoded.resolution,
            scale: scale.ok_or_else(|| no_scale().in_file(name))?,
            place_px,
            blur: None,
        })
    }

    /// The picture in linear light, and what to bear in mind about its file.
    pub(super) fn opened(&self) -> Result<(Arc<Raster>, Vec<String>), Error> {
        match &self.picture {
            PhotoFile::Opened(raster, warnings) => Ok((Arc::clone(raster), warnings.clone())),
            PhotoFile::Closed(bytes, transfer) => {
                let decoded = raster::decoded(bytes, *transfer)
                    .map_err(|why| unread_by_name(&self.name).map_or(why, not_read))
                    .map_err(|why| why.in_file(&self.name))?;
                Ok((Arc::new(decoded.raster), decoded.warnings))
            }
        }
    }

    /// The scale of the photo.
    ///
    /// # Errors
    /// A fault when the file states no resolution to believe, or no rule can be read in the picture.
    pub fn scale(&self) -> Result<Scale, Error> {
        self.scale_in(&self.opened()?.0)
    }

    /// The scale of the photo, of which this is the picture.
    pub(super) fn scale_in(&self, picture: &Raster) -> Result<Scale, Error> {
        match &self.scale {
            ScaleSource::Stated(scale) => {
                let mut scale = scale.clone();
                scale.warnings.extend(contradiction(picture, &scale, None));
                Ok(scale)
            }
            ScaleSource::Resolution => Scale::of_resolution_stated(self.resolution.as_ref()),
            ScaleSource::Graduation { spacing_mm } => scale_of_graduation(picture, *spacing_mm),
        }
        .map_err(|why| why.in_file(&self.name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_sizes_or_counts_and_never_files() {
        assert!(matches!(Source::of_words(" 0.34 mm ", None), Ok(Source::Diameter(_))));
        assert!(matches!(Source::of_words("4.5 per mm", None), Ok(Source::Count(_))));
        for words in ["Cargo.toml", "src/lib.rs", "/etc/hostname", "hello", ""] {
            let error = Source::of_words(words, None).unwrap_err();
            assert_eq!(error.wanted(), Some(Wanted::Hole), "{words}");
        }
    }
}
