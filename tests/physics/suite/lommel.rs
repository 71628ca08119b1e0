//! Lommel: a disc of any Fresnel number.

use super::{Check, MM, exact, light, number, table};
use foramen::geometry::shapes;
use foramen::wave::{Distances, analytic, fresnel_number};
use std::f64::consts::PI;

const SOURCE: &str = "Lommel 1885; Born & Wolf 8.8.1; mpmath quadrature";

/// The radius of a disc in mm and the distances at which it has this Fresnel number: film no nearer
/// than the model allows, and for large numbers a subject as near as the film.
pub(crate) fn at_fresnel_number(n: f64) -> (f64, Distances) {
    let a = (40.0 * MM * n).sqrt().max(0.15);
    let z = a * a / (MM * n);
    let distances = if z > 60.0 {
        Distances::distant(z)
    } else {
        // 1/u = 1/z - 1/v, with v twice z.
        Distances::new(2.0 * z, 2.0 * z)
    };
    (a, distances.unwrap())
}

/// Intensities i(N, w) of the engine at t shadow radii, through e = π a²/(λv)² i (from the total
/// energy 1).
pub(crate) fn intensities(n: f64, ts: &[f64], angle: f64) -> Vec<f64> {
    let (a, distances) = at_fresnel_number(n);
    assert!((fresnel_number(a, super::NM, distances.effective_mm()) / n - 1.0).abs() < 1e-14);
    let scale = distances.shadow_magnification() * a;
    let places: Vec<[f64; 2]> =
        ts.iter().map(|t| [t * scale * angle.cos(), t * scale * angle.sin()]).collect();
    let spread = MM * distances.film_mm();
    let found = exact(&shapes::disc(2.0 * a).unwrap()).density_at(&light(), distances, &places);
    found.unwrap().iter().map(|e| e * spread * spread / (PI * a * a)).collect()
}

pub(crate) fn checks() -> Vec<Check> {
    let rows = table("lommel");
    let (mut engine, mut closed) = (Vec::new(), Vec::new());
    for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
        let n = number(&group[0], "fresnel_number");
        let ts: Vec<f64> = group.iter().map(|row| number(row, "t")).collect();
        let truth: Vec<f64> = group.iter().map(|row| number(row, "intensity")).collect();
        let peak = truth.iter().copied().fold(0.0, f64::max);
        for angle in [0.0, 0.4] {
            let found = intensities(n, &ts, angle);
            engine.extend(found.iter().zip(&truth).map(|(f, t)| (t / peak, f / peak)));
        }
        closed.extend(
            ts.iter()
                .zip(&truth)
                .map(|(t, truth)| (*truth, analytic::disc_intensity(n, 2.0 * PI * n * t))),
        );
    }
    // The same closed form judges the engine where the table ends: shadows.
    let ts = [0.0, 0.2, 0.5, 0.8, 0.97, 1.0, 1.05, 1.3];
    let shadows = [12.0, 25.0, 50.0].into_iter().flat_map(|n| {
        let truth = ts.map(|t| analytic::disc_intensity(n, 2.0 * PI * n * t));
        let peak = truth.iter().copied().fold(0.0, f64::max);
        let found = intensities(n, &ts, 0.3);
        truth.into_iter().zip(found).map(move |(t, f)| (t / peak, f / peak)).collect::<Vec<_>>()
    });
    vec![
        // The polygon's ripple in second order, grown by πN.
        Check::worst("disc, N = 0.25 to 6, of the peak", SOURCE, 1e-9, 1.0, engine),
        Check::worst("disc, N = 12, 25, 50, of the peak", "Lommel's functions", 1e-8, 1.0, shadows),
        // Lommel's series in double precision.
        Check::worst("Lommel's functions in closed form", SOURCE, 1e-13, 1.0, closed),
    ]
}
