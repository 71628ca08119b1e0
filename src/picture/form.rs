//! Image formation in incoherent light: every point of the scene lays its point-spread function on
//! the film, and the light adds up.
//!
//! A convolution, by Fourier transforms along the rows and overlap-save along the columns. The
//! kernel is real, so two real signals can share one complex transform and come out of it apart:
//! the left half of a row is its real part, the right half its imaginary one. Rows are transformed
//! once; every column of the spectrum is then a signal of its own, cut into overlapping segments
//! short enough for the cache. Beyond its borders the scene is taken as its own mirror image, so
//! that no dark frame creeps in. The level of the scene is set aside before and added after: a flat
//! scene stays flat to the last bit, and rounding falls on the detail alone.
//!
//! Light is kept exactly inside the picture; at the borders an even kernel sends back what it sends
//! out, a lopsided one does not.

use super::kernel::Kernel;
use crate::raster::Raster;
use crate::wave::good_length;
use ndarray::parallel::prelude::*;
use ndarray::{
    Array2, Array3, ArrayView1, ArrayView2, ArrayViewMut1, ArrayViewMut2, Axis, Zip, aview1,
};
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::array::from_fn;
use std::sync::Arc;

/// Columns of the spectrum that stand together in memory: eight numbers of eight bytes fill a line
/// of the cache.
const BLOCK: usize = 8;

/// Rows transformed before any is stored, a multiple of the block: two kilobytes at a time then go
/// to each block of columns, and the rows still fit into the second level of the cache.
const ROWS_TOGETHER: usize = 32;

const ZERO: Complex32 = Complex32::new(0.0, 0.0);

/// A line of the cache: one row's numbers, (real, imaginary), in the columns of one block. Plain
/// arrays, because the standard library takes those from the system as zeros without writing them.
type Line = [[f32; 2]; BLOCK];

/// Spectra of rows: (block of columns, row). A block is contiguous, so that the way down its
/// columns is a way straight through memory.
type Spectra = Array2<Line>;

/// The picture of `scene` through a hole whose point-spread function is `kernels[c]` in channel c
/// (red, green, blue; give one three times for light of one kind). The result has the scene's
/// shape and is upright; a kernel may be larger than the scene.
///
/// Work is shared among the threads of the current rayon pool, whose number changes nothing in the
/// result. Beside the scene and the result it takes about two fifths of the scene's size, more when
/// the kernel is large beside the scene.
pub fn form(scene: &Raster, kernels: [&Kernel; 3]) -> Raster {
    let mut linear = Array3::zeros(scene.linear.dim());
    if !linear.is_empty() {
        // One store for all channels: fresh memory costs as much as a pass over it.
        let mut store = [Array2::default((0, 0)), Array2::default((0, 0))];
        let channels = scene.linear.axis_iter(Axis(0)).zip(linear.axis_iter_mut(Axis(0)));
        for (channel, (light, formed)) in channels.enumerate() {
            convolve(&light, &kernels[channel.min(2)].weights(), formed, &mut store);
        }
    }
    Raster { linear }
}

fn convolve(
    light: &ArrayView2<f32>,
    weights: &ArrayView2<f32>,
    formed: ArrayViewMut2<f32>,
    [spectra, kernel]: &mut [Spectra; 2],
) {
    let (rows, columns) = light.dim();
    let level = level(light);
    let across = Across::new(columns, weights.ncols() / 2);
    let down = Down::new(rows, weights.nrows() / 2);
    let blocks = across.length / BLOCK;
    make_room(spectra, (blocks, rows.next_multiple_of(BLOCK)));
    make_room(kernel, (blocks, weights.nrows()));
    across.forward(light, level, spectra);
    across.forward_kernel(weights, kernel);
    spectra.axis_iter_mut(Axis(0)).into_par_iter().zip(kernel.axis_iter(Axis(0))).for_each_init(
        || down.scratch(),
        |scratch, (block, kernel)| down.convolve(block, &kernel, scratch),
    );
    across.inverse(spectra, level, formed);
}

fn make_room(spectra: &mut Spectra, shape: (usize, usize)) {
    if spectra.dim() != shape {
        *spectra = Array2::from_elem(shape, Line::default());
    }
}

/// The mean of some rows. Any level near the scene's would serve; that of a flat scene is exact,
/// because a sum of equal numbers of 24 bits is, in f64.
fn level(light: &ArrayView2<f32>) -> f32 {
    let sampled = light.axis_iter(Axis(0)).step_by(light.nrows().div_ceil(64));
    let count = sampled.len() * light.ncols();
    let sum: f64 = sampled.flatten().map(|&value| f64::from(value)).sum();
    (sum / count as f64) as f32
}

/// The transform along the rows: the left half of a row, with its surroundings as far as the kernel
/// reaches, is the real part of a signal, the right half with its own the imaginary part.
struct Across {
    columns: usize,
    reach: usize,
    /// Columns of the left half; the right one may have one less.
    half: usize,
    length: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
    /// The places of a row with its surroundings that are beyond the scene's borders, each with the
    /// place that it mirrors.
    mirror: Vec<(usize, usize)>,
}

