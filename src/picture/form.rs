//! Image formation in incoherent light: every point of the scene lays its point-spread function on
//! the film, and the light adds up.
//!
//! A convolution, by real Fourier transforms along the rows and overlap-save along the columns.
//! Rows are transformed whole, once; every column of the spectrum is then a signal of its own, cut
//! into overlapping segments short enough for the cache. Beyond its borders the scene is taken as
//! its own mirror image, so that no dark frame creeps in. The mean of the scene is set aside before
//! and added after: a flat scene stays flat to the last bit, and rounding falls on the detail alone.
//!
//! Light is kept exactly inside the picture; at the borders an even kernel sends back what it sends
//! out, a lopsided one does not.

use super::kernel::Kernel;
use crate::raster::Raster;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Array3, ArrayView2, ArrayViewMut2, Axis};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::sync::Arc;

/// Columns of the spectrum worked on together: sixteen numbers of eight bytes fill two lines of
/// the cache, and sixteen columns of a large picture still fit into its second level.
const COLUMNS_TOGETHER: usize = 16;

/// The picture of `scene` through a hole whose point-spread function is `kernels[c]` in channel c
/// (red, green, blue; give one three times for light of one kind). The result has the scene's
/// shape and is upright; a kernel may be larger than the scene.
///
/// Work is shared among the threads of the current rayon pool; about a third of the scene's size is
/// needed beside the scene and the result.
pub fn form(scene: &Raster, kernels: [&Kernel; 3]) -> Raster {
    let mut linear = Array3::zeros(scene.linear.dim());
    if !linear.is_empty() {
        // One store for the spectra of all channels: fresh memory costs as much as a pass over it.
        let mut spectra = Array2::zeros((0, 0));
        let channels = scene.linear.axis_iter(Axis(0)).zip(linear.axis_iter_mut(Axis(0)));
        for (channel, (light, formed)) in channels.enumerate() {
            convolve(&light, &kernels[channel.min(2)].weights(), formed, &mut spectra);
        }
    }
    Raster { linear }
}

fn convolve(
    light: &ArrayView2<f32>,
    weights: &ArrayView2<f32>,
    formed: ArrayViewMut2<f32>,
    spectra: &mut Array2<Complex32>,
) {
    let (rows, columns) = light.dim();
    let (reach_down, reach_across) = (weights.nrows() / 2, weights.ncols() / 2);
    let mean = mean_of(light);
    let across = Across::new(columns, reach_across);
    let down = Down::new(rows, reach_down);
    let shape = (rows, across.length / 2 + 1);
    if spectra.dim() != shape {
        *spectra = Array2::zeros(shape);
    }
    across.forward(light, mean, spectra);
    let kernel = across.kernel(weights);
    spectra
        .axis_chunks_iter_mut(Axis(1), COLUMNS_TOGETHER)
        .into_par_iter()
        .zip(kernel.axis_chunks_iter(Axis(1), COLUMNS_TOGETHER))
        .for_each_init(
            || down.scratch(),
            |scratch, (block, kernel)| down.convolve(block, &kernel, scratch),
        );
    across.inverse(spectra, mean, formed);
}

fn mean_of(light: &ArrayView2<f32>) -> f32 {
    let sum: f64 = light.iter().map(|&value| f64::from(value)).sum();
    (sum / light.len() as f64) as f32
}

/// The transform along the rows: each is laid, with its mirrored ends, at the start of a longer one.
struct Across {
    columns: usize,
    reach: usize,
    length: usize,
    /// The places of the long row beyond the scene's borders, each with the place it mirrors.
    mirror: Vec<(usize, usize)>,
}

impl Across {
    fn new(columns: usize, reach: usize) -> Across {
        let length = good_length(columns + 2 * reach);
        let mirror = (0..reach)
            .chain(reach + columns..columns + 2 * reach)
            .map(|place| (place, reach + mirrored(place, reach, columns)))
            .collect();
        Across { columns, reach, length, mirror }
    }

