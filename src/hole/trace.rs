//! Picture to outline: the rim of a hole to a fraction of a pixel.
//!
//! The ground is levelled, the hole told from dust and scratches by size and compactness, its own
//! level fitted inside it, and the rim found where the light is half way between the two, in linear
//! light. A blurred rim's half level lies inside the true rim by σ²/2r; every closed loop is moved
//! back by that, which is an area of πσ² whatever its form (Gauss-Bonnet: the rim turns once).

use super::contour::contours;
use super::ground::{Levels, median};
use super::spots::{Spot, spots};
use crate::error::Error;
use crate::geometry::Outline;
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
/// How well half way between two levels is known, as a share of the step. Common practice, no source.
const LEVEL_DOUBT: f64 = 0.015;
/// What pixels and their interpolation leave, in pixels. Measured on drawn photos, with room.
const PIXEL_DOUBT: f64 = 0.03;

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
    let open = window.levelled(&rough);
    let loops = rim(&open).ok_or_else(|| {
        refuse("shows no closed rim around its brightest spot".into(), "take a sharper picture")
    })?;
    let edge = Edge::of(&open, &loops[0]);
    let loops_px: Vec<Vec<[f64; 2]>> =
        loops.iter().map(|points| window.placed(&unshrunk(points, edge.sigma_px))).collect();
    let outline = upright(&loops_px)?;
    let [x, y] = outline.centroid_mm();
    let noise = levels.noise / step.abs();
    Ok(Traced {
        centroid_px: [x, -y],
        blur_px: edge.sigma_px,
        edge_uncertainty_px: edge.uncertainty_px(noise, outline.perimeter_mm()),
        warnings: warnings(&light, &window, &open, &outline, &edge),
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

/// The part of the picture around the hole.
struct Window {
    top: usize,
    left: usize,
    rows: usize,
    columns: usize,
}

impl Window {
    fn around(spot: &Spot, rows: usize, columns: usize) -> Window {
        let size = (spot.rows[1] - spot.rows[0]).max(spot.columns[1] - spot.columns[0]);
        let margin = size / 5 + 6;
        let top = spot.rows[0].saturating_sub(margin);
        let left = spot.columns[0].saturating_sub(margin);
        Window {
            top,
            left,
            rows: (spot.rows[1] + margin + 1).min(rows) - top,
            columns: (spot.columns[1] + margin + 1).min(columns) - left,
        }
    }

    /// The window's openness, with the hole's own level, a plane fitted well inside it, as 1.
    fn levelled(&self, rough: &Array2<f32>) -> Array2<f32> {
        let open = Array2::from_shape_fn((self.rows, self.columns), |(row, column)| {
            rough[[self.top + row, self.left + column]]
        });
        let level = inside_plane(&open);
        Array2::from_shape_fn(open.dim(), |(row, column)| {
            let inside = level[0] + level[1] * column as f64 + level[2] * row as f64;
            (f64::from(open[[row, column]]) / inside.max(0.2)) as f32
        })
    }

    fn placed(&self, points: &[[f64; 2]]) -> Vec<[f64; 2]> {
        points.iter().map(|p| [p[0] + self.left as f64, p[1] + self.top as f64]).collect()
    }
}

/// The plane 1, x, y through the openness well inside the hole. What stands out of it by more than a
/// fifth (dust, a glint) is left out; a hole without much inside has the median of it.
fn inside_plane(open: &Array2<f32>) -> [f64; 3] {
    let reach = (3..=8).rev().find(|reach| deep_inside(open, *reach).len() > 400);
    let points = deep_inside(open, reach.unwrap_or(2));
    let mut values: Vec<f32> = points.iter().map(|(r, c)| open[[*r, *c]]).collect();
    if values.is_empty() {
        values = open.iter().copied().filter(|v| *v > 0.8).collect();
    }
    let middle = f64::from(median(&mut values));
    if points.len() < 100 || middle <= 0.0 {
        return [if middle > 0.0 { middle } else { 1.0 }, 0.0, 0.0];
    }
    // Centred sums keep the two slopes apart from the level; x and y are nearly independent inside
    // a hole, but not quite.
    let near: Vec<(f64, f64, f64)> = points
        .iter()
        .map(|(r, c)| (*c as f64, *r as f64, f64::from(open[[*r, *c]])))
        .filter(|(_, _, v)| (v / middle - 1.0).abs() < 0.2)
        .collect();
    let count = near.len() as f64;
    let mean = |f: &dyn Fn(&(f64, f64, f64)) -> f64| near.iter().map(f).sum::<f64>() / count;
    let (mx, my, mv) = (mean(&|p| p.0), mean(&|p| p.1), mean(&|p| p.2));
    let product = |f: &dyn Fn(&(f64, f64, f64)) -> f64| mean(f);
    let xx = product(&|p| (p.0 - mx).powi(2));
    let yy = product(&|p| (p.1 - my).powi(2));
    let xy = product(&|p| (p.0 - mx) * (p.1 - my));
    let xv = product(&|p| (p.0 - mx) * (p.2 - mv));
    let yv = product(&|p| (p.1 - my) * (p.2 - mv));
    let determinant = xx * yy - xy * xy;
    if determinant < 1e-6 {
        return [mv, 0.0, 0.0];
    }
    let (a, b) = ((xv * yy - yv * xy) / determinant, (yv * xx - xv * xy) / determinant);
    [mv - a * mx - b * my, a, b]
}

/// Pixels all of whose neighbours `reach` away along and across are open.
fn deep_inside(open: &Array2<f32>, reach: usize) -> Vec<(usize, usize)> {
    let (rows, columns) = open.dim();
    let is_open = |row: usize, column: usize| open[[row, column]] > 0.5;
    let mut found = Vec::new();
    for row in reach..rows.saturating_sub(reach) {
        for column in reach..columns.saturating_sub(reach) {
            if is_open(row, column)
                && is_open(row - reach, column)
                && is_open(row + reach, column)
                && is_open(row, column - reach)
                && is_open(row, column + reach)
            {
                found.push((row, column));
            }
        }
    }
    found
}

/// The rim, outermost loop first, with the islands in it that are more than a few pixels.
fn rim(open: &Array2<f32>) -> Option<Vec<Vec<[f64; 2]>>> {
    let mut loops = contours(open);
    loops.sort_by(|a, b| area(b).abs().total_cmp(&area(a).abs()));
    let mut loops = loops.into_iter();
    let outer = loops.next()?;
    let mut found = vec![outer];
    // Islands run the other way round than rims of openings.
    let islands =
        loops.filter(|points| area(points) * area(&found[0]) < 0.0 && area(points).abs() > 6.0);
    let inside: Vec<_> = islands.filter(|points| contains(&found[0], points[0])).collect();
    found.extend(inside);
    Some(found)
}

fn area(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>() / 2.0
}

fn contains(points: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let next = points.iter().cycle().skip(1);
    let crossed = points.iter().zip(next).filter(|(a, b)| {
        (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossed.count() % 2 == 1
}

/// The loop larger by the area πσ² that its blur has taken, about its own middle.
fn unshrunk(points: &[[f64; 2]], sigma_px: f64) -> Vec<[f64; 2]> {
    let found = area(points).abs();
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

/// The rim's mean profile from inside to outside.
struct Edge {
    sigma_px: f64,
}

impl Edge {
    /// From the places where the mean profile across the rim passes 80 % and 20 %: 2 × 0.8416 σ apart
    /// on a Gaussian edge (Φ⁻¹(0.8)). The pixels' own width and the interpolation are in it, and have
    /// moved the contour too.
    fn of(open: &Array2<f32>, rim: &[[f64; 2]]) -> Edge {
        const STEP: f64 = 0.25;
        const REACH: i32 = 40;
        let outwards = area(rim).signum();
        let mut sums = vec![(0.0, 0usize); (2 * REACH + 1) as usize];
        // Normals over a few vertices: single edges of the contour zigzag.
        let span = (rim.len() / 100).clamp(2, 8);
        for (i, point) in rim.iter().enumerate() {
            let (a, b) = (rim[(i + rim.len() - span) % rim.len()], rim[(i + span) % rim.len()]);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let length = dx.hypot(dy);
            if length < 1e-9 {
                continue;
            }
            let normal = [outwards * dy / length, -outwards * dx / length];
            for (k, sum) in sums.iter_mut().enumerate() {
                let t = (k as i32 - REACH) as f64 * STEP;
                if let Some(v) = sampled(open, point[0] + t * normal[0], point[1] + t * normal[1]) {
                    *sum = (sum.0 + v, sum.1 + 1);
                }
            }
        }
        let profile: Vec<f64> =
            sums.iter().map(|(sum, count)| sum / (*count).max(1) as f64).collect();
        let middle = REACH as usize;
        let crossing = |level: f64, outward: bool| -> f64 {
            let mut k = middle;
            loop {
                let next = if outward { k + 1 } else { k.wrapping_sub(1) };
                let Some(value) = profile.get(next) else { return REACH as f64 * STEP };
                if (*value < level) == outward {
                    let share = (profile[k] - level) / (profile[k] - value);
                    return (k.abs_diff(middle) as f64 + share) * STEP;
                }
                k = next;
            }
        };
        Edge { sigma_px: (crossing(0.2, true) + crossing(0.8, false)) / (2.0 * 0.8416) }
    }

    /// Noise: each stretch of the rim as long as the blur is an independent sight of it, its place
    /// uncertain by noise over the slope, √(2π) σ. Levels and pixels move the whole rim.
    fn uncertainty_px(&self, noise: f64, perimeter_px: f64) -> f64 {
        let slope = (2.0 * PI).sqrt() * self.sigma_px;
        let sights = (perimeter_px / (2.0 * self.sigma_px).max(1.0)).max(1.0);
        (noise * slope / sights.sqrt()).hypot(LEVEL_DOUBT * slope).hypot(PIXEL_DOUBT)
    }
}

/// The value between four pixel centres; None outside them.
fn sampled(open: &Array2<f32>, x: f64, y: f64) -> Option<f64> {
    let (rows, columns) = open.dim();
    let (u, v) = (x - 0.5, y - 0.5);
    if u < 0.0 || v < 0.0 || u >= (columns - 1) as f64 || v >= (rows - 1) as f64 {
        return None;
    }
    let (i, j) = (u as usize, v as usize);
    let (s, t) = (u - i as f64, v - j as f64);
    let at = |row: usize, column: usize| f64::from(open[[row, column]]);
    let (top, bottom) =
        ((1.0 - s) * at(j, i) + s * at(j, i + 1), (1.0 - s) * at(j + 1, i) + s * at(j + 1, i + 1));
    Some((1.0 - t) * top + t * bottom)
}

fn warnings(
    light: &Array2<f32>,
    window: &Window,
    open: &Array2<f32>,
    outline_px: &Outline,
    edge: &Edge,
) -> Vec<String> {
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
    let inside = open.indexed_iter().filter(|(_, value)| **value > 0.5);
    let (mut count, mut white) = (0usize, 0usize);
    for ((row, column), _) in inside {
        count += 1;
        white += usize::from(light[[window.top + row, window.left + column]] >= SATURATED);
    }
    if 2 * white > count {
        said.push(
            "The hole is blown out: its rim may stand outside the true one. Expose less.".into(),
        );
    }
    said
}
