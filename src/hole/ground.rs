//! The levels of a picture: the ground around the hole, uneven as the light may be, and the hole's.

use super::surface::Surface;
use ndarray::{Array2, Axis};
use rayon::prelude::*;

/// Pixels a side of the blocks whose means stand for the picture: a glint is diluted in them.
const BLOCK: usize = 4;
/// The border that shows ground for certain, as a share of the shorter side.
const BORDER: f64 = 0.06;
/// Blocks that must reach the hole's level: fewer are dust.
const HOLE_BLOCKS: usize = 6;
/// A block this much of the way to the hole's level is ground still.
const GROUND_SHARE: f64 = 0.35;
/// Blocks this near to one that is no ground are left out too: eight pixels, the tail of a blur of 3.
const RIM_BLOCKS: usize = 2;

/// What the picture is like away from the rim.
pub(super) struct Levels {
    ground: Surface,
    /// The level of the hole.
    pub(super) hole: f64,
    /// The ground's level in the middle of the border, for the contrast.
    pub(super) border: f64,
    /// Standard deviation of single pixels about the ground.
    pub(super) noise: f64,
    rows: usize,
    columns: usize,
}

impl Levels {
    /// Finds the levels of a picture's lightness.
    pub(super) fn of(light: &Array2<f32>) -> Levels {
        let (rows, columns) = light.dim();
        let blocks = block_means(light);
        let border = border_median(&blocks);
        let hole = hole_level(&blocks, border);
        let mut levels = Levels {
            ground: Surface::flat(border, (rows, columns)),
            hole,
            border,
            noise: 0.0,
            rows,
            columns,
        };
        // The first surface is flat; each fit takes the blocks that the last one calls ground.
        for _ in 0..3 {
            if let Some(ground) = levels.fitted(&blocks) {
                levels.ground = ground;
            }
        }
        levels.noise = levels.pixel_noise(light);
        levels
    }

    /// How far each pixel is on its way from ground (0) to hole (1).
    pub(super) fn openness(&self, light: &Array2<f32>) -> Array2<f32> {
        let mut open = light.clone();
        open.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(row, mut line)| {
            for (column, value) in line.iter_mut().enumerate() {
                let ground = self.ground.at(row as f64 + 0.5, column as f64 + 0.5);
                *value = ((f64::from(*value) - ground) / (self.hole - ground)) as f32;
            }
        });
        open
    }

    /// The surface through the blocks that are ground, and whose neighbours are: a block beside the
    /// rim has some of the hole's light in it.
    fn fitted(&self, blocks: &Array2<f64>) -> Option<Surface> {
        let middle =
            |i: usize, j: usize| ((i as f64 + 0.5) * BLOCK as f64, (j as f64 + 0.5) * BLOCK as f64);
        let is_ground = Array2::from_shape_fn(blocks.dim(), |(i, j)| {
            let (row, column) = middle(i, j);
            let ground = self.ground.at(row, column);
            ((blocks[[i, j]] - ground) / (self.hole - ground)).abs() <= GROUND_SHARE
        });
        let levels: Vec<((f64, f64), f64)> = blocks
            .indexed_iter()
            .filter(|((i, j), _)| all_near(&is_ground, *i, *j))
            .map(|((i, j), value)| (middle(i, j), *value))
            .collect();
        // A surface needs ground all around, not a few blocks of it.
        if levels.len() < 60 || 4 * levels.len() < blocks.len() {
            return None;
        }
        Surface::through(levels, (self.rows, self.columns))
    }

    /// The median of the absolute differences of neighbours on the border, as a standard deviation:
    /// 0.6745 of it is the median of a normal distribution, and a difference has √2 of it.
    fn pixel_noise(&self, light: &Array2<f32>) -> f64 {
        let depth = ((self.rows.min(self.columns) as f64 * BORDER) as usize).max(1);
        let mut differences: Vec<f32> = light
            .rows()
            .into_iter()
            .take(depth)
            .flat_map(|line| {
                let line: Vec<f32> = line.to_vec();
                line.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect::<Vec<f32>>()
            })
            .collect();
        f64::from(median(&mut differences)) / 0.6745 / 2f64.sqrt()
    }
}

/// Whether all blocks up to [`RIM_BLOCKS`] away are marked.
fn all_near(marked: &Array2<bool>, i: usize, j: usize) -> bool {
    let (rows, columns) = marked.dim();
    let span =
        |at: usize, end: usize| at.saturating_sub(RIM_BLOCKS)..(at + RIM_BLOCKS + 1).min(end);
    span(i, rows).all(|r| span(j, columns).all(|c| marked[[r, c]]))
}

fn block_means(light: &Array2<f32>) -> Array2<f64> {
    let (rows, columns) = light.dim();
    let side = BLOCK.min(rows).min(columns).max(1);
    Array2::from_shape_fn((rows / side, columns / side), |(i, j)| {
        let mut sum = 0.0;
        for row in i * side..(i + 1) * side {
            for column in j * side..(j + 1) * side {
                sum += f64::from(light[[row, column]]);
            }
        }
        sum / (side * side) as f64
    })
}

fn border_median(blocks: &Array2<f64>) -> f64 {
    let (rows, columns) = blocks.dim();
    let depth = ((rows.min(columns) as f64 * BORDER) as usize).max(1);
    let on_border =
        |i: usize, j: usize| i < depth || j < depth || i + depth >= rows || j + depth >= columns;
    let mut values: Vec<f32> = blocks
        .indexed_iter()
        .filter(|((i, j), _)| on_border(*i, *j))
        .map(|(_, value)| *value as f32)
        .collect();
    f64::from(median(&mut values))
}

/// The level that at least a few blocks reach on the side, brighter or darker, that lies farther from
/// the border's.
fn hole_level(blocks: &Array2<f64>, border: f64) -> f64 {
    let mut sorted: Vec<f64> = blocks.iter().copied().collect();
    sorted.sort_by(f64::total_cmp);
    let rank = HOLE_BLOCKS.min(sorted.len().saturating_sub(1));
    let (dark, bright) = (sorted[rank], sorted[sorted.len() - 1 - rank]);
    if bright - border >= border - dark { bright } else { dark }
}

/// The middle value; 0 of none.
pub(super) fn median(values: &mut [f32]) -> f32 {
    let middle = values.len() / 2;
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(middle, f32::total_cmp).1 }
}
