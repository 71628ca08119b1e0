//! The fast route against the plain rim integral, for holes without a closed form.

use crate::compare;
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Distances, Grid, Light, direct};
use std::f64::consts::{PI, TAU};

/// Holes of every kind: oval, burred, rough, a ring, two openings, one with an island.
fn holes() -> Vec<(&'static str, Outline)> {
    let rough = |p: f64| 0.16 * (1.0 + 0.06 * (3.0 * p + 1.0).cos() + 0.02 * (17.0 * p).sin());
    let far = shapes::ellipse(0.1, 0.2).unwrap().moved(0.2, 0.05);
    let two = [shapes::disc(0.2).unwrap().loops(), far.loops()].concat();
    let island = shapes::regular_polygon(5, 0.1).unwrap().moved(-0.03, 0.02);
    let holed = [shapes::rectangle(0.3, 0.2).unwrap().loops(), island.loops()].concat();
    vec![
        ("oval", shapes::ellipse(0.34, 0.28).unwrap().turned(0.3)),
        ("burred", shapes::burred_disc(0.3, 0.7, 0.15, 0.06).unwrap()),
        ("rough", shapes::polar(2000, rough).unwrap()),
        ("ring", shapes::annulus(0.3, 0.1).unwrap()),
        ("two openings", Outline::new(two).unwrap()),
        ("island", Outline::new(holed).unwrap()),
    ]
}

#[test]
fn fast_route_follows_the_rim_integral() {
    let places: Vec<[f64; 2]> = (0..40)
        .map(|i| (0.03 * f64::from(i), 2.4 * f64::from(i)))
        .map(|(r, phi)| [r * phi.cos(), r * phi.sin()])
        .collect();
    for (name, hole) in holes() {
        let mut worst = 0.0f64;
        for (nm, subject, film) in
            [(550.0, f64::INFINITY, 80.0), (420.0, 500.0, 30.0), (650.0, 100.0, 300.0)]
        {
            let distances = Distances::new(subject, film).unwrap();
            let light = Light::single(nm).unwrap();
            let fast = Aperture::of(&hole).density_at(&light, distances, &places).unwrap();
            let slow: Vec<f64> =
                places.iter().map(|at| direct::density_at(&hole, nm, distances, *at)).collect();
            let peak = slow.iter().copied().fold(0.0, f64::max);
            for (fast, slow) in fast.iter().zip(&slow) {
                worst = worst.max((fast - slow).abs() / peak);
            }
        }
        compare(&format!("rim integral, {name}"), worst, 1e-10);
    }
}

/// The slow route is itself judged: the axis of a disc, 4 sin²(πN/2) (Born & Wolf 8.2).
#[test]
fn rim_integral_follows_the_zones() {
    let mut worst = 0.0f64;
    for n in [0.1, 0.5, 1.0, 2.0, 5.0] {
        let z = 0.15 * 0.15 / (550e-6 * n);
        let distances = Distances::distant(z).unwrap();
        let disc = shapes::disc(0.3).unwrap();
        let e = direct::density_at(&disc, 550.0, distances, [0.0, 0.0]);
        worst = worst.max((e * disc.area_mm2() - 4.0 * (PI * n / 2.0).sin().powi(2)).abs() / 4.0);
    }
    // The polygon's ripple enters on the axis in second order: (π/1440)⁴.
    compare("rim integral on the axis of a disc", worst, 1e-9);
}

/// The grid's four quadrants against single places: signs, order of rows, odd and even sizes.
#[test]
fn grid_holds_what_its_places_hold() {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap().moved(0.02, -0.01);
    let distances = Distances::distant(80.0).unwrap();
    let light = Light::new(&[(450.0, 1.0), (620.0, 2.0)]).unwrap();
    for size in [1, 2, 8, 9] {
        let psf =
            Aperture::of(&hole).psf(&light, distances, Grid::new(size, 0.05).unwrap()).unwrap();
        let place = |i: usize| (i as f64 - (size / 2) as f64) * 0.05;
        let places: Vec<[f64; 2]> =
            (0..size * size).map(|i| [place(i % size), place(i / size)]).collect();
        let single = Aperture::of(&hole).density_at(&light, distances, &places).unwrap();
        let worst = psf.density.iter().zip(&single).map(|(a, b)| (a - b).abs() / single[0].max(*b));
        compare(&format!("grid of {size}"), worst.fold(0.0, f64::max), 1e-9);
    }
}

/// A burr on the right of the hole is on the right of its shadow, and one on top on top: with a
/// Fresnel number of 46 the film shows the outline itself.
#[test]
fn shadow_stands_upright() {
    let distances = Distances::distant(12.0).unwrap();
    let light = Light::single(450.0).unwrap();
    for angle in [0.0, TAU / 4.0, 2.0] {
        let hole = shapes::burred_disc(1.0, angle, 0.4, 0.35).unwrap();
        let (x, y) = (0.35 * angle.cos(), 0.35 * angle.sin());
        let e = Aperture::of(&hole).density_at(&light, distances, &[[x, y], [-x, -y]]).unwrap();
        assert!(e[0] < 0.3 * e[1], "burr at {angle}: {} against {}", e[0], e[1]);
    }
}

/// A hole turned by half a turn turns its PSF; and far away every PSF is its own half turn.
#[test]
fn turning_the_hole_turns_the_psf() {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap();
    let light = Light::single(550.0).unwrap();
    let grid = Grid::new(41, 0.03).unwrap();
    let near = Distances::distant(80.0).unwrap();
    let psf = |hole: &Outline, distances| {
        Aperture::of(hole).psf(&light, distances, grid).unwrap().density
    };
    let turned = psf(&hole, near);
    let other = psf(&hole.turned(PI), near);
    let reversed = ndarray::Array2::from_shape_fn((41, 41), |(r, c)| turned[[40 - r, 40 - c]]);
    let difference = (&other - &reversed).iter().fold(0.0f64, |m, d| m.max(d.abs()));
    compare("half a turn of hole and PSF", difference / other[[20, 20]], 1e-10);
    let asymmetry = (&turned - &reversed).iter().fold(0.0f64, |m, d| m.max(d.abs()));
    assert!(
        asymmetry > 1e-3 * other[[20, 20]],
        "this hole's near pattern is no half turn of itself"
    );
}

/// Subject and film exchanged: the same pattern, stretched by the ratio of the distances, for e
/// in units of the shadow. Source: only 1/z = 1/u + 1/v enters beside the scale.
#[test]
fn subject_and_film_change_places() {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap();
    let light = Light::single(550.0).unwrap();
    let (one, other) = (Distances::new(200.0, 90.0).unwrap(), Distances::new(90.0, 200.0).unwrap());
    let stretch = other.shadow_magnification() / one.shadow_magnification();
    assert!((stretch - 200.0 / 90.0).abs() < 1e-12);
    let places = [[0.0, 0.0], [0.1, 0.05], [-0.3, 0.2]];
    let scaled = places.map(|p| [p[0] * stretch, p[1] * stretch]);
    let e1 = Aperture::of(&hole).density_at(&light, one, &places).unwrap();
    let e2 = Aperture::of(&hole).density_at(&light, other, &scaled).unwrap();
    let worst = e1.iter().zip(&e2).map(|(a, b)| (a - b * stretch * stretch).abs() / e1[0]);
    compare("subject and film exchanged", worst.fold(0.0, f64::max), 1e-10);
}
