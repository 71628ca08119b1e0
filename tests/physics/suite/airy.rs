//! Airy: a disc so far from its film that the waves arrive flat.

use super::{Check, MM, exact, light, number, table};
use foramen::geometry::shapes;
use foramen::wave::{Distances, analytic};
use std::f64::consts::PI;

const SOURCE: &str = "Born & Wolf 8.5; zeros of J1: DLMF 10.21; mpmath table";
/// Radius of the disc, in mm.
const A: f64 = 0.15;

pub(crate) fn checks() -> Vec<Check> {
    // So far away that N = 1e-9, which changes intensities by (πN)²/12.
    let v = A * A / (MM * 1e-9);
    let distances = Distances::distant(v).unwrap();
    let disc = exact(&shapes::disc(2.0 * A).unwrap());
    let place = |w: f64| [w * MM * v / (2.0 * PI * A), 0.0];
    let peak = PI * A * A / (MM * v).powi(2);
    let rows = table("airy");
    let places: Vec<[f64; 2]> = rows.iter().map(|row| place(number(row, "w"))).collect();
    let found = disc.density_at(&light(), distances, &places).unwrap();
    let pattern = rows.iter().zip(&found).map(|(row, e)| (number(row, "intensity"), e / peak));
    let closed = rows.iter().flat_map(|row| {
        let w = number(row, "w");
        [
            (number(row, "intensity"), analytic::airy_intensity(w)),
            (number(row, "energy"), analytic::airy_encircled(w)),
        ]
    });
    // The dark rings are minima: find each by a search on the engine, in units of λv/d.
    let dark = |q: f64| disc.density_at(&light(), distances, &[place(q * PI)]).unwrap()[0];
    let rings = table("airy_dark_rings").into_iter().map(|row| {
        let truth = number(&row, "w_over_pi");
        let (mut low, mut high) = (truth - 0.2, truth + 0.2);
        while high - low > 1e-7 {
            let (p, q) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if dark(p) < dark(q) { high = q } else { low = p }
        }
        (truth, (low + high) / 2.0)
    });
    vec![
        // The polygon's ripple is (π/1440)²/3 of the radius; rounding is below it.
        Check::worst("Airy pattern, of the peak", SOURCE, 1e-11, 1.0, pattern),
        Check::worst("Airy closed form and ring energies", SOURCE, 1e-14, 1.0, closed),
        // Near a zero the intensity is the square of a small number: the place is good to 1e-7.
        Check::worst("dark rings at 1.2197, 2.2331, 3.2383 λv/d", SOURCE, 1e-7, 1.0, rings),
    ]
}
