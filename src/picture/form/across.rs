//! The transform along the rows of one strip of the scene.

use super::pieces::{Landing, Piece, Pieces};
use super::{BLOCK, Line, Spectra, ZERO};
use crate::wave::good_length;
use ndarray::parallel::prelude::*;
use ndarray::{ArrayView2, ArrayViewMut2, Axis, Slice};
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::array::from_fn;
use std::sync::Arc;

/// Signals transformed before any is stored, a multiple of the block: two kilobytes at a time then
/// go to each block of columns, and the signals still fit into the second level of the cache.
const TOGETHER: usize = 32;

pub(super) struct Strip<'a> {
    pieces: &'a Pieces,
    piece: &'a Piece,
    sides: usize,
    length: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
}

impl<'a> Strip<'a> {
    pub(super) fn new(
        pieces: &'a Pieces,
        piece: &'a Piece,
        sides: usize,
        planner: &mut FftPlanner<f32>,
    ) -> Strip<'a> {
        let length = good_length(pieces.least_length(piece));
        let forward = planner.plan_fft_forward(length);
        let inverse = planner.plan_fft_inverse(length);
        Strip { pieces, piece, sides, length, forward, inverse }
    }

    /// Blocks of the columns of half a spectrum: the other half is its mirror image.
    pub(super) fn blocks(&self) -> usize {
        self.length / 2 / BLOCK + 1
    }

    /// Row by row: its light as the left node has it, then as the right one has it.
    pub(super) fn forward(&self, light: &ArrayView2<f32>, level: f32, spectra: &mut Spectra) {
        let places = self.piece.places.clone();
        let (shown, shares) = (&self.pieces.mirror[places.clone()], &self.pieces.share[places]);
        self.transform(light.nrows() * self.sides, spectra, |index, signal| {
            let row = light.row(index / self.sides);
            let used = signal.iter_mut().zip(shown.iter().zip(shares));
            if index % self.sides == 0 {
                used.for_each(|(to, (&from, share))| *to = (row[from] - level) * (1.0 - share));
            } else {
                used.for_each(|(to, (&from, share))| *to = (row[from] - level) * share);
            }
        });
    }

    /// The rows of one kernel after the other.
    pub(super) fn forward_kernels(&self, kernels: &[ArrayView2<f32>], spectra: &mut Spectra) {
        let scale = 1.0 / self.length as f32;
        let rows: Vec<_> = kernels.iter().flat_map(|weights| weights.rows()).collect();
        self.transform(rows.len(), spectra, |index, signal| {
            let row = rows[index];
            let first = self.pieces.reach() - row.len() / 2;
            let used = signal[first..].iter_mut().zip(row);
            used.for_each(|(to, weight)| *to = weight * scale);
        });
    }

    /// Transforms `count` real signals, two at a time: one the real part of a complex signal, one
    /// the imaginary part.
    fn transform(
        &self,
        count: usize,
        spectra: &mut Spectra,
        lay: impl Fn(usize, &mut [f32]) + Sync,
    ) {
        let buffers = || {
            (
                vec![0.0; 2 * self.length],
                vec![ZERO; TOGETHER / 2 * self.length],
                vec![ZERO; self.forward.get_inplace_scratch_len()],
            )
        };
        spectra
            .axis_chunks_iter_mut(Axis(1), TOGETHER)
            .into_par_iter()
            .enumerate()
            .for_each_init(buffers, |(pair, signals, scratch), (chunk, mut places)| {
                let start = chunk * TOGETHER;
                let pairs = (count - start).min(TOGETHER).div_ceil(2);
                let signals = &mut signals[..pairs * self.length];
                for (at, signal) in signals.chunks_exact_mut(self.length).enumerate() {
                    pair.fill(0.0);
                    let (one, other) = pair.split_at_mut(self.length);
                    let index = start + 2 * at;
                    lay(index, one);
                    if index + 1 < count {
                        lay(index + 1, other);
                    }
                    let both = one.iter().zip(other);
                    signal.iter_mut().zip(both).for_each(|(to, (re, im))| {
                        *to = Complex32::new(*re, *im);
                    });
                }
                self.forward.process_with_scratch(signals, scratch);
                for (block, mut places) in places.outer_iter_mut().enumerate() {
                    let pairs = signals.chunks_exact(self.length);
                    for (mut places, signal) in
                        places.axis_chunks_iter_mut(Axis(0), 2).into_iter().zip(pairs)
                    {
                        let [one, other] = apart(signal, block);
                        places[0] = one;
                        if let Some(place) = places.get_mut(1) {
                            *place = other;
                        }
                    }
                }
            });
    }

    pub(super) fn inverse(&self, spectra: &Spectra, level: f32, light: &mut ArrayViewMut2<f32>) {
        let buffers = || {
            (
                vec![ZERO; TOGETHER / 2 * self.length],
                vec![ZERO; self.inverse.get_inplace_scratch_len()],
            )
        };
        let Landing { kept, first } = self.pieces.landing(self.piece);
        // What stands beyond the last row has not been weighed, and would drown its partner.
        spectra
            .slice_axis(Axis(1), Slice::from(..light.nrows()))
            .axis_chunks_iter(Axis(1), TOGETHER)
            .into_par_iter()
            .zip(light.axis_chunks_iter_mut(Axis(0), TOGETHER))
            .for_each_init(buffers, |(signals, scratch), (places, mut rows)| {
                let signals = &mut signals[..rows.nrows().div_ceil(2) * self.length];
                for (block, places) in places.outer_iter().enumerate() {
                    let pairs = signals.chunks_exact_mut(self.length);
                    for (places, signal) in places.axis_chunks_iter(Axis(0), 2).into_iter().zip(pairs)
                    {
                        together(&places[0], places.get(1).unwrap_or(&Line::default()), signal, block);
                    }
                }
                self.inverse.process_with_scratch(signals, scratch);
                let pairs = signals.chunks_exact(self.length);
                for (mut rows, signal) in
                    rows.axis_chunks_iter_mut(Axis(0), 2).into_iter().zip(pairs)
                {
                    let signal = &signal[kept.clone()];
                    for (part, mut row) in rows.rows_mut().into_iter().enumerate() {
                        let row = row.iter_mut().skip(first).zip(signal);
                        if part == 0 {
                            row.for_each(|(to, from)| *to += from.re + level);
                        } else {
                            row.for_each(|(to, from)| *to += from.im + level);
                        }
                    }
                }
            });
    }
}

/// The spectra of the real and of the imaginary part of a signal, in one block of columns.
fn apart(signal: &[Complex32], block: usize) -> [Line; 2] {
    let half = Complex32::new(0.5, 0.0);
    let pairs: [_; BLOCK] = from_fn(|at| {
        let column = (block * BLOCK + at).min(signal.len() / 2);
        let (plus, minus) = (signal[column], signal[(signal.len() - column) % signal.len()].conj());
        ((plus + minus) * half.re, (plus - minus) * half.re)
    });
    [pairs.map(|(one, _)| [one.re, one.im]), pairs.map(|(_, other)| [other.im, -other.re])]
}

/// The reverse of [`apart`].
fn together(one: &Line, other: &Line, signal: &mut [Complex32], block: usize) {
    for (at, (one, other)) in one.iter().zip(other).enumerate() {
        let column = block * BLOCK + at;
        if column <= signal.len() / 2 {
            let opposite = (signal.len() - column) % signal.len();
            signal[opposite] = Complex32::new(one[0] + other[1], other[0] - one[1]);
            signal[column] = Complex32::new(one[0] - other[1], one[1] + other[0]);
        }
    }
}
