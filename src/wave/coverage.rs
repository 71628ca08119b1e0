//! An outline as samples for Fourier transforms: how much of each cell is open, exactly.
//!
//! A cell is not a box but a smooth bell, the B-spline of degree [`DEGREE`] on the sampling grid: then
//! the samples hold the hole's spectrum times that of the bell, and what folds over from beyond the
//! grid's own band is below (f/(1 - f))^(DEGREE + 1) at the share f of the sampling frequency, where a
//! box, the plain share of the cell's area, would leave f/(1 - f). By Green's theorem the bell's
//! integral over the hole is a sum over the edges; between two lines of the grid the integrand is a
//! polynomial, which Gauss points integrate exactly.
//!
//! Source: `Unser1999`, for B-splines
//! and their spectrum sinc^(DEGREE + 1).

use super::legendre::Gauss;
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use std::f64::consts::PI;

/// Odd, so that the bell's knots lie on the lines of the grid.
const DEGREE: usize = 7;
/// How far a bell reaches from its centre, in cells.
const REACH: usize = DEGREE.div_ceil(2);

/// The open share of every cell, seen through its bell.
pub(super) struct Coverage {
    /// (row of y, column of x).
    pub(super) open: Array2<f64>,
    /// Where the first cell's centre lies, in mm.
    pub(super) first_mm: Point,
}

impl Coverage {
    /// Samples an outline at a pitch, with `margin` cells around it beyond the bells' reach.
    pub(super) fn of(outline: &Outline, pitch_mm: f64, margin: usize) -> Coverage {
        let (low, high) = outline.bounds_mm();
        let around = margin + REACH + 1;
        let count =
            |axis: usize| ((high[axis] - low[axis]) / pitch_mm).ceil() as usize + 2 * around;
        let first_mm = [low[0] - around as f64 * pitch_mm, low[1] - around as f64 * pitch_mm];
        Coverage::on(outline, pitch_mm, first_mm, [count(1), count(0)])
    }

    /// Samples an outline on so many rows and columns from the first cell's centre on, which must hold it and
    /// its bells.
    pub(super) fn on(
        outline: &Outline,
        pitch_mm: f64,
        first_mm: Point,
        [rows, columns]: [usize; 2],
    ) -> Coverage {
        let mut open = Array2::zeros((rows, columns));
        // Points on a piece of an edge: exact for the product of both splines, whose degree is
        // 2 DEGREE + 1.
        let rule = Gauss::rule(DEGREE + 1);
        let mut cuts = Vec::new();
        for (a, b) in outline.edges() {
            let cell =
                |p: Point| [(p[0] - first_mm[0]) / pitch_mm, (p[1] - first_mm[1]) / pitch_mm];
            let (a, b) = (cell(a), cell(b));
            let along = [b[0] - a[0], b[1] - a[1]];
            if along[1] == 0.0 {
                continue;
            }
            cut(a, b, &mut cuts);
            for piece in cuts.windows(2) {
                for (s, weight) in rule.on(piece[0], piece[1]) {
                    let at = [a[0] + s * along[0], a[1] + s * along[1]];
                    spread(at, weight * along[1], &mut open);
                }
            }
        }
        // What was spread is the step of the integral over x from each cell to the next.
        for mut row in open.rows_mut() {
            let mut sum = 0.0;
            for value in row.iter_mut().rev() {
                sum += *value;
                *value = sum;
            }
        }
        Coverage { open, first_mm }
    }
}

/// The bell's spectrum at a frequency in cycles a cell: sinc^(DEGREE + 1).
pub(super) fn bell(cycles: f64) -> f64 {
    let x = PI * cycles;
    if x == 0.0 { 1.0 } else { (x.sin() / x).powi(DEGREE as i32 + 1) }
}

/// The shares of an edge, from 0 to 1, at which it crosses lines of the grid.
fn cut(a: Point, b: Point, cuts: &mut Vec<f64>) {
    cuts.clear();
    cuts.push(0.0);
    for axis in 0..2 {
        let (from, to) = (a[axis].min(b[axis]), a[axis].max(b[axis]));
        for line in from.floor() as i64 + 1..to.ceil() as i64 {
            cuts.push((line as f64 - a[axis]) / (b[axis] - a[axis]));
        }
    }
    cuts.push(1.0);
    cuts.sort_by(f64::total_cmp);
}

/// Spreads a point of the rim over the cells whose bells hold it: along y the bell itself, along x
/// the step from one bell's integral to the next, a B-spline one degree higher.
fn spread(at: Point, weight: f64, open: &mut Array2<f64>) {
    let (column, of_x) = splines::<{ DEGREE + 2 }>(at[0] + REACH as f64);
    let (row, of_y) = splines::<{ DEGREE + 1 }>(at[1] + REACH as f64);
    for (j, y) in of_y.iter().enumerate() {
        for (i, x) in of_x.iter().enumerate() {
            open[[row - j, column - i]] += weight * y * x;
        }
    }
}

/// The N values at `place` of the B-splines of degree N - 1 whose support 0..N begins at whole
/// numbers: the largest such number, and the value of the one beginning there, one before, and so on.
/// De Boor's recurrence for whole-numbered knots.
fn splines<const N: usize>(place: f64) -> (usize, [f64; N]) {
    let start = place.floor();
    let u = place - start;
    let mut values = [0.0; N];
    values[0] = 1.0;
    for degree in 1..N {
        let d = degree as f64;
        for j in (0..=degree).rev() {
            let here = if j < degree { (u + j as f64) * values[j] } else { 0.0 };
            let before = if j > 0 { (d + 1.0 - u - j as f64) * values[j - 1] } else { 0.0 };
            values[j] = (here + before) / d;
        }
    }
    (start as usize, values)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// Bells add up to 1 everywhere, so that the cells hold the hole's area, and its centroid.
    #[test]
    fn cells_hold_area_and_centroid() {
        let hole = shapes::burred_disc(0.3, 0.7, 0.2, 0.06).unwrap().moved(0.11, -0.07);
        let pitch = 0.0071;
        let coverage = Coverage::of(&hole, pitch, 3);
        let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
        for ((row, column), open) in coverage.open.indexed_iter() {
            area += open;
            x += open * (coverage.first_mm[0] + column as f64 * pitch);
            y += open * (coverage.first_mm[1] + row as f64 * pitch);
        }
        let centroid = hole.centroid_mm();
        // Rounding of sums over some thousand cells.
        assert!((area * pitch * pitch / hole.area_mm2() - 1.0).abs() < 1e-12);
        assert!((x / area - centroid[0]).abs() < 1e-12 && (y / area - centroid[1]).abs() < 1e-12);
    }

    /// Well inside, a cell is open; well outside, it is metal.
    #[test]
    fn inside_is_one() {
        let coverage = Coverage::of(&shapes::annulus(0.4, 0.2).unwrap(), 0.005, 0);
        let at = |x: f64| {
            let cell =
                |axis: usize, p: f64| ((p - coverage.first_mm[axis]) / 0.005).round() as usize;
            coverage.open[[cell(1, 0.0), cell(0, x)]]
        };
        assert!((at(0.15) - 1.0).abs() < 1e-12 && at(0.0).abs() < 1e-12 && at(0.22).abs() < 1e-12);
    }
}
