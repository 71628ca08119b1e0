#![allow(clippy::unwrap_used)]

use super::*;
use crate::error::Error;
use crate::geometry::edges;
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
    let sizes = Sizes::of(
        &shapes::polar(20_000, form).unwrap(),
        &SizeUncertainty::default(),
        Some([410.0, 388.5]),
    );
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
        ("oval", sizes.harmonics[0].amplitude_mm, 0.004, 1e-10),
        ("three lobes", sizes.harmonics[1].amplitude_mm, 0.003, 1e-10),
        ("raggedness", sizes.raggedness_mm, 0.0, 1e-10),
    ] {
        assert!((measured - expected).abs() < tolerance, "{name}: {measured}, not {expected}");
    }
    // Both crests lie at 0°, which rounding may make 180° or 120°; the extents by symmetry about x.
    let off_axis = |deg: f64, turn: f64| (deg + turn / 2.0).rem_euclid(turn) - turn / 2.0;
    assert!(off_axis(sizes.harmonics[0].phase_deg, 180.0).abs() < 1e-6);
    assert!(off_axis(sizes.harmonics[1].phase_deg, 120.0).abs() < 1e-6);
    assert!(off_axis(sizes.feret_max_angle_deg, 180.0).abs() < 0.1);
    assert!((sizes.feret_min_angle_deg - 90.0).abs() < 0.1);
    assert_eq!(sizes.harmonics.iter().map(|h| h.order).collect::<Vec<_>>(), Vec::from_iter(2..=15));
    assert!(sizes.harmonics[2..].iter().all(|h| h.amplitude_mm < 1e-10));
    assert_eq!(sizes.burrs, vec![]);
    assert_eq!(sizes.centroid_px, Some([410.0, 388.5]));
}

#[test]
fn a_turned_form_has_its_crests_turned() {
    // Crests of the oval at 30°, of the five lobes at 50°, of the eleven at 20°.
    let form = |a: f64| {
        let wave = |n: f64, deg: f64| (n * (a - f64::to_radians(deg))).cos();
        0.15 + 0.004 * wave(2.0, 30.0) + 0.002 * wave(5.0, 50.0) + 0.001 * wave(11.0, 20.0)
    };
    let outline = shapes::polar(6000, form).unwrap().moved(3.0, -2.0);
    let sizes = Sizes::of(&outline, &SizeUncertainty::default(), None);
    for (order, amplitude, phase) in [(2, 0.004, 30.0), (5, 0.002, 50.0), (11, 0.001, 20.0)] {
        let found = sizes.harmonics[order - 2];
        assert!((found.amplitude_mm - amplitude).abs() < 1e-9, "{found:?}");
        assert!((found.phase_deg - phase).abs() < 1e-4, "{found:?}");
    }
    let oval = shapes::ellipse(0.3, 0.2).unwrap().turned(0.5);
    let sizes = Sizes::of(&oval, &SizeUncertainty::default(), None);
    // Half a radian; the polygon of 1440 sides has a corner every quarter degree, of the circle that
    // was stretched to the oval.
    assert!((sizes.feret_max_angle_deg - 28.65).abs() < 0.3, "{}", sizes.feret_max_angle_deg);
    assert!((sizes.feret_min_angle_deg - 118.65).abs() < 0.3, "{}", sizes.feret_min_angle_deg);
}

#[test]
fn raggedness_is_what_is_finer_than_the_form() {
    let waved = |order: f64| {
        shapes::polar(20_000, move |a| 0.15 + 0.002 * (2.0 * a).cos() + 0.0006 * (order * a).cos())
    };
    let raggedness =
        |outline: &Outline| Sizes::of(outline, &SizeUncertainty::default(), None).raggedness_mm;
    // A cosine's root mean square is its amplitude over √2; up to 15 it is form.
    for (order, expected) in [(15.0, 0.0), (16.0, 0.0006), (40.0, 0.0006), (200.0, 0.0006)] {
        let found = raggedness(&waved(order).unwrap());
        // The rim's vertices are even in angle; the trapezoidal rule is exact for them.
        assert!((found - expected / 2f64.sqrt()).abs() < 1e-9, "{order}: {found}");
    }
    // A burr of a third of the radius and a nick on that rim are none of it.
    let bump = |a: f64, at: f64| (1.0 - ((a - at) / 0.1).abs()).max(0.0);
    let both = shapes::polar(20_000, |a| {
        0.15 + 0.0006 * (40.0 * a).cos() - 0.05 * bump(a, 1.0) + 0.02 * bump(a, 4.0)
    });
    let found = raggedness(&both.unwrap()) * 2f64.sqrt();
    assert!((found / 0.0006 - 1.0).abs() < 0.05, "{found}");
}

