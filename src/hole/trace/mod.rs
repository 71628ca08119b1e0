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
mod every;
mod openings;
mod rim;
mod scan;
mod sound;
mod surface;
mod tree;
mod window;

use crate::error::Error;
use crate::geometry::{Outline, signed_area};
use crate::raster::Raster;
use doubt::Likeness;
pub use edge::RimUncertainty;
use openings::{Found, Opening, openings};
use rim::Rim;
pub(super) use scan::{TracedScan, trace_scan};
use sound::{sound, upright};
use std::f64::consts::PI;
use std::path::Path;
use window::Window;

/// Pixels of the shorter side of the smallest picture.
const LEAST_SIDE: usize = 12;
/// Blur beyond this share of the hole's radius leaves no light of its own in the middle to measure by.
const MOST_BLUR: f64 = 0.45;
/// An edge that lost this share of its bright half is refused: light of 1.6 times white does that.
const MOST_CUT: f64 = 0.25;
/// Noise above this share of the step drowns the rim.
const MOST_NOISE: f64 = 0.35;

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
/// [`Error::Undecided`] with what stands out, when more than one thing may be meant or the one that
/// stands out is hardly a hole, and no place says that it is; [`Error::File`] with the reason, when the
/// picture is too small, flat, blown out or mere noise, shows no hole, or one that is cut by the frame, too
/// small, half lit, or too blurred.
pub fn trace(picture: &Raster, at_px: Option<[f64; 2]>, name: &Path) -> Result<Traced, Error> {
    let found = searched(picture, name)?;
    let choice = choice::the_hole(&found, at_px, picture, name)?;
    let (mut traced, likeness) = rim_of(picture, &choice.opening, name)?;
    let doubts = likeness.doubts(choice.alone);
    if choice.told {
        traced
            .warnings
            .extend(doubts.iter().map(|doubt| format!("It is hardly a hole in metal: {doubt}.")));
    } else if !doubts.is_empty() {
        return Err(choice::doubtful(&choice, &found, &doubts, name));
    } else {
        traced.warnings.extend(likeness.remark());
    }
    traced.warnings.extend(choice.warnings);
    Ok(traced)
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
/// [`Error::File`] when the picture shows none.
pub fn trace_every(picture: &Raster, name: &Path) -> Result<TracedSheet, Error> {
    use rayon::prelude::*;
    let (chosen, warnings) =
        every::every_hole(&searched(picture, name)?).map_err(|refusal| refusal.of(name))?;
    let rim = |o: &Opening| (o.centre, rim_of(picture, o, name).map(|(traced, _)| traced));
    Ok(TracedSheet { holes: chosen.par_iter().map(rim).collect(), warnings })
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
    let Found { openings, noise } = openings(picture);
    if openings.is_empty() { Err(no_opening(picture, noise, name)) } else { Ok(openings) }
}

/// Why nothing stands out of a picture.
fn no_opening(picture: &Raster, noise: usize, name: &Path) -> Error {
    let wrong = if noise > 0 {
        format!("shows no hole: its {noise} spots are no more than the picture's noise")
    } else {
        flat(picture)
    };
    Error::file(
        name,
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

/// The rim of an opening, and how like a hole in metal it is.
fn rim_of(picture: &Raster, opening: &Opening, name: &Path) -> Result<(Traced, Likeness), Error> {
    let refuse = |wrong: String, remedy: &str| Error::file(name, wrong, remedy);
    let window = Window::around(opening, picture);
    let blurred = |sigma_px: f64, diameter_px: f64| {
        refuse(
            format!(
                "is blurred beyond use: the rim is smeared by {sigma_px:.1} px (σ) or more, and the hole \
                 is {diameter_px:.0} px wide"
            ),
            "focus on the rim, come nearer, and hold the camera still",
        )
    };
    let no_rim = || {
        refuse(
            format!(
                "shows no closed rim around its spot at {:.0},{:.0} px",
                opening.centre[0], opening.centre[1]
            ),
            "take a sharper picture, with some metal around the hole",
        )
    };
    let rim = Rim::of(&window, opening).map_err(|lost_in| match lost_in {
        Some(sigma) if sigma > 0.5 * MOST_BLUR * opening.diameter / 2.0 => {
            blurred(sigma, opening.diameter)
        }
        _ => no_rim(),
    })?;
    let Rim { loops, edge, noise, .. } = &rim;
    let (found, _) = sound(loops.clone()).ok_or_else(no_rim)?;
    let outline = upright(&found)?;
    let likeness = Likeness::of(&rim, &outline, (picture.rows() * picture.columns()) as f64);
    let radius = outline.equivalent_diameter_mm() / 2.0;
    if *noise > MOST_NOISE {
        return Err(refuse(
            "shows no hole that stands out of its noise".into(),
            "use more light or a longer exposure",
        ));
    }
    if edge.sigma_px > MOST_BLUR * radius {
        return Err(blurred(edge.sigma_px, 2.0 * radius));
    }
    let bright = opening.is_bright();
    let white = window.white_share(&rim.open, bright);
    let cut = if white > 0.5 { edge.cut_share(bright) } else { 0.0 };
    if cut > MOST_CUT {
        return Err(refuse(
            "is blown out: the light across the rim is cut off, and the rim's place is lost".into(),
            "expose less, until the brightest part is just not white",
        ));
    }
    let grown = found.iter().map(|points| window.placed(&unshrunk(points, edge.sigma_px)));
    let (loops_px, joined) = sound(grown.collect()).ok_or_else(no_rim)?;
    let outline = upright(&loops_px)?;
    let [x, y] = outline.centroid_mm();
    let diameter = outline.equivalent_diameter_mm();
    let mut said = warnings(diameter, edge.sigma_px, white);
    let mut rim_uncertainty = edge.uncertainty_px(*noise, cut, radius);
    let beside_px = doubt::crescent_px(&rim);
    if beside_px > 0.0 {
        said.push(format!(
            "Along part of the rim lies a band lit more strongly than the ground: it may be the ground \
             behind the hole, which would then be {:.1} px wide instead of {diameter:.1}; the uncertainty \
             holds both.",
            diameter + 2.0 * beside_px
        ));
        // Twice the mean place is what is stated of a radius (k = 2): it reaches to the band's end.
        rim_uncertainty.mean_px = rim_uncertainty.mean_px.hypot(0.5 * beside_px);
    }
    if joined {
        said.push("Specks that touch each other or the rim were joined to it.".into());
    }
    let traced = Traced {
        centroid_px: [x, -y],
        blur_px: edge.sigma_px,
        rim_uncertainty,
        warnings: said,
        loops_px,
    };
    Ok((traced, likeness))
}

/// The loop larger by the area that its blur has taken, about its own middle.
///
/// That is πσ² where σ is small against the radius r. Of the blurred disc (the non-central χ²
/// distribution with two degrees of freedom) it is πσ²/(1 + 0.35 σ²/r²) to 0.1 % of the area up to
/// σ = 0.4 r, σ being that which the 20 % and 80 % places of its profile give.
fn unshrunk(points: &[[f64; 2]], sigma_px: f64) -> Vec<[f64; 2]> {
    let found = signed_area(points).abs();
    let lost = PI * sigma_px * sigma_px / (1.0 + 0.35 * PI * sigma_px * sigma_px / found);
    let factor = ((found + lost) / found).sqrt();
    let count = points.len() as f64;
    let middle = [0, 1].map(|axis: usize| points.iter().map(|p| p[axis]).sum::<f64>() / count);
    let grow =
        |p: &[f64; 2]| [0, 1].map(|axis: usize| middle[axis] + factor * (p[axis] - middle[axis]));
    points.iter().map(grow).collect()
}

fn warnings(diameter_px: f64, sigma_px: f64, white: f64) -> Vec<String> {
    let mut said = Vec::new();
    if diameter_px < 30.0 {
        said.push(
            "The hole is fewer than 30 pixels across: form and burrs are not to be trusted.".into(),
        );
    }
    if sigma_px > 0.06 * diameter_px {
        said.push(format!(
            "The picture is blurred by {sigma_px:.1} px (σ): small burrs cannot be seen in it."
        ));
    }
    if white > 0.5 {
        said.push(
            "The bright side of the rim is blown out: the rim may be misplaced. Expose less."
                .into(),
        );
    }
    said
}
