//! The disc whose light keeps together best: the smallest circle that holds a share of the energy.

use super::search::highest;
use crate::error::Error;
use crate::wave::analytic::{disc_encircled, disc_intensity};
use crate::wave::{Distances, Light, MM_PER_NM, fresnel_number};
use std::f64::consts::PI;

/// The constants c, d = c √(λz), between which the best disc lies for any share, and the step of a
/// coarse look over them.
const LEAST_CONSTANT: f64 = 1.0;
const LARGEST_CONSTANT: f64 = 2.8;
const COARSE: f64 = 1.12;

/// A disc and the circle on the film that holds the asked share of its light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tightest {
    /// The diameter of the disc, in mm.
    pub diameter_mm: f64,
    /// The diameter of the circle, in mm.
    pub circle_mm: f64,
}

/// The diameter of the disc whose circle with `share` of the energy is smallest, energies of all
/// wavelengths added, by the closed form of encircled energy. The minimum is flat: the circle is
/// right to 1e-9, the disc to 1e-5.
///
/// # Errors
/// [`Error::Limit`] unless the share is between 0.1 and 0.95: outside, circles are cut by single rings
/// and the smallest says nothing of a picture.
pub fn tightest_disc(light: &Light, distances: Distances, share: f64) -> Result<Tightest, Error> {
    if !(0.1..=0.95).contains(&share) {
        return Err(Error::limit(
            format!("a circle of {share} of the energy is no measure of sharpness"),
            "ask for a share between 0.1 and 0.95",
        ));
    }
    let unit_mm = (light.mean_nm() * MM_PER_NM * distances.effective_mm()).sqrt();
    let circle = |c: f64, guess: f64| circle_mm(light, distances, c * unit_mm, share, guess);
    // A coarse look first: circles jump where a ring leaves them, so there may be several minima.
    let mut guess = 2.0 * distances.shadow_magnification() * unit_mm;
    let mut best = (0.0, f64::INFINITY);
    let mut c = LEAST_CONSTANT;
    while c < LARGEST_CONSTANT {
        guess = circle(c, guess);
        if guess < best.1 {
            best = (c, guess);
        }
        c *= COARSE;
    }
    let c = highest(best.0 / COARSE, best.0 * COARSE, |c| -circle(c, best.1));
    Ok(Tightest { diameter_mm: c * unit_mm, circle_mm: circle(c, best.1) })
}

/// The diameter of the circle that holds `share` of a disc's energy, in mm: Newton's steps, the
/// density on the circle being the slope, kept between what is too small and what too large.
fn circle_mm(
    light: &Light,
    distances: Distances,
    diameter_mm: f64,
    share: f64,
    guess_mm: f64,
) -> f64 {
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let mut circle = guess_mm;
    for _ in 0..60 {
        let (mut energy, mut slope) = (-share, 0.0);
        for &(nm, weight) in light.lines() {
            let n = fresnel_number(diameter_mm / 2.0, nm, distances.effective_mm());
            // w = π d R/(λv), and dE/dw = i w/2.
            let per_mm = PI * diameter_mm / (2.0 * nm * MM_PER_NM * distances.film_mm());
            let w = per_mm * circle;
            energy += weight * disc_encircled(n, w);
            slope += weight * disc_intensity(n, w) * w / 2.0 * per_mm;
        }
        (low, high) = if energy < 0.0 { (circle, high) } else { (low, circle) };
        let step = -energy / slope;
        if step.abs() < 1e-11 * circle {
            break;
        }
        let next = (circle + step).min(2.0 * circle);
        circle =
            if next > low && next < high { next } else { (low + high.min(3.0 * circle)) / 2.0 };
    }
    circle
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One wavelength: the constants c where circles of 50, 80 and 90 % are smallest, and one over
    /// their diameters in v √(λ/z), computed independently from the OTF's closed form.
    #[test]
    fn smallest_circles_are_those_computed_elsewhere() {
        let light = Light::single(500.0).unwrap();
        // √(λz) = 1 mm, and so is v √(λ/z).
        let distances = Distances::distant(2000.0).unwrap();
        for (share, constant, inverse) in
            [(0.5, 1.494_383, 1.125_319), (0.8, 1.793_529, 0.494_515), (0.9, 1.945_086, 0.329_127)]
        {
            let found = tightest_disc(&light, distances, share).unwrap();
            assert!((found.diameter_mm - constant).abs() < 5e-5, "{share}: {}", found.diameter_mm);
            // The table's last digit.
            assert!((1.0 / found.circle_mm - inverse).abs() < 6e-7, "{share}: {}", found.circle_mm);
        }
        assert!(tightest_disc(&light, distances, 0.0).is_err());
    }
}
