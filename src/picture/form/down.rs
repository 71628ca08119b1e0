//! The convolution down the columns of a strip's spectrum.

use super::pieces::{Landing, Piece, Pieces};
use super::{BLOCK, Line, ZERO};
use crate::wave::good_length;
use ndarray::{ArrayView1, ArrayViewMut1, Axis};
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::array::from_fn;
use std::sync::Arc;

pub(super) struct Down {
    rows: usize,
    reach: usize,
    pieces: Pieces,
    /// Nodes above and below a piece: two, or one that holds for all rows.
    levels: usize,
    nodes: usize,
    length: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
}

/// What one thread needs.
pub(super) struct Scratch {
    /// The columns of a block upright, with their surroundings.
    columns: Vec<[Complex32; BLOCK]>,
    /// What they become.
    formed: Vec<[Complex32; BLOCK]>,
    /// Of one column: node by node from the top.
    kernels: Vec<Complex32>,
    /// Of one piece of a column: what the node above has of it, and the one below.
    signals: Vec<Complex32>,
    transform: Vec<Complex32>,
}

impl Down {
    pub(super) fn new(
        rows: usize,
        nodes: usize,
        reach: usize,
        planner: &mut FftPlanner<f32>,
    ) -> Down {
        let mut pieces = Pieces::new(rows, nodes, reach);
        let levels = nodes.min(2);
        pieces.cut(longest_piece(&pieces, reach, levels, nodes));
        let least = pieces.pieces.iter().map(|piece| pieces.least_length(piece)).max();
        let length = good_length(least.unwrap_or(1));
        let forward = planner.plan_fft_forward(length);
        let inverse = planner.plan_fft_inverse(length);
        Down { rows, reach, pieces, levels, nodes, length, forward, inverse }
    }

    pub(super) fn scratch(&self) -> Scratch {
        let transform =
            self.forward.get_inplace_scratch_len().max(self.inverse.get_inplace_scratch_len());
        Scratch {
            columns: vec![[ZERO; BLOCK]; BLOCK * pitch(self.pieces.mirror.len())],
            formed: vec![[ZERO; BLOCK]; BLOCK * pitch(self.rows)],
            kernels: vec![ZERO; self.nodes * self.length],
            signals: vec![ZERO; self.levels * self.length],
            transform: vec![ZERO; transform],
        }
    }

    pub(super) fn convolve(
        &self,
        block: ArrayViewMut1<Line>,
        kernels: &ArrayView1<Line>,
        heights: &[usize],
        scratch: &mut Scratch,
    ) {
        self.lay_columns(&block.view(), &mut scratch.columns);
        let Scratch { columns, formed, kernels: spectra, signals, transform } = scratch;
        let pairs = columns
            .chunks_exact(pitch(self.pieces.mirror.len()))
            .zip(formed.chunks_exact_mut(pitch(self.rows)));
        for (at, (column, formed)) in pairs.enumerate() {
            let (column, formed) = (column.as_flattened(), formed.as_flattened_mut());
            formed.fill(ZERO);
            self.lay_kernels(kernels, heights, at, spectra);
            self.forward.process_with_scratch(spectra, transform);
            for piece in &self.pieces.pieces {
                self.lay_piece(piece, column, signals);
                self.forward.process_with_scratch(signals, transform);
                let from = piece.node * self.length;
                let sum = gather(signals, &spectra[from..], self.length);
                self.inverse.process_with_scratch(sum, transform);
                let Landing { kept, first } = self.pieces.landing(piece);
                let landed = formed[first..].iter_mut().zip(&sum[kept]);
                landed.for_each(|(to, from)| *to += from);
            }
        }
        self.keep(formed, block);
    }

    /// One column of each kernel upright.
    fn lay_kernels(
        &self,
        block: &ArrayView1<Line>,
        heights: &[usize],
        column: usize,
        kernels: &mut [Complex32],
    ) {
        let scale = 1.0 / self.length as f32;
        kernels.fill(ZERO);
        let mut start = 0;
        for (kernel, &height) in kernels.chunks_exact_mut(self.length).zip(heights) {
            let kernel = &mut kernel[self.reach - height / 2..][..height];
            for (row, to) in kernel.iter_mut().enumerate() {
                let [re, im] = block[start + row][column];
                *to = Complex32::new(re * scale, im * scale);
            }
            start += height;
        }
    }

