//! Contours at a level: marching squares, to a fraction of a pixel.

use ndarray::Array2;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// An edge of the grid of pixel centres that a contour crosses: its upper left end, and whether it
/// runs along the row.
type GridEdge = (usize, usize, bool);

/// The closed contours at a `level` of `open`, each with the open side on one hand, in the frame in
/// which pixel (column i, row j) covers i..i+1 × j..j+1. Contours that leave the array are left out.
///
/// Between pixel centres the light is taken as linear. In a saddle cell the mean of its corners
/// decides which two corners belong together.
pub(super) fn contours(open: &Array2<f32>, level: f32) -> Vec<Vec<[f64; 2]>> {
    let cells = (0..open.nrows().saturating_sub(1)).into_par_iter().flat_map_iter(|row| {
        let crossed = crossed_cells(open, level, row);
        crossed.into_iter().flat_map(move |column| segments(open, level, row, column))
    });
    let found: Vec<(GridEdge, GridEdge)> = cells.collect();
    // In order, so that the same picture gives the same loops to the last digit.
    let mut next: BTreeMap<GridEdge, GridEdge> = found.into_iter().collect();
    let mut loops = Vec::new();
    while let Some((&start, _)) = next.first_key_value() {
        let mut edges = Vec::new();
        let mut at = start;
        while let Some(to) = next.remove(&at) {
            edges.push(at);
            at = to;
        }
        if at == start && edges.len() >= 3 {
            loops.push(edges.iter().map(|edge| crossing(open, level, *edge)).collect());
        }
    }
    loops
}

/// The columns of the cells of a row whose corners are not all on one side.
fn crossed_cells(open: &Array2<f32>, level: f32, row: usize) -> Vec<usize> {
    let corners = open.row(row).into_iter().zip(open.row(row + 1));
    let mut corners = corners.map(|(upper, lower)| (*upper > level, *lower > level));
    let Some(mut left) = corners.next() else { return Vec::new() };
    let mut found = Vec::new();
    for (column, right) in corners.enumerate() {
        if left != right || left.0 != left.1 {
            found.push(column);
        }
        left = right;
    }
    found
}

/// The contour's pieces in one cell, each from the edge where it comes in to the one where it leaves,
/// with the open side on its right.
fn segments(
    open: &Array2<f32>,
    level: f32,
    row: usize,
    column: usize,
) -> Vec<(GridEdge, GridEdge)> {
    let value = |r: usize, c: usize| open[[row + r, column + c]];
    let corners = [value(0, 0), value(0, 1), value(1, 1), value(1, 0)];
    let inside = corners.map(|corner| corner > level);
    let edges = [
        (row, column, true),
        (row, column + 1, false),
        (row + 1, column, true),
        (row, column, false),
    ];
    // Edge k lies between corners k and k+1, clockwise. Going round clockwise, a contour comes out
    // where the corners change from inside to outside, and in where they change back.
    let leaves: Vec<usize> = (0..4).filter(|&k| inside[k] && !inside[(k + 1) % 4]).collect();
    let enters: Vec<usize> = (0..4).filter(|&k| !inside[k] && inside[(k + 1) % 4]).collect();
    match (leaves.len(), enters.len()) {
        (1, 1) => vec![(edges[enters[0]], edges[leaves[0]])],
        (2, 2) => {
            let joined = corners.iter().sum::<f32>() / 4.0 > level;
            // Each inside corner alone: in before it, out after it. Joined: round the outside ones.
            let pair = |leave: usize| {
                if joined { (leave + 1) % 4 } else { (leave + 3) % 4 }
            };
            leaves.iter().map(|&leave| (edges[pair(leave)], edges[leave])).collect()
        }
        _ => Vec::new(),
    }
}

fn crossing(open: &Array2<f32>, level: f32, (row, column, along): GridEdge) -> [f64; 2] {
    let from = f64::from(open[[row, column]]);
    let to = f64::from(if along { open[[row, column + 1]] } else { open[[row + 1, column]] });
    let share = ((f64::from(level) - from) / (to - from)).clamp(0.0, 1.0);
    let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
    if along { [x + share, y] } else { [x, y + share] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pixel_is_a_diamond() {
        let mut open = Array2::zeros((5, 6));
        open[[2, 3]] = 1.0;
        let loops = contours(&open, 0.5);
        assert_eq!(loops.len(), 1);
        let mut points = loops[0].clone();
        points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        assert_eq!(points, [[3.0, 2.5], [3.5, 2.0], [3.5, 3.0], [4.0, 2.5]]);
    }

    #[test]
    fn saddles_follow_their_mean() {
        let with = |level: f32| {
            let mut open = Array2::zeros((4, 4));
            (open[[1, 1]], open[[2, 2]]) = (level, level);
            contours(&open, 0.5).len()
        };
        // Means 0.45 and 0.6: apart, and joined.
        assert_eq!(with(0.9), 2);
        assert_eq!(with(1.2), 1);
    }

    #[test]
    fn an_island_is_a_loop_of_its_own() {
        let mut open = Array2::from_shape_fn((20, 20), |(r, c)| {
            if (2..18).contains(&r) && (2..18).contains(&c) { 1.0 } else { 0.0 }
        });
        open[[9, 9]] = 0.0;
        assert_eq!(contours(&open, 0.5).len(), 2);
    }
}
