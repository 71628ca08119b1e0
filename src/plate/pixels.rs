//! Parts of arrays at another size: the mean over what each new sample covers.

use crate::error::Error;
use crate::raster::{Raster, display};
use image::RgbImage;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Array3, ArrayView2, Axis};

/// A rectangle of whole samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Crop {
    pub(super) column: usize,
    pub(super) row: usize,
    pub(super) columns: usize,
    pub(super) rows: usize,
}

impl Crop {
    /// All of a picture.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when it has no pixels.
    pub(super) fn all(picture: &Raster) -> Result<Crop, Error> {
        let (columns, rows) = (picture.columns(), picture.rows());
        if columns == 0 || rows == 0 {
            return Err(Error::limit(
                format!("a picture of {columns} x {rows} pixels cannot be shown"),
                "give it at least one pixel each way",
            ));
        }
        Ok(Crop { column: 0, row: 0, columns, rows })
    }

    /// The whole pixels that touch a rectangle, given as its lower and upper corners, and that
    /// lie in this crop; at least one.
    pub(super) fn within(&self, low: [f64; 2], high: [f64; 2]) -> Crop {
        let span = |low: f64, high: f64, start: usize, count: usize| {
            let (first, last) = (start as f64, (start + count - 1) as f64);
            let from = low.floor().max(first).min(last) as usize;
            let to = (high.ceil() - 1.0).max(from as f64).min(last) as usize;
            (from, to - from + 1)
        };
        let (column, columns) = span(low[0], high[0], self.column, self.columns);
        let (row, rows) = span(low[1], high[1], self.row, self.rows);
        Crop { column, row, columns, rows }
    }

    /// The largest size with this crop's proportions inside a width and a height; each at least 1.
    pub(super) fn fitted(&self, width: f64, height: f64) -> [f64; 2] {
        let scale = (width / self.columns as f64).min(height / self.rows as f64);
        [self.columns, self.rows].map(|count| (count as f64 * scale).round().max(1.0))
    }
}

/// Part of a picture as a display shows it, at `columns` x `rows` pixels, averaged in linear
/// light. Enlarged, every pixel becomes a plain rectangle.
pub(super) fn shown(
    picture: &Raster,
    crop: Crop,
    [columns, rows]: [f64; 2],
) -> Result<RgbImage, Error> {
    let (columns, rows) = (columns as usize, rows as usize);
    let planes = picture.linear.axis_iter(Axis(0)).into_par_iter();
    let planes: Vec<Array2<f64>> =
        planes.map(|plane| averaged(&plane, crop, rows, columns)).collect();
    let linear = Array3::from_shape_fn((planes.len(), rows, columns), |(channel, row, column)| {
        planes[channel][[row, column]] as f32
    });
    display(&Raster { linear })
}

/// The means of part of an array over `rows` x `columns` equal rectangles.
pub(super) fn averaged<T: Copy + Into<f64>>(
    array: &ArrayView2<'_, T>,
    crop: Crop,
    rows: usize,
    columns: usize,
) -> Array2<f64> {
    let across = covers(crop.columns, columns);
    let down = covers(crop.rows, rows);
    let mut narrowed = Array2::<f64>::zeros((crop.rows, columns));
    for ((row, column), mean) in narrowed.indexed_iter_mut() {
        let (first, weights) = &across[column];
        *mean = (crop.column + first..)
            .zip(weights)
            .map(|(column, weight)| weight * array[[crop.row + row, column]].into())
            .sum();
    }
    Array2::from_shape_fn((rows, columns), |(row, column)| {
        let (first, weights) = &down[row];
        (*first..).zip(weights).map(|(row, weight)| weight * narrowed[[row, column]]).sum()
    })
}

/// For each of `to` equal parts of `from` samples: the first sample it covers and the share of
/// the part that each takes from there on.
fn covers(from: usize, to: usize) -> Vec<(usize, Vec<f64>)> {
    let size = from as f64 / to as f64;
    let part = |index: usize| {
        let (low, high) = (index as f64 * size, (index + 1) as f64 * size);
        let first = (low.floor() as usize).min(from - 1);
        let last = (high.ceil() as usize).clamp(first + 1, from);
        let weights: Vec<f64> = (first..last)
            .map(|sample| (high.min((sample + 1) as f64) - low.max(sample as f64)).max(0.0))
            .collect();
        let sum: f64 = weights.iter().sum();
        (first, weights.iter().map(|weight| weight / sum).collect())
    };
    (0..to).map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn means_are_kept_and_enlarged_samples_stay_plain() {
        let array = array![[1.0, 2.0, 6.0], [3.0, 4.0, 8.0]];
        let all = Crop { column: 0, row: 0, columns: 3, rows: 2 };
        assert_eq!(averaged(&array.view(), all, 1, 1), array![[4.0]]);
        let right = Crop { column: 2, row: 0, columns: 1, rows: 2 };
        let enlarged = averaged(&array.view(), right, 4, 2);
        assert_eq!(enlarged, array![[6.0, 6.0], [6.0, 6.0], [8.0, 8.0], [8.0, 8.0]]);
    }

    #[test]
    fn a_crop_stays_inside_and_holds_a_pixel() {
        let all = Crop { column: 0, row: 0, columns: 10, rows: 10 };
        let crop = all.within([2.5, -3.0], [4.5, 99.0]);
        assert_eq!(crop, Crop { column: 2, row: 0, columns: 3, rows: 10 });
        for far in [-50.0, 50.0] {
            let crop = all.within([far, far], [far, far]);
            assert_eq!((crop.columns, crop.rows), (1, 1));
        }
    }
}
