//! What this hole can draw at a place: the contrast that a faultless picture of the chart would show there.

use super::chart::Chart;
use super::edge::windowed;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::Distances;
use rustfft::num_complex::Complex64;

/// Wavelengths that stand for all in OTFs: eight give the curves of daylight on panchromatic film to
/// 1e-4 (`task::psf`).
const LINES: usize = 8;
/// Strips of the hole: accurate to 1e-4 on a disc.
const STRIPS: usize = 128;
/// Samples of an OTF up to where it ends: their distance makes a period of 60 natural lengths near the best size,
/// and the window is 36 wide.
const SAMPLES: usize = 160;

/// Describes contrast along one direction at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Predicted {
    /// The MTF.
    pub mtf: Vec<f64>,
    /// The same as a window of the measured strip's width shows it.
    pub windowed: Vec<f64>,
}

/// The image of a point of the chart at a place on film that is displaced outward by `depth_mm` there; None where no
/// light comes.
///
/// # Errors
/// As [`PointImage::where_lit`].
pub fn image(
    camera: &Camera,
    hole: &Outline,
    place_mm: Point,
    depth_mm: f64,
) -> Result<Option<PointImage>, Error> {
    let film_mm = camera.distances.film_mm() + depth_mm;
    let distances = Distances::new(camera.distances.subject_mm(), film_mm)?;
    let light = camera.light.condensed(LINES);
    let camera = Camera { distances, light, ..camera.clone() };
    PointImage::where_lit(&camera, hole, place_mm)
}

/// The contrast along a direction, in rad anticlockwise from the film's x, at frequencies in line pairs per mm.
pub fn predicted(
    image: &PointImage,
    direction_rad: f64,
    half_mm: f64,
    frequencies: &[f64],
) -> Predicted {
    let along = image.along(direction_rad, STRIPS);
    let cut_off = image.cut_off_lp_per_mm(&along);
    let step = cut_off / SAMPLES as f64;
    let otf: Vec<Complex64> = (0..SAMPLES).map(|i| image.otf(&along, i as f64 * step)).collect();
    let mtf = frequencies.iter().map(|f| image.otf(&along, *f).norm()).collect();
    Predicted { mtf, windowed: windowed(&otf, step, half_mm, frequencies) }
}

/// The frequencies, `count` of them at even steps, up to where the contrast in the middle of the film has fallen to `least`,
/// in line pairs per mm.
pub fn frequencies(chart: &Chart, hole: &Outline, least: f64, count: usize) -> Vec<f64> {
    let light = chart.camera.light.condensed(LINES);
    let image = PointImage::on_axis(&chart.camera, hole).in_light(&light);
    frequencies_in(&image, 0.0, least, count)
}

/// The same at a place along a direction, in rad anticlockwise from the film's x.
pub fn frequencies_in(
    image: &PointImage,
    direction_rad: f64,
    least: f64,
    count: usize,
) -> Vec<f64> {
    let along = image.along(direction_rad, STRIPS);
    let cut_off = image.cut_off_lp_per_mm(&along);
    let steps = 200;
    let last = (1..steps)
        .find(|i| image.otf(&along, cut_off * f64::from(*i) / f64::from(steps)).norm() < least);
    let last = cut_off * f64::from(last.unwrap_or(steps)) / f64::from(steps);
    (1..=count).map(|i| last * i as f64 / count as f64).collect()
}
