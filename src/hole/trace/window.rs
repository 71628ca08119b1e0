//! The part of a picture around its hole, and the light of hole and ground there.

use super::openings::Opening;
use super::surface::Surface;
use crate::hole::median::median;
use crate::raster::Raster;
use ndarray::{Array2, Axis};
use rayon::prelude::*;

/// Fewer pixels well on one side of the rim hold no surface, only a middle value.
const LEAST_SURFACE: usize = 60;
/// More pixels than this tell no more about a level.
const MOST_SEEN: f64 = 30_000.0;
/// What stands out of its side by more than this share of the step is dust, a glint, or another hole.
const OUTLIER: f64 = 0.25;
/// Noise that marching through single pixels bears, as a share of the step.
const BEARABLE_NOISE: f64 = 0.03;

/// The part of the picture around the hole.
pub(super) struct Window {
    top: usize,
    left: usize,
    /// The mean of the channels.
    pub(super) light: Array2<f32>,
}

/// The light of ground and hole, as it changes over the window, and the noise of single pixels on
/// both.
pub(super) struct Levels {
    pub(super) outside: Surface,
    pub(super) inside: Surface,
    pub(super) noise: f64,
}

impl Window {
    /// A third of the hole's width at each side of it, and twelve pixels; the mean of some channels.
    pub(super) fn around(opening: &Opening, picture: &Raster, channels: &[usize]) -> Window {
        let [rows, columns] = [opening.rows, opening.columns];
        let margin = (rows[1] - rows[0]).max(columns[1] - columns[0]) / 3 + 12;
        let span = |[first, end]: [usize; 2], size: usize| {
            (first.saturating_sub(margin), (end + margin).min(size))
        };
        let ((top, bottom), (left, right)) =
            (span(rows, picture.rows()), span(columns, picture.columns()));
        let mut light = Array2::zeros((bottom - top, right - left));
        let share = 1.0 / channels.len().max(1) as f32;
        light.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(row, mut sums)| {
            for &channel in channels {
                let plane = picture.linear.index_axis(Axis(0), channel);
                let values = plane.row(top + row);
                for (sum, value) in sums.iter_mut().zip(values.iter().skip(left)) {
                    *sum += if value.is_finite() { value * share } else { 0.0 };
                }
            }
        });
        Window { top, left, light }
    }

    /// Row and column of its upper left pixel in the picture.
    pub(super) fn corner(&self) -> (usize, usize) {
        (self.top, self.left)
    }

    /// The levels before a rim is known: those at which the hole was found.
    pub(super) fn first_levels(&self, opening: &Opening) -> Levels {
        let dim = self.light.dim();
        Levels {
            outside: Surface::flat(opening.outside, dim),
            inside: Surface::flat(opening.inside, dim),
            noise: 0.0,
        }
    }

    /// How far each pixel is on its way from ground (0) to hole (1).
    pub(super) fn openness(&self, levels: &Levels) -> Array2<f32> {
        let mut open = Array2::zeros(self.light.dim());
        let lines = open.axis_iter_mut(Axis(0)).into_par_iter();
        let lines = lines.zip(self.light.axis_iter(Axis(0))).enumerate();
        lines.for_each(|(row, (mut line, light))| {
            let [outside, inside] = [levels.outside, levels.inside].map(|at| at.along(row as f64));
            for (column, (open, light)) in line.iter_mut().zip(light).enumerate() {
                let (outside, inside) = (outside(column as f64), inside(column as f64));
                *open = ((f64::from(*light) - outside) / (inside - outside)) as f32;
            }
        });
        match levels.noise {
            noise if noise > BEARABLE_NOISE => calmed(&open, noise / BEARABLE_NOISE),
            _ => open,
        }
    }

    /// The levels on both sides of a rim that `open` shows, `reach_px` away from it, where its blur is
    /// spent.
    pub(super) fn levels(&self, open: &Array2<f32>, before: &Levels, reach_px: f64) -> Levels {
        let reach = reach_px.ceil().clamp(2.0, 40.0) as usize;
        let (rows, columns) = open.dim();
        let middle = (rows as f64 / 2.0, columns as f64 / 2.0);
        let step = before.inside.at(middle.0, middle.1) - before.outside.at(middle.0, middle.1);
        let (inside, noise_inside) = self.side(open, reach, true, step, &before.inside);
        let (outside, noise_outside) = self.side(open, reach, false, step, &before.outside);
        // Half way up the rim, noise is between that of the two sides.
        let noise = match noise_inside {
            Some(inside) => {
                (0.5 * (inside * inside + noise_outside.unwrap_or(inside).powi(2))).sqrt()
            }
            None => noise_outside.unwrap_or(0.0),
        };
        let safe = inside.range_over(&outside, self.light.dim()) > 0.25 * step.abs();
        if safe {
            Levels { outside, inside, noise: noise / step.abs() }
        } else {
            // Surfaces led far beyond their points met: the levels before were better.
            Levels { outside: before.outside, inside: before.inside, noise: noise / step.abs() }
        }
    }

    /// The level of one side, and the noise of its pixels.
    fn side(
        &self,
        open: &Array2<f32>,
        reach: usize,
        inside: bool,
        step: f64,
        before: &Surface,
    ) -> (Surface, Option<f64>) {
        let points = away_from_rim(open, reach, inside);
        let clear: Vec<(usize, usize)> = points
            .into_iter()
            .filter(|&(row, column)| {
                let off =
                    f64::from(self.light[[row, column]]) - before.at(row as f64, column as f64);
                off.abs() < OUTLIER * step.abs()
            })
            .collect();
        if clear.is_empty() {
            return (*before, None);
        }
        let noise = self.noise(&clear);
        let middle = median(clear.iter().map(|&place| f64::from(self.light[place])));
        let flat = Surface::flat(middle, self.light.dim());
        if clear.len() < LEAST_SURFACE {
            return (flat, noise);
        }
        let mut surface = flat;
        // Each fit leaves out what stands out of the last.
        let reach = (3.0 * noise.unwrap_or(0.0)).max(0.5 * OUTLIER * step.abs());
        for _ in 0..3 {
            let levels = clear
                .iter()
                .map(|&(row, column)| {
                    ((row as f64, column as f64), f64::from(self.light[[row, column]]))
                })
                .filter(|&((row, column), value)| (value - surface.at(row, column)).abs() < reach);
            match Surface::through(levels, self.light.dim()) {
                Some(better) => surface = better,
                None => break,
            }
        }
        (surface, noise)
    }

    /// The median of the absolute differences of neighbours, as a standard deviation: 0.6745 of it is
    /// the median of a normal distribution, and a difference has √2 of it.
    fn noise(&self, points: &[(usize, usize)]) -> Option<f64> {
        let difference = |&(row, column): &(usize, usize)| {
            let next = self.light.get((row, column + 1))?;
            Some(f64::from((next - self.light[[row, column]]).abs()))
        };
        let differences: Vec<f64> = points.iter().filter_map(difference).collect();
        (differences.len() >= 20).then(|| median(differences) / 0.6745 / 2f64.sqrt())
    }

    /// Points of the window in the picture's frame.
    pub(super) fn placed(&self, points: &[[f64; 2]]) -> Vec<[f64; 2]> {
        points.iter().map(|p| [p[0] + self.left as f64, p[1] + self.top as f64]).collect()
    }

    /// A place of the picture in the window's frame.
    pub(super) fn within(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [x - self.left as f64, y - self.top as f64]
    }
}

