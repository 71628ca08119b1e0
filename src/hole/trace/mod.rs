//! Picture to outline: the rim of a hole to a fraction of a pixel.
//!
//! Spots that stand out are found at whatever level they do ([`openings`]), and the hole is told from
//! dust, scratches and letters by its form, size and contrast. In a window around it the light of
//! hole and ground is levelled, and the rim found where the light is half way between the two, in
//! linear light. A blurred rim's half level lies inside the true rim by σ²/2r; every closed loop is
//! moved back by that, which is an area of πσ² whatever its form (Gauss-Bonnet: the rim turns once).

mod choice;
mod contour;
mod edge;
mod edge_model;
mod exposure;
mod fit;
mod measured;
mod openings;
mod overexposed;
mod rim;
mod surface;
mod tone_profile;
mod tree;
mod window;

use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::Raster;
pub use edge::RimUncertainty;
use measured::{blur_of, rim_of};
use openings::{Opening, openings};
pub use overexposed::RimBlur;
use std::path::Path;

/// Pixels of the shorter side of the smallest picture.
const LEAST_SIDE: usize = 12;

/// The rim of a hole in a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// Its closed loops in the picture's frame: x right, y DOWN, pixel (column i, row j) covering
    /// i..i+1 × j..j+1; the outer rim first, islands of metal after it.
    pub loops_px: Vec<Vec<[f64; 2]>>,
    /// The centroid of the open area in that frame.
    pub centroid_px: [f64; 2],
    /// Blur of the rim, as the σ of a Gaussian, in pixels.
    pub blur_px: f64,
    /// How well the rim's place is known.
    pub rim_uncertainty: RimUncertainty,
    /// Of an over-exposed rim, how much more light the bright side has than the picture can hold: from,
    /// to, as factors.
    pub over_exposure: Option<[f64; 2]>,
    /// What to bear in mind.
    pub warnings: Vec<String>,
}

impl Traced {
    /// The outline in mm, y up, with its centroid at the origin, for mm to a pixel along rows and down
    /// columns.
    ///
    /// # Errors
    /// [`Error::Outline`] when the loops cross.
    pub fn outline(&self, [across, down]: [f64; 2]) -> Result<Outline, Error> {
        let placed = |points: &Vec<[f64; 2]>| {
            points.iter().map(|[x, y]| [x * across, -y * down]).collect::<Vec<_>>()
        };
        Ok(Outline::new(self.loops_px.iter().map(placed).collect())?.centred())
    }
}

/// Traces the one hole of a picture, or that at a place (column, row) in pixels; `name` is used in
/// messages.
///
/// # Errors
/// [`Error::File`] with the reason, when the picture is too small, flat or blown out, shows no hole,
/// one that is cut by the frame, too small or too blurred, or more than one and no place is given.
pub fn trace(picture: &Raster, at_px: Option<[f64; 2]>, name: &Path) -> Result<Traced, Error> {
    trace_with_blur(picture, at_px, None, name)
}

/// As [`trace`], with the blur that a well exposed photo of the same set-up (camera, distance, focus)
/// shows: an over-exposed hole is then measured several times better.
///
/// # Errors
/// As [`trace`].
pub fn trace_with_blur(
    picture: &Raster,
    at_px: Option<[f64; 2]>,
    blur: Option<RimBlur>,
    name: &Path,
) -> Result<Traced, Error> {
    rim_of(picture, &chosen(picture, at_px, name)?, blur, name)
}

/// The blur of the rim of a well exposed hole, the only one of a picture or that at a place.
///
/// # Errors
/// [`Error::File`] when there is no such hole, or it is over-exposed itself.
pub fn rim_blur(picture: &Raster, at_px: Option<[f64; 2]>, name: &Path) -> Result<RimBlur, Error> {
    blur_of(picture, &chosen(picture, at_px, name)?, name)
}

fn chosen(picture: &Raster, at_px: Option<[f64; 2]>, name: &Path) -> Result<Opening, Error> {
    let found = searched(picture, name)?;
    let shorter_side = picture.rows().min(picture.columns()) as f64;
    choice::the_hole(&found, at_px, shorter_side, name)
}

/// The holes of a sheet, in the order one reads, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct TracedSheet {
    /// Each hole's middle in pixels, with its rim or the reason why there is none.
    pub holes: Vec<([f64; 2], Result<Traced, Error>)>,
    /// What was left out.
    pub warnings: Vec<String>,
}

/// Traces every hole of a picture: all compact openings that are lit alike and not less than a third
/// as wide as the middle one, nor three times as wide.
///
/// # Errors
/// [`Error::File`] when the picture shows none.
pub fn trace_every(picture: &Raster, name: &Path) -> Result<TracedSheet, Error> {
    use rayon::prelude::*;
    let (chosen, warnings) = choice::every_hole(&searched(picture, name)?, name)?;
    let holes = chosen.par_iter().map(|o| (o.centre, rim_of(picture, o, None, name))).collect();
    Ok(TracedSheet { holes, warnings })
}

fn searched(picture: &Raster, name: &Path) -> Result<Vec<Opening>, Error> {
    let (rows, columns) = (picture.rows(), picture.columns());
    if rows.min(columns) < LEAST_SIDE {
        return Err(Error::file(
            name,
            format!("is only {columns} × {rows} pixels"),
            "take the picture so that the hole is a hundred pixels across",
        ));
    }
    let found = openings(picture);
    if found.is_empty() {
        return Err(Error::file(
            name,
            flat(picture),
            "light the hole from behind, and expose so that it is bright but not white",
        ));
    }
    Ok(found)
}

fn flat(picture: &Raster) -> String {
    let sum: f64 = picture.linear.iter().map(|value| f64::from(*value)).sum();
    match sum / picture.linear.len() as f64 {
        m if m > 0.9 => "is blown out: white all over".into(),
        m if m < 0.02 => "is black all over".into(),
        _ => "shows no hole: it is the same grey all over".into(),
    }
}