    /// A piece of a column: what the node above has of its light, then what the one below has.
    fn lay_piece(&self, piece: &Piece, column: &[Complex32], signals: &mut [Complex32]) {
        let places = piece.places.clone();
        let (light, shares) = (&column[places.clone()], &self.pieces.share[places]);
        for (level, signal) in signals.chunks_exact_mut(self.length).enumerate() {
            let (used, rest) = signal.split_at_mut(light.len());
            let used = used.iter_mut().zip(light.iter().zip(shares));
            if level == 0 {
                used.for_each(|(to, (from, share))| *to = from * (1.0 - share));
            } else {
                used.for_each(|(to, (from, share))| *to = from * share);
            }
            rest.fill(ZERO);
        }
    }

    /// The columns upright with their surroundings, a square of lines at a time.
    fn lay_columns(&self, block: &ArrayView1<Line>, columns: &mut [[Complex32; BLOCK]]) {
        let pitch = pitch(self.pieces.mirror.len());
        for (square, rows) in self.pieces.mirror.chunks(BLOCK).enumerate() {
            let lines: [_; BLOCK] = from_fn(|at| &block[rows[at.min(rows.len() - 1)]]);
            for column in 0..BLOCK {
                columns[column * pitch + square] =
                    lines.map(|line| Complex32::new(line[column][0], line[column][1]));
            }
        }
    }

    /// What the columns have become, back to the first of their rows.
    fn keep(&self, formed: &[[Complex32; BLOCK]], mut block: ArrayViewMut1<Line>) {
        let columns: [_; BLOCK] = from_fn(|column| &formed[column * pitch(self.rows)..]);
        let squares = block.axis_chunks_iter_mut(Axis(0), BLOCK);
        for (square, mut lines) in squares.into_iter().take(self.rows.div_ceil(BLOCK)).enumerate() {
            let columns = columns.map(|column| &column[square]);
            for (row, line) in lines.iter_mut().enumerate() {
                *line = columns.map(|column| [column[row].re, column[row].im]);
            }
        }
    }
}

/// Squares' widths from a column to the next: one more than it needs, lest columns a power of two
/// apart contend for one place in the cache.
fn pitch(count: usize) -> usize {
    count.div_ceil(BLOCK) + 1
}

/// The signals, each multiplied by its kernel, added up in the first.
fn gather<'a>(
    signals: &'a mut [Complex32],
    kernels: &[Complex32],
    length: usize,
) -> &'a mut [Complex32] {
    let (sum, others) = signals.split_at_mut(length);
    let (first, kernels) = kernels.split_at(length);
    weigh(sum, first);
    for (signal, kernel) in others.chunks_exact(length).zip(kernels.chunks_exact(length)) {
        add_weighed(sum, signal, kernel);
    }
    sum
}

/// Multiplies each value by its weight. By itself, as the next one is, because the compiler then
/// knows that the two do not overlap, and works on four at once.
fn weigh(values: &mut [Complex32], weights: &[Complex32]) {
    for (value, weight) in values.iter_mut().zip(weights) {
        *value *= weight;
    }
}

fn add_weighed(sum: &mut [Complex32], values: &[Complex32], weights: &[Complex32]) {
    for (sum, (value, weight)) in sum.iter_mut().zip(values.iter().zip(weights)) {
        *sum += value * weight;
    }
}

/// The length of the longest piece of a column.
fn longest_piece(pieces: &Pieces, reach: usize, signals: usize, kernels: usize) -> usize {
    let (mut best, mut least_cost) = (1, f64::INFINITY);
    let longest = pieces.pieces.iter().map(|piece| piece.places.len()).max().unwrap_or(1);
    let mut length = good_length(2 * reach + BLOCK);
    loop {
        let most = length - 2 * reach;
        let count: usize = pieces.pieces.iter().map(|p| p.places.len().div_ceil(most)).sum();
        let steps = (length as f64).log2();
        let cost = length as f64
            * (count as f64 * ((signals + 1) as f64 * steps + 10.0 * (signals + 1) as f64)
                + kernels as f64 * steps);
        if cost < least_cost {
            (best, least_cost) = (most, cost);
        }
        if most >= longest {
            return best;
        }
        length = good_length(length + 1);
    }
}
