//! Picture to outline: the rim of a hole to a fraction of a pixel.
//!
//! The ground is levelled, the hole told from dust and scratches by size and compactness, its own
//! level fitted inside it, and the rim found where the light is half way between the two, in linear
//! light. A blurred rim's half level lies inside the true rim by σ²/2r; every closed loop is moved
//! back by that, which is an area of πσ² whatever its form (Gauss-Bonnet: the rim turns once).

use super::contour::contours;
use super::edge::Edge;
use super::ground::Levels;
use super::spots::{Spot, spots};
use super::window::Window;
use crate::error::Error;
use crate::geometry::{Outline, contains, signed_area};
use crate::raster::Raster;
use ndarray::Array2;
use std::f64::consts::PI;
use std::path::Path;

/// A picture whose hole differs by less of display white from its ground shows none.
const LEAST_CONTRAST: f64 = 0.02;
/// Noise above this share of the step drowns the rim.
const MOST_NOISE: f64 = 0.2;
/// Narrower spots are scratches: an oval of 5 : 1 has 0.38.
const LEAST_COMPACTNESS: f64 = 0.3;
/// Pixels of the smallest hole that can be measured: five across.
const LEAST_AREA: usize = 20;
/// A second spot this large against the first is a second hole.
const RIVAL: f64 = 0.5;
/// Light that a camera or scanner cannot tell from more.
const SATURATED: f32 = 0.995;
/// The tail of a blurred edge that may count as level: beyond 2.5 σ less than 0.7 % is left.
const CLEAR_OF_BLUR: f64 = 2.5;
/// Pixels of the smallest island of metal that is no speck.
const LEAST_ISLAND: f64 = 6.0;
/// An edge that lost this share of its bright half is refused: light of 1.6 times white does that.
const MOST_CUT: f64 = 0.25;

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
    /// Standard uncertainty of the rim's mean place, in pixels: noise, levels and pixels.
    pub edge_uncertainty_px: f64,
    /// What to bear in mind.
    pub warnings: Vec<String>,
}

impl Traced {
    /// The outline in mm, y up, with its centroid at the origin.
    ///
    /// # Errors
    /// [`Error::Outline`] when the loops cross.
    pub fn outline(&self, mm_per_px: f64) -> Result<Outline, Error> {
        Ok(upright(&self.loops_px)?.scaled(mm_per_px).centred())
    }
}

/// Traces the one hole of a picture; `name` is used in messages.
///
/// # Errors
/// [`Error::File`] with the reason, when the picture is too small, flat or blown out, shows no hole,
/// one that is cut by the frame or too small, or more than one.
pub fn trace(picture: &Raster, name: &Path) -> Result<Traced, Error> {
    let refuse = |wrong: String, remedy: &str| Error::file(name, wrong, remedy);
    let light = lightness(picture);
    let (rows, columns) = light.dim();
    if rows.min(columns) < 12 {
        return Err(refuse(
            format!("is only {columns} × {rows} pixels"),
            "take the picture so that the hole is a hundred pixels across",
        ));
    }
    let levels = Levels::of(&light);
    let step = levels.hole - levels.border;
    if step.abs() < LEAST_CONTRAST {
        return Err(refuse(
            flat(&light),
            "light the hole from behind, and expose so that it is bright but not white",
        ));
    }
    if levels.noise > MOST_NOISE * step.abs() {
        return Err(refuse(
            "shows no hole that stands out of its noise".into(),
            "use more light or a longer exposure",
        ));
    }
    let rough = levels.openness(&light);
    let spot = the_hole(&rough).map_err(|(wrong, remedy)| refuse(wrong, remedy))?;
    let window = Window::around(&spot, rows, columns);
    let rim = Rim::in_window(&window, &rough).ok_or_else(|| {
        refuse("shows no closed rim around its brightest spot".into(), "take a sharper picture")
    })?;
    let Rim { open, loops, edge } = rim;
    let white = white_share(&light, &window, &open, step > 0.0);
    let cut = if white > 0.5 { edge.cut_share(step > 0.0) } else { 0.0 };
    if cut > MOST_CUT {
        return Err(refuse(
            "is blown out: the light across the rim is cut off, and the rim's place is lost".into(),
            "expose less, until the brightest part is just not white",
        ));
    }
    let loops_px: Vec<Vec<[f64; 2]>> =
        loops.iter().map(|points| window.placed(&unshrunk(points, edge.sigma_px))).collect();
    let outline = upright(&loops_px)?;
    let [x, y] = outline.centroid_mm();
    let noise = levels.noise / step.abs();
    Ok(Traced {
        centroid_px: [x, -y],
        blur_px: edge.sigma_px,
        edge_uncertainty_px: edge.uncertainty_px(noise, cut, outline.perimeter_mm()),
        warnings: warnings(&outline, &edge, white),
        loops_px,
    })
}

/// The mean of the channels.
fn lightness(picture: &Raster) -> Array2<f32> {
    picture
        .linear
        .mean_axis(ndarray::Axis(0))
        .unwrap_or_else(|| Array2::zeros((0, 0)))
        .mapv(|value| if value.is_finite() { value } else { 0.0 })
}

