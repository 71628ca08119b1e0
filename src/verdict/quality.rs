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

use crate::camera::{Camera, point_image};
use crate::geometry::Outline;
use crate::wave::analytic::DiscOtf;
use crate::wave::{Chords, Gauss, MM_PER_NM, fresnel_number};
use rayon::prelude::*;
use std::f64::consts::PI;

/// Directions over half a turn; the OTF repeats after it.
const DIRECTIONS: usize = 16;
/// Where the first direction lies, in steps. A quarter of a step off an axis, a hole that is its own
/// mirror image there is seen along twice as many directions.
const FIRST_DIRECTION: f64 = 0.25;
/// Strips of the hole in each direction: with these the merit of a disc is right to 2e-5.
const STRIPS: usize = 128;
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

/// The merit of a hole in a camera, 0 to 1.
pub fn quality(camera: &Camera, outline: &Outline) -> f64 {
    quality_of(camera, &all_chords(outline))
}

/// A hole's chords in all the directions the merit looks along; scale them to scale the hole.
pub fn all_chords(outline: &Outline) -> Vec<Chords> {
    (0..DIRECTIONS)
        .into_par_iter()
        .map(|i| PI * (i as f64 + FIRST_DIRECTION) / DIRECTIONS as f64)
        .map(|direction| Chords::along(outline, direction, STRIPS))
        .collect()
}

/// The merit of a hole given by its chords in evenly spread directions.
pub fn quality_of(camera: &Camera, directions: &[Chords]) -> f64 {
    let each = directions.par_iter().map(|chords| {
        let cut_off = point_image::cut_off_lp_per_mm(camera, chords);
        seen(camera, cut_off, |f| point_image::otf(camera, chords, f).re)
    });
    each.sum::<f64>() / directions.len() as f64
}

/// The merit of a perfect disc, from the closed form of its OTF.
pub fn quality_of_disc(camera: &Camera, diameter_mm: f64) -> f64 {
    let distances = camera.distances;
    let closed = DiscOtf::default();
    let cut_off = |nm: f64| diameter_mm / (nm * MM_PER_NM * distances.film_mm());
    let otf = |f: f64| {
        let of_one = |&(nm, share): &(f64, f64)| {
            let n = fresnel_number(diameter_mm / 2.0, nm, distances.effective_mm());
            share * closed.at(n, f / cut_off(nm))
        };
        camera.light.lines().iter().map(of_one).sum()
    };
    seen(camera, cut_off(camera.light.shortest_nm()), otf)
}

/// ∫ S max(0, H) dν / ∫ S dν for a real OTF that ends at `cut_off` line pairs per mm.
fn seen(camera: &Camera, cut_off: f64, otf: impl Fn(f64) -> f64) -> f64 {
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let finest = (cut_off / per_cycle).min(FINEST_SEEN);
    // ν = finest x²: the weight rises as ν^0.8 and would be rough at 0 otherwise.
    let mut sum = 0.0;
    for (x, weight) in Gauss::rule(FREQUENCIES).on(0.0, 1.0) {
        let nu = finest * x * x;
        sum += weight * 2.0 * finest * x * eye(nu) * otf(nu * per_cycle).max(0.0);
    }
    sum / eye_total()
}
