//! The diameter to aim for in a camera, and how far off still looks the same.

use super::depth::Subject;
use super::quality::quality_of_disc;
use super::search::{edge, highest};
use crate::camera::Camera;
use crate::wave::MM_PER_NM;
use serde::Serialize;

/// Losses whose band of diameters is given.
pub const LOSSES: [f64; 4] = [0.02, 0.05, 0.10, 0.20];

/// The constants between which a band is looked for: a hole outside is no pinhole of its camera.
const SMALLEST: f64 = 0.01;
const LARGEST: f64 = 20.0;

/// How the best diameter is judged, in words.
pub const CRITERION: &str =
    "what an eye sees in the print (MTF weighted by its contrast sensitivity)";

/// The best disc for a camera.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Target {
    /// The diameter to aim for, in mm.
    pub diameter_mm: f64,
    /// That diameter over √(λz), λ the mean wavelength by energy, z the effective distance.
    pub constant: f64,
    /// How it was judged.
    pub criterion: &'static str,
    /// The diameters that lose no more than this.
    pub band: Vec<Band>,
    /// Film distance over diameter.
    pub f_number: f64,
    /// What it makes of the camera's subject, and of others.
    pub subject: Subject,
    /// The merit of the best disc: 1 would be a perfect image.
    #[serde(skip)]
    pub quality: f64,
}

/// Diameters between which a disc loses at most `loss` of the best one's merit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// The loss, 0..1.
    pub loss: f64,
    /// The smaller diameter that loses so much, in mm.
    pub low_mm: f64,
    /// The larger one, in mm.
    pub high_mm: f64,
}

/// Searches the best diameter of a camera and its bands.
pub fn target(camera: &Camera) -> Target {
    let z = camera.distances.effective_mm();
    let unit_mm = (camera.light.mean_nm() * MM_PER_NM * z).sqrt();
    let merit = |c: f64| quality_of_disc(camera, c * unit_mm);
    let constant = best(merit);
    let quality = merit(constant);
    let band = LOSSES.map(|loss| {
        let keeps = |c: f64| merit(c) > (1.0 - loss) * quality;
        Band {
            loss,
            low_mm: unit_mm * edge(constant, SMALLEST, keeps).unwrap_or(SMALLEST),
            high_mm: unit_mm * edge(constant, LARGEST, keeps).unwrap_or(LARGEST),
        }
    });
    let diameter_mm = constant * unit_mm;
    Target {
        diameter_mm,
        constant,
        criterion: CRITERION,
        band: band.to_vec(),
        f_number: camera.distances.film_mm() / diameter_mm,
        subject: Subject::of(camera, diameter_mm),
        quality,
    }
}

impl Target {
    /// The band of diameters that lose at most 5 %: what a maker may call done.
    pub fn good_enough(&self) -> Band {
        self.band[1]
    }
}

