//! Connected spots of open pixels, and what tells a hole from dust and scratches.

use ndarray::Array2;
use std::f64::consts::TAU;

/// One connected spot.
pub(super) struct Spot {
    /// Pixels.
    pub(super) area: usize,
    /// Centre of gravity: column and row, pixel i covering i..i + 1.
    pub(super) centre: [f64; 2],
    /// First and last row, first and last column.
    pub(super) rows: [usize; 2],
    pub(super) columns: [usize; 2],
    /// Area² over 2π times the polar second moment: 1 for a disc, 0.8 for an oval of 2 : 1, 0.2 for a
    /// slit of 10 : 1.
    pub(super) compactness: f64,
    /// Whether it touches the frame.
    pub(super) cut: bool,
}

/// All spots of pixels above one half, connected along sides, largest first. What is enclosed by a
/// spot (an island of metal) does not count to its area.
pub(super) fn spots(open: &Array2<f32>) -> Vec<Spot> {
    let (rows, columns) = open.dim();
    let mut seen = Array2::from_elem((rows, columns), false);
    let mut found = Vec::new();
    let mut stack = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            if open[[row, column]] > 0.5 && !seen[[row, column]] {
                seen[[row, column]] = true;
                stack.push((row, column));
                found.push(gathered(open, &mut seen, &mut stack));
            }
        }
    }
    found.sort_by_key(|spot: &Spot| std::cmp::Reverse(spot.area));
    found
}

fn gathered(open: &Array2<f32>, seen: &mut Array2<bool>, stack: &mut Vec<(usize, usize)>) -> Spot {
    let (rows, columns) = open.dim();
    let (mut area, mut x, mut y, mut square) = (0usize, 0.0, 0.0, 0.0);
    let (mut row_span, mut column_span) = ([rows, 0], [columns, 0]);
    while let Some((row, column)) = stack.pop() {
        let (cx, cy) = (column as f64 + 0.5, row as f64 + 0.5);
        area += 1;
        x += cx;
        y += cy;
        square += cx * cx + cy * cy;
        row_span = [row_span[0].min(row), row_span[1].max(row)];
        column_span = [column_span[0].min(column), column_span[1].max(column)];
        let neighbours = [
            (row.wrapping_sub(1), column),
            (row + 1, column),
            (row, column.wrapping_sub(1)),
            (row, column + 1),
        ];
        for (r, c) in neighbours {
            if r < rows && c < columns && open[[r, c]] > 0.5 && !seen[[r, c]] {
                seen[[r, c]] = true;
                stack.push((r, c));
            }
        }
    }
    let count = area as f64;
    let centre = [x / count, y / count];
    // A pixel is a square with a moment of its own, 1/6.
    let moment = square - count * (centre[0].powi(2) + centre[1].powi(2)) + count / 6.0;
    Spot {
        area,
        centre,
        rows: row_span,
        columns: column_span,
        compactness: count * count / (TAU * moment),
        cut: row_span[0] == 0
            || column_span[0] == 0
            || row_span[1] + 1 == rows
            || column_span[1] + 1 == columns,
    }
}
