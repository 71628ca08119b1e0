//! By what the best diameter is judged: what an eye can tell, acutance, or one of the trade's measures of a point
//! image.

use crate::camera::{Blur, Camera};
use crate::verdict::merit::{acutance_of_disc, quality_of_disc};
use crate::verdict::search::bisected;
use crate::wave::analytic::DiscOtf;
use crate::wave::{Encircled, Gauss, MM_PER_NM, fresnel_number};
use std::f64::consts::{PI, TAU};

/// The contrast at which a pattern counts as resolved.
const RESOLVED: f64 = 0.2;
/// The share of the energy that the circle holds.
const ENCIRCLED: f64 = 0.8;

/// Wavelengths that stand for all.
const LINES: usize = 5;
/// Directions over half a turn, where movement makes them differ.
const DIRECTIONS: usize = 16;
/// Frequencies at which the contrast is looked at until it falls.
const STEPS: usize = 80;

/// What is best at the best diameter.
///
/// The first two judge the print over the sheet. The others judge the image of a point in the middle of the film,
/// as their authors did: from the disc's OTF in closed form, all wavelengths added, with what emulsion and
/// movement spread, the mean over directions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Criterion {
    /// What an eye can tell of the print, over the sheet, in just-noticeable differences: [`crate::verdict::merit`].
    #[default]
    Eye,
    /// The share of the eye's weight (`IEEE1858`) that passes, over the sheet.
    Acutance,
    /// The frequency up to which the MTF stays above 20 %.
    Resolution,
    /// The smallest circle that holds 80 % of the energy.
    EncircledEnergy,
    /// The highest peak of the point image for the energy in it.
    Peak,
}

impl Criterion {
    /// What is judged, in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Criterion::Eye => {
                "what an eye can tell of the print (Barten's square-root integral), over the sheet"
            }
            Criterion::Acutance => {
                "acutance of the print (MTF weighted as in IEEE 1858), over the sheet"
            }
            Criterion::Resolution => "resolution: where the MTF falls to 20 %, mid film",
            Criterion::EncircledEnergy => {
                "encircled energy: the smallest circle that holds 80 %, mid film"
            }
            Criterion::Peak => "peak: the brightest point image for its energy, mid film",
        }
    }

    /// The merit of a disc: the higher the better, and in proportion to what is judged. For a circle one
    /// over its diameter, so that a loss of 5 % is one that is 5 % wider.
    pub(super) fn merit(self, camera: &Camera, diameter_mm: f64) -> f64 {
        let image = || DiscImage::of(camera, diameter_mm);
        match self {
            Criterion::Eye => quality_of_disc(camera, diameter_mm),
            Criterion::Acutance => acutance_of_disc(camera, diameter_mm),
            Criterion::Resolution => image().resolved_lp_per_mm(),
            Criterion::EncircledEnergy => {
                let image = image();
                let encircled = Encircled::from_mean_otf(image.cut_off, 0.0, |f| image.mean_otf(f));
                1.0 / encircled.diameter_mm(ENCIRCLED)
            }
            Criterion::Peak => image().peak_per_mm2(),
        }
    }

    /// Whether it judges the print over the sheet: costly, and smooth in the diameter.
    pub(super) fn is_over_sheet(self) -> bool {
        match self {
            Criterion::Eye | Criterion::Acutance => true,
            Criterion::Resolution | Criterion::EncircledEnergy | Criterion::Peak => false,
        }
    }
}

/// The image of a point that a disc makes in the middle of the film.
struct DiscImage {
    closed: DiscOtf,
    /// Fresnel number, cut-off in line pairs per mm, share of the energy: of each wavelength.
    lines: Vec<(f64, f64, f64)>,
    blur: Blur,
    directions: Vec<[f64; 2]>,
    cut_off: f64,
}

impl DiscImage {
    fn of(camera: &Camera, diameter_mm: f64) -> DiscImage {
        let distances = camera.distances;
        let of_line = |&(nm, share): &(f64, f64)| {
            let n = fresnel_number(diameter_mm / 2.0, nm, distances.effective_mm());
            (n, diameter_mm / (nm * MM_PER_NM * distances.film_mm()), share)
        };
        let lines: Vec<_> = camera.light.condensed(LINES).lines().iter().map(of_line).collect();
        let blur = Blur::at_f_number(camera, distances.film_mm() / diameter_mm);
        let count = if blur.is_round() { 1 } else { DIRECTIONS };
        let turn = |i: usize| (PI * (i as f64 + 0.5) / count as f64).sin_cos();
        DiscImage {
            closed: DiscOtf::default(),
            cut_off: lines.iter().map(|line| line.1).fold(0.0, f64::max),
            lines,
            blur,
            directions: (0..count).map(turn).map(|(sin, cos)| [cos, sin]).collect(),
        }
    }