/// The place of the highest merit: a coarse look over all sizes that could be best, then a close one.
fn best(merit: impl Fn(f64) -> f64) -> f64 {
    const COARSE: f64 = 1.08;
    let mut top = (0.0, f64::NEG_INFINITY);
    let mut c = 0.3;
    while c < 5.0 {
        let value = merit(c);
        if value > top.1 {
            top = (c, value);
        }
        c *= COARSE;
    }
    highest(top.0 / COARSE, top.0 * COARSE, merit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::verdict::quality::{image_of, quality, quality_of};
    use crate::wave::{Distances, Light};

    /// A camera in which the eye's cycle per degree is κ of the reduced frequency: s = κν, L = √(λz).
    fn camera(kappa: f64) -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = Light::single(550.0).unwrap();
        camera.distances = Distances::distant(100.0).unwrap();
        let natural_mm = (550e-6f64 * 100.0).sqrt();
        camera.print.enlargement = 1.0;
        camera.print.viewing_distance_mm = 1f64.to_degrees() * natural_mm / kappa;
        camera
    }

    /// Best constant, merit there and the bands of 2, 5, 10, 20 %, computed independently from the
    /// closed form of the OTF by adaptive quadrature; digits as given there.
    #[test]
    fn best_discs_and_bands_are_those_computed_elsewhere() {
        let table = [
            (0.04, 1.4546, 0.61534, [(1.232, 1.697), (1.110, 1.850), (0.977, 2.041)]),
            (0.1, 1.5337, 0.32174, [(1.376, 1.692), (1.283, 1.785), (1.176, 1.895)]),
            (0.2, 1.5991, 0.14939, [(1.459, 1.736), (1.375, 1.815), (1.277, 1.906)]),
        ];
        for (kappa, constant, quality, bands) in table {
            let found = target(&camera(kappa));
            let unit = found.diameter_mm / found.constant;
            // The top is flat: 1e-7 of the merit is 2e-4 of the constant.
            assert!((found.constant - constant).abs() < 5e-4, "{kappa}: {}", found.constant);
            assert!((found.quality - quality).abs() < 1e-5, "{kappa}: {}", found.quality);
            for (band, (low, high)) in found.band.iter().zip(bands) {
                // The table's last digit.
                assert!((band.low_mm / unit - low).abs() < 1.1e-3, "{kappa}: {band:?}");
                assert!((band.high_mm / unit - high).abs() < 1.1e-3, "{kappa}: {band:?}");
            }
        }
    }

    /// Movement asks for a larger hole, an emulsion's own blur for a slightly smaller one: best constants of
    /// ∫_0^1.3 max(0, H B) ds computed elsewhere from the closed forms, λ = 550 nm, v = 100 mm, blur as
    /// quoted at 0.34 mm and growing with the time, that is as d⁻².
    #[test]
    fn what_moves_shifts_the_best_size_as_computed_elsewhere() {
        use crate::camera::{Blur, Support, Sway};
        use crate::wave::analytic::DiscOtf;
        use crate::wave::{Gauss, fresnel_number};
        let (v, nm) = (100.0, 550.0);
        let unit = (nm * MM_PER_NM * v).sqrt();
        let still = |drift, sway| Support {
            drift_mm_per_s: drift,
            sway,
            walk_mm2_per_s: 0.0,
            direction_rad: 0.0,
        };
        let (closed, rule) = (DiscOtf::default(), Gauss::rule(200));
        let found = |blur_mm: f64, support: &dyn Fn(f64) -> Option<Support>| {
            let mut camera = camera(0.1);
            camera.emulsion.blur_mm = blur_mm;
            camera.emulsion.reciprocity = None;
            let time_s = crate::camera::exposure::Timing::of(&camera).metered_s(v / 0.34);
            camera.support = support(time_s);
            best(|c| {
                let blur = Blur::at_f_number(&camera, v / (c * unit));
                let n = fresnel_number(c * unit / 2.0, nm, v);
                let seen = rule.on(0.0, 1.3f64.min(c)).map(|(s, weight)| {
                    weight * (closed.at(n, s / c) * blur.transfer([s / unit, 0.0])).max(0.0)
                });
                seen.sum::<f64>()
            })
        };
        let sway = Sway { amplitude_mm: 0.05, period_s: 1e-3 };
        let cases = [
            (1.5373, found(0.0, &|_| None)),
            (1.6034, found(0.0, &|time| Some(still(0.1 / time, None)))),
            (1.7429, found(0.0, &|time| Some(still(0.2 / time, None)))),
            (1.5075, found(0.0, &|_| Some(still(0.0, Some(sway))))),
            (1.5294, found(0.02, &|_| None)),
        ];
        for (expected, found) in cases {
            // A flat top: a part in 1e6 of the merit is 5e-4 of the constant, and H has kinks where it ends.
            assert!((found - expected).abs() < 2e-3, "{found} against {expected}");
        }
    }

    /// The merit of an outline and the closed form for a disc are two routes to one number.
    #[test]
    fn both_routes_to_a_disc_agree() {
        let camera = camera(0.1);
        for diameter in [0.15, 0.35, 0.6] {
            let by_outline = quality(&camera, &shapes::disc(diameter).unwrap());
            let closed = quality_of_disc(&camera, diameter);
            // The strips' 2e-5, averaged over frequencies.
            assert!((by_outline - closed).abs() < 1e-5, "{diameter}: {by_outline} {closed}");
        }
    }

    /// Losses of form at the best disc's area, computed independently to about 0.1 %.
    #[test]
    fn shapes_lose_what_they_lose_elsewhere() {
        let camera = camera(0.1);
        let best = target(&camera);
        let d = best.diameter_mm;
        let area = |o: crate::geometry::Outline| o.scaled(d / o.equivalent_diameter_mm());
        let lobed = |n: f64, e: f64| shapes::polar(2000, |p| 1.0 + e * (n * p).cos()).unwrap();
        let burred = |w: f64, depth: f64| shapes::burred_disc(2.0, 0.3, w, depth).unwrap();
        let cases = [
            (shapes::ellipse(1.2, 1.0).unwrap(), 0.017),
            (shapes::ellipse(1.5, 1.0).unwrap(), 0.081),
            (burred(0.15, 0.7), 0.027),
            (burred(0.3, 0.7), 0.049),
            (lobed(3.0, 0.1), 0.023),
            (lobed(5.0, 0.1), 0.025),
            (shapes::rectangle(1.0, 1.0).unwrap(), 0.057),
        ];
        for (outline, loss) in cases {
            let found = 1.0 - quality(&camera, &area(outline)) / best.quality;
            // The last digit of those figures.
            assert!((found - loss).abs() < 1e-3, "{found} against {loss}");
        }
    }

    /// The directions are enough: three times as many change the merit of an oval and of a square
    /// by less than 1e-4.
    #[test]
    fn the_directions_are_enough() {
        let camera = camera(0.1);
        for hole in [shapes::ellipse(0.45, 0.3).unwrap(), shapes::rectangle(0.3, 0.3).unwrap()] {
            let image = image_of(&camera, &hole);
            let more: Vec<_> = (0..48)
                .map(|i| image.along(std::f64::consts::PI * (f64::from(i) + 0.5) / 48.0, 512))
                .collect();
            let fine = quality_of(&camera, &image, &more);
            let found = quality(&camera, &hole);
            assert!((found - fine).abs() < 1e-4, "{found} {fine}");
        }
    }
}
