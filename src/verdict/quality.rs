//! The merit: what an eye sees in the print.
//!
//! ```text
//! Q = mean over directions of ∫ S(ν) max(0, Re H(f(ν))) dν / ∫ S(ν) dν
//! S(ν) = ν^0.8 exp(-0.2 ν) ,     f(ν) = ν · (180/π) · enlargement / viewing distance
//! ```
//!
//! ν is in cycles per degree at the eye, f in line pairs per mm on the film, H the OTF without the
//! phase of the point image's centroid (a straight shift is no blur). 1 would be a perfect image.
//! It ignores detail that nobody can see, counts reversed contrast as none, is smooth in every shape
//! of hole, and takes wavelengths, distances and what else blurs as factors of H.
//!
//! S is the shape of the eye's luminance contrast sensitivity of IEEE 1858 (CPIQ), a = 75, b = 0.2,
//! c = 0.8 (from memory; a cancels). Its ancestor: E. M. Granger and K. N. Cupery, Photogr. Sci. Eng.
//! 16, 221 (1972). The choice matters little: other published weights move the best diameter by
//! less than 6 %.

use crate::camera::{Along, Blur, Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::analytic::DiscOtf;
use crate::wave::{Gauss, Light, MM_PER_NM, fresnel_number};
use rayon::prelude::*;
use std::f64::consts::PI;

/// Directions over half a turn; the OTF repeats after it.
const DIRECTIONS: usize = 16;
/// Where the first direction lies, in steps. A quarter of a step off an axis, a hole that is its own
/// mirror image there is seen along twice as many directions.
const FIRST_DIRECTION: f64 = 0.25;
/// Strips of the hole in each direction: with these the merit of a disc is right to 2e-5.
const STRIPS: usize = 128;
/// Wavelengths that stand for all: five of them give the merit of a disc in daylight on panchromatic
/// film to 1e-6.
const LINES: usize = 5;
/// Points in frequency.
const FREQUENCIES: usize = 40;
/// Beyond this the eye's weight is below 1e-7 of its peak, in cycles per degree.
const FINEST_SEEN: f64 = 100.0;

/// The eye's weight at ν cycles per degree, up to a constant.
pub fn eye(cycles_per_degree: f64) -> f64 {
    cycles_per_degree.powf(0.8) * (-0.2 * cycles_per_degree).exp()
}

/// ∫ S dν over all frequencies: Γ(1.8)/0.2^1.8 (DLMF 5.2.1).
fn eye_total() -> f64 {
    libm::tgamma(1.8) / 0.2f64.powf(1.8)
}

/// The merit of a hole in the middle of a camera's film, 0 to 1.
pub fn quality(camera: &Camera, outline: &Outline) -> f64 {
    let image = image_of(camera, outline);
    quality_of(camera, &image, &all_directions(&image))
}

/// The merit of a hole at a place on the film, in mm from its middle; not a number where no light comes.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn quality_at(camera: &Camera, outline: &Outline, at_mm: Point) -> Result<f64, Error> {
    let image = PointImage::where_lit(camera, outline, at_mm)?;
    Ok(image.map_or(f64::NAN, |image| {
        let image = image.in_light(&few(camera));
        quality_of(camera, &image, &all_directions(&image))
    }))
}

/// The image of a point in the middle of the film, in light of few wavelengths.
pub fn image_of(camera: &Camera, outline: &Outline) -> PointImage {
    PointImage::on_axis(camera, outline).in_light(&few(camera))
}

fn few(camera: &Camera) -> Light {
    camera.light.condensed(LINES)
}

fn direction(i: usize) -> f64 {
    PI * (i as f64 + FIRST_DIRECTION) / DIRECTIONS as f64
}

/// A hole cut in all the directions the merit looks along; scale them to scale the hole.
pub fn all_directions(image: &PointImage) -> Vec<Along> {
    (0..DIRECTIONS).into_par_iter().map(|i| image.along(direction(i), STRIPS)).collect()
}

/// The merit of a point image given in evenly spread directions.
pub fn quality_of(camera: &Camera, image: &PointImage, directions: &[Along]) -> f64 {
    let each = directions.par_iter().map(|along| {
        let cut_off = image.cut_off_lp_per_mm(along);
        seen(camera, cut_off, |f| image.otf(along, f).re)
    });
    each.sum::<f64>() / directions.len() as f64
}

/// The merit of a perfect disc, from the closed form of its OTF.
pub fn quality_of_disc(camera: &Camera, diameter_mm: f64) -> f64 {
    let (distances, light) = (camera.distances, few(camera));
    let closed = DiscOtf::default();
    let cut_off = |nm: f64| diameter_mm / (nm * MM_PER_NM * distances.film_mm());
    let otf = |f: f64| -> f64 {
        let of_one = |&(nm, share): &(f64, f64)| {
            let n = fresnel_number(diameter_mm / 2.0, nm, distances.effective_mm());
            share * closed.at(n, f / cut_off(nm))
        };
        light.lines().iter().map(of_one).sum()
    };
    let blur = Blur::at_f_number(camera, distances.film_mm() / diameter_mm);
    let directions = if blur.is_round() { 1 } else { DIRECTIONS };
    let along: Vec<[f64; 2]> =
        (0..directions).map(|i| direction(i).sin_cos()).map(|(sin, cos)| [cos, sin]).collect();
    let cut_off = cut_off(light.shortest_nm());
    // One OTF serves all directions: only what moves has any.
    let seen = frequencies(camera, cut_off).map(|(f, weight)| {
        let hole = otf(f);
        let each = along.iter().map(|d| (hole * blur.transfer(d.map(|c| c * f))).max(0.0));
        weight * each.sum::<f64>() / directions as f64
    });
    seen.sum::<f64>() / eye_total()
}

/// ∫ S max(0, H) dν / ∫ S dν for a real OTF that ends at `cut_off` line pairs per mm.
fn seen(camera: &Camera, cut_off: f64, otf: impl Fn(f64) -> f64) -> f64 {
    let sum: f64 = frequencies(camera, cut_off).map(|(f, weight)| weight * otf(f).max(0.0)).sum();
    sum / eye_total()
}

/// Frequencies on the film, in line pairs per mm, with S dν as weights.
fn frequencies(camera: &Camera, cut_off: f64) -> impl Iterator<Item = (f64, f64)> {
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let finest = (cut_off / per_cycle).min(FINEST_SEEN);
    // ν = finest x²: the weight rises as ν^0.8 and would be rough at 0 otherwise.
    let points: Vec<(f64, f64)> = Gauss::rule(FREQUENCIES).on(0.0, 1.0).collect();
    points.into_iter().map(move |(x, weight)| {
        let nu = finest * x * x;
        (nu * per_cycle, weight * 2.0 * finest * x * eye(nu))
    })
}
