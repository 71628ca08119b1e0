//! A square grid on the film, and its rows in pairs about the middle.

use crate::error::Error;
use ndarray::{Array2, ArrayViewMut1, ArrayViewMut2, Axis};

/// The most that one result may hold, 2 GiB: what a common machine can spare beside its other work.
const LARGEST_BYTES: usize = 2 << 30;
/// The largest grid: 8192² samples are half a GB, and a finer map of a point image serves nobody.
const LARGEST_GRID: usize = 8192;
/// Rows that are computed together: enough for a matrix product to run at full rate, few enough for
/// the fast caches.
const ROWS_TOGETHER: usize = 32;

/// A square grid on the film, centred at index size / 2 on the line through the hole's origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    size: usize,
    pitch_mm: f64,
}

impl Grid {
    /// `size` × `size` samples, `pitch_mm` apart.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a size of 0 or above 8192, or a pitch that is not positive and finite.
    pub fn new(size: usize, pitch_mm: f64) -> Result<Grid, Error> {
        if size == 0 || size > LARGEST_GRID {
            return Err(Error::limit(
                format!(
                    "a grid of {size} × {size} samples is beyond what is computed: it takes {:.1e} bytes",
                    8.0 * (size as f64).powi(2)
                ),
                format!("ask for 1 to {LARGEST_GRID} samples a side"),
            ));
        }
        if !(pitch_mm > 0.0 && pitch_mm.is_finite()) {
            return Err(Error::limit(
                format!("a pitch of {pitch_mm} mm is out of range"),
                "give a pitch above zero, as in \"2 um\"",
            ));
        }
        Ok(Grid { size, pitch_mm })
    }

    /// Samples a side.
    pub fn size(self) -> usize {
        self.size
    }

    /// Distance between samples, in mm.
    pub fn pitch_mm(self) -> f64 {
        self.pitch_mm
    }

    /// Distance from the axis to the outermost sample along one axis, in mm.
    pub fn reach_mm(self) -> f64 {
        (self.size / 2) as f64 * self.pitch_mm
    }

    /// Whether `count` such grids fit into memory together, before any is made.
    pub(super) fn check_many(self, count: usize) -> Result<(), Error> {
        let each = 8 * self.size * self.size;
        if count.saturating_mul(each) <= LARGEST_BYTES {
            return Ok(());
        }
        let size = ((LARGEST_BYTES / 8 / count.max(1)) as f64).sqrt() as usize;
        Err(Error::limit(
            format!("{count} grids of {0} × {0} samples do not fit into 2 GiB", self.size),
            format!(
                "at most {} of these, or so many of {size} samples a side",
                LARGEST_BYTES / each
            ),
        ))
    }

    /// The grid of the same pitch with `size` samples a side.
    pub(super) fn of_size(self, size: usize) -> Grid {
        Grid { size, ..self }
    }

    /// The grid on a film that is `factor` times as large.
    pub(super) fn scaled(self, factor: f64) -> Grid {
        Grid { pitch_mm: self.pitch_mm * factor, ..self }
    }

    /// The samples, all zero.
    pub(super) fn dark(self) -> Array2<f64> {
        Array2::zeros((self.size, self.size))
    }
}

/// Rows of a film that lie as far above its middle as others below: one computation serves both.
pub(super) struct RowPair<'a> {
    /// How many rows from the middle the first lies.
    pub(super) first: usize,
    above: ArrayViewMut2<'a, f64>,
    /// Counted downwards. A film of even size has a row more below its middle than above.
    below: ArrayViewMut2<'a, f64>,
}

/// Energy per mm² along one row above the middle of the film and its mirror image below, outwards
/// from the middle. In a symmetric pattern some are the same.
#[derive(Clone, Copy)]
pub(super) struct HalfRows<'a> {
    pub(super) above_right: &'a [f64],
    pub(super) above_left: &'a [f64],
    pub(super) below_right: &'a [f64],
    pub(super) below_left: &'a [f64],
}

impl<'a> RowPair<'a> {
    /// All rows of a film.
    pub(super) fn all(film: ArrayViewMut2<'a, f64>) -> Vec<RowPair<'a>> {
        let middle = film.nrows() / 2;
        let (mut below, above) = film.split_at(Axis(0), middle);
        below.invert_axis(Axis(0));
        let (middle_row, mut above) = above.split_at(Axis(0), 1);
        let (middle_row, none) = middle_row.split_at(Axis(0), 1);
        let mut all = vec![RowPair { first: 0, above: middle_row, below: none }];
        let mut first = 1;
        while !below.is_empty() {
            let cut = |rows: ArrayViewMut2<'a, f64>| {
                let count = ROWS_TOGETHER.min(rows.nrows());
                rows.split_at(Axis(0), count)
            };
            let ((above_now, above_rest), (below_now, below_rest)) = (cut(above), cut(below));
            all.push(RowPair { first, above: above_now, below: below_now });
            (above, below) = (above_rest, below_rest);
            first += ROWS_TOGETHER;
        }
        all
    }

    /// How many rows from the middle outwards, starting with the first.
    pub(super) fn count(&self) -> usize {
        self.above.nrows().max(self.below.nrows())
    }

    /// Adds densities to the k-th row of the pair and to its mirror image.
    pub(super) fn add(&mut self, k: usize, light: HalfRows) {
        if k < self.above.nrows() {
            add(self.above.row_mut(k), light.above_left, light.above_right);
        }
        if k < self.below.nrows() {
            add(self.below.row_mut(k), light.below_left, light.below_right);
        }
    }
}

fn add(mut row: ArrayViewMut1<f64>, left: &[f64], right: &[f64]) {
    let middle = row.len() / 2;
    let Some(samples) = row.as_slice_mut() else { return };
    let (to_left, to_right) = samples.split_at_mut(middle);
    to_right.iter_mut().zip(right).for_each(|(sample, light)| *sample += light);
    to_left.iter_mut().rev().zip(left.iter().skip(1)).for_each(|(sample, light)| *sample += light);
}
