//! The transform along the rows, of one strip of the scene after the other.

use super::pieces::{Landing, Piece, Pieces};
use super::{BLOCK, Spectra, ZERO};
use crate::wave::good_length;
use ndarray::parallel::prelude::*;
use ndarray::{ArrayView1, ArrayView2, ArrayViewMut1, ArrayViewMut2, Axis, Slice, Zip, aview1};
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::sync::Arc;

/// Rows transformed before any is stored, a multiple of the block: two kilobytes at a time then go
/// to each block of columns, and the rows still fit into the second level of the cache.
const ROWS_TOGETHER: usize = 32;

/// The kernels of a row of nodes that a strip needs: the left one's weights and, where the kernel
/// changes across the strip, the right one's.
pub(super) type Beside<'a> = (ArrayView2<'a, f32>, Option<ArrayView2<'a, f32>>);

/// A strip of the scene from top to bottom whose rows are complex signals: two pieces of a row
/// under the same kernel are the real and the imaginary part; or of one piece, what the left
/// node's kernel takes of its light and what the right one's takes.
pub(super) struct Strip<'a> {
    pieces: &'a Pieces,
    piece: &'a Piece,
    second: Option<&'a Piece>,
    length: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
}

impl<'a> Strip<'a> {
    pub(super) fn new(
        pieces: &'a Pieces,
        piece: &'a Piece,
        second: Option<&'a Piece>,
        planner: &mut FftPlanner<f32>,
    ) -> Strip<'a> {
        let least = second.map_or(0, |second| pieces.least_length(second));
        let length = good_length(pieces.least_length(piece).max(least));
        let forward = planner.plan_fft_forward(length);
        let inverse = planner.plan_fft_inverse(length);
        Strip { pieces, piece, second, length, forward, inverse }
    }

    /// Blocks of the columns of its spectrum.
    pub(super) fn blocks(&self) -> usize {
        self.length / BLOCK
    }

    pub(super) fn forward(&self, light: &ArrayView2<f32>, level: f32, spectra: &mut Spectra) {
        let shares = &self.pieces.share[self.piece.places.clone()];
        self.transform(light.nrows(), spectra, |row, real, imaginary| {
            let row = light.row(row);
            self.lay(self.piece, &row, level, real);
            if let Some(second) = self.second {
                self.lay(second, &row, level, imaginary);
            } else {
                let parts = real.iter_mut().zip(imaginary).zip(shares);
                parts.for_each(|((left, right), share)| {
                    *right = *left * share;
                    *left *= 1.0 - share;
                });
            }
        });
    }

    /// A piece of a row, with what it shows of the mirror image.
    fn lay(&self, piece: &Piece, row: &ArrayView1<f32>, level: f32, signal: &mut [f32]) {
        let (inside, samples) = self.pieces.inside(piece);
        let shown = row.slice_axis(Axis(0), Slice::from(samples));
        let straight = ArrayViewMut1::from(&mut signal[inside.clone()]);
        Zip::from(straight).and(shown).for_each(|to, from| *to = from - level);
        let mirror = &self.pieces.mirror[piece.places.clone()];
        for place in (0..inside.start).chain(inside.end..mirror.len()) {
            signal[place] = row[mirror[place]] - level;
        }
    }

    /// The rows of one kernel after the other, left - i right: what the left node has of the light
    /// is real and falls through its kernel, what the right one has is imaginary, and -i times i
    /// makes it real again; so the real part of the product is the sum of the two.
    pub(super) fn forward_kernels(&self, kernels: &[Beside], spectra: &mut Spectra) {
        let scale = 1.0 / self.length as f32;
        let rows: Vec<_> = kernels
            .iter()
            .flat_map(|kernels| (0..height(kernels)).map(move |row| (row, kernels)))
            .collect();
        self.transform(rows.len(), spectra, |row, real, imaginary| {
            let (row, kernels) = rows[row];
            let lay = |weights: &ArrayView2<f32>, scale: f32, signal: &mut [f32]| {
                // The lower of the two kernels is in the middle of the other's height.
                let above = (height(kernels) - weights.nrows()) / 2;
                if (above..above + weights.nrows()).contains(&row) {
                    let signal = &mut signal[self.pieces.reach() - weights.ncols() / 2..];
                    let weights = weights.row(row - above);
                    signal.iter_mut().zip(weights).for_each(|(to, weight)| *to = weight * scale);
                }
            };
            lay(&kernels.0, scale, real);
            if let Some(right) = &kernels.1 {
                lay(right, -scale, imaginary);
            }
        });
    }

    /// Transforms the signals that `lay` makes, row by row, in a real and an imaginary part that
    /// are zero before.
    fn transform(
        &self,
        rows: usize,
        spectra: &mut Spectra,
        lay: impl Fn(usize, &mut [f32], &mut [f32]) + Sync,
    ) {
        let buffers = || {
            (
                [vec![0.0; self.length], vec![0.0; self.length]],
                vec![ZERO; ROWS_TOGETHER * self.length],
                vec![ZERO; self.forward.get_inplace_scratch_len()],
            )
        };
        spectra
            .axis_chunks_iter_mut(Axis(1), ROWS_TOGETHER)
            .into_par_iter()
            .enumerate()
            .for_each_init(
                buffers,
                |([real, imaginary], signals, scratch), (chunk, mut places)| {
                    let start = chunk * ROWS_TOGETHER;
                    let count = ROWS_TOGETHER.min(rows - start);
                    let signals = &mut signals[..count * self.length];
                    for (row, signal) in signals.chunks_exact_mut(self.length).enumerate() {
                        real.fill(0.0);
                        imaginary.fill(0.0);
                        lay(start + row, real, imaginary);
                        let parts = real.iter().zip(&*imaginary);
                        let both = signal.iter_mut().zip(parts);
                        both.for_each(|(to, (re, im))| *to = Complex32::new(*re, *im));
                    }
                    self.forward.process_with_scratch(signals, scratch);
                    for (block, mut places) in places.outer_iter_mut().enumerate() {
                        for (place, signal) in
                            places.iter_mut().zip(signals.chunks_exact(self.length))
                        {
                            let numbers = &signal.as_chunks::<BLOCK>().0[block];
                            *place = numbers.map(|number| [number.re, number.im]);
                        }
                    }
                },
            );
    }

    /// Adds the light of the strip to the picture.
    pub(super) fn inverse(&self, spectra: &Spectra, level: f32, light: &mut ArrayViewMut2<f32>) {
        let buffers = || {
            (
                vec![ZERO; ROWS_TOGETHER * self.length],
                vec![ZERO; self.inverse.get_inplace_scratch_len()],
            )
        };
        let landing = self.pieces.landing(self.piece);
        let second = self.second.map(|second| self.pieces.landing(second));
        spectra
            .axis_chunks_iter(Axis(1), ROWS_TOGETHER)
            .into_par_iter()
            .zip(light.axis_chunks_iter_mut(Axis(0), ROWS_TOGETHER))
            .for_each_init(buffers, |(signals, scratch), (places, mut rows)| {
                let signals = &mut signals[..rows.nrows() * self.length];
                for (block, places) in places.outer_iter().enumerate() {
                    for (place, signal) in places.iter().zip(signals.chunks_exact_mut(self.length))
                    {
                        let numbers = &mut signal.as_chunks_mut::<BLOCK>().0[block];
                        *numbers = place.map(|[re, im]| Complex32::new(re, im));
                    }
                }
                self.inverse.process_with_scratch(signals, scratch);
                for (signal, mut row) in signals.chunks_exact(self.length).zip(rows.rows_mut()) {
                    add(&landing, signal, &mut row, |number| number.re);
                    if let Some(second) = &second {
                        add(second, signal, &mut row, |number| number.im);
                    }
                    row += level;
                }
            });
    }
}

/// Rows of the kernels of a row of nodes.
pub(super) fn height((left, right): &Beside) -> usize {
    left.nrows().max(right.map_or(0, |right| right.nrows()))
}

fn add(
    Landing { kept, first }: &Landing,
    signal: &[Complex32],
    row: &mut ArrayViewMut1<f32>,
    part: impl Fn(&Complex32) -> f32,
) {
    let row = row.slice_axis_mut(Axis(0), Slice::from(*first..first + kept.len()));
    Zip::from(row).and(aview1(&signal[kept.clone()])).for_each(|to, from| *to += part(from));
}