/// Pixels on one side of the rim, all of whose neighbours `reach` away along, across and aslant are;
/// not more than [`MOST_SEEN`], evenly spread.
pub(super) fn away_from_rim(open: &Array2<f32>, reach: usize, inside: bool) -> Vec<(usize, usize)> {
    let (rows, columns) = open.dim();
    let stride = ((open.len() as f64 / MOST_SEEN).sqrt().floor() as usize).max(1);
    let on_side = |row: isize, column: isize| {
        // Beyond the window lies more of the same.
        let inside_window = row >= 0 && column >= 0;
        let value = inside_window.then(|| open.get((row as usize, column as usize))).flatten();
        value.is_none_or(|value| (*value > 0.5) == inside)
    };
    let reach = reach as isize;
    let aslant = (reach as f64 / 2f64.sqrt()).round() as isize;
    let all_around = |row: usize, column: usize| {
        let (row, column) = (row as isize, column as isize);
        on_side(row, column)
            && [(reach, 0), (0, reach), (aslant, aslant), (aslant, -aslant)].iter().all(
                |&(down, right)| {
                    on_side(row - down, column - right) && on_side(row + down, column + right)
                },
            )
    };
    let lines = (0..rows).step_by(stride);
    lines
        .flat_map(|row| (0..columns).step_by(stride).map(move |column| (row, column)))
        .filter(|&(row, column)| all_around(row, column))
        .collect()
}

/// Smoothed by a Gaussian that brings the noise down by a factor: a Gaussian of σ leaves
/// 1/(2√π σ) of white noise.
fn calmed(open: &Array2<f32>, factor: f64) -> Array2<f32> {
    let sigma = (factor / (2.0 * std::f64::consts::PI.sqrt())).clamp(0.5, 3.0);
    let reach = (3.0 * sigma).ceil() as isize;
    let weights: Vec<f32> =
        (-reach..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp() as f32).collect();
    let sum: f32 = weights.iter().sum();
    let along = |mut lines: ndarray::ArrayViewMut2<f32>| {
        lines.axis_iter_mut(Axis(0)).into_par_iter().for_each(|mut line| {
            let before = line.to_vec();
            let last = before.len() as isize - 1;
            for (i, value) in line.iter_mut().enumerate() {
                let near = weights.iter().zip(-reach..);
                let total: f32 =
                    near.map(|(w, k)| w * before[(i as isize + k).clamp(0, last) as usize]).sum();
                *value = total / sum;
            }
        });
    };
    let mut calm = open.clone();
    along(calm.view_mut());
    along(calm.view_mut().reversed_axes());
    calm
}
