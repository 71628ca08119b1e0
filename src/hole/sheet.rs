//! A sheet of many holes in one picture.

use super::hole::{Hole, plausible};
use super::scale::Scale;
use super::source::{Source, opened};
use super::trace::trace_every;
use crate::error::Error;
use crate::raster::Raster;
use std::path::Path;
use std::sync::Arc;

/// The holes of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The picture, in linear light.
    pub raster: Arc<Raster>,
    /// Its scale.
    pub scale: Scale,
    /// In the order one reads.
    pub holes: Vec<SheetHole>,
    /// What was left out, and what to bear in mind.
    pub warnings: Vec<String>,
}

/// One opening of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetHole {
    /// Where it was found: column and row in pixels.
    pub place_px: [f64; 2],
    /// The hole, or why it could not be measured.
    pub hole: Result<Hole, Error>,
}

impl Sheet {
    /// Measures every hole of one picture.
    ///
    /// # Errors
    /// [`Error::Words`] when the source is not one picture; [`Error::File`] when it cannot be used or
    /// shows no hole.
    pub fn read(source: &Source) -> Result<Sheet, Error> {
        source.check()?;
        let words = match &source.holes[..] {
            [words] if Source::is_photo(words.trim()) && source.places_px.is_empty() => {
                words.trim()
            }
            _ => {
                return Err(Error::words(
                    &source.holes.join(", "),
                    "is not one picture of many holes",
                    "give --every one photo or scan, and no place in it",
                ));
            }
        };
        let path = Path::new(words);
        let (raster, scale) = opened(path, source, 0)?;
        Sheet::of_picture(Arc::new(raster), path, scale)
    }

    /// Measures every hole of a picture; `name` is used in messages.
    ///
    /// # Errors
    /// [`Error::File`] when it shows no hole.
    pub fn of_picture(raster: Arc<Raster>, name: &Path, scale: Scale) -> Result<Sheet, Error> {
        let traced = trace_every(&raster, name)?;
        // What is to be said of the scale is said once, of the sheet.
        let bare = Scale { warnings: Vec::new(), ..scale.clone() };
        let measured = |traced| {
            let hole = Hole::of_traced(Arc::clone(&raster), traced, bare.clone())?;
            plausible(&name.display().to_string(), &hole)?;
            Ok(hole)
        };
        let holes = traced
            .holes
            .into_iter()
            .map(|(place_px, traced)| SheetHole { place_px, hole: traced.and_then(measured) })
            .collect();
        let warnings = [traced.warnings, scale.warnings.clone()].concat();
        Ok(Sheet { holes, warnings, raster, scale })
    }
}
