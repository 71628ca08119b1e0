//! The transform along the rows of one strip of the scene.

use super::pieces::{Landing, Piece, Pieces};
use super::{BLOCK, Line, Spectra, ZERO};
use crate::wave::good_length;
use ndarray::parallel::prelude::*;
use ndarray::{ArrayView2, ArrayViewMut1, ArrayViewMut2, Axis, Slice, Zip, aview1};
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
        let shares = &self.pieces.share[places.clone()];
        let (inside, samples) = self.pieces.inside(self.piece);
        let mirror = &self.pieces.mirror[places];
        let (before, behind) = (&mirror[..inside.start], &mirror[inside.end..]);
        self.transform(light.nrows() * self.sides, spectra, |index, signal| {
            let row = light.row(index / self.sides);
            let signal = &mut signal[..mirror.len()];
            let shown = row.slice_axis(Axis(0), Slice::from(samples.clone()));
            let to = ArrayViewMut1::from(&mut signal[inside.clone()]);
            Zip::from(to).and(shown).for_each(|to, from| *to = from - level);
            let margin = |to: &mut [f32], from: &[usize]| {
                to.iter_mut().zip(from).for_each(|(to, &from)| *to = row[from] - level);
            };
            margin(&mut signal[..inside.start], before);
            margin(&mut signal[inside.end..], behind);
            if index % self.sides == 1 {
                signal.iter_mut().zip(shares).for_each(|(light, share)| *light *= share);
            } else if self.sides == 2 {
                signal.iter_mut().zip(shares).for_each(|(light, share)| *light *= 1.0 - share);
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
        spectra.axis_chunks_iter_mut(Axis(1), TOGETHER).into_par_iter().enumerate().for_each_init(
            buffers,
            |(pair, signals, scratch), (chunk, mut places)| {
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
            },
        );
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
                    for (places, signal) in
                        places.axis_chunks_iter(Axis(0), 2).into_iter().zip(pairs)
                    {
                        together(
                            &places[0],
                            places.get(1).unwrap_or(&Line::default()),
                            signal,
                            block,
                        );
                    }
                }
                self.inverse.process_with_scratch(signals, scratch);
                let pairs = signals.chunks_exact(self.length);
                for (mut rows, signal) in
                    rows.axis_chunks_iter_mut(Axis(0), 2).into_iter().zip(pairs)
                {
                    let signal = &signal[kept.clone()];
                    let picture = Slice::from(first..first + signal.len());
                    for (part, mut row) in rows.rows_mut().into_iter().enumerate() {
                        let row =
                            Zip::from(row.slice_axis_mut(Axis(0), picture)).and(aview1(signal));
                        if part == 0 {
                            row.for_each(|to, from| *to += from.re + level);
                        } else {
                            row.for_each(|to, from| *to += from.im + level);
                        }
                    }
                }
            });
    }
}

/// The spectra of the real and of the imaginary part of a signal, in one block of columns.
fn apart(signal: &[Complex32], block: usize) -> [Line; 2] {
    let (plus, minus) = opposites(signal, block);
    let pairs: [_; BLOCK] = from_fn(|at| {
        let (plus, minus) = (plus[at], minus[BLOCK - 1 - at]);
        let one = [0.5 * (plus.re + minus.re), 0.5 * (plus.im - minus.im)];
        (one, [0.5 * (plus.im + minus.im), 0.5 * (minus.re - plus.re)])
    });
    [pairs.map(|(one, _)| one), pairs.map(|(_, other)| other)]
}

/// The numbers of a spectrum in a block of columns, and at the opposite frequencies, which stand in
/// opposite order. Beyond the middle of the spectrum, anything.
fn opposites(signal: &[Complex32], block: usize) -> ([Complex32; BLOCK], [Complex32; BLOCK]) {
    let start = block * BLOCK;
    let end = signal.len() - start;
    let mut minus = [ZERO; BLOCK];
    minus[..BLOCK - 1].copy_from_slice(&signal[end - (BLOCK - 1)..end]);
    // The opposite of the first frequency, which is none, is itself.
    minus[BLOCK - 1] = signal[end % signal.len()];
    let mut plus = [ZERO; BLOCK];
    plus.copy_from_slice(&signal[start..start + BLOCK]);
    (plus, minus)
}

/// The reverse of [`apart`].
fn together(one: &Line, other: &Line, signal: &mut [Complex32], block: usize) {
    let start = block * BLOCK;
    let end = signal.len() - start;
    let pairs: [_; BLOCK] = from_fn(|at| (one[at], other[at]));
    let plus = pairs.map(|([a, b], [c, d])| Complex32::new(a - d, b + c));
    let minus = pairs.map(|([a, b], [c, d])| Complex32::new(a + d, c - b));
    if start == signal.len() / 2 {
        signal[start] = plus[0];
        return;
    }
    signal[end % signal.len()] = minus[0];
    for (to, from) in signal[end - (BLOCK - 1)..end].iter_mut().rev().zip(&minus[1..]) {
        *to = *from;
    }
    signal[start..start + BLOCK].copy_from_slice(&plus);
}
