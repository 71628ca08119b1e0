//! A person's own picture brought to the film's size.

use crate::error::Error;
use crate::raster::Raster;
use ndarray::parallel::prelude::*;
use ndarray::{Array3, ArrayView2, Axis};

/// Longest side of a film in pixels, as long as a drawing may be.
const LONGEST_PX: usize = 16_384;

/// Most pixels of a film: three channels of four bytes make it 1.2 gigabytes, and image formation
/// needs as much again.
const MOST_PIXELS: usize = 100_000_000;

/// Returns the picture brought to a film of `columns` by `rows` pixels: cropped about its centre to the
/// film's aspect, then averaged over the area of each film pixel; where the picture is coarser than
/// the film, between neighbouring samples linearly. No value lies outside those of the picture.
/// Always three channels: one is repeated, a fourth is left out.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a picture without samples, and for a film of no pixels, longer than
/// 16 384 pixels, or of more than a hundred million.
pub fn fitted(picture: &Raster, columns: usize, rows: usize) -> Result<Raster, Error> {
    within_limits(columns, rows)?;
    let (channels, high, wide) = picture.linear.dim();
    if picture.linear.is_empty() {
        return Err(Error::limit("the picture has no pixels", "give it at least one each way"));
    }
    // Samples of the picture to a pixel of the film: the side that runs out first decides.
    let step = (wide as f64 / columns as f64).min(high as f64 / rows as f64);
    let across = windows(wide, columns, step);
    let down = windows(high, rows, step);
    let mut linear = Array3::zeros((3, rows, columns));
    for (channel, mut light) in linear.axis_iter_mut(Axis(0)).enumerate() {
        let source = picture.linear.index_axis(Axis(0), channel.min(channels - 1));
        light.axis_iter_mut(Axis(0)).into_par_iter().zip(&down).for_each_init(
            || vec![0.0; wide],
            |band, (mut row, window)| {
                gather(&source, window, band);
                row.iter_mut().zip(&across).for_each(|(light, window)| {
                    *light = window.of(band);
                });
            },
        );
    }
    Ok(Raster { linear })
}

pub(super) fn within_limits(columns: usize, rows: usize) -> Result<(), Error> {
    let sides = 1..=LONGEST_PX;
    let pixels = columns.saturating_mul(rows);
    if sides.contains(&columns) && sides.contains(&rows) && pixels <= MOST_PIXELS {
        return Ok(());
    }
    Err(Error::limit(
        format!("a scene cannot be made for a film of {columns} x {rows} pixels"),
        format!("keep each side between 1 and {LONGEST_PX} pixels, {MOST_PIXELS} in all"),
    ))
}

/// What a film pixel sees along one direction: `count` samples from `first` on, weighed so that the sum
/// is 1.
#[derive(Debug, Clone, Copy)]
struct Window {
    first: usize,
    count: usize,
    /// The weights of the first and of the last sample, which the pixel may see in part.
    ends: [f32; 2],
    /// The weight of each between them.
    whole: f32,
}

impl Window {
    /// A window of `step` samples about `middle`, in samples from the first one's outer edge.
    ///
    /// A pixel sees the samples by their overlap with it. One smaller than a sample is widened to the
    /// size of a sample: the overlaps are then the weights of linear interpolation.
    fn about(middle: f64, step: f64, samples: usize) -> Window {
        let half = step.max(1.0) / 2.0;
        let low = (middle - half).clamp(0.0, samples as f64 - 0.5);
        let high = (middle + half).clamp(low + 0.5, samples as f64);
        let first = (low as usize).min(samples - 1);
        let end = (high.ceil() as usize).clamp(first + 1, samples);
        let share = |from: f64, to: f64| ((to - from) / (high - low)).max(0.0) as f32;
        Window {
            first,
            count: end - first,
            ends: [share(low, high.min((first + 1) as f64)), share((end - 1) as f64, high)],
            whole: share(0.0, 1.0),
        }
    }

    fn weights(&self) -> impl Iterator<Item = f32> {
        let last = self.count - 1;
        let [left, right] = self.ends;
        let whole = self.whole;
        (0..self.count).map(move |i| match i {
            0 => left,
            i if i == last => right,
            _ => whole,
        })
    }

    fn of(&self, line: &[f32]) -> f32 {
        self.weights().zip(&line[self.first..]).map(|(weight, light)| weight * light).sum()
    }
}

/// The windows of `pixels` pixels of `step` samples each, about the middle of `samples` samples.
fn windows(samples: usize, pixels: usize, step: f64) -> Vec<Window> {
    let start = (samples as f64 - pixels as f64 * step) / 2.0;
    let middle = |pixel: usize| start + (pixel as f64 + 0.5) * step;
    (0..pixels).map(|pixel| Window::about(middle(pixel), step, samples)).collect()
}

