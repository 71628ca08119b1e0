//! Fresnel integrals: slits and rectangles.

use super::nonround::densities;
use super::{Check, number, table};
use foramen::geometry::shapes;
use foramen::wave::analytic;

const SOURCE: &str = "C, S: DLMF 7.2(iii); mpmath quadrature";

pub(crate) fn checks() -> Vec<Check> {
    let rows = table("slit");
    let closed = rows.iter().map(|row| {
        let (n, t) = (number(row, "fresnel_number"), number(row, "t"));
        (number(row, "irradiance"), analytic::slit_irradiance(n, t))
    });
    let closed = Check::worst("slit in closed form", SOURCE, 1e-13, 1.0, closed);
    // A square is a slit across a slit: e = E_x E_y/(m² A) (Born & Wolf 8.7, from memory), A = 4 a².
    let square = shapes::rectangle(2.0, 2.0).unwrap();
    // And so is a long rectangle: sides 4 to 1, so that one way N is sixteen times the other.
    let long = shapes::rectangle(2.0, 0.5).unwrap();
    let (mut of_square, mut of_long) = (Vec::new(), Vec::new());
    for group in rows.chunk_by(|a, b| a["fresnel_number"] == b["fresnel_number"]) {
        let n = number(&group[0], "fresnel_number");
        let axis = number(&group[0], "irradiance");
        let places: Vec<[f64; 2]> = group.iter().map(|row| [number(row, "t"), 0.0]).collect();
        let peak = group.iter().map(|row| number(row, "irradiance")).fold(0.0, f64::max);
        for (row, found) in group.iter().zip(densities(&square, n, &places)) {
            of_square.push((number(row, "irradiance") / peak, 4.0 * found / axis / peak));
        }
        let across = analytic::slit_irradiance(n / 16.0, 0.4);
        let places: Vec<[f64; 2]> = group.iter().map(|row| [number(row, "t"), 0.1]).collect();
        for (row, found) in group.iter().zip(densities(&long, n, &places)) {
            of_long.push((number(row, "irradiance") / peak, found / across / peak));
        }
    }
    vec![
        closed,
        // The table's digits, and rounding.
        Check::worst("square, N = 0.25 to 4, of the peak", SOURCE, 1e-11, 1.0, of_square),
        Check::worst("rectangle of 4 to 1, of the peak", SOURCE, 1e-11, 1.0, of_long),
    ]
}
