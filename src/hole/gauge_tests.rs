#![allow(clippy::unwrap_used)]

use super::*;
use crate::error::Error;
use crate::geometry::shapes;
use crate::hole::burr::without_burrs;
use proptest::prelude::*;
use std::f64::consts::PI;

/// r = R + e2 cos 2φ + e3 cos 3φ with R = 0.150, e2 = 0.004, e3 = 0.003 mm: area by closed form,
/// perimeter by quadrature of the curve, circles and Feret diameters by dense search, all
/// independent of this crate.
#[test]
fn lobed_form_has_the_tabulated_sizes() {
    let form = |a: f64| 0.150 + 0.004 * (2.0 * a).cos() + 0.003 * (3.0 * a).cos();
    let sizes = Sizes::of(&shapes::polar(20_000, form).unwrap(), 0.002, Some([410.0, 388.5]));
    for (name, measured, expected, tolerance) in [
        // The polygon's area is (2π/20000)²/6 short, its sides half that: 2e-8.
        ("area", sizes.area_mm2, 0.070_725_104_613_940_2, 3e-9),
        ("equivalent diameter", sizes.equivalent_diameter_mm, 0.300_083_321_762_475, 1e-8),
        ("perimeter", sizes.perimeter_mm, 0.943_994_156_775, 5e-8),
        ("Feret max", sizes.feret_max_mm, 0.308, 1e-8),
        ("Feret min", sizes.feret_min_mm, 0.292_611_629, 1e-8),
        // Asked for to 1e-5 of the diameter.
        ("inscribed", sizes.inscribed_diameter_mm, 0.291_490_882, 3e-6),
        ("circumscribed", sizes.circumscribed_diameter_mm, 0.308_674_346, 1e-8),
        ("least squares", sizes.least_squares_diameter_mm, 0.3, 1e-8),
        ("roundness", sizes.roundness_mm, 0.012_668_062, 1e-8),
        ("minimum zone", sizes.minimum_zone_roundness_mm, 0.010_936_096, 1e-8),
        ("aspect ratio", sizes.aspect_ratio, 0.308 / 0.292_611_629, 1e-7),
    ] {
        assert!((measured - expected).abs() < tolerance, "{name}: {measured}, not {expected}");
    }
    assert_eq!(sizes.burrs, vec![]);
    assert_eq!(sizes.centroid_px, Some([410.0, 388.5]));
}

#[test]
fn several_openings_are_one_hole() {
    let rim =
        |diameter: f64, x: f64| shapes::disc(diameter).unwrap().moved(x, 0.0).loops().to_vec();
    let two = Outline::new([rim(0.3, 0.0), rim(0.1, 0.4)].concat()).unwrap();
    let sizes = Sizes::of(&two, 0.0, None);
    // By hand; the polygons reach 6e-7 of the radius beyond the circles.
    assert!((sizes.equivalent_diameter_mm - 0.1f64.sqrt()).abs() < 1e-9);
    assert!((sizes.perimeter_mm - 0.4 * PI).abs() < 2e-6);
    assert!((sizes.feret_max_mm - 0.6).abs() < 1e-6);
    assert!((sizes.circumscribed_diameter_mm - 0.6).abs() < 1e-6);
    assert!((sizes.inscribed_diameter_mm - 0.3).abs() < 4e-6);
    assert!((sizes.least_squares_diameter_mm - 0.3).abs() < 1e-6);
    assert!(sizes.roundness_mm < 1e-6);
}

#[test]
fn the_perimeter_of_a_drawn_outline_is_that_of_its_edges() {
    // The cubic's fourth-order loss: 1.286 (2π/vertices)⁴ of a circle, by Taylor's series by hand.
    for vertices in [64, 200, 1440] {
        let polygon = shapes::regular_polygon(vertices, 0.3).unwrap();
        let loss = 1.0 - perimeter_mm(&polygon) / polygon.perimeter_mm();
        let expected = 1.286 * (2.0 * PI / vertices as f64).powi(4);
        assert!((loss / expected - 1.0).abs() < 0.05 || loss.abs() < 1e-9, "{vertices}: {loss}");
    }
    for outline in [
        shapes::rectangle(0.3, 0.02),
        shapes::regular_polygon(5, 0.3),
        shapes::regular_polygon(63, 0.3),
    ] {
        let outline = outline.unwrap();
        assert_eq!(perimeter_mm(&outline), outline.perimeter_mm());
    }
    // A drawn tongue keeps its tip and its corners.
    let burred = shapes::burred_disc(0.3, 0.4, 0.15, 0.05).unwrap();
    assert!((perimeter_mm(&burred) / burred.perimeter_mm() - 1.0).abs() < 1e-5);
}

