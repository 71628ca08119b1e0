use super::*;
use crate::camera::{Axis, Film, Reciprocity, Shape};
use crate::geometry::shapes;

fn camera(distance_mm: f64, exponent: Option<f64>) -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.distances = crate::wave::Distances::distant(distance_mm).unwrap();
    camera.film = Film { width_mm: 60.0, height_mm: 60.0, shape: Shape::Flat };
    camera.plate_mm = 0.0;
    camera.emulsion.speed_iso = 100.0;
    camera.emulsion.reciprocity =
        exponent.map(|exponent| Reciprocity::Power { exponent, onset_s: 1.0 });
    camera
}

/// EV 15 at ISO 100, worked by hand from t = N²/2^EV: f/123.29 → 0.4639 s, f/250 → 1.9073 s,
/// f/294.12 → 2.6399 s; stops from f/16: 5.892, 7.932, 8.400.
#[test]
fn sunlight_by_the_exposure_value() {
    let cases = [(123.29, 0.4639, 5.892), (250.0, 1.9073, 7.932), (294.12, 2.6399, 8.400)];
    for (f_number, time, stops) in cases {
        let hole = shapes::disc(100.0 / f_number).unwrap();
        let found = exposure(&camera(100.0, None), &hole).unwrap();
        assert!((found.f_number / f_number - 1.0).abs() < 1e-9);
        // The figures carry four digits.
        assert!((found.metered_s / time - 1.0).abs() < 2e-4, "{}", found.metered_s);
        assert!((found.stops_from_reference - stops).abs() < 1e-3);
        assert_eq!(found.corrected_s, found.metered_s);
        // A stop is a factor of two where nothing fails.
        assert_eq!(found.bracket[4].time_s, 4.0 * found.corrected_s);
    }
}

/// Lux by `ISO2720`'s N²/t = E S/C with C = 250: 81 920 lux is EV 15 at ISO 100 (2^15 · 2.5).
#[test]
fn lux_are_exposure_values() {
    let hole = shapes::disc(0.3).unwrap();
    let mut camera = camera(100.0, None);
    let by_value = exposure(&camera, &hole).unwrap();
    camera.meter = Meter::Illuminance(81_920.0);
    let by_lux = exposure(&camera, &hole).unwrap();
    assert!((by_lux.metered_s / by_value.metered_s - 1.0).abs() < 1e-12);
}

/// P = 1.31: 2 → 2.479, 5 → 8.235, 10 → 20.417, 60 → 213.49 s, by hand from t^P.
#[test]
fn reciprocity_lengthens_beyond_its_onset() {
    let hole = shapes::disc(1.0).unwrap();
    for (metered, needed) in [(0.5, 0.5), (2.0, 2.479), (5.0, 8.235), (60.0, 213.49)] {
        let mut camera = camera(100.0, Some(1.31));
        camera.meter = Meter::Reading { time_s: metered, f_number: 100.0 };
        let found = exposure(&camera, &hole).unwrap();
        assert!((found.corrected_s / needed - 1.0).abs() < 1e-3, "{}", found.corrected_s);
        assert!(found.stops_from_reference.abs() < 1e-9);
    }
}

/// A table passes through its own rows; with rows from a power law it is that law, beyond its end too.
#[test]
fn a_table_goes_through_its_rows() {
    let table = Reciprocity::Table(vec![(1.0, 1.0), (10.0, 25.0), (100.0, 900.0)]);
    for (metered, needed) in [(0.3, 0.3), (1.0, 1.0), (10.0, 25.0), (100.0, 900.0)] {
        assert!((table.needed_s(metered) / needed - 1.0f64).abs() < 1e-12);
    }
    let power = Reciprocity::Power { exponent: 1.3, onset_s: 2.0 };
    let rows = [2.0, 20.0, 150.0].map(|t| (t, power.needed_s(t)));
    let table = Reciprocity::Table(rows.to_vec());
    for metered in [1.0, 3.0, 60.0, 1000.0] {
        assert!((table.needed_s(metered) / power.needed_s(metered) - 1.0).abs() < 1e-12);
    }
}

