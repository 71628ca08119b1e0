//! Image formation in incoherent light: every point of the scene lays its point-spread function on
//! the film, and the light adds up.
//!
//! Between the nodes of a grid the point-spread function is the mean of its neighbours' by distance, so a
//! point's light is shared among them (hat functions, which add up to 1) and each share falls through its
//! node's kernel. The scene, with its mirror image as far as the kernels reach, is cut where the pair of
//! nodes changes, each piece is convolved by Fourier transforms, and what comes out overlaps and adds up.
//!
//! Along the rows ([`across`]) the left node's share is the real part of a signal and the right one's the
//! imaginary part; the kernel is left - i right, so that the real part of the product is the sum of both.
//! Down the columns of that spectrum ([`down`]) the upper and the lower node's shares are transformed and
//! weighed, added, and brought back by one transform. Where one kernel holds along the rows, two pieces of
//! a row share one transform instead. A single kernel's scene has its level set aside before and added
//! after: a flat scene then stays flat to the last bit.

mod across;
mod down;
mod pieces;

use super::kernel_grid::KernelGrid;
use crate::raster::Raster;
use across::{Beside, Strip, height};
use down::Down;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Array3, ArrayView2, ArrayViewMut2, Axis};
use pieces::Pieces;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex32;
use std::convert::Infallible;
use std::iter;

/// Columns of the spectrum that stand together in memory: eight numbers of eight bytes fill a line
/// of the cache.
const BLOCK: usize = 8;

const ZERO: Complex32 = Complex32::new(0.0, 0.0);

/// A line of the cache: one row's numbers, (real, imaginary), in the columns of one block. Plain
/// arrays, because the standard library takes those from the system as zeros without writing them.
type Line = [[f32; 2]; BLOCK];

/// Spectra of rows: (block of columns, row). A block is contiguous, so that the way down its
/// columns is a way straight through memory.
type Spectra = Array2<Line>;

/// Returns the picture of `scene` through a hole whose point-spread functions are given at the nodes of a grid,
/// in red, green and blue; between nodes they change linearly. The result has the scene's shape and is
/// upright; kernels may be larger than the scene. Beyond its borders the scene is its own mirror image.
///
/// Work is shared among the threads of the current rayon pool, whose number changes nothing in the
/// result.
pub fn form(scene: &Raster, kernels: &KernelGrid) -> Raster {
    let mut linear = Array3::zeros(scene.linear.dim());
    if !linear.is_empty() {
        // One store for all channels: fresh memory costs as much as a pass over it.
        let mut store = Store::default();
        let channels = scene.linear.axis_iter(Axis(0)).zip(linear.axis_iter_mut(Axis(0)));
        for (channel, (light, formed)) in channels.enumerate() {
            let Ok(()) =
                add_channel(&light, kernels, channel.min(2), formed, &mut store, nobody_asks);
        }
    }
    Raster { linear }
}

fn nobody_asks(_: f64) -> Result<(), Infallible> {
    Ok(())
}

/// What forming one channel leaves to the next: memory.
#[derive(Default)]
pub(super) struct Store {
    scene: Spectra,
    kernels: Spectra,
}

/// Adds to a picture what one channel's light becomes through the kernels of a channel. After each piece of it
/// `goes_on` is told the share that is done, and stops the work by a fault.
///
/// # Errors
/// That of `goes_on`.
pub(super) fn add_channel<E>(
    light: &ArrayView2<f32>,
    grid: &KernelGrid,
    channel: usize,
    mut formed: ArrayViewMut2<f32>,
    store: &mut Store,
    goes_on: impl Fn(f64) -> Result<(), E>,
) -> Result<(), E> {
    let (rows, columns) = light.dim();
    let changing = grid.across() > 1;
    let level = if grid.kernels().len() == 1 { level(light) } else { 0.0 };
    let mut planner = FftPlanner::new();
    // Between two columns of nodes their own kernels alone say how far light goes.
    let gaps = grid.across() - usize::from(changing);
    for left in 0..gaps {
        let node = |row: usize, column: usize| {
            grid.kernels()[row * grid.across() + column][channel].weights()
        };
        let beside: Vec<Beside> = (0..grid.down())
            .map(|row| (node(row, left), changing.then(|| node(row, left + 1))))
            .collect();
        let reach = |side: usize| {
            let both = beside.iter().flat_map(|(one, other)| iter::once(one).chain(other));
            both.map(|weights| weights.len_of(Axis(side)) / 2).max().unwrap_or(0)
        };
        let down = Down::new(rows, grid.down(), reach(0), &mut planner);
        let mut across = Pieces::new(columns, grid.across(), reach(1));
        across.pieces.retain(|piece| piece.node == left);
        if !changing {
            across.cut(across.mirror.len().div_ceil(2));
        }
        let heights: Vec<_> = beside.iter().map(height).collect();
        let at_once = if changing { 1 } else { 2 };
        let strips = across.pieces.len().div_ceil(at_once);
        for (done, pieces) in across.pieces.chunks(at_once).enumerate() {
            let strip = Strip::new(&across, &pieces[0], pieces.get(1), &mut planner);
            make_room(&mut store.scene, (strip.blocks(), rows));
            strip.forward(light, level, &mut store.scene);
            make_room(&mut store.kernels, (strip.blocks(), heights.iter().sum()));
            strip.forward_kernels(&beside, &mut store.kernels);
            let blocks = store.scene.axis_iter_mut(Axis(0)).into_par_iter();
            blocks.zip(store.kernels.axis_iter(Axis(0))).for_each_init(
                || down.scratch(),
                |scratch, (block, kernels)| down.convolve(block, &kernels, &heights, scratch),
            );
            strip.inverse(&store.scene, level, &mut formed);
            goes_on((left as f64 + (done + 1) as f64 / strips as f64) / gaps as f64)?;
        }
    }
    Ok(())
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

#[cfg(test)]
mod tests;
