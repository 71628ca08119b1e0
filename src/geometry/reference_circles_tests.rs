//! Checks of the reference circles.

use super::super::shapes;
use super::*;
use proptest::prelude::*;

/// r = R + e2 cos 2φ + e3 cos 3φ, R = 0.150, e2 = 0.004, e3 = 0.003 mm. The digits below were
/// computed apart from this code (dense sampling and general-purpose minimisers). 20000 points leave
/// sides R(2π/20000)²/8 = 2e-9 mm inside the curve, which is the tolerance with the table's digits.
fn lobed() -> Outline {
    shapes::polar(20_000, |a| 0.150 + 0.004 * (2.0 * a).cos() + 0.003 * (3.0 * a).cos()).unwrap()
}

fn close(value: f64, truth: f64, tolerance: f64) {
    assert!((value - truth).abs() <= tolerance, "{value} is not {truth} within {tolerance}");
}

#[test]
fn least_squares_of_the_lobed_form() {
    let profile = profile(&lobed());
    let circle = least_squares(&profile);
    // Exact for points even in angle: harmonics from the second up are orthogonal to {1, cos, sin}.
    close(2.0 * circle.radius_mm, 0.3, 1e-12);
    close(circle.centre_mm[0].hypot(circle.centre_mm[1]), 0.0, 1e-12);
    close(zone_about(&profile, circle.centre_mm).roundness_mm(), 0.012_668_062, 2e-9);
}

#[test]
fn minimum_zone_of_the_lobed_form() {
    let zone = minimum_zone(&profile(&lobed()));
    close(zone.roundness_mm(), 0.010_936_096, 3e-9);
    close(zone.centre_mm[0], 0.002_662_827, 1e-6);
    close(zone.centre_mm[1], 0.0, 1e-6);
    close(zone.inner_radius_mm, 0.143_401_077, 1e-6);
    close(zone.outer_radius_mm, 0.154_337_173, 1e-6);
}

#[test]
fn circumscribed_and_inscribed_of_the_lobed_form() {
    let outline = lobed();
    let profile = profile(&outline);
    let around = circumscribed(&profile);
    close(2.0 * around.radius_mm, 0.308_674_346, 3e-9);
    close(around.centre_mm[0], 0.002_662_827, 1e-6);
    close(zone_about(&profile, around.centre_mm).roundness_mm(), 0.010_936_096, 1e-6);
    let within = inscribed(&outline, 1e-8);
    close(2.0 * within.radius_mm, 0.291_490_882, 3e-8);
    // Along a ridge the centre is known only to the root of accuracy times radius.
    close(within.centre_mm[0], -0.005_254_559, 1e-5);
    close(zone_about(&profile, within.centre_mm).roundness_mm(), 0.016_509_118, 1e-5);
}

/// Ellipse with half-axes p > q: MIC 2q, MCC 2p, RONt(MZC) = p - q, by symmetry.
#[test]
fn ellipse_by_its_closed_forms() {
    let ellipse = shapes::ellipse(0.4, 0.3).unwrap().turned(0.3).moved(5.0, -2.0);
    let profile = profile(&ellipse);
    // The equal-area polygon of 1440 sides departs from the curve by 1e-6 of its radius.
    close(2.0 * circumscribed(&profile).radius_mm, 0.4, 1e-6);
    close(2.0 * inscribed(&ellipse, 1e-7).radius_mm, 0.3, 1e-6);
    close(minimum_zone(&profile).roundness_mm(), 0.05, 1e-6);
    close(least_squares(&profile).centre_mm[0], 5.0, 1e-9);
}

#[test]
fn rectangle_and_ring() {
    let slit = shapes::rectangle(4.0, 0.5).unwrap();
    close(inscribed(&slit, 1e-4).radius_mm, 0.25, 1e-4);
    close(circumscribed(&profile(&slit)).radius_mm, (4.0f64 + 0.0625).sqrt(), 1e-12);
    // Mean of r over angle for a square of half-side 1: (4/π) ln(1 + √2).
    let square = least_squares(&profile(&shapes::rectangle(2.0, 2.0).unwrap()));
    // 180 pieces a side by the trapezoid rule: relative error below 1e-4.
    close(square.radius_mm, 4.0 / std::f64::consts::PI * (1.0 + 2f64.sqrt()).ln(), 2e-4);
    let ring = shapes::annulus(1.0, 0.4).unwrap();
    close(inscribed(&ring, 1e-5).radius_mm, 0.15, 2e-5);
}

proptest! {
    /// What the definitions promise for every form: nothing inscribed is larger than what is
    /// circumscribed, and no centre has a narrower ring than the minimum zone.
    #[test]
    fn circles_keep_their_order(
        e in prop::array::uniform6(-0.05..0.05f64),
        x in -3.0..3.0f64,
    ) {
        let form = |a: f64| 1.0 + (0..6).map(|k| e[k] * ((k + 2) as f64 * a + k as f64).cos()).sum::<f64>();
        let outline = shapes::polar(360, form).unwrap().moved(x, 0.0);
        let profile = profile(&outline);
        let (lsc, mzc) = (least_squares(&profile), minimum_zone(&profile));
        let (mcc, mic) = (circumscribed(&profile), inscribed(&outline, 1e-5));
        prop_assert!(mic.radius_mm <= lsc.radius_mm && lsc.radius_mm <= mcc.radius_mm);
        for centre in [lsc.centre_mm, mcc.centre_mm, mic.centre_mm] {
            let other = zone_about(&profile, centre).roundness_mm();
            prop_assert!(mzc.roundness_mm() <= other + 1e-9, "{} > {other}", mzc.roundness_mm());
        }
        for &p in &profile {
            prop_assert!(distance(p, mcc.centre_mm) <= mcc.radius_mm * (1.0 + 1e-9));
        }
    }
}
