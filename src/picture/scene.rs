//! Scenes at the film's size: a person's own picture fitted to it, or one drawn here.

use super::{chart, landscape};
use crate::error::Error;
use crate::raster::Raster;
use ndarray::parallel::prelude::*;
use ndarray::{Array3, ArrayView2, Axis};

/// Longest side of a film in pixels, as long as a drawing may be.
const LONGEST_PX: usize = 16_384;

/// Most pixels of a film: three channels of four bytes make it 1.2 gigabytes, and image formation
/// needs as much again.
const MOST_PIXELS: usize = 100_000_000;

/// A scene that comes with the library.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scene {
    /// A grey test plate: line groups, slanted edge, spokes, letters and grey steps.
    Chart,
    /// A farmhouse at dusk with bare trees, a fence and water, full of fine structure.
    Landscape,
}

impl Scene {
    /// The scene on a film of `columns` by `rows` pixels, upright, three channels of linear light
    /// in 0..1; the same light every time.
    ///
    /// # Errors
    /// [`Error::Limit`] for a film of no pixels, longer than 16 384 pixels, or of more than a
    /// hundred million.
    pub fn drawn(self, columns: usize, rows: usize) -> Result<Raster, Error> {
        within_limits(columns, rows)?;
        match self {
            Scene::Chart => chart::drawn(columns, rows),
            Scene::Landscape => landscape::drawn(columns, rows),
        }
    }
}

/// The picture brought to a film of `columns` by `rows` pixels: cropped about its centre to the
/// film's aspect, then averaged over the area of each film pixel; where the picture is coarser than
/// the film, between neighbouring samples linearly. No value lies outside those of the picture.
/// Always three channels: one is repeated, a fourth is left out.
///
/// # Errors
/// [`Error::Limit`] for a picture without samples, and for a film of no pixels, longer than
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
                gather(source, window, band);
                row.iter_mut().zip(&across).for_each(|(light, window)| {
                    *light = window.of(band);
                });
            },
        );
    }
    Ok(Raster { linear })
}

fn within_limits(columns: usize, rows: usize) -> Result<(), Error> {
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

/// What a film pixel sees along one direction: weights, with sum 1, of the samples from `first` on.
struct Window {
    first: usize,
    weights: Vec<f32>,
}

impl Window {
    fn of(&self, line: &[f32]) -> f32 {
        self.weights.iter().zip(&line[self.first..]).map(|(weight, light)| weight * light).sum()
    }
}

/// The windows of `pixels` pixels of `step` samples each, about the middle of `samples` samples.
///
/// A pixel sees the samples by their overlap with it. One smaller than a sample is widened to the
/// size of a sample: the overlaps are then the weights of linear interpolation.
fn windows(samples: usize, pixels: usize, step: f64) -> Vec<Window> {
    let start = (samples as f64 - pixels as f64 * step) / 2.0;
    let half = step.max(1.0) / 2.0;
    let window = |pixel: usize| {
        let middle = start + (pixel as f64 + 0.5) * step;
        let low = (middle - half).max(0.0);
        let high = (middle + half).min(samples as f64);
        let first = (low as usize).min(samples - 1);
        let end = (high.ceil() as usize).clamp(first + 1, samples);
        let overlap =
            |sample: usize| (high.min((sample + 1) as f64) - low.max(sample as f64)).max(0.0);
        let weights = (first..end).map(|sample| (overlap(sample) / (high - low)) as f32).collect();
        Window { first, weights }
    };
    (0..pixels).map(window).collect()
}

/// The rows that a window sees, added up by its weights.
fn gather(source: ArrayView2<f32>, window: &Window, band: &mut [f32]) {
    band.fill(0.0);
    let rows = source.axis_iter(Axis(0)).skip(window.first);
    for (weight, row) in window.weights.iter().zip(rows) {
        band.iter_mut().zip(row).for_each(|(sum, light)| *sum += weight * light);
    }
}
