//! This hole in this camera: the one place where a PSF, an OTF or encircled energy is asked for.
//!
//! On the axis of flat film, behind a thin plate, with the camera still. What a place off the axis,
//! a thick plate, the emulsion and the motion add to it belongs here, so that every command, the
//! picture and the verdict see the same light.

use super::description::Camera;
use crate::error::Error;
use crate::geometry::Outline;
use crate::wave::{Aperture, Chords, Encircled, Grid, MM_PER_NM, Psf};
use rustfft::num_complex::Complex64;

/// Points across the hole from which on Fourier transforms are quicker than matrix products:
/// measured 1.5 to 1.9 times at 270 points, 3 times at 510.
const WIDE_FROM: usize = 256;

/// The PSF of a hole in a camera, in the middle of the film.
///
/// # Errors
/// As [`Aperture::psf`]: the grid or the hole is beyond the model's limits.
pub fn psf(camera: &Camera, outline: &Outline, grid: Grid) -> Result<Psf, Error> {
    let (aperture, light, distances) = (Aperture::of(outline), &camera.light, camera.distances);
    if aperture.order(light, distances, grid.reach_mm()) < WIDE_FROM {
        aperture.psf(light, distances, grid)
    } else {
        aperture.wide_psf(light, distances, grid)
    }
}

/// The OTF of a hole in a camera along its chords' direction, at a frequency on the film in line
/// pairs per mm, with the centroid's phase taken out.
pub fn otf(camera: &Camera, chords: &Chords, frequency_lp_per_mm: f64) -> Complex64 {
    chords.otf(&camera.light, camera.distances, frequency_lp_per_mm)
}

/// The energy in circles about the point image's centroid.
pub fn encircled(camera: &Camera, outline: &Outline) -> Encircled {
    Encircled::of(outline, &camera.light, camera.distances)
}

/// The frequency from which on nothing is left, in line pairs per mm on the film.
pub fn cut_off_lp_per_mm(camera: &Camera, chords: &Chords) -> f64 {
    chords.cut_off_lp_per_mm(&camera.light, camera.distances)
}

/// The radius of the first dark ring of a far disc of the hole's area at the mean wavelength, plus
/// the hole's own shadow: a length that the point image never much exceeds, in mm. For choosing grids.
pub fn extent_mm(camera: &Camera, outline: &Outline) -> f64 {
    let distances = camera.distances;
    let diameter = outline.equivalent_diameter_mm();
    // First zero of J1 over π: DLMF 10.21.
    let ring = 1.219_67 * camera.light.mean_nm() * MM_PER_NM * distances.film_mm() / diameter;
    ring + distances.shadow_magnification() * diameter / 2.0
}

/// What is to be said about a hole for which the model's second-order expansion of distances is
/// coarse, with the size of the term that it drops. None where that is below a hundredth of a radian, and the error of
/// the light below about a hundredth.
pub fn model_remark(camera: &Camera, outline: &Outline) -> Option<String> {
    let neglected = Aperture::of(outline).neglected_phase_rad(&camera.light, camera.distances);
    (neglected > 0.01).then(|| {
        format!(
            "The hole is large for its distances: the model drops a phase of up to {neglected:.2} rad, \
             so brightness at single places may be wrong by about {:.0} %.",
            100.0 * neglected
        )
    })
}
