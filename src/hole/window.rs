//! The part of a picture around its hole, and the levels on both sides of the rim there.

use super::ground::median;
use super::spots::Spot;
use super::surface::Surface;
use ndarray::Array2;

/// Fewer pixels well inside a hole hold no surface, only a middle value.
const LEAST_SURFACE: usize = 400;
/// What stands out of the middle value by more than this share is dust or a glint.
const OUTLIER: f64 = 0.2;

/// The part of the picture around the hole.
pub(super) struct Window {
    pub(super) top: usize,
    pub(super) left: usize,
    rows: usize,
    columns: usize,
}

impl Window {
    pub(super) fn around(spot: &Spot, rows: usize, columns: usize) -> Window {
        let size = (spot.rows[1] - spot.rows[0]).max(spot.columns[1] - spot.columns[0]);
        let margin = size / 5 + 6;
        let top = spot.rows[0].saturating_sub(margin);
        let left = spot.columns[0].saturating_sub(margin);
        Window {
            top,
            left,
            rows: (spot.rows[1] + margin + 1).min(rows) - top,
            columns: (spot.columns[1] + margin + 1).min(columns) - left,
        }
    }

    /// The window's openness with the levels there: the middle value well outside the rim is 0, a
    /// surface through what is well inside it 1. `reach_px` keeps the rim's blur out of both.
    pub(super) fn levelled(&self, rough: &Array2<f32>, reach_px: f64) -> Array2<f32> {
        let open = Array2::from_shape_fn((self.rows, self.columns), |(row, column)| {
            rough[[self.top + row, self.left + column]]
        });
        let reach = reach_px.ceil().clamp(2.0, 12.0) as usize;
        let mut outside = values(&open, &away_from_rim(&open, reach, false));
        let outside = f64::from(median(&mut outside));
        let inside = inside_level(&open, reach);
        Array2::from_shape_fn(open.dim(), |(row, column)| {
            // A surface led far beyond its points must not turn the step round.
            let step = (inside.at(row as f64, column as f64) - outside).max(0.2);
            ((f64::from(open[[row, column]]) - outside) / step) as f32
        })
    }

    /// Points of the window in the picture's frame.
    pub(super) fn placed(&self, points: &[[f64; 2]]) -> Vec<[f64; 2]> {
        points.iter().map(|p| [p[0] + self.left as f64, p[1] + self.top as f64]).collect()
    }
}

/// The level well inside the hole: a surface where there is enough of it, else the middle value.
fn inside_level(open: &Array2<f32>, reach: usize) -> Surface {
    let points = away_from_rim(open, reach, true);
    let mut inside = values(open, &points);
    if inside.is_empty() {
        inside = open.iter().copied().filter(|value| *value > 0.8).collect();
    }
    let middle = f64::from(median(&mut inside));
    let flat = Surface::flat(if middle > 0.0 { middle } else { 1.0 }, open.dim());
    if points.len() < LEAST_SURFACE {
        return flat;
    }
    let levels = points
        .iter()
        .map(|&(row, column)| ((row as f64, column as f64), f64::from(open[[row, column]])))
        .filter(|(_, value)| (value / middle - 1.0).abs() < OUTLIER);
    Surface::through(levels, open.dim()).unwrap_or(flat)
}

fn values(open: &Array2<f32>, points: &[(usize, usize)]) -> Vec<f32> {
    points.iter().map(|&(row, column)| open[[row, column]]).collect()
}

/// Pixels on one side of the rim, all of whose neighbours `reach` away along, across and aslant are.
fn away_from_rim(open: &Array2<f32>, reach: usize, inside: bool) -> Vec<(usize, usize)> {
    let (rows, columns) = open.dim();
    let on_side = |row: usize, column: usize| (open[[row, column]] > 0.5) == inside;
    let aslant = (reach as f64 / 2f64.sqrt()).round() as usize;
    let around = |row: usize, column: usize| {
        [(reach, 0), (0, reach), (aslant, aslant)].iter().all(|&(down, right)| {
            on_side(row - down, column - right)
                && on_side(row + down, column + right)
                && on_side(row - down, column + right)
                && on_side(row + down, column - right)
        })
    };
    let places = (reach..rows.saturating_sub(reach))
        .flat_map(|row| (reach..columns.saturating_sub(reach)).map(move |column| (row, column)));
    places.filter(|&(row, column)| on_side(row, column) && around(row, column)).collect()
}
