use super::*;
use std::f64::consts::{FRAC_PI_2, PI};

const V: f64 = 100.0;

fn film(shape: Shape) -> Film {
    Film { width_mm: 250.0, height_mm: 120.0, shape }
}

fn tube(radius_mm: f64) -> Film {
    film(Shape::Cylinder { radius_mm, axis: Axis::Vertical })
}

/// The arc on a tube of radius ρ at which a ray leaves the hole at θ: the triangle of hole, axis and
/// place has the angle β - θ at the place, with ρ sin(β - θ) = h sin θ (law of sines).
fn arc(radius: f64, theta: f64) -> f64 {
    let h = V - radius;
    radius * (theta + (h * theta.sin() / radius).asin())
}

/// Distance R = h cos θ + √(ρ² - h² sin² θ), film angle asin(h sin θ/ρ), light cos θ cos θ_f (v/R)²:
/// plane trigonometry of a chord, worked for h = ρ/2 at 15, 30 and 45 degrees.
#[test]
fn a_tube_is_its_chords() {
    let radius = V / 1.5;
    let h = V - radius;
    for (degrees, light, share, angle) in [
        (15.0, 0.991146, 0.983036, 7.435),
        (30.0, 0.960865, 0.934172, 14.478),
        (45.0, 0.895751, 0.859312, 20.705f64),
    ] {
        let theta = f64::to_radians(degrees);
        let place = tube(radius).place(V, [arc(radius, theta), 0.0]).unwrap();
        let chord = h * theta.cos() + (radius.powi(2) - (h * theta.sin()).powi(2)).sqrt();
        assert!((place.hole_angle_rad() - theta).abs() < 1e-12);
        assert!((place.distance_mm() - chord).abs() < 1e-10);
        // Digits as worked.
        assert!((place.distance_mm() / V - share).abs() < 1e-6);
        assert!((place.film_angle_rad().to_degrees() - angle).abs() < 1e-3);
        assert!((place.irradiance() - light).abs() < 1e-6);
    }
}

/// Flat: cos⁴. Hole in the wall: 1 along the bend and cos⁴ of the elevation out of it. Hole on the
/// axis: cos θ, times cos⁴ of the elevation. Closed forms of those three cameras.
#[test]
fn light_falls_off_by_the_closed_forms() {
    for theta in [0.0, 0.3, -0.7] {
        let flat = film(Shape::Flat).place(V, [V * f64::tan(theta), 0.0]).unwrap();
        assert!((flat.irradiance() - theta.cos().powi(4)).abs() < 1e-12);
        for elevation in [0.0, 0.25, -0.4f64] {
            let on = |radius: f64| {
                let level = tube(radius).place(V, [arc(radius, theta), 0.0]).unwrap();
                let up = level.distance_mm() * elevation.tan();
                tube(radius).place(V, [arc(radius, theta), up]).unwrap().irradiance()
            };
            let up = elevation.cos().powi(4);
            assert!((on(V / 2.0) - up).abs() < 1e-12, "wall {theta} {elevation}");
            assert!((on(V) - theta.cos() * up).abs() < 1e-12, "axis {theta} {elevation}");
        }
    }
}

/// A lying tube is a standing one turned by a quarter.
#[test]
fn a_lying_tube_is_a_standing_one_turned() {
    let lying = Film {
        width_mm: 120.0,
        height_mm: 250.0,
        shape: Shape::Cylinder { radius_mm: 70.0, axis: Axis::Horizontal },
    };
    let (a, b) =
        (tube(70.0).place(V, [80.0, -30.0]).unwrap(), lying.place(V, [30.0, 80.0]).unwrap());
    assert!((a.distance_mm() - b.distance_mm()).abs() < 1e-12);
    assert!((a.film_angle_rad() - b.film_angle_rad()).abs() < 1e-12);
    assert!((a.stretch()[0] - b.stretch()[1]).abs() < 1e-12);
    assert!((a.tangential_rad() + FRAC_PI_2 - b.tangential_rad()).abs() < 1e-12);
}

