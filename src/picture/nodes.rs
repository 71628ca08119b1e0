//! At how many places over the film the PSF has to be computed, and what it has wrong between them.

use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::Light;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// Limits what contrast between two nodes may differ from the mean of both, times the light there against the
/// middle of the film.
pub const CONTRAST_TOLERANCE: f64 = 0.01;
/// Nodes along a side that are tried, one after the other.
const NODES: [usize; 9] = [2, 3, 4, 5, 6, 7, 9, 12, 17];
/// Frequencies at which contrast is compared, as shares of the cut-off in the middle of the film, or of so
/// many periods across the hole's shadow, which a hole of one Fresnel zone has at the cut-off.
const COMPARED: [f64; 3] = [0.15, 0.3, 0.5];
const SHADOW_PERIODS: f64 = 4.0;
/// Directions over half a turn in which it is, and strips of the hole in each.
const DIRECTIONS: usize = 4;
const STRIPS: usize = 64;

/// Tells how many nodes across and down keep the picture's contrast between them within
/// [`CONTRAST_TOLERANCE`] of the mean of their neighbours, tried along the middle and the edge of the film;
/// 17 at the most.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn nodes(camera: &Camera, outline: &Outline) -> Result<[usize; 2], Error> {
    let contrast = Contrast::of(camera, outline);
    let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
    let mut chosen = [NODES[NODES.len() - 1]; 2];
    for (axis, chosen) in chosen.iter_mut().enumerate() {
        for count in NODES {
            let mut worst = 0.0f64;
            for beside in [0.0, half[1 - axis]] {
                // At the nodes and half-way between them.
                let steps = 2 * (count - 1);
                let at = |step: usize| {
                    let along = (2.0 * step as f64 / steps as f64 - 1.0) * half[axis];
                    contrast.at(if axis == 0 { [along, beside] } else { [beside, along] })
                };
                let found =
                    (0..=steps).into_par_iter().map(at).collect::<Result<Vec<_>, Error>>()?;
                let cells = found.windows(3).step_by(2);
                worst = cells
                    .map(|cell| difference(&cell[1], &[(0.5, &cell[0]), (0.5, &cell[2])]))
                    .fold(worst, f64::max);
            }
            if worst < CONTRAST_TOLERANCE {
                *chosen = count;
                break;
            }
        }
    }
    Ok(chosen)
}

/// Returns the largest difference of the picture's contrast, in light of the middle of the film, between the
/// exact PSF and the one between `nodes`, at so many places spread over the film. What the kernels themselves
/// have wrong comes to it ([`KernelGrid::contrast_error`](super::KernelGrid::contrast_error)).
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn contrast_error(
    camera: &Camera,
    outline: &Outline,
    nodes: [usize; 2],
    places: usize,
) -> Result<f64, Error> {
    // A single node holds for all of the film, as two alike would: the check is then the harder.
    let [across, down] = nodes.map(|count| count.max(2));
    let contrast = Contrast::of(camera, outline);
    let (width, height) = (camera.film.width_mm, camera.film.height_mm);
    let at = |x: f64, y: f64| contrast.at([(x - 0.5) * width, (y - 0.5) * height]);
    let errors = (0..places).into_par_iter().map(|i| {
        // Halton's points in bases 2 and 3: spread evenly, nowhere on a node.
        let (x, y) = (halton(i + 1, 2), halton(i + 1, 3));
        let cell = |share: f64, nodes: usize| {
            let place = share * (nodes - 1) as f64;
            let low = place.floor().min((nodes - 2) as f64);
            (low / (nodes - 1) as f64, (low + 1.0) / (nodes - 1) as f64, place - low)
        };
        let ((left, right, fx), (lower, upper, fy)) = (cell(x, across), cell(y, down));
        let corners = [at(left, lower)?, at(right, lower)?, at(left, upper)?, at(right, upper)?];
        let [a, b, c, d] = &corners;
        let mix = [
            ((1.0 - fx) * (1.0 - fy), a),
            (fx * (1.0 - fy), b),
            ((1.0 - fx) * fy, c),
            (fx * fy, d),
        ];
        Ok(difference(&at(x, y)?, &mix))
    });
    errors.try_reduce(|| 0.0, |a, b| Ok(a.max(b)))
}

fn halton(mut index: usize, base: usize) -> f64 {
    let (mut share, mut value) = (1.0, 0.0);
    while index > 0 {
        share /= base as f64;
        value += share * (index % base) as f64;
        index /= base;
    }
    value
}

/// OTFs of the mean wavelength at a few frequencies and directions, times the light of the place.
struct Contrast<'a> {
    camera: &'a Camera,
    outline: &'a Outline,
    light: Light,
    frequencies: [f64; 3],
}

impl Contrast<'_> {
    fn of<'a>(camera: &'a Camera, outline: &'a Outline) -> Contrast<'a> {
        let light = camera.light.condensed(1);
        let middle = PointImage::on_axis(camera, outline).in_light(&light);
        let cut_off = middle.cut_off_lp_per_mm(&middle.along(0.0, STRIPS));
        // A shadow has lost its contrast far below the cut-off: its rim to rim goes into a period there.
        let shadow_mm =
            outline.equivalent_diameter_mm() * middle.distances().shadow_magnification();
        let most = cut_off.min(SHADOW_PERIODS / shadow_mm);
        Contrast { camera, outline, light, frequencies: COMPARED.map(|share| share * most) }
    }

    /// Nought in the dark.
    fn at(&self, at_mm: Point) -> Result<Vec<Complex64>, Error> {
        let image = PointImage::where_lit(self.camera, self.outline, at_mm)?;
        let dark = || vec![Complex64::default(); DIRECTIONS * COMPARED.len()];
        Ok(image.map_or_else(dark, |image| {
            let image = image.in_light(&self.light);
            let light = (image.place.irradiance() * image.open).min(1.0);
            (0..DIRECTIONS)
                .map(|i| image.along(PI * i as f64 / DIRECTIONS as f64, STRIPS))
                .flat_map(|along| self.frequencies.map(|f| light * image.otf(&along, f)))
                .collect()
        }))
    }
}

/// The largest difference between contrasts and a mix of others.
fn difference(exact: &[Complex64], mix: &[(f64, &Vec<Complex64>)]) -> f64 {
    let mixed = |i: usize| mix.iter().map(|(share, part)| *share * part[i]).sum::<Complex64>();
    exact.iter().enumerate().map(|(i, value)| (value - mixed(i)).norm()).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::{Axis, Film, Shape};
    use crate::geometry::shapes;

    /// The nodes that are chosen keep what they promise at places that had no part in the choice.
    #[test]
    fn nodes_keep_their_promise() {
        let mut camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.36).unwrap();
        let tube = Film {
            width_mm: 150.0,
            height_mm: 100.0,
            shape: Shape::Cylinder { radius_mm: 60.0, axis: Axis::Vertical },
        };
        for film in [camera.film, tube] {
            camera.film = film;
            let nodes = nodes(&camera, &hole).unwrap();
            let error = contrast_error(&camera, &hole, nodes, 40).unwrap();
            println!("{nodes:?}: {error}");
            // The choice looks along lines; over the area both axes add up.
            assert!(error < 1.5 * CONTRAST_TOLERANCE, "{nodes:?}: {error}");
            assert!(contrast_error(&camera, &hole, [2, 2], 40).unwrap() > CONTRAST_TOLERANCE);
        }
    }
}