    fn forward(&self, light: &ArrayView2<f32>, mean: f32, spectra: &mut Array2<Complex32>) {
        let transform = RealFftPlanner::new().plan_fft_forward(self.length);
        let buffers = || {
            (transform.make_input_vec(), transform.make_output_vec(), transform.make_scratch_vec())
        };
        spectra.axis_iter_mut(Axis(0)).into_par_iter().zip(light.axis_iter(Axis(0))).for_each_init(
            buffers,
            |(long, spectrum, scratch), (mut place, row)| {
                long.fill(0.0);
                for (value, light) in long[self.reach..].iter_mut().zip(row) {
                    *value = light - mean;
                }
                for &(place, shown) in &self.mirror {
                    long[place] = long[shown];
                }
                // Lengths are the transform's own, so there is nothing that it could refuse.
                let _ = transform.process_with_scratch(long, spectrum, scratch);
                place.iter_mut().zip(&*spectrum).for_each(|(to, from)| *to = *from);
            },
        );
    }

    /// The kernel's rows, each turned so that its middle is the first sample: then the result
    /// stands where the scene stood.
    fn kernel(&self, weights: &ArrayView2<f32>) -> Array2<Complex32> {
        let transform = RealFftPlanner::new().plan_fft_forward(self.length);
        let mut spectra = Array2::zeros((weights.nrows(), self.length / 2 + 1));
        let mut long = transform.make_input_vec();
        let mut spectrum = transform.make_output_vec();
        for (row, mut place) in weights.rows().into_iter().zip(spectra.rows_mut()) {
            long.fill(0.0);
            for (column, &weight) in row.iter().enumerate() {
                long[(column + self.length - self.reach) % self.length] = weight;
            }
            let _ = transform.process(&mut long, &mut spectrum);
            place.iter_mut().zip(&spectrum).for_each(|(to, from)| *to = *from);
        }
        spectra
    }

    fn inverse(&self, spectra: &Array2<Complex32>, mean: f32, mut light: ArrayViewMut2<f32>) {
        let transform = RealFftPlanner::new().plan_fft_inverse(self.length);
        let buffers = || {
            (transform.make_input_vec(), transform.make_output_vec(), transform.make_scratch_vec())
        };
        let scale = 1.0 / self.length as f32;
        spectra.axis_iter(Axis(0)).into_par_iter().zip(light.axis_iter_mut(Axis(0))).for_each_init(
            buffers,
            |(spectrum, long, scratch), (from, mut row)| {
                spectrum.iter_mut().zip(from).for_each(|(to, from)| *to = *from);
                // The first and last of a real signal's spectrum are real; rounding leaves a trace
                // of the other part, which the inverse would refuse.
                if let Some(first) = spectrum.first_mut() {
                    first.im = 0.0;
                }
                if let Some(last) = spectrum.last_mut() {
                    last.im = 0.0;
                }
                let _ = transform.process_with_scratch(spectrum, long, scratch);
                for (to, from) in row.iter_mut().zip(&long[self.reach..self.reach + self.columns]) {
                    *to = from * scale + mean;
                }
            },
        );
    }
}

/// The convolution down the columns of the spectrum, by overlap-save.
struct Down {
    rows: usize,
    reach: usize,
    /// Samples of one segment, of which all but twice the reach are kept.
    length: usize,
    segments: usize,
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
    /// The row that each place of all segments shows, segment after segment.
    mirror: Vec<usize>,
}

/// What one thread needs: sixteen columns standing upright, the segments of one, its kernel, and
/// the transform's own.
struct Scratch {
    upright: Array2<Complex32>,
    segments: Vec<Complex32>,
    kernel: Vec<Complex32>,
    transform: Vec<Complex32>,
}

