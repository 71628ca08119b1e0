//! The mean of a small square of film in a picture.

use super::find::Found;
use crate::geometry::Point;
use ndarray::Array2;

/// The mean value in a square about a place in the picture, `half` mm of film to each side, and the mean's standard
/// deviation.
pub(super) fn patch(light: &Array2<f32>, middle: Point, found: &Found, half: f64) -> [f64; 2] {
    let back = found.film_to_px.inverted();
    let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let ends = corners.map(|[a, b]| {
        let step = found.film_to_px.of([a * half, b * half]);
        [middle[0] + step[0], middle[1] + step[1]]
    });
    let (rows, columns) = light.dim();
    let range = |axis: usize, most: usize| {
        let (low, high) =
            ends.iter().fold((f64::MAX, 0.0f64), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
        let low = low.floor().max(0.0) as usize;
        low.min(most)..(high.ceil() as usize).min(most)
    };
    let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for row in range(1, rows) {
        for column in range(0, columns) {
            let at = back.of([column as f64 + 0.5 - middle[0], row as f64 + 0.5 - middle[1]]);
            if at.iter().all(|mm| mm.abs() < half) {
                let value = f64::from(light[[row, column]]);
                count += 1.0;
                sum += value;
                squares += value * value;
            }
        }
    }
    let mean = sum / count;
    [mean, ((squares / count - mean * mean).max(0.0) / count).sqrt()]
}