impl Across {
    fn new(columns: usize, reach: usize) -> Across {
        let half = columns.div_ceil(2);
        let length = good_length(half + 2 * reach);
        let mut planner = FftPlanner::new();
        let mirror = (0..reach)
            .chain(reach + columns..2 * half + 2 * reach)
            .map(|place| (place, reach + mirrored(place, reach, columns)))
            .collect();
        Across {
            columns,
            reach,
            half,
            length,
            forward: planner.plan_fft_forward(length),
            inverse: planner.plan_fft_inverse(length),
            mirror,
        }
    }

    fn forward(&self, light: &ArrayView2<f32>, level: f32, spectra: &mut Spectra) {
        self.transform(light, spectra, |row, surrounded, signal| {
            let inside = &mut surrounded[self.reach..self.reach + self.columns];
            Zip::from(ArrayViewMut1::from(inside)).and(row).for_each(|to, from| *to = from - level);
            for &(place, shown) in &self.mirror {
                surrounded[place] = surrounded[shown];
            }
            let halves = surrounded.iter().zip(&surrounded[self.half..]);
            let (used, rest) = signal.split_at_mut(self.half + 2 * self.reach);
            used.iter_mut().zip(halves).for_each(|(to, (re, im))| *to = Complex32::new(*re, *im));
            rest.fill(ZERO);
        });
    }

    /// The kernel's rows, each turned so that its middle is the first sample: then the result
    /// stands where the scene stood.
    fn forward_kernel(&self, weights: &ArrayView2<f32>, spectra: &mut Spectra) {
        let scale = 1.0 / self.length as f32;
        self.transform(weights, spectra, |row, _, signal| {
            signal.fill(ZERO);
            for (column, weight) in row.iter().enumerate() {
                signal[(column + self.length - self.reach) % self.length].re = weight * scale;
            }
        });
    }

    /// Transforms the signal that `lay` makes of each row, with room for the row and its
    /// surroundings at hand.
    fn transform(
        &self,
        rows: &ArrayView2<f32>,
        spectra: &mut Spectra,
        lay: impl Fn(ArrayView1<f32>, &mut [f32], &mut [Complex32]) + Sync,
    ) {
        let buffers = || {
            (
                vec![0.0; 2 * self.half + 2 * self.reach],
                vec![ZERO; ROWS_TOGETHER * self.length],
                vec![ZERO; self.forward.get_inplace_scratch_len()],
            )
        };
        spectra
            .axis_chunks_iter_mut(Axis(1), ROWS_TOGETHER)
            .into_par_iter()
            .zip(rows.axis_chunks_iter(Axis(0), ROWS_TOGETHER))
            .for_each_init(buffers, |(surrounded, signals, scratch), (mut places, rows)| {
                let signals = &mut signals[..rows.nrows() * self.length];
                for (signal, row) in signals.chunks_exact_mut(self.length).zip(rows.rows()) {
                    lay(row, surrounded, signal);
                }
                self.forward.process_with_scratch(signals, scratch);
                for (block, mut places) in places.outer_iter_mut().enumerate() {
                    for (place, signal) in places.iter_mut().zip(signals.chunks_exact(self.length))
                    {
                        let numbers = &signal.as_chunks::<BLOCK>().0[block];
                        *place = numbers.map(|number| [number.re, number.im]);
                    }
                }
            });
    }

    fn inverse(&self, spectra: &Spectra, level: f32, mut light: ArrayViewMut2<f32>) {
        let buffers = || {
            (
                vec![ZERO; ROWS_TOGETHER * self.length],
                vec![ZERO; self.inverse.get_inplace_scratch_len()],
            )
        };
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
                for (signal, row) in signals.chunks_exact(self.length).zip(rows.rows_mut()) {
                    let (left, right) = row.split_at(Axis(0), self.half);
                    let kept = &signal[self.reach..];
                    let (both, one) = (aview1(&kept[..left.len()]), aview1(&kept[..right.len()]));
                    Zip::from(left).and(both).for_each(|to, from| *to = from.re + level);
                    Zip::from(right).and(one).for_each(|to, from| *to = from.im + level);
                }
            });
    }
}

/// The convolution down the columns of the spectrum, by overlap-save.
struct Down {
    reach: usize,
    /// Samples of one segment.
    length: usize,
    /// Those of them that are kept: whole lines of the cache, at most all but twice the reach.
    kept: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
    /// The row that each place of all segments shows, segment after segment.
    mirror: Vec<[usize; BLOCK]>,
}

/// What one thread needs: the segments of the columns of a block, and their kernels, each column by
/// itself; and the transform's own.
struct Scratch {
    segments: Vec<[Complex32; BLOCK]>,
    kernels: Vec<Complex32>,
    transform: Vec<Complex32>,
}

impl Down {
    fn new(rows: usize, reach: usize) -> Down {
        let (length, kept) = segment(rows, reach);
        let mut planner = FftPlanner::new();
        let row = |place| mirrored(place / length * kept + place % length, reach, rows);
        let squares = rows.div_ceil(kept) * length / BLOCK;
        Down {
            reach,
            length,
            kept,
            forward: planner.plan_fft_forward(length),
            inverse: planner.plan_fft_inverse(length),
            mirror: (0..squares).map(|square| from_fn(|at| row(square * BLOCK + at))).collect(),
        }
    }

