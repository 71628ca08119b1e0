//! A disc: Airy, Lommel, the axis, the energy.

use crate::{compare, number, table};
use foramen::geometry::shapes;
use foramen::wave::{Aperture, Distances, Encircled, Grid, Light, analytic, energy_beyond};
use std::f64::consts::PI;

const NM: f64 = 550.0;
const MM: f64 = 550e-6;
/// Radius of the disc, in mm.
const A: f64 = 0.15;

fn light() -> Light {
    Light::single(NM).unwrap()
}

/// The distances at which the disc has this Fresnel number: film at 80 mm and the subject where the
/// waves are curved as needed. A subject beyond infinity cannot be, so a small number moves the film.
fn at_fresnel_number(n: f64) -> Distances {
    let z = A * A / (MM * n);
    if z > 80.0 {
        Distances::distant(z).unwrap()
    } else {
        Distances::new(z * 80.0 / (80.0 - z + 1e-9), 80.0).unwrap()
    }
}

/// Intensities i(N, w) of the engine at t shadow radii, through e = π a²/(λv)² i (physics of the
/// normalisation: the total energy is 1).
fn intensities(n: f64, ts: &[f64], angle: f64) -> Vec<f64> {
    let distances = at_fresnel_number(n);
    let z = distances.effective_mm();
    let n_true = A * A / (MM * z);
    assert!((n_true / n - 1.0).abs() < 1e-8);
    let scale = distances.shadow_magnification() * A;
    let places: Vec<[f64; 2]> =
        ts.iter().map(|t| [t * scale * angle.cos(), t * scale * angle.sin()]).collect();
    let spread = MM * distances.film_mm();
    Aperture::of(&shapes::disc(2.0 * A).unwrap())
        .density_at(&light(), distances, &places)
        .unwrap()
        .iter()
        .map(|e| e * spread * spread / (PI * A * A))
        .collect()
}

#[test]
fn lommel_table() {
    let rows = table("lommel");
    let mut worst = 0.0f64;
    for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
        let n = number(&group[0], "fresnel_number");
        let ts: Vec<f64> = group.iter().map(|row| number(row, "t")).collect();
        let truth: Vec<f64> = group.iter().map(|row| number(row, "intensity")).collect();
        let peak = truth.iter().copied().fold(0.0, f64::max);
        for angle in [0.0, 0.4] {
            for (found, truth) in intensities(n, &ts, angle).iter().zip(&truth) {
                worst = worst.max((found - truth).abs() / peak);
            }
        }
        for (t, truth) in ts.iter().zip(&truth) {
            let closed = analytic::disc_intensity(n, 2.0 * PI * n * t);
            // Lommel's series in double precision against the quadrature.
            assert!((closed - truth).abs() < 1e-13, "Lommel's functions at {n}, {t}: {closed}");
        }
    }
    // The 1e-8 by which the Fresnel number itself may differ above is the largest part.
    compare("disc of any Fresnel number, Lommel table (of the peak)", worst, 1e-9);
}

#[test]
fn airy_pattern_and_its_dark_rings() {
    // So far away that N = 1e-9: the far field.
    let v = A * A / (MM * 1e-9);
    let distances = Distances::distant(v).unwrap();
    let disc = shapes::disc(2.0 * A).unwrap();
    let place = |w: f64| [w * MM * v / (2.0 * PI * A), 0.0];
    let peak = PI * A * A / (MM * v).powi(2);
    let rows = table("airy");
    let places: Vec<[f64; 2]> = rows.iter().map(|row| place(number(row, "w"))).collect();
    let found = Aperture::of(&disc).density_at(&light(), distances, &places).unwrap();
    let mut worst = 0.0f64;
    for (row, e) in rows.iter().zip(&found) {
        worst = worst.max((e / peak - number(row, "intensity")).abs());
        let closed = analytic::airy_intensity(number(row, "w"));
        assert!((closed - number(row, "intensity")).abs() < 1e-15);
        let energy = analytic::airy_encircled(number(row, "w"));
        assert!((energy - number(row, "energy")).abs() < 1e-14);
    }
    compare("Airy pattern (of the peak)", worst, 1e-9);

    // The dark rings are minima: find each by a search on the engine, in units of λv/d.
    let mut worst = 0.0f64;
    for row in table("airy_dark_rings") {
        let truth = number(&row, "w_over_pi");
        let (mut low, mut high) = (truth - 0.2, truth + 0.2);
        let dark = |q: f64| {
            Aperture::of(&disc).density_at(&light(), distances, &[place(q * PI)]).unwrap()[0]
        };
        while high - low > 1e-7 {
            let (p, q) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if dark(p) < dark(q) { high = q } else { low = p }
        }
        worst = worst.max(((low + high) / 2.0 - truth).abs());
    }
    // Near a zero the intensity is the square of a small number: the place is good to about 1e-7.
    compare("Airy dark rings at 1.2197, 2.2331, 3.2383 λv/d", worst, 1e-7);
}

#[test]
fn axis_follows_the_zones() {
    let mut worst = 0.0f64;
    for n in [0.05, 0.25, 0.5, 1.0, 1.5, 2.0, 3.6, 6.0, 12.0] {
        // Over the open wave: (πN)² i(N, 0). Born & Wolf 8.2-8.8: 4 sin²(πN/2).
        let found = (PI * n).powi(2) * intensities(n, &[0.0], 0.0)[0];
        worst = worst.max((found - analytic::disc_on_axis(n)).abs() / 4.0);
    }
    compare("on the axis of a disc, 4 sin²(πN/2) (of the largest)", worst, 1e-9);
}

#[test]
fn energy_inside_circles() {
    let mut worst = 0.0f64;
    for row in table("disc_encircled") {
        let n = number(&row, "fresnel_number");
        let distances = at_fresnel_number(n);
        let encircled = Encircled::of(&shapes::disc(2.0 * A).unwrap(), &light(), distances);
        let diameter = 2.0 * number(&row, "t") * distances.shadow_magnification() * A;
        worst = worst.max((encircled.within(diameter) - number(&row, "energy")).abs());
    }
    // The OTF by 256 strips is good to 2e-5 at its worst frequency; the sum averages that.
    compare("energy inside t shadow radii, from the OTF", worst, 2e-5);
}

/// The samples' sum and the known tail make 1: λvP/(2π²AR) beyond the radius R.
#[test]
fn energy_is_kept() {
    let disc = shapes::disc(0.3).unwrap();
    let distances = Distances::distant(80.0).unwrap();
    let light = Light::new(&[(450.0, 1.0), (550.0, 2.0), (650.0, 1.0)]).unwrap();
    // The pitch resolves the band of the shortest wavelength, λv/(2d), with room.
    let psf = Aperture::of(&disc).psf(&light, distances, Grid::new(401, 0.02).unwrap()).unwrap();
    // Along the direction φ a square of half-width h ends at h/cos φ, and the tail beyond R falls as
    // 1/R: it loses the mean of cos φ, sin(π/4)/(π/4) = 0.9003, of what the circle of radius h does.
    let beyond = energy_beyond(&disc, &light, 80.0, 200.5 * 0.02) * 0.9003;
    let total = psf.energy_on_grid() + beyond;
    // The tail's own next term is of the order of (shadow/reach)²: (0.15/4)² of a 0.5 % tail.
    compare("energy on the grid and beyond it", (total - 1.0).abs(), 1e-4);
}