    /// The OTF at a frequency, the mean over all directions.
    fn mean_otf(&self, f: f64) -> f64 {
        let hole: f64 = self
            .lines
            .iter()
            .map(|&(n, cut_off, share)| share * self.closed.at(n, f / cut_off))
            .sum();
        let moved: f64 = self.directions.iter().map(|d| self.blur.transfer(d.map(|c| c * f))).sum();
        hole * moved / self.directions.len() as f64
    }

    /// The frequency at which the OTF first falls to the contrast that is resolved.
    fn resolved_lp_per_mm(&self) -> f64 {
        let short = |f: f64| self.mean_otf(f) < RESOLVED;
        let at = |i: usize| self.cut_off * i as f64 / STEPS as f64;
        // At the cut-off nothing is left.
        let first = (1..STEPS).find(|&i| short(at(i))).unwrap_or(STEPS);
        bisected(at(first - 1), at(first), |f| !short(f))
    }

    /// The energy density in the middle of the point image: the integral of the OTF over the plane.
    fn peak_per_mm2(&self) -> f64 {
        let rule = Gauss::rule(STEPS);
        let rings =
            rule.on(0.0, self.cut_off).map(|(f, weight)| weight * TAU * f * self.mean_otf(f));
        rings.sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::target::target_by;
    use crate::wave::{Distances, Light};

    /// One wavelength, √(λz) = 1 mm and v √(λ/z) = 1 mm: diameters are the constants c, frequencies s.
    fn bench() -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = Light::single(500.0).unwrap();
        camera.distances = Distances::distant(2000.0).unwrap();
        camera
    }

    const MEASURES: [Criterion; 3] =
        [Criterion::Resolution, Criterion::EncircledEnergy, Criterion::Peak];

    /// Best constants, their merits, and the constants at which 98, 95, 90 and 80 % of it are left, computed
    /// independently from the closed form by adaptive quadrature; digits as given there.
    #[test]
    fn best_discs_and_bands_are_those_computed_elsewhere() {
        let table = [
            (
                1.523_492,
                0.898_201,
                [(1.409, 1.624), (1.332, 1.680), (1.234, 1.749), (1.072, 1.875)],
            ),
            (
                1.793_529,
                0.494_515,
                [(1.623, 1.916), (1.495, 1.976), (1.307, 2.092), (0.735, 2.656)],
            ),
            // The same in 1/(π/4): a peak of 4/π sin²(πN/2)/N.. per unit energy, 1.449 223.
            (
                1.722_811,
                1.449_223,
                [(1.604, 1.837), (1.532, 1.901), (1.446, 1.974), (1.313, 2.079)],
            ),
        ];
        let camera = bench();
        for (criterion, (constant, merit, bands)) in MEASURES.into_iter().zip(table) {
            let found = target_by(&camera, criterion);
            // Flat tops: 1e-6 of a merit is a thousandth of its place.
            assert!((found.constant / constant - 1.0).abs() < 1e-3, "{criterion:?} {found:?}");
            assert!((found.quality / merit - 1.0).abs() < 2e-5, "{criterion:?} {}", found.quality);
            for (band, (low, high)) in found.band.iter().zip(bands) {
                // The table's last digit.
                assert!((band.low_mm - low).abs() < 1.5e-3, "{criterion:?} {band:?}");
                assert!((band.high_mm - high).abs() < 1.5e-3, "{criterion:?} {band:?}");
            }
        }
    }

    /// Measures of a point image know z alone: a subject at ten times the film's distance asks for √(10/11)
    /// of the diameter, 4.65 % less.
    #[test]
    fn a_near_subject_asks_for_less() {
        for criterion in MEASURES {
            let near = Camera { distances: Distances::new(20_000.0, 2000.0).unwrap(), ..bench() };
            let (near, distant) = (target_by(&near, criterion), target_by(&bench(), criterion));
            let less = 1.0 - near.diameter_mm / distant.diameter_mm;
            assert!((less - 0.046_54).abs() < 5e-4, "{criterion:?}: {less}");
        }
    }

    /// What an emulsion spreads costs each of them something.
    #[test]
    fn blur_counts() {
        let mut blurred = bench();
        blurred.emulsion.blur_mm = 0.2;
        for criterion in MEASURES {
            let (clear, soft) = (criterion.merit(&bench(), 1.6), criterion.merit(&blurred, 1.6));
            assert!(soft < 0.95 * clear && soft > 0.3 * clear, "{criterion:?}: {soft} {clear}");
        }
    }
}