/// The maps against rays drawn: a step on the sheet, projected along the ray to the plane across it,
/// by differences of positions; and the determinants cos θ and cos θ_f.
#[test]
fn steps_on_the_film_are_seen_across_the_ray() {
    for film in [film(Shape::Flat), tube(55.0), tube(300.0)] {
        let at = [60.0, -41.0];
        let place = film.place(V, at).unwrap();
        let map = place.film_to_ray();
        assert!((map.determinant() - place.film_angle_rad().cos()).abs() < 1e-12);
        let plate = place.plate_to_ray();
        assert!((plate.determinant() - place.hole_angle_rad().cos()).abs() < 1e-12);
        let step = 1e-4;
        for (i, image) in [map.of_x, map.of_y].into_iter().enumerate() {
            let moved = |sign: f64| {
                let mut to = at;
                to[i] += sign * step;
                film.place(V, to).unwrap().position_mm
            };
            let (more, less) = (moved(1.0), moved(-1.0));
            let seen: Vector = std::array::from_fn(|k| (more[k] - less[k]) / (2.0 * step));
            let along_ray = dot(seen, place.ray());
            let across: Vector = std::array::from_fn(|k| seen[k] - along_ray * place.ray()[k]);
            // The length across the ray, whatever its axes; differences are right to step².
            let length = dot(across, across).sqrt();
            assert!((length - image[0].hypot(image[1])).abs() < 1e-7);
        }
    }
}

/// Along the bend of a tube a flat subject is drawn ds/d(tan) against v: by differences.
#[test]
fn the_sheet_stretches_the_scene() {
    assert_eq!(film(Shape::Flat).place(V, [70.0, 30.0]).unwrap().stretch(), [1.0, 1.0]);
    let film = tube(55.0);
    let view = |s: f64| film.place(V, [s, 0.0]).unwrap().view()[0];
    let at = 64.0;
    let slope = (view(at + 1e-4) - view(at - 1e-4)) / 2e-4;
    let stretch = film.place(V, [at, 0.0]).unwrap().stretch();
    assert!((stretch[0] + 1.0 / (V * slope)).abs() < 1e-6);
    // Upright lines are drawn by the depth z alone: y = Y/Z z.
    let z = film.place(V, [at, 0.0]).unwrap().position_mm[2];
    assert!((stretch[1] - z / V).abs() < 1e-12);
}

/// The film's solid angles add up to the scene that it sees: for a flat sheet the closed form
/// 4 atan(ab/(d √(d² + a² + b²))) of a rectangle (half-sides a, b).
#[test]
fn solid_angles_add_up() {
    let film = Film { width_mm: 120.0, height_mm: 80.0, shape: Shape::Flat };
    let (mut sum, step) = (0.0, 0.5);
    for row in 0..160 {
        for column in 0..240 {
            let at =
                [(f64::from(column) + 0.5) * step - 60.0, (f64::from(row) + 0.5) * step - 40.0];
            sum += film.place(V, at).unwrap().solid_angle_sr_per_mm2() * step * step;
        }
    }
    let (a, b): (f64, f64) = (60.0, 40.0);
    let closed = 4.0 * (a * b / (V * (V * V + a * a + b * b).sqrt())).atan();
    // Midpoints: (step/v)² / 24.
    assert!((sum / closed - 1.0).abs() < 1e-5, "{sum} {closed}");
}

#[test]
fn film_where_no_light_can_come_is_refused() {
    let said = |film: Film| film.check(V).unwrap_err().to_string();
    assert!(said(tube(49.0)).contains("outside the tube"));
    let around = Film { width_mm: 315.0, height_mm: 10.0, ..tube(50.0) };
    assert!(said(around).contains("more than once"));
    // Around the axis: a half-turn of film reaches 90 degrees.
    let half = Film { width_mm: PI * V, ..tube(V) };
    assert!(said(half).contains("out of the hole's sight"));
    assert!(tube(50.0).check(V).is_ok() && tube(1e4).check(V).is_ok());
    assert!(tube(50.0).place(V, [126.0, 0.0]).is_err());
    assert!(tube(50.0).place(V, [f64::NAN, 0.0]).is_err());
}
