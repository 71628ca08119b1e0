//! The length of a rim, without the noise of its tracing.

use crate::geometry::{Outline, Point, distance, edges};

/// Loops of fewer vertices are drawn, not traced, and are summed as they stand.
const TRACED_VERTICES: usize = 64;

/// Least-squares cubic through nine points, at the middle one (`SavitzkyGolay1964`, table I).
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
