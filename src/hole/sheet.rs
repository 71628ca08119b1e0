//! A sheet of many holes in one picture.

use super::hole::{Hole, plausible};
use super::scale::Scale;
use super::source::Source;
use super::trace::trace_every;
use crate::error::{Error, Wanted};
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
    /// Measures every hole of one photo.
    ///
    /// # Errors
    /// A fault when the source is not one photo without a place in it, and when the photo shows no hole.
    pub fn of(source: &Source) -> Result<Sheet, Error> {
        let photo = match source {
            Source::Photos { photos, .. } if photos.len() == 1 => {
                photos.iter().find(|photo| photo.place_px.is_none())
            }
            _ => None,
        };
        let Some(photo) = photo else {
            let wrong = "what is given is not one picture of many holes";
            return Err(Error::not_understood(wrong, "give one photo or scan, and no place in it")
                .wanting(Wanted::OneSheet));
        };
        Sheet::of_picture(Arc::clone(&photo.picture), Path::new(&photo.name), photo.scale()?)
            .map_err(|why| why.in_file(&photo.name))
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
            plausible(&hole)?;
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
