//! A sheet of many holes in one picture.

use super::hole::Hole;
use super::of_source::plausible;
use super::scale::Scale;
use super::source::{SheetScan, Source};
use super::trace::{TracedScan, TracedSheet, trace_every, trace_scan};
use crate::error::{Error, Wanted};
use crate::raster::Raster;
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
    /// Measures every hole of one photo.
    ///
    /// # Errors
    /// A fault when the source is not one photo without a place in it, and when the photo shows no hole.
    pub fn of(source: &Source) -> Result<Sheet, Error> {
        let photo = match source {
            Source::Scan(scan) => {
                return Sheet::of_scan(scan).map_err(|why| why.in_file(&scan.name));
            }
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
        let (picture, warnings) = photo.opened()?;
        let scale = photo.scale_in(&picture)?;
        let mut sheet =
            Sheet::of_picture(picture, scale).map_err(|why| why.in_file(&photo.name))?;
        sheet.warnings.extend(warnings);
        Ok(sheet)
    }

    /// Measures every hole of a picture.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when it shows no hole.
    pub fn of_picture(raster: Arc<Raster>, scale: Scale) -> Result<Sheet, Error> {
        let traced = trace_every(&raster)?;
        Ok(Sheet::of_traced(raster, 1, traced, scale))
    }

    fn of_scan(scan: &SheetScan) -> Result<Sheet, Error> {
        let TracedScan { sheet, reduced, side } = trace_scan(&scan.scan)?;
        let scale = scan.scale(&reduced, side)?;
        let mut sheet = Sheet::of_traced(Arc::new(reduced), side, sheet, scale);
        sheet.warnings.extend_from_slice(scan.scan.warnings());
        Ok(sheet)
    }

    fn of_traced(
        raster: Arc<Raster>,
        reduced_by: usize,
        traced: TracedSheet,
        scale: Scale,
    ) -> Sheet {
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
        Sheet { holes, warnings, raster, reduced_by, scale }
    }
}