impl Down {
    fn new(rows: usize, reach: usize) -> Down {
        let (length, segments) = segment(rows, reach);
        let mut planner = FftPlanner::new();
        let (forward, inverse) =
            (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let kept = length - 2 * reach;
        let mirror = (0..segments * length)
            .map(|place| mirrored(place / length * kept + place % length, reach, rows))
            .collect();
        Down { rows, reach, length, segments, forward, inverse, mirror }
    }

    fn scratch(&self) -> Scratch {
        let zero = Complex32::default();
        let transform =
            self.forward.get_inplace_scratch_len().max(self.inverse.get_inplace_scratch_len());
        Scratch {
            upright: Array2::zeros((COLUMNS_TOGETHER, self.rows)),
            segments: vec![zero; self.segments * self.length],
            kernel: vec![zero; self.length],
            transform: vec![zero; transform],
        }
    }

    fn convolve(
        &self,
        mut block: ArrayViewMut2<Complex32>,
        kernel: &ArrayView2<Complex32>,
        scratch: &mut Scratch,
    ) {
        let mut upright = scratch.upright.slice_axis_mut(Axis(0), (..block.ncols()).into());
        transpose(&block.view(), upright.view_mut());
        for (mut column, weights) in upright.rows_mut().into_iter().zip(kernel.columns()) {
            scratch.kernel.fill(Complex32::default());
            for (row, &weight) in weights.iter().enumerate() {
                scratch.kernel[(row + self.length - self.reach) % self.length] =
                    weight / self.length as f32;
            }
            self.forward.process_with_scratch(&mut scratch.kernel, &mut scratch.transform);
            for (value, &row) in scratch.segments.iter_mut().zip(&self.mirror) {
                *value = column[row];
            }
            self.forward.process_with_scratch(&mut scratch.segments, &mut scratch.transform);
            for segment in scratch.segments.chunks_exact_mut(self.length) {
                segment
                    .iter_mut()
                    .zip(&scratch.kernel)
                    .for_each(|(value, weight)| *value *= weight);
            }
            self.inverse.process_with_scratch(&mut scratch.segments, &mut scratch.transform);
            let kept = scratch
                .segments
                .chunks_exact(self.length)
                .flat_map(|segment| &segment[self.reach..self.length - self.reach]);
            column.iter_mut().zip(kept).for_each(|(to, from)| *to = *from);
        }
        transpose(&upright.view(), block.view_mut());
    }
}

/// Copies with rows and columns exchanged, in squares that stay in the cache.
fn transpose(from: &ArrayView2<Complex32>, mut to: ArrayViewMut2<Complex32>) {
    for (from, mut to) in from
        .axis_chunks_iter(Axis(0), COLUMNS_TOGETHER)
        .zip(to.axis_chunks_iter_mut(Axis(1), COLUMNS_TOGETHER))
    {
        let columns = from.axis_chunks_iter(Axis(1), COLUMNS_TOGETHER);
        for (from, mut to) in columns.zip(to.axis_chunks_iter_mut(Axis(0), COLUMNS_TOGETHER)) {
            to.assign(&from.t());
        }
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

/// The length of a segment and the number of them, by the cost of the transforms: two for each and
/// one for the kernel.
fn segment(rows: usize, reach: usize) -> (usize, usize) {
    let mut best = (f64::INFINITY, 0, 0);
    let mut length = good_length(2 * reach + 1);
    loop {
        let segments = rows.div_ceil(length - 2 * reach);
        let cost = (2 * segments + 1) as f64 * length as f64 * ((length + 1) as f64).log2();
        if cost < best.0 {
            best = (cost, length, segments);
        }
        if segments == 1 {
            return (best.1, best.2);
        }
        length = good_length(length + 1);
    }
}

/// The smallest even number from `least` up whose only prime factors are 2, 3 and 5: fast lengths
/// of a Fourier transform.
fn good_length(least: usize) -> usize {
    let is_good = |length: &usize| {
        let mut rest = *length;
        for prime in [2, 3, 5] {
            while rest.is_multiple_of(prime) {
                rest /= prime;
            }
        }
        rest == 1
    };
    (least.max(2).next_multiple_of(2)..).step_by(2).find(is_good).unwrap_or(least)
}

#[cfg(test)]
#[path = "form_tests.rs"]
mod tests;