fn flat(light: &Array2<f32>) -> String {
    let mean = light.iter().map(|v| f64::from(*v)).sum::<f64>() / light.len() as f64;
    match mean {
        m if m > 0.9 => "is blown out: white all over".into(),
        m if m < 0.02 => "is black all over".into(),
        _ => "shows no hole: it is the same grey all over".into(),
    }
}

/// The spot that is the hole, or why there is none.
fn the_hole(open: &Array2<f32>) -> Result<Spot, (String, &'static str)> {
    let mut candidates: Vec<Spot> =
        spots(open).into_iter().filter(|spot| spot.compactness >= LEAST_COMPACTNESS).collect();
    let Some(first) = candidates.first() else {
        return Err((
            "shows no hole: only thin streaks stand out".into(),
            "cut out the part with the hole, and clean the plate",
        ));
    };
    if first.area < LEAST_AREA {
        return Err((
            format!(
                "shows a hole of about {:.0} pixels across",
                2.0 * (first.area as f64 / PI).sqrt()
            ),
            "come nearer or use a finer scan: five pixels are the least, a hundred are good",
        ));
    }
    if first.cut {
        return Err((
            "shows a hole that the frame cuts".into(),
            "take the picture with the whole hole and some metal around it",
        ));
    }
    let rivals: Vec<&Spot> =
        candidates.iter().filter(|s| s.area as f64 >= RIVAL * first.area as f64).collect();
    if rivals.len() > 1 {
        let places: Vec<String> = rivals
            .iter()
            .take(8)
            .map(|s| format!("({:.0}, {:.0})", s.centre[0], s.centre[1]))
            .collect();
        return Err((
            format!("shows {} holes, at {} px", rivals.len(), places.join(", ")),
            "cut out the part with the one to measure",
        ));
    }
    Ok(candidates.swap_remove(0))
}

/// The rim in its window: the levelled light, its contours and its profile.
struct Rim {
    open: Array2<f32>,
    loops: Vec<Vec<[f64; 2]>>,
    edge: Edge,
}

impl Rim {
    /// Twice: the first rim's blur says how far from it the levels are free of it.
    fn in_window(window: &Window, rough: &Array2<f32>) -> Option<Rim> {
        let first = Rim::of(window.levelled(rough, 0.0))?;
        Rim::of(window.levelled(rough, CLEAR_OF_BLUR * first.edge.sigma_px))
    }

    fn of(open: Array2<f32>) -> Option<Rim> {
        let loops = hole_loops(&open)?;
        let edge = Edge::of(&open, loops.first()?);
        Some(Rim { open, loops, edge })
    }
}

/// The largest closed loop, and after it the islands in it that are more than a few pixels.
fn hole_loops(open: &Array2<f32>) -> Option<Vec<Vec<[f64; 2]>>> {
    let mut loops = contours(open);
    loops.sort_by(|a, b| signed_area(b).abs().total_cmp(&signed_area(a).abs()));
    let mut loops = loops.into_iter();
    let outer = loops.next()?;
    // Islands run the other way round than rims of openings.
    let turn = signed_area(&outer).signum();
    let is_island = |points: &[[f64; 2]]| {
        -turn * signed_area(points) > LEAST_ISLAND && contains(&outer, points[0])
    };
    let islands: Vec<_> = loops.filter(|points| is_island(points)).collect();
    Some([vec![outer], islands].concat())
}

/// The loop larger by the area πσ² that its blur has taken, about its own middle.
fn unshrunk(points: &[[f64; 2]], sigma_px: f64) -> Vec<[f64; 2]> {
    let found = signed_area(points).abs();
    let factor = ((found + PI * sigma_px * sigma_px) / found).sqrt();
    let count = points.len() as f64;
    let middle = [0, 1].map(|axis: usize| points.iter().map(|p| p[axis]).sum::<f64>() / count);
    let grow =
        |p: &[f64; 2]| [0, 1].map(|axis: usize| middle[axis] + factor * (p[axis] - middle[axis]));
    points.iter().map(grow).collect()
}

fn upright(loops_px: &[Vec<[f64; 2]>]) -> Result<Outline, Error> {
    Outline::new(loops_px.iter().map(|l| l.iter().map(|p| [p[0], -p[1]]).collect()).collect())
}

/// How much of the bright side of the rim is too bright to be told from brighter, 0..1.
fn white_share(light: &Array2<f32>, window: &Window, open: &Array2<f32>, bright: bool) -> f64 {
    let (mut count, mut white) = (0usize, 0usize);
    for ((row, column), value) in open.indexed_iter() {
        if (*value > 0.5) == bright {
            count += 1;
            white += usize::from(light[[window.top + row, window.left + column]] >= SATURATED);
        }
    }
    white as f64 / count.max(1) as f64
}

fn warnings(outline_px: &Outline, edge: &Edge, white: f64) -> Vec<String> {
    let mut said = Vec::new();
    let diameter = outline_px.equivalent_diameter_mm();
    if diameter < 30.0 {
        said.push(format!(
            "The hole is only {diameter:.0} pixels across: form and burrs are not to be trusted."
        ));
    }
    if edge.sigma_px > 0.06 * diameter {
        said.push("The picture is blurred: small burrs cannot be seen in it.".into());
    }
    if white > 0.5 {
        said.push(
            "The bright side of the rim is blown out: the rim may be misplaced. Expose less."
                .into(),
        );
    }
    said
}
