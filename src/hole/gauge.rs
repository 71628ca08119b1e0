//! Every size of a hole, measured on its outline.

use super::burr::{Burr, burrs};
use crate::geometry::feret::Feret;
use crate::geometry::reference_circles::{
    circumscribed, inscribed, least_squares, minimum_zone, profile, zone_about,
};
use crate::geometry::{Outline, Point, distance, edges};
use serde::Serialize;

/// The sizes of a hole. Field names are the keys of `gauge --json`, under `hole`.
///
/// An outline with several openings (a hole with a fibre across it, or two holes) is measured as
/// one hole where a sum or an extent is meant: area and what follows from it, perimeter, Feret
/// diameters, circumscribed and inscribed circle, centroid. Roundness, the least-squares circle and
/// burrs belong to one rim: that of the largest opening.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sizes {
    /// The open area, islands of metal taken off, in mm².
    pub area_mm2: f64,
    /// The diameter of the disc of that area, in mm.
    pub equivalent_diameter_mm: f64,
    /// The expanded uncertainty (k = 2) of the equivalent diameter: a half-width, in mm.
    pub equivalent_diameter_uncertainty_mm: f64,
    /// The length of all rims, islands included, without the noise of tracing, in mm.
    pub perimeter_mm: f64,
    /// The largest distance between parallel tangents, in mm.
    pub feret_max_mm: f64,
    /// The smallest distance between parallel tangents, in mm.
    pub feret_min_mm: f64,
    /// The diameter of the largest circle clear of all metal, islands too, in mm; no more than 1e-5
    /// of the equivalent diameter short of the largest possible.
    pub inscribed_diameter_mm: f64,
    /// The diameter of the smallest circle around the hole, in mm.
    pub circumscribed_diameter_mm: f64,
    /// The diameter of the least-squares circle (LSC, ISO 12181-1), in mm.
    pub least_squares_diameter_mm: f64,
    /// The roundness deviation RONt, peak to valley about the least-squares circle, in mm.
    pub roundness_mm: f64,
    /// The roundness deviation RONt about the minimum-zone circles, in mm.
    pub minimum_zone_roundness_mm: f64,
    /// The largest Feret diameter over the smallest.
    pub aspect_ratio: f64,
    /// The centroid of the open area in the picture, [column, row] in px from the upper left
    /// corner; none without a picture.
    pub centroid_px: Option<[f64; 2]>,
    /// The burrs, deepest first.
    pub burrs: Vec<Burr>,
}

impl Sizes {
    /// All sizes of an outline.
    ///
    /// `diameter_uncertainty_mm` is the expanded uncertainty (k = 2) of its equivalent diameter,
    /// known to whoever made the outline; `centroid_px` the centroid in the picture, if there is one.
    pub fn of(
        outline: &Outline,
        diameter_uncertainty_mm: f64,
        centroid_px: Option<[f64; 2]>,
    ) -> Sizes {
        let equivalent_diameter_mm = outline.equivalent_diameter_mm();
        let feret = Feret::of(outline);
        let profile = profile(outline);
        let least_squares = least_squares(&profile);
        let vertices: Vec<Point> = outline.loops().iter().flatten().copied().collect();
        Sizes {
            area_mm2: outline.area_mm2(),
            equivalent_diameter_mm,
            equivalent_diameter_uncertainty_mm: diameter_uncertainty_mm,
            perimeter_mm: perimeter_mm(outline),
            feret_max_mm: feret.max_mm,
            feret_min_mm: feret.min_mm,
            inscribed_diameter_mm: 2.0
                * inscribed(outline, 5e-6 * equivalent_diameter_mm).radius_mm,
            circumscribed_diameter_mm: 2.0 * circumscribed(&vertices).radius_mm,
            least_squares_diameter_mm: 2.0 * least_squares.radius_mm,
            roundness_mm: zone_about(&profile, least_squares.centre_mm).roundness_mm(),
            minimum_zone_roundness_mm: minimum_zone(&profile).roundness_mm(),
            aspect_ratio: feret.max_mm / feret.min_mm,
            centroid_px,
            burrs: burrs(outline),
        }
    }
}

/// Loops of fewer vertices are drawn, not traced, and are summed as they stand.
const TRACED_VERTICES: usize = 64;

/// Least-squares cubic through nine points, at the middle one (Savitzky and Golay 1964, table I).
const CUBIC_OF_NINE: [f64; 9] = [-21.0, 14.0, 39.0, 54.0, 59.0, 54.0, 39.0, 14.0, -21.0];

/// The length of all rims, in mm, without the zigzag of a traced outline's noise.
///
/// Noise of a tenth of the vertex spacing across the rim makes every edge a hundredth longer, and
/// the finer the tracing the more. So each vertex of a long loop is taken from a cubic through nine
/// neighbours, which keeps a curve to the fourth order (a disc of 64 vertices to 1.3e-4 of its
/// perimeter, of 200 to 1.3e-6) and takes 95 % of that excess away. A vertex beside an edge three
/// times as long as the loop's median is a corner that was drawn, and stays. A traced corner of 90°
/// loses less than the spacing of two vertices.
pub(super) fn perimeter_mm(outline: &Outline) -> f64 {
    let length = |points: &[Point]| edges(points).map(|(a, b)| distance(a, b)).sum::<f64>();
    outline.loops().iter().map(|points| length(&without_noise(points))).sum()
}

fn without_noise(points: &[Point]) -> Vec<Point> {
    let count = points.len();
    if count < TRACED_VERTICES {
        return points.to_vec();
    }
    let lengths: Vec<f64> = edges(points).map(|(a, b)| distance(a, b)).collect();
    let mut sorted = lengths.clone();
    let long = 3.0 * *sorted.select_nth_unstable_by(count / 2, f64::total_cmp).1;
    let reach = CUBIC_OF_NINE.len() / 2;
    let sum: f64 = CUBIC_OF_NINE.iter().sum();
    (0..count)
        .map(|i| {
            let neighbour = |k: usize| (i + count + k - reach) % count;
            if (0..2 * reach).any(|k| lengths[neighbour(k)] > long) {
                return points[i];
            }
            [0, 1].map(|axis| {
                let fitted = CUBIC_OF_NINE.iter().enumerate();
                fitted.map(|(k, weight)| weight * points[neighbour(k)][axis]).sum::<f64>() / sum
            })
        })
        .collect()
}

#[cfg(test)]
#[path = "gauge_tests.rs"]
mod tests;
