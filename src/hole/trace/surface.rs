//! A surface of second order through levels: what uneven light leaves of a ground or a hole.

use crate::geometry::solve;

/// 1, x, y, x², xy, y² of a place, in coordinates of -1..1 over the picture.
fn terms([x, y]: [f64; 2]) -> [f64; 6] {
    [1.0, x, y, x * x, x * y, y * y]
}

/// A level that changes slowly over a picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Surface {
    coefficients: [f64; 6],
    /// Columns and rows of the picture.
    size: [f64; 2],
}

impl Surface {
    /// The same level everywhere.
    pub(super) fn flat(level: f64, (rows, columns): (usize, usize)) -> Surface {
        Surface {
            coefficients: [level, 0.0, 0.0, 0.0, 0.0, 0.0],
            size: [columns as f64, rows as f64],
        }
    }

    /// Least squares through levels at places (row, column) in pixels. None when they do not hold a
    /// surface.
    pub(super) fn through(
        levels: impl IntoIterator<Item = ((f64, f64), f64)>,
        (rows, columns): (usize, usize),
    ) -> Option<Surface> {
        let mut surface = Surface::flat(0.0, (rows, columns));
        let (mut normal, mut right) = ([[0.0; 6]; 6], [0.0; 6]);
        for ((row, column), level) in levels {
            let t = terms(surface.place(row, column));
            for a in 0..6 {
                right[a] += t[a] * level;
                for b in 0..6 {
                    normal[a][b] += t[a] * t[b];
                }
            }
        }
        surface.coefficients = solve(normal, right)?;
        Some(surface)
    }

    /// The level along a row, by the column in pixels.
    pub(super) fn along(&self, row: f64) -> impl Fn(f64) -> f64 + use<> {
        let [one, x, y, xx, xy, yy] = self.coefficients;
        let ([_, v], columns) = (self.place(row, 0.0), self.size[0]);
        let (here, slope) = (one + v * (y + v * yy), x + v * xy);
        move |column| {
            let u = 2.0 * column / columns - 1.0;
            here + u * (slope + u * xx)
        }
    }

    /// The level at a place in pixels.
    pub(super) fn at(&self, row: f64, column: f64) -> f64 {
        terms(self.place(row, column)).iter().zip(self.coefficients).map(|(t, c)| t * c).sum()
    }

    /// The least difference from another surface over the picture's corners, sides and middle, with the
    /// sign of the difference in the middle taken as positive.
    pub(super) fn range_over(&self, other: &Surface, (rows, columns): (usize, usize)) -> f64 {
        let difference = |i: usize, j: usize| {
            let (row, column) = (rows as f64 * i as f64 / 2.0, columns as f64 * j as f64 / 2.0);
            self.at(row, column) - other.at(row, column)
        };
        let sign = difference(1, 1).signum();
        let places = (0..3).flat_map(|i| (0..3).map(move |j| (i, j)));
        places.map(|(i, j)| sign * difference(i, j)).fold(f64::INFINITY, f64::min)
    }

    fn place(&self, row: f64, column: f64) -> [f64; 2] {
        [2.0 * column / self.size[0] - 1.0, 2.0 * row / self.size[1] - 1.0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_surface_is_found_again() {
        let truth =
            |row: f64, column: f64| 0.3 + 0.01 * row - 2e-4 * row * column + 1e-4 * column.powi(2);
        let places = (0..30).flat_map(|r| (0..40).map(move |c| (f64::from(r), f64::from(c))));
        let levels = places.map(|(row, column)| ((row, column), truth(row, column)));
        let surface = Surface::through(levels, (30, 40)).unwrap();
        // Beyond the points too: the truth is of second order itself, so only rounding is left.
        assert!((surface.at(35.0, -3.0) - truth(35.0, -3.0)).abs() < 1e-9);
        assert!((surface.along(12.0)(31.0) - truth(12.0, 31.0)).abs() < 1e-9);
    }

    #[test]
    fn points_on_a_line_hold_no_surface() {
        assert!(Surface::through((0..50).map(|i| ((f64::from(i), 3.0), 1.0)), (50, 50)).is_none());
        assert!(Surface::through([], (5, 5)).is_none());
    }
}