/// Flat film at 45 degrees: cos⁴ is two stops; a thick plate takes the lens-shaped overlap besides:
/// 0.391002 for a thickness of half the diameter. In the wall of a tube nothing is lost along the bend.
#[test]
fn light_falls_off_over_the_film() {
    let hole = shapes::disc(0.4).unwrap();
    let mut camera = camera(100.0, None);
    camera.film.width_mm = 200.0;
    let thin = fall_off(&camera, &hole).unwrap();
    assert!((thin.side_stops.unwrap() + 2.0).abs() < 1e-9);
    // A point at tan θ = √(1 + 0.3²): (1 + tan²)^-2.
    assert!((thin.corner_stops.unwrap() + 2.0 * (1.0f64 + 1.0 + 0.09).log2()).abs() < 1e-9);
    assert!(thin.average_stops < 0.0 && thin.average_stops > -2.0);
    camera.plate_mm = 0.2;
    let thick = fall_off(&camera, &hole).unwrap();
    let lens = thick.side_stops.unwrap() + 2.0;
    assert!((lens.exp2() - 0.391_002).abs() < 1e-5, "{}", lens.exp2());
    camera.plate_mm = 0.5;
    assert_eq!(fall_off(&camera, &hole).unwrap().side_stops, None);
    camera.plate_mm = 0.0;
    camera.film.shape = Shape::Cylinder { radius_mm: 50.0, axis: Axis::Vertical };
    let round = fall_off(&camera, &hole).unwrap();
    assert!(round.side_stops.unwrap().abs() < 1e-9);
}

/// The average is that of all places, one by one, and the darkest corner one of four: a burred hole in thick metal, whose
/// film is looked at on one side of its middle alone.
#[test]
fn half_of_the_film_tells_the_fall_off() {
    let hole = shapes::burred_disc(0.36, 0.6, 0.2, 0.06).unwrap();
    let mut camera = camera(100.0, None);
    camera.film = Film { width_mm: 120.0, height_mm: 70.0, shape: Shape::Flat };
    camera.plate_mm = 0.2;
    let found = fall_off(&camera, &hole).unwrap();
    let light = |x: f64, y: f64| irradiance(&camera, &hole, [60.0 * x, 35.0 * y]).unwrap();
    let rule: Vec<(f64, f64)> = Gauss::rule(10).on(-1.0, 1.0).collect();
    let places = rule.iter().flat_map(|x| rule.iter().map(move |y| (x, y)));
    let average: f64 = places.map(|((x, a), (y, b))| a * b / 4.0 * light(*x, *y)).sum();
    // Corners that were left out: 1e-4 of the width; and the cone about the middle of the film, by other places.
    assert!((found.average_stops - average.log2()).abs() < 2e-3, "{}", average.log2());
    let corners = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)].map(|(x, y)| light(x, y));
    let darkest = corners.into_iter().fold(1.0, f64::min);
    assert!((found.corner_stops.unwrap() - darkest.log2()).abs() < 1e-6);
    // Were one corner alone looked at, it could be the brighter one.
    assert!((corners[0] / corners[1]).log2().abs() > 1e-3, "{corners:?}");
}

#[test]
fn what_is_no_exposure_is_refused() {
    let hole = shapes::disc(0.3).unwrap();
    let meters = [
        Meter::ExposureValue(f64::NAN),
        Meter::ExposureValue(-60.0),
        Meter::Reading { time_s: 0.0, f_number: 16.0 },
        Meter::Reading { time_s: 1.0, f_number: 0.0 },
        Meter::Illuminance(0.0),
        Meter::Illuminance(-3.0),
    ];
    for meter in meters {
        let mut camera = camera(100.0, Some(1.3));
        camera.meter = meter;
        assert!(exposure(&camera, &hole).is_err(), "{meter:?}");
    }
}
