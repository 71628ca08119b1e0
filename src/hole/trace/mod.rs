//! Picture to outline: the rim of a hole to a fraction of a pixel.
//!
//! Spots that stand out are found at whatever level they do ([`openings`]), and the hole is told from
//! dust, scratches and letters by its form, size and contrast. In a window around it the light of
//! hole and ground is levelled, and the rim found where the light is half way between the two, in
//! linear light. A blurred rim's half level lies inside the true rim by σ²/2r; every closed loop is
//! moved back by that, which is an area of πσ² whatever its form (Gauss-Bonnet: the rim turns once).

mod choice;
mod contour;
mod doubt;
mod edge;
mod edge_model;
mod every;
mod exposure;
mod fit;
mod hidden;
mod measured;
mod openings;
mod overexposed;
mod rim;
mod scan;
mod sound;
mod strand;
mod surface;
mod tone_profile;
mod tree;
mod window;

use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::Raster;
pub use edge::RimUncertainty;
use measured::{blur_of, rim_of};
use openings::{Found, Opening, openings};
pub use overexposed::RimBlur;
pub(super) use scan::{TracedScan, trace_scan};

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
    /// [`Damaged`](crate::Kind::Damaged) when the loops cross.
    pub fn outline(&self, [across, down]: [f64; 2]) -> Result<Outline, Error> {
        let placed = |points: &Vec<[f64; 2]>| {
            points.iter().map(|[x, y]| [x * across, -y * down]).collect::<Vec<_>>()
        };
        Ok(Outline::new(self.loops_px.iter().map(placed).collect())?.centred())
    }
}

/// Traces the one hole of a picture, or that at a place (column, row) in pixels.
///
/// # Errors
/// [`Undecided`](crate::Kind::Undecided) with what stands out, when more than one thing may be meant or the one that
/// stands out is hardly a hole, and no place says that it is; [`Damaged`](crate::Kind::Damaged) with the reason, when the
/// picture is too small, flat, blown out or mere noise, shows no hole, or one that is cut by the frame, too
/// small, half lit, or too blurred.
pub fn trace(picture: &Raster, at_px: Option<[f64; 2]>) -> Result<Traced, Error> {
    trace_with_blur(picture, at_px, None)
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
) -> Result<Traced, Error> {
    let found = searched(picture)?;
    let choice = choice::the_hole(&found, at_px, picture)?;
    let (mut traced, likeness) = rim_of(picture, &choice.opening, blur)?;
    let doubts = likeness.doubts(choice.alone);
    if choice.told {
        traced
            .warnings
            .extend(doubts.iter().map(|doubt| format!("It is hardly a hole in metal: {doubt}.")));
    } else if !doubts.is_empty() {
        return Err(choice::doubtful(&choice, &found, &doubts));
    } else {
        traced.warnings.extend(likeness.remark());
    }
    traced.warnings.extend(choice.warnings);
    Ok(traced)
}

/// The blur of the rim of a well exposed hole, the only one of a picture or that at a place.
///
/// # Errors
/// A fault when there is no such hole, or it is over-exposed itself.
pub fn rim_blur(picture: &Raster, at_px: Option<[f64; 2]>) -> Result<RimBlur, Error> {
    let found = searched(picture)?;
    blur_of(picture, &choice::the_hole(&found, at_px, picture)?.opening)
}

/// The holes of a sheet, in the order one reads, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct TracedSheet {
    /// Each hole's middle in pixels, with its rim or the reason why there is none.
    pub holes: Vec<([f64; 2], Result<Traced, Error>)>,
    /// What was left out.
    pub warnings: Vec<String>,
}

/// Traces every hole of a picture: all compact openings that are not less than a third as wide as the
/// middle one, nor three times as wide, bright or dark; each that cannot be traced with its reason.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the picture shows none.
pub fn trace_every(picture: &Raster) -> Result<TracedSheet, Error> {
    use rayon::prelude::*;
    let (chosen, warnings) =
        every::every_hole(&searched(picture)?).map_err(choice::Refusal::error)?;
    let rim = |o: &Opening| (o.centre, rim_of(picture, o, None).map(|(traced, _)| traced));
    Ok(TracedSheet { holes: chosen.par_iter().map(rim).collect(), warnings })
}

fn searched(picture: &Raster) -> Result<Vec<Opening>, Error> {
    let (rows, columns) = (picture.rows(), picture.columns());
    if rows.min(columns) < LEAST_SIDE {
        return Err(Error::damaged(
            format!("is only {columns} × {rows} pixels"),
            "take the picture so that the hole is a hundred pixels across",
        ));
    }
    let Found { openings, noise } = openings(picture);
    if openings.is_empty() { Err(no_opening(picture, noise)) } else { Ok(openings) }
}

/// Why nothing stands out of a picture.
fn no_opening(picture: &Raster, noise: usize) -> Error {
    let wrong = if noise > 0 {
        format!("shows no hole: its {noise} spots are no more than the picture's noise")
    } else {
        flat(picture)
    };
    Error::damaged(
        wrong,
        "light the hole from behind, and expose so that it is bright but not white",
    )
}

fn flat(picture: &Raster) -> String {
    let sum: f64 = picture.linear.iter().map(|value| f64::from(*value)).sum();
    match sum / picture.linear.len() as f64 {
        m if m > 0.9 => "is blown out: white all over".into(),
        m if m < 0.02 => "is black all over".into(),
        _ => "shows no hole: it is the same grey all over".into(),
    }
}