    fn scratch(&self) -> Scratch {
        let transform =
            self.forward.get_inplace_scratch_len().max(self.inverse.get_inplace_scratch_len());
        Scratch {
            segments: vec![[ZERO; BLOCK]; BLOCK * self.pitch()],
            kernels: vec![ZERO; BLOCK * self.length],
            transform: vec![ZERO; transform],
        }
    }

    /// Squares' widths from a column's segments to the next column's: one more than they need, lest
    /// columns a power of two apart contend for one place in the cache.
    fn pitch(&self) -> usize {
        self.mirror.len() + 1
    }

    fn convolve(
        &self,
        mut block: ArrayViewMut1<Line>,
        kernel: &ArrayView1<Line>,
        Scratch { segments, kernels, transform }: &mut Scratch,
    ) {
        self.lay_kernels(kernel, kernels);
        self.forward.process_with_scratch(kernels, transform);
        self.lay_segments(&block.view(), segments);
        let columns = segments.chunks_exact_mut(self.pitch());
        for (column, kernel) in columns.zip(kernels.chunks_exact(self.length)) {
            let column = column[..self.mirror.len()].as_flattened_mut();
            self.forward.process_with_scratch(column, transform);
            for segment in column.chunks_exact_mut(self.length) {
                weigh(segment, kernel);
            }
            self.inverse.process_with_scratch(column, transform);
        }
        self.keep(segments.as_flattened(), block.view_mut());
    }

    /// Each column of the kernel upright, its middle the first sample.
    fn lay_kernels(&self, kernel: &ArrayView1<Line>, kernels: &mut [Complex32]) {
        let scale = 1.0 / self.length as f32;
        kernels.fill(ZERO);
        for (row, line) in kernel.iter().enumerate() {
            let place = (row + self.length - self.reach) % self.length;
            for (column, [re, im]) in line.iter().enumerate() {
                kernels[column * self.length + place] = Complex32::new(re * scale, im * scale);
            }
        }
    }

    /// The segments of each column upright, a square of lines at a time.
    fn lay_segments(&self, block: &ArrayView1<Line>, segments: &mut [[Complex32; BLOCK]]) {
        for (square, rows) in self.mirror.iter().enumerate() {
            let lines = rows.map(|row| &block[row]);
            for column in 0..BLOCK {
                segments[column * self.pitch() + square] =
                    lines.map(|line| Complex32::new(line[column][0], line[column][1]));
            }
        }
    }

    /// What is kept of each segment, back to its rows.
    fn keep(&self, segments: &[Complex32], mut block: ArrayViewMut1<Line>) {
        let pieces = block.axis_chunks_iter_mut(Axis(0), self.kept);
        for (segment, mut lines) in pieces.into_iter().enumerate() {
            let start = segment * self.length + self.reach;
            let columns: [_; BLOCK] = from_fn(|column| {
                segments[column * self.pitch() * BLOCK + start..].as_chunks::<BLOCK>().0
            });
            for square in 0..lines.len() / BLOCK {
                let columns = columns.map(|column| &column[square]);
                for row in 0..BLOCK {
                    lines[square * BLOCK + row] =
                        columns.map(|column| [column[row].re, column[row].im]);
                }
            }
        }
    }
}

/// Multiplies each value by its weight. By itself, because the compiler then knows that the two do
/// not overlap, and works on four at once.
fn weigh(values: &mut [Complex32], weights: &[Complex32]) {
    for (value, weight) in values.iter_mut().zip(weights) {
        *value *= weight;
    }
}

/// The sample of a scene of `count` that a place beyond its border shows: the mirror stands on the
/// border itself, so that the outermost sample is followed by itself, and the image of an image
/// again by the scene. Place `reach` is the scene's first sample.
fn mirrored(place: usize, reach: usize, count: usize) -> usize {
    let period = 2 * count;
    // Enough whole periods to be above zero before the remainder is taken.
    let inside = (place + reach.div_ceil(period) * period - reach) % period;
    inside.min(period - 1 - inside)
}

/// The length of a segment and how much of it is kept, by the cost of the transforms (two for each
/// and one for the kernel) and of bringing a segment there and back and weighing it, which takes as
/// long as twenty steps more (measured 1.6 ns a number to 0.08 ns a step).
fn segment(rows: usize, reach: usize) -> (usize, usize) {
    let mut best = (f64::INFINITY, 0, 0);
    let mut length = good_length(2 * reach + BLOCK);
    loop {
        let kept = (length - 2 * reach) / BLOCK * BLOCK;
        let (segments, steps) = (rows.div_ceil(kept) as f64, (length as f64).log2());
        let cost = length as f64 * (segments * (2.0 * steps + 20.0) + steps);
        if cost < best.0 {
            best = (cost, length, kept);
        }
        if kept >= rows {
            return (best.1, best.2);
        }
        length = good_length(length + 1);
    }
}

#[cfg(test)]
#[path = "form_tests.rs"]
mod tests;
