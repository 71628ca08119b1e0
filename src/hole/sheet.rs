//! A sheet of many holes in one picture.

use super::hole::{Hole, plausible};
use super::scale::Scale;
use super::source::{Source, opened, scale_of_scan};
use super::trace::{TracedScan, TracedSheet, trace_every, trace_scan};
use crate::error::Error;
use crate::raster::{Raster, Scan};
use std::path::Path;
use std::sync::Arc;

/// The holes of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The picture, in linear light; of a scan too large to hold, made smaller.
    pub raster: Arc<Raster>,
    /// Pixels of the picture to a side of one in `raster`: 1 but for a scan too large to hold.
    pub reduced_by: usize,
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
        if let Some(scan) = Scan::open(path, source.transfer)? {
            return Sheet::of_scan(&scan, source, path);
        }
        let (raster, scale) = opened(path, source, 0)?;
        Sheet::of_picture(Arc::new(raster), path, scale)
    }

    /// Measures every hole of a picture; `name` is used in messages.
    ///
    /// # Errors
    /// [`Error::File`] when it shows no hole.
    pub fn of_picture(raster: Arc<Raster>, name: &Path, scale: Scale) -> Result<Sheet, Error> {
        let traced = trace_every(&raster, name)?;
        Ok(Sheet::of_traced(raster, 1, traced, name, scale))
    }

    fn of_scan(scan: &Scan, source: &Source, name: &Path) -> Result<Sheet, Error> {
        let TracedScan { sheet, reduced, side } = trace_scan(scan, name)?;
        let scale = scale_of_scan(&reduced, side, source, name)?;
        Ok(Sheet::of_traced(Arc::new(reduced), side, sheet, name, scale))
    }

    fn of_traced(
        raster: Arc<Raster>,
        reduced_by: usize,
        traced: TracedSheet,
        name: &Path,
        scale: Scale,
    ) -> Sheet {
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
        Sheet { holes, warnings, raster, reduced_by, scale }
    }
}
