//! Holes that are not discs: slit, rectangle, polygons, ellipse, burr, lobes, ring.

use crate::{compare, number, table};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Distances, Light};

const MM: f64 = 550e-6;

/// Energy density in units of (z/(v a))², at places in shadow units, for a = 0.15 mm.
fn densities(shape: &Outline, n: f64, places: &[[f64; 2]]) -> Vec<f64> {
    const A: f64 = 0.15;
    let outline = shape.scaled(A);
    let distances = Distances::distant(A * A / (MM * n)).unwrap();
    let places: Vec<[f64; 2]> = places.iter().map(|p| [p[0] * A, p[1] * A]).collect();
    let light = Light::single(550.0).unwrap();
    let found = Aperture::of(&outline).density_at(&light, distances, &places).unwrap();
    found.iter().map(|e| e * A * A).collect()
}

#[test]
fn shapes_that_are_not_round() {
    for (name, tolerance) in [
        // Equal-area polygon and straight sides: the table's own digits.
        ("E", 1e-9),
        ("S", 1e-9),
        // Chords on the curve lose (2π/n)²/6 of the area: 3e-9 for 50 000, shared by the density.
        ("B", 2e-8),
        ("L", 2e-8),
    ] {
        let outline = match name {
            "E" => shapes::ellipse(2.0 * 1.3f64.sqrt(), 2.0 / 1.3f64.sqrt()),
            "S" => shapes::rectangle(2.0, 2.0),
            "L" => shapes::polar(50_000, |p| 1.0 + 0.08 * (5.0 * p).cos() + 0.03 * (2.0 * p).sin()),
            _ => Outline::new(vec![tongue(50_000)]),
        }
        .unwrap();
        let rows: Vec<_> = table("nonround").into_iter().filter(|r| r["shape"] == name).collect();
        let mut worst = 0.0f64;
        for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
            let places: Vec<[f64; 2]> =
                group.iter().map(|row| [number(row, "x"), number(row, "y")]).collect();
            let truth: Vec<f64> = group.iter().map(|row| number(row, "density")).collect();
            let peak = truth.iter().copied().fold(0.0, f64::max);
            let found = densities(&outline, number(&group[0], "fresnel_number"), &places);
            for (found, truth) in found.iter().zip(&truth) {
                worst = worst.max((found - truth).abs() / peak);
            }
        }
        compare(
            &format!("shape {name} of the table of holes that are not round"),
            worst,
            tolerance,
        );
    }
}

/// A unit disc less a tongue with straight sides from (cos 0.15, ± sin 0.15) to (0.65, 0).
fn tongue(points: usize) -> Vec<[f64; 2]> {
    let arc = std::f64::consts::TAU - 0.3;
    let mut rim: Vec<[f64; 2]> = (0..=points)
        .map(|i| 0.15 + arc * i as f64 / points as f64)
        .map(|angle| [angle.cos(), angle.sin()])
        .collect();
    rim.push([0.65, 0.0]);
    rim
}

/// A rectangle so long that its middle is a slit's: the product of two slits, Born & Wolf 8.7; the
/// long one is a square's own, from the same table.
#[test]
fn rectangle_is_a_product_of_slits() {
    let rows = table("slit");
    let mut worst = 0.0f64;
    for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
        let n = number(&group[0], "fresnel_number");
        let square = shapes::rectangle(2.0, 2.0).unwrap();
        let axis = number(&group[0], "irradiance");
        assert_eq!(number(&group[0], "t"), 0.0);
        let places: Vec<[f64; 2]> = group.iter().map(|row| [number(row, "t"), 0.0]).collect();
        let found = densities(&square, n, &places);
        for (row, found) in group.iter().zip(found) {
            // e = E_x E_y/(m² A), A = 4 a².
            let truth = number(row, "irradiance") * axis / 4.0;
            worst = worst.max((found - truth).abs() / (axis * axis / 4.0).max(truth));
        }
    }
    compare("square as a product of two slits (of the axis)", worst, 1e-9);
}

#[test]
fn far_field_of_polygons() {
    let v = 1e12;
    let distances = Distances::distant(v).unwrap();
    let light = Light::single(550.0).unwrap();
    let mut worst = 0.0f64;
    for row in table("polygons_far_field") {
        let (sides, kappa) = (number(&row, "sides") as usize, number(&row, "kappa_a"));
        let angle = number(&row, "angle_deg").to_radians();
        let polygon = shapes::regular_polygon(sides, 0.3).unwrap();
        let r = kappa / 0.15 * MM * v / std::f64::consts::TAU;
        let place = [r * angle.cos(), r * angle.sin()];
        let e = Aperture::of(&polygon).density_at(&light, distances, &[place, [0.0, 0.0]]).unwrap();
        worst = worst.max((e[0] / e[1] - number(&row, "intensity")).abs());
    }
    // Fresnel number 4e-11: the curvature that is left shifts a triangle's intensity by as much.
    compare("far field of triangle, square, hexagon (of the peak)", worst, 1e-10);
}

/// The field of a ring is the large disc's less the small one's: on the axis 4 sin²(π(N - n)/2).
/// Source: Born & Wolf 8.2 (zones); fields add (Babinet).
#[test]
fn ring_on_its_axis() {
    let mut worst = 0.0f64;
    for (ratio, n) in [(0.5f64, 1.0), (0.2, 1.0), (0.5, 2.0), (0.8, 3.0)] {
        let ring = shapes::annulus(2.0, 2.0 * ratio).unwrap();
        let found = densities(&ring, n, &[[0.0, 0.0]])[0] * ring.area_mm2();
        let inner = ratio * ratio * n;
        let truth = 4.0 * (std::f64::consts::PI * (n - inner) / 2.0).sin().powi(2);
        worst = worst.max((found - truth).abs() / 4.0);
    }
    compare("ring on its axis (of the largest)", worst, 1e-9);
}

/// An outline far from its own origin has its PSF about its own shadow.
#[test]
fn a_hole_beside_the_axis_keeps_its_pattern() {
    let shape = shapes::burred_disc(0.3, 0.5, 0.2, 0.05).unwrap();
    let distances = Distances::new(400.0, 80.0).unwrap();
    let light = Light::single(550.0).unwrap();
    let m = distances.shadow_magnification();
    let places = [[0.0, 0.0], [0.1, -0.05], [0.3, 0.2]];
    let here = Aperture::of(&shape).density_at(&light, distances, &places).unwrap();
    let moved: Vec<[f64; 2]> = places.iter().map(|p| [p[0] + m * 0.7, p[1] - m * 0.4]).collect();
    let there =
        Aperture::of(&shape.moved(0.7, -0.4)).density_at(&light, distances, &moved).unwrap();
    let peak = here[0];
    let worst = here.iter().zip(&there).map(|(a, b)| (a - b).abs() / peak).fold(0.0, f64::max);
    compare("a hole beside the axis", worst, 1e-9);
}