/// The rows that a window sees, added up by its weights.
fn gather(source: &ArrayView2<f32>, window: &Window, band: &mut [f32]) {
    band.fill(0.0);
    let rows = source.axis_iter(Axis(0)).skip(window.first);
    for (weight, row) in window.weights().zip(rows) {
        band.iter_mut().zip(row).for_each(|(sum, light)| *sum += weight * light);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(rows: usize, columns: usize, light: impl Fn(usize, usize) -> f32) -> Raster {
        let at = |(_, row, column)| light(row, column);
        Raster { linear: Array3::from_shape_fn((1, rows, columns), at) }
    }

    fn mean(picture: &Raster) -> f64 {
        picture.linear.iter().map(|&light| f64::from(light)).sum::<f64>()
            / picture.linear.len() as f64
    }

    #[test]
    fn its_own_size_changes_nothing() {
        let source = picture(20, 30, |row, column| (row * 30 + column) as f32 / 600.0);
        let same = fitted(&source, 30, 20).unwrap();
        assert_eq!(same.linear.dim(), (3, 20, 30));
        for channel in 0..3 {
            assert_eq!(
                same.linear.index_axis(Axis(0), channel),
                source.linear.index_axis(Axis(0), 0)
            );
        }
    }

    #[test]
    fn shrinking_keeps_the_light() {
        let source =
            picture(200, 300, |row, column| ((row * 37 + column * 91) % 101) as f32 / 100.0);
        for (columns, rows) in [(90, 60), (75, 50), (3, 2), (201, 134)] {
            let small = fitted(&source, columns, rows).unwrap();
            // Every sample is shared out whole; weights and sums are rounded to 6e-8.
            assert!((mean(&small) - mean(&source)).abs() < 1e-6, "{columns} x {rows}");
        }
    }

    #[test]
    fn crops_about_the_middle_and_keeps_top_and_left() {
        let wide = picture(1, 9, |_, column| column as f32);
        assert_eq!(fitted(&wide, 3, 1).unwrap().linear.as_slice().unwrap()[..3], [3.0, 4.0, 5.0]);
        assert_eq!(fitted(&wide, 1, 1).unwrap().linear[[2, 0, 0]], 4.0);
        let high = picture(9, 1, |row, _| row as f32);
        assert_eq!(fitted(&high, 1, 1).unwrap().linear[[0, 0, 0]], 4.0);
        assert_eq!(fitted(&high, 1, 3).unwrap().linear[[0, 0, 0]], 3.0);
    }

    #[test]
    fn enlarging_is_smooth_and_never_overshoots() {
        let edge = picture(2, 2, |row, column| if row == 0 && column == 0 { 1.0 } else { 0.0 });
        let large = fitted(&edge, 40, 40).unwrap();
        assert!(large.linear.iter().all(|light| (0.0..=1.0).contains(light)));
        let row: Vec<_> = (0..40).map(|column| large.linear[[0, 0, column]]).collect();
        // Linear from one sample's middle to the next, twenty pixels on: steps of 1/20.
        assert!(row.windows(2).all(|pair| (0.0..0.0501).contains(&(pair[0] - pair[1]))), "{row:?}");
    }

    #[test]
    fn fine_lines_turn_grey_when_shrunk() {
        let lines = picture(8, 1024, |_, column| (column % 2) as f32);
        for columns in [100, 140, 333] {
            let shrunk = fitted(&lines, columns, 1).unwrap();
            let step = 1024.0 / columns as f64;
            // A box wider than the pair by any part leaves at the most half a line out of balance.
            let bound = (0.5 / step.min(8.0)) as f32 + 1e-6;
            assert!(shrunk.linear.iter().all(|light| (light - 0.5).abs() <= bound), "{columns}");
        }
    }

    #[test]
    fn any_shape_is_fitted_and_no_size_is_refused() {
        for (rows, columns) in [(1, 1), (1, 5000), (5000, 1), (3, 2)] {
            let source = picture(rows, columns, |_, _| 0.25);
            for (wide, high) in [(1, 1), (60, 40), (1, 900), (900, 1)] {
                let fitted = fitted(&source, wide, high).unwrap();
                assert!(fitted.linear.iter().all(|light| (light - 0.25).abs() < 1e-6));
            }
        }
        let source = picture(3, 3, |_, _| f32::NAN);
        assert!(fitted(&source, 2, 2).is_ok());
        for (wide, high) in
            [(0, 1), (1, 0), (16_385, 1), (16_384, 16_384), (usize::MAX, usize::MAX)]
        {
            assert!(fitted(&source, wide, high).is_err(), "{wide} x {high}");
        }
        for shape in [(0, 2, 2), (1, 0, 2), (3, 2, 0)] {
            assert!(fitted(&Raster { linear: Array3::zeros(shape) }, 2, 2).is_err());
        }
    }
}
