//! Holes that are not round, near the film: a table by two independent quadratures.

use super::{Check, MM, exact, light, number, table};
use foramen::geometry::{Outline, shapes};
use foramen::wave::Distances;

const SOURCE: &str = "areal and rim quadrature agreeing to 1e-14";

/// Energy density in units of (z/(v a))², at places in shadow units, for a = 0.15 mm.
pub(crate) fn densities(shape: &Outline, n: f64, places: &[[f64; 2]]) -> Vec<f64> {
    const A: f64 = 0.15;
    let outline = shape.scaled(A);
    let distances = Distances::distant(A * A / (MM * n)).unwrap();
    let places: Vec<[f64; 2]> = places.iter().map(|p| [p[0] * A, p[1] * A]).collect();
    let found = exact(&outline).density_at(&light(), distances, &places).unwrap();
    found.iter().map(|e| e * A * A).collect()
}

pub(crate) fn checks() -> Vec<Check> {
    let shapes = [
        // Equal-area polygon and straight sides: the table's own digits.
        (
            "E",
            "ellipse of 1.3 to 1",
            shapes::ellipse(2.0 * 1.3f64.sqrt(), 2.0 / 1.3f64.sqrt()),
            1e-9,
        ),
        ("S", "square", shapes::rectangle(2.0, 2.0), 1e-9),
        // Chords on the curve lose (2π/n)²/6 of the area: 3e-9 for 50 000, shared by the density.
        ("B", "disc with a burr", Outline::new(vec![tongue(50_000)]), 2e-8),
        ("L", "disc with lobes", shapes::polar(50_000, lobed), 2e-8),
    ];
    shapes.map(|(key, name, outline, allowed)| check(key, name, &outline.unwrap(), allowed)).into()
}

fn check(key: &str, name: &str, outline: &Outline, allowed: f64) -> Check {
    let rows: Vec<_> = table("nonround").into_iter().filter(|row| row["shape"] == key).collect();
    let mut pairs = Vec::new();
    for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
        let places: Vec<[f64; 2]> =
            group.iter().map(|row| [number(row, "x"), number(row, "y")]).collect();
        let truth: Vec<f64> = group.iter().map(|row| number(row, "density")).collect();
        let peak = truth.iter().copied().fold(0.0, f64::max);
        let found = densities(outline, number(&group[0], "fresnel_number"), &places);
        pairs.extend(truth.iter().zip(found).map(|(t, f)| (t / peak, f / peak)));
    }
    Check::worst(format!("{name}, N = 0.5, 1, 2, of the peak"), SOURCE, allowed, 1.0, pairs)
}

fn lobed(p: f64) -> f64 {
    1.0 + 0.08 * (5.0 * p).cos() + 0.03 * (2.0 * p).sin()
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
