//! Polygons and ellipses so far from the film that the waves arrive flat.

use super::{Check, MM, exact, light, number, table};
use foramen::geometry::shapes;
use foramen::wave::{Distances, analytic};
use std::f64::consts::{PI, TAU};

pub(crate) fn checks() -> Vec<Check> {
    let v = 1e12;
    let distances = Distances::distant(v).unwrap();
    let polygons = table("polygons_far_field").into_iter().map(|row| {
        let (sides, kappa) = (number(&row, "sides") as usize, number(&row, "kappa_a"));
        let angle = number(&row, "angle_deg").to_radians();
        let polygon = exact(&shapes::regular_polygon(sides, 0.3).unwrap());
        let r = kappa / 0.15 * MM * v / TAU;
        let places = [[r * angle.cos(), r * angle.sin()], [0.0, 0.0]];
        let e = polygon.density_at(&light(), distances, &places).unwrap();
        (number(&row, "intensity"), e[0] / e[1])
    });
    // An ellipse's far field is the disc's, stretched: w = 2π √(p²X² + q²Y²)/(λv), half-axes p, q.
    let (p, q, turn) = (0.2, 0.1, 0.6f64);
    let ellipse = exact(&shapes::ellipse(2.0 * p, 2.0 * q).unwrap().turned(turn));
    let places: Vec<[f64; 2]> = (0..24)
        .map(|i| (f64::from(i) * 0.06 * MM * v / p, f64::from(i) * 2.4))
        .map(|(r, phi)| [r * phi.cos(), r * phi.sin()])
        .collect();
    let found = ellipse.density_at(&light(), distances, &places).unwrap();
    let peak = PI * p * q / (MM * v).powi(2);
    let stretched: Vec<(f64, f64)> = places
        .iter()
        .zip(&found)
        .map(|([x, y], e)| {
            let (sin, cos) = turn.sin_cos();
            let (along, across) = (x * cos + y * sin, y * cos - x * sin);
            let w = TAU * (p * along).hypot(q * across) / (MM * v);
            (analytic::airy_intensity(w), e / peak)
        })
        .collect();
    vec![
        // Fresnel number 4e-11: the curvature that is left shifts a triangle's intensity by as much.
        Check::worst(
            "triangle, square, hexagon far away, of the peak",
            "Goodman 4.3; mpmath areal quadrature",
            1e-10,
            1.0,
            polygons,
        ),
        Check::worst(
            "ellipse far away, of the peak",
            "Airy pattern, stretched (similarity theorem)",
            1e-10,
            1.0,
            stretched,
        ),
    ]
}
