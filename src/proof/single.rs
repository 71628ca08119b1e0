//! One edge in any picture: found about a place that somebody points at.

use super::edge::{Edge, Strip};
use crate::geometry::Point;
use ndarray::Array2;

/// Half widths of the strip that are tried, in px, from the widest: an edge that is alone that far shows more of
/// its foot.
const HALF_WIDTHS_PX: [f64; 4] = [80.0, 50.0, 30.0, 18.0];
/// The strip's half length over its half width.
const LENGTH: f64 = 1.2;
/// Pixels to each side of the place whose gradients give the edge's direction.
const ABOUT_PX: f64 = 12.0;
/// How far from straight an edge may be, in px.
const MOST_BOW_PX: f64 = 0.5;
/// How much of an edge's step its noise may be.
const MOST_NOISE: f64 = 0.15;

/// Measures the edge through a place in px, in the widest strip that it crosses from end to end; None where there is none.
pub fn edge_at(light: &Array2<f32>, place_px: Point) -> Option<Edge> {
    let normal = gradient(light, place_px)?;
    let strip = |half_width_px: f64| Strip {
        middle_px: place_px,
        normal,
        half_width_px,
        half_length_px: LENGTH * half_width_px,
    };
    let is_good = |edge: &Edge| edge.bow_px < MOST_BOW_PX && edge.noise < MOST_NOISE;
    HALF_WIDTHS_PX
        .into_iter()
        .filter_map(|half| Edge::of(light, &|value, _| value, strip(half)))
        .find(is_good)
}

/// The direction in which light grows fastest about a place: that of the summed gradients, as a unit vector.
fn gradient(light: &Array2<f32>, [x, y]: Point) -> Option<Point> {
    let (rows, columns) = light.dim();
    let range = |middle: f64, most: usize| {
        let low = (middle - ABOUT_PX).max(1.0) as usize;
        low..((middle + ABOUT_PX).max(1.0) as usize).min(most.saturating_sub(1))
    };
    let mut sum = [0.0; 2];
    for row in range(y, rows) {
        for column in range(x, columns) {
            sum[0] += f64::from(light[[row, column + 1]] - light[[row, column - 1]]);
            sum[1] += f64::from(light[[row + 1, column]] - light[[row - 1, column]]);
        }
    }
    let length = sum[0].hypot(sum[1]);
    (length > 0.0).then(|| sum.map(|c| c / length))
}
