//! Zones: the axis of discs, rings and zone plates, and screens by Babinet.

use super::lommel::intensities;
use super::{Check, MM, NM, exact, light, number, table};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Distances, analytic};
use std::f64::consts::PI;

const ZONES: &str = "Born & Wolf 8.2: 4 sin²(πN/2)";

/// Irradiance over the open wave's at places in mm, with film at `v` and the subject far away: energy
/// density times the open area.
fn irradiance(outline: &Outline, v: f64, places: &[[f64; 2]]) -> Vec<f64> {
    let distances = Distances::distant(v).unwrap();
    let found = exact(outline).density_at(&light(), distances, places).unwrap();
    found.iter().map(|e| e * outline.area_mm2()).collect()
}

pub(crate) fn checks() -> Vec<Check> {
    let axis = [0.05, 0.25, 0.5, 1.0, 1.5, 2.0, 3.6, 6.0, 12.0, 49.0].map(|n| {
        let found = (PI * n).powi(2) * intensities(n, &[0.0], 0.0)[0];
        (analytic::disc_on_axis(n) / 4.0, found / 4.0)
    });
    // The field of a ring is the large disc's less the small one's.
    let a = 0.15f64;
    let rings = [(0.5f64, 1.0), (0.2, 1.0), (0.5, 2.0), (0.8, 3.0)].map(|(ratio, n)| {
        let ring = shapes::annulus(2.0 * a, 2.0 * a * ratio).unwrap();
        let found = irradiance(&ring, a * a / (MM * n), &[[0.0, 0.0]])[0];
        (analytic::disc_on_axis(n - ratio * ratio * n) / 4.0, found / 4.0)
    });
    // Every open zone adds two open waves: k of them 4k².
    let plates = [1, 2, 5, 12].map(|k| {
        let plate = shapes::zone_plate(0.1, k).unwrap();
        let found = irradiance(&plate, 0.1 * 0.1 / MM, &[[0.0, 0.0]])[0];
        let brightest = 4.0 * (k * k) as f64;
        (1.0, found / brightest)
    });
    vec![
        // The polygon's ripple in second order, grown by πN: measured 1e-8 at N = 49.
        Check::worst("axis of a disc, N = 0.05 to 49, of the brightest", ZONES, 5e-8, 1.0, axis),
        Check::worst("axis of a ring, of the brightest", ZONES, 1e-8, 1.0, rings),
        Check::worst("focus of a zone plate, 4k² for k zones", ZONES, 1e-8, 1.0, plates),
        babinet(),
        rings_off_the_axis(),
    ]
}

/// A ring off its axis, by a table.
fn rings_off_the_axis() -> Check {
    let a = 0.15f64;
    let pairs = table("annulus").into_iter().map(|row| {
        let ring = shapes::annulus(2.0 * a, 2.0 * a * number(&row, "ratio")).unwrap();
        // So far away that what N is left, 1e-9, does not show.
        let v = a * a / (MM * number(&row, "fresnel_number").max(1e-9));
        let at = [number(&row, "w") * MM * v / (2.0 * PI * a), 0.0];
        let in_phase = (ring.area_mm2() / (MM * v)).powi(2);
        (number(&row, "intensity"), irradiance(&ring, v, &[at])[0] / in_phase)
    });
    let source = "fields subtract; mpmath quadrature";
    // The polygons' ripple.
    Check::worst("ring off its axis, of the far field's peak", source, 1e-9, 1.0, pairs)
}

/// An opaque disc leaves the open wave less that of the opening (Babinet): its centre is as bright as
/// without it, for every N (Poisson's spot).
fn babinet() -> Check {
    let a = 0.15f64;
    let disc = exact(&shapes::disc(2.0 * a).unwrap());
    let pairs = table("screen").into_iter().map(|row| {
        let n = number(&row, "fresnel_number");
        // A near subject, so that the magnification is in it: 1/v = 1/z - 1/u.
        let distances = Distances::new(900.0, 1.0 / (MM * n / (a * a) - 1.0 / 900.0)).unwrap();
        let at = number(&row, "t") * distances.shadow_magnification() * a;
        let hole = disc.amplitude_at(NM, distances, &[[0.6 * at, 0.8 * at]]).unwrap()[0];
        (number(&row, "irradiance"), (1.0 - hole).norm_sqr())
    });
    // The polygon's ripple.
    Check::worst("opaque disc, its spot and its shadow", "Babinet; mpmath", 1e-8, 1.0, pairs)
}
