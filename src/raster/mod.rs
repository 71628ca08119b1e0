//! Pictures as arrays of light: decoded safely, drawn, and written as PNG.
//!
//! A [`Raster`] holds linear light, so that blur, sums and edges mean what they mean on film; the
//! display's curve (sRGB, `IEC61966`) is applied on the way in and out and nowhere else.

mod decoded;
mod drawing;
mod jpeg;
mod jpeg_codes;
mod jpeg_progress;
mod kind;
mod moving;
pub mod npy;
mod packed;
mod pdf;
mod png;
mod resolution;
mod scan;
mod srgb;

use ndarray::{Array2, Array3, Axis};
use rayon::prelude::*;

pub use decoded::{Decoded, LARGEST_FILE, Transfer, decoded};
pub(crate) use decoded::{memory_bytes, not_read};
pub use drawing::{FACE_FILES, LETTERS, drawn_size, rasterise, text_width};
pub(crate) use drawing::{coverage, painted};
pub use kind::is_picture_name;
pub(crate) use kind::unread_by_name;
pub use moving::{animation, gif};
pub use pdf::{Page, pdf};
pub use png::{display, png};
pub use resolution::Resolution;
pub(crate) use resolution::stated_resolution;
pub use scan::Scan;
pub use srgb::{decode, encode};

/// Describes a picture in linear light.
///
/// `linear` has the shape (channel, row, column): one channel (grey) or three (red, green, blue of
/// sRGB primaries), rows from the top, columns from the left, 0 black, 1 display white. Values outside
/// 0..1 are allowed and are clipped when the picture is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// The light: (channel, row, column).
    pub linear: Array3<f32>,
}

impl Raster {
    /// Returns the rows of the picture.
    pub fn rows(&self) -> usize {
        self.linear.dim().1
    }

    /// Returns the columns of the picture.
    pub fn columns(&self) -> usize {
        self.linear.dim().2
    }

    /// The mean of the channels over squares of `side` pixels; what is left over at the right and
    /// bottom is left out.
    pub(crate) fn reduced(&self, side: usize) -> Array2<f32> {
        let (rows, columns) = (self.rows() / side, self.columns() / side);
        let mut light = Array2::<f32>::zeros((rows, columns));
        let share = 1.0 / (self.linear.len_of(Axis(0)).max(1) * side * side) as f32;
        light.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(row, mut sums)| {
            for channel in self.linear.outer_iter() {
                for line in row * side..(row + 1) * side {
                    let values = channel.row(line);
                    let values = values.as_standard_layout();
                    let squares = values.as_slice().unwrap_or_default().chunks_exact(side);
                    for (sum, values) in sums.iter_mut().zip(squares) {
                        *sum = values.iter().fold(*sum, |sum, value| sum + value);
                    }
                }
            }
            sums.mapv_inplace(|sum| if sum.is_finite() { sum * share } else { 0.0 });
        });
        light
    }

    /// The mean of the channels at a place (x, y) in pixels, between the four pixel centres around it;
    /// None outside them.
    pub(crate) fn lightness_at(&self, [x, y]: [f64; 2]) -> Option<f64> {
        let (u, v) = (x - 0.5, y - 0.5);
        let (rows, columns) = (self.rows(), self.columns());
        if u < 0.0 || v < 0.0 || u >= columns as f64 - 1.0 || v >= rows as f64 - 1.0 {
            return None;
        }
        let (i, j) = (u as usize, v as usize);
        let (s, t) = (u - i as f64, v - j as f64);
        let channels = self.linear.len_of(Axis(0));
        let at = |row: usize, column: usize| {
            (0..channels).map(|c| f64::from(self.linear[[c, row, column]])).sum::<f64>()
        };
        let upper = (1.0 - s) * at(j, i) + s * at(j, i + 1);
        let lower = (1.0 - s) * at(j + 1, i) + s * at(j + 1, i + 1);
        Some(((1.0 - t) * upper + t * lower) / channels as f64)
    }
}

/// A value between the samples of a map, by straight lines; the place is (column, row) in samples, and is
/// kept within them. Not a number where a sample is none that has a part in it.
pub(crate) fn between(map: &Array2<f64>, [column, row]: [f64; 2]) -> f64 {
    let (rows, columns) = map.dim();
    let cell = |place: f64, count: usize| {
        let place = place.clamp(0.0, (count - 1) as f64);
        let low = (place as usize).min(count.saturating_sub(2));
        (low, (low + 1).min(count - 1), place - low as f64)
    };
    let ((left, right, fx), (upper, lower, fy)) = (cell(column, columns), cell(row, rows));
    // A sample without a part must not spoil the sum when it is no number.
    let mix = |a: f64, b: f64, share: f64| match share {
        0.0 => a,
        1.0 => b,
        _ => a * (1.0 - share) + b * share,
    };
    let line = |row: usize| mix(map[[row, left]], map[[row, right]], fx);
    if fy == 0.0 { line(upper) } else { mix(line(upper), line(lower), fy) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_lie_between_their_neighbours() {
        let map = ndarray::arr2(&[[0.0, 2.0], [4.0, f64::NAN]]);
        assert_eq!(between(&map, [0.5, 0.0]), 1.0);
        assert_eq!(between(&map, [0.0, 0.25]), 1.0);
        assert_eq!(between(&map, [9.0, -3.0]), 2.0);
        assert!(between(&map, [0.5, 0.5]).is_nan());
        assert_eq!(between(&ndarray::arr2(&[[7.0]]), [0.4, 0.2]), 7.0);
    }
}