#[test]
fn uncertainties_follow_from_scale_and_rim() {
    let known = SizeUncertainty { relative: 0.01, edge_mm: 0.002, rim_mm: 0.004, blur_mm: 0.0 };
    let sizes = Sizes::of(&shapes::annulus(0.3, 0.1).unwrap(), &known, None);
    let found = sizes.uncertainty;
    // By hand: √(0.0030² + 0.0040²), with 2·0.004² more for an extent; the area of 0.02π mm² by 2 %
    // and 0.4π mm times 0.002 mm; one rim of 0.4π mm in all, of which the edges cancel.
    let area = (0.0004 * PI).hypot(0.0008 * PI);
    let diameter = (0.01 * 0.08f64.sqrt()).hypot(0.004);
    for (found, expected) in [
        (found.equivalent_diameter_mm, diameter),
        (sizes.equivalent_diameter_uncertainty_mm, diameter),
        (found.least_squares_diameter_mm, 0.005),
        (found.circumscribed_diameter_mm, 57e-6f64.sqrt()),
        (found.feret_max_mm, 57e-6f64.sqrt()),
        (found.area_mm2, area),
        (found.perimeter_mm, 0.004 * PI),
        (found.roundness_mm, 0.004 * 2f64.sqrt()),
    ] {
        assert!((found / expected - 1.0).abs() < 1e-5, "{found}, not {expected}");
    }
    assert_eq!(sizes.debris.len(), 1);
}

#[test]
fn several_openings_are_one_hole() {
    let rim =
        |diameter: f64, x: f64| shapes::disc(diameter).unwrap().moved(x, 0.0).loops().to_vec();
    let two = Outline::new([rim(0.3, 0.0), rim(0.1, 0.4)].concat()).unwrap();
    let sizes = Sizes::of(&two, &SizeUncertainty::default(), None);
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
    // Uniform in -1..1 (minimal-standard generator; `ParkMiller1988`).
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

/// Prints how long a traced outline of 10 000 vertices takes, and its costly parts alone.
#[test]
#[ignore = "a timing, to be read"]
fn ten_thousand_vertices() {
    let mut state = 1u64;
    let mut noise = || {
        state = state * 48_271 % 0x7fff_ffff;
        state as f64 / f64::from(0x3fff_ffff) - 1.0
    };
    let rim = (0..10_000).map(|i| {
        let a = 2.0 * PI * f64::from(i) / 10_000.0;
        let burr = 0.1 * (1.0 - ((a - 1.0) / 0.1).abs()).max(0.0);
        let r = 0.15 * (1.0 + 0.03 * (2.0 * a).cos() + 2e-4 * noise() - burr);
        [r * a.cos(), r * a.sin()]
    });
    let outline = Outline::new(vec![rim.collect()]).unwrap();
    let known = SizeUncertainty::default();
    let time = |name: &str, work: &dyn Fn()| {
        work();
        let start = std::time::Instant::now();
        (0..5).for_each(|_| work());
        println!("{name}: {:.1} ms", start.elapsed().as_secs_f64() * 200.0);
    };
    let points = profile(&outline);
    time("all", &|| drop(Sizes::of(&outline, &known, None)));
    time("inscribed", &|| assert!(inscribed(&outline, 1.5e-6).radius_mm > 0.0));
    time("least squares", &|| assert!(least_squares(&points).radius_mm > 0.0));
    time("minimum zone", &|| assert!(minimum_zone(&points).roundness_mm() > 0.0));
    time("departures", &|| assert_eq!(Rim::of(&outline).departures().len(), 1));
    time("without burrs", &|| drop(without_burrs(&outline).unwrap()));
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
        let sizes = Sizes::of(&outline, &SizeUncertainty::default(), None);
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
        prop_assert!(Sizes::of(&wild, &SizeUncertainty::default(), None).area_mm2 > 0.0);
        // Such a rim has no smooth form: restored or refused, both are right.
        if let Ok(restored) = without_burrs(&wild) {
            prop_assert!(restored.area_mm2() > 0.0);
        }
    }
}