#[test]
fn the_perimeter_of_a_traced_outline_is_not_that_of_its_noise() {
    let mut state = 1u64;
    // Uniform in -1..1 (minimal-standard generator; Park and Miller 1988).
    let mut noise = || {
        state = state * 48_271 % 0x7fff_ffff;
        state as f64 / f64::from(0x3fff_ffff) - 1.0
    };
    // Radius 100 px, vertices 1 px apart and off by up to 0.3 px (standard deviation 0.17).
    let mut rough = |p: Point| [p[0] + 0.3 * noise(), p[1] + 0.3 * noise()];
    let disc = shapes::polar(628, |_| 100.0).unwrap();
    let square: Vec<Point> = edges(shapes::rectangle(160.0, 160.0).unwrap().loops()[0].as_slice())
        .flat_map(|(a, b)| {
            (0..160).map(move |k| {
                let t = f64::from(k) / 160.0;
                [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
            })
        })
        .collect();
    for (rim, true_px, corners) in
        [(disc.loops()[0].clone(), 200.0 * PI, 0.0), (square, 640.0, 4.0)]
    {
        let rough = Outline::new(vec![rim.into_iter().map(&mut rough).collect()]).unwrap();
        let raw = rough.perimeter_mm() / true_px - 1.0;
        let measured = perimeter_mm(&rough) / true_px - 1.0;
        assert!(raw > 0.02);
        // A twentieth of the excess stays; corners lose up to two vertices each.
        assert!(measured < 0.003 && measured > -2.0 * corners / true_px - 0.001, "{measured}");
    }
}

fn lobed() -> impl Strategy<Value = Result<Outline, Error>> {
    let lobe = (-0.08..0.08f64, 0.0..2.0 * PI);
    prop::collection::vec(lobe, 6).prop_map(|lobes| {
        shapes::polar(400, |angle| {
            let lobe =
                |(k, (a, phase)): (usize, &(f64, f64))| a * ((k + 2) as f64 * angle + phase).cos();
            0.15 * (1.0 + lobes.iter().enumerate().map(lobe).sum::<f64>())
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn sizes_keep_their_order(outline in lobed()) {
        let outline = outline?;
        let sizes = Sizes::of(&outline, 0.0, None);
        let slack = 1.0 + 1e-9;
        prop_assert!(sizes.inscribed_diameter_mm <= sizes.equivalent_diameter_mm * slack);
        prop_assert!(sizes.equivalent_diameter_mm <= sizes.circumscribed_diameter_mm * slack);
        prop_assert!(sizes.inscribed_diameter_mm <= sizes.feret_min_mm * slack);
        prop_assert!(sizes.feret_min_mm <= sizes.feret_max_mm * slack);
        // Isodiametric inequality (Bieberbach): no shape of this diameter has more area.
        prop_assert!(sizes.equivalent_diameter_mm <= sizes.feret_max_mm * slack);
        prop_assert!(sizes.feret_max_mm <= sizes.circumscribed_diameter_mm * slack);
        prop_assert!(sizes.roundness_mm * slack >= sizes.minimum_zone_roundness_mm);
        prop_assert!(sizes.minimum_zone_roundness_mm >= 0.0);
        // Isoperimetric inequality; the cubic through nine vertices loses up to 1e-4 at a lobe.
        prop_assert!(sizes.perimeter_mm * 1.001 >= PI * sizes.equivalent_diameter_mm);
        prop_assert!(without_burrs(&outline)?.area_mm2() >= outline.area_mm2());
    }

    /// Any star-shaped outline, however wild, is measured without a panic.
    #[test]
    fn wild_outlines_are_measured(radii in prop::collection::vec(0.001..1.0f64, 3..60)) {
        let count = radii.len() as f64;
        let wild = shapes::polar(radii.len(), |a| radii[((a / (2.0 * PI) * count).round() as usize) % radii.len()])?;
        prop_assert!(Sizes::of(&wild, 0.0, None).area_mm2 > 0.0);
        // Such a rim has no smooth form: restored or refused, both are right.
        if let Ok(restored) = without_burrs(&wild) {
            prop_assert!(restored.area_mm2() > 0.0);
        }
    }
}
