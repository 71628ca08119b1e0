//! A plate whose two rims lie a thickness apart: against what a straight rim costs, in closed form.
//!
//! Behind a rim that is straight over √(λt) the wave is an edge's, E(ξ) = ∫_{-∞}^ξ exp(iπs²) ds/√i with ξ in
//! units of √(λt). The second rim keeps ξ > 0: it takes ∫_0^∞ (1 - E) dξ = exp(iπ/4)/2π from the amplitude and
//! ∫_0^∞ |E(-ξ)|² dξ = 1/(2π√2) from the light, along all of the rim (order of integration changed; the
//! Fresnel integral as in DLMF 7.2(iv); both also by numbers).

use super::{Check, MM, NM};
use foramen::camera::{Camera, PlateModel, PointImage};
use foramen::geometry::shapes;
use foramen::wave::{Distances, Grid, Light, rims_error};
use rustfft::num_complex::Complex64;
use std::f64::consts::{PI, TAU};

fn camera(film_mm: f64, plate_mm: f64, plate_model: PlateModel) -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.distances = Distances::distant(film_mm).unwrap();
    camera.light = Light::single(NM).unwrap();
    (camera.plate_mm, camera.plate_model) = (plate_mm, plate_model);
    camera
}

/// The density in the middle of a disc's image.
fn middle(camera: &Camera, diameter: f64) -> f64 {
    let image = PointImage::on_axis(camera, &shapes::disc(diameter).unwrap());
    image.psf(Grid::new(9, 0.01).unwrap()).unwrap().density[[4, 4]]
}

/// The same of two rims over a thin plate: all points of the rim are in one phase, πN behind the middle's.
fn by_rim(diameter: f64, film_mm: f64, plate_mm: f64) -> f64 {
    let half_turn = PI * diameter * diameter / 4.0 / (MM * film_mm) / 2.0;
    let share = 4.0 / diameter * (MM * plate_mm).sqrt();
    let disc = Complex64::cis(half_turn) * (half_turn.sin() / half_turn);
    let rim = Complex64::cis(2.0 * half_turn + PI / 4.0) * share / TAU;
    (disc - rim).norm_sqr() / disc.norm_sqr() / (1.0 - share / (TAU * 2f64.sqrt()))
}

pub(crate) fn checks() -> Vec<Check> {
    let thin_and_thick = |diameter, film_mm, plate_mm| {
        let of = |model| middle(&camera(film_mm, plate_mm, model), diameter);
        (of(PlateModel::Thin), of(PlateModel::TwoPlane))
    };
    let cases = [(0.34, 100.0, 0.05), (0.34, 100.0, 0.1), (0.3, 300.0, 0.05), (0.4, 60.0, 0.02)];
    let pairs = cases.map(|(diameter, film_mm, plate_mm)| {
        let (thin, thick) = thin_and_thick(diameter, film_mm, plate_mm);
        (by_rim(diameter, film_mm, plate_mm), thick / thin)
    });
    let (thin, none) = thin_and_thick(0.34, 100.0, 1e-4);
    let sampled = rims_error(&shapes::disc(0.34).unwrap(), 1e-4, NM);
    assert!(sampled < 2e-3);
    vec![
        // The rim's curvature is left out of the closed form: -1.8 λt/d², at every thickness from 0.02 mm to 0.4 mm
        // and diameter that was tried, which is 8.5e-4 of 1.1e-2 for the thickest here.
        Check::worst(
            "two rims: the middle against a thin plate's",
            "a straight rim's Fresnel diffraction",
            1e-3,
            1.0,
            pairs,
        ),
        // What 0.1 µm of metal may do, √(λt)/(2π) along the rim, and what its sampling states.
        Check::value(
            "two rims without thickness",
            "limit t → 0",
            4.4e-4 + sampled,
            1.0,
            none / thin,
        ),
    ]
}
