//! Which loops make an outline: finite, with area, without crossings, wound by what lies in what.

use super::{Point, cross, edges};
use crate::error::Error;

/// The signed area of a closed loop: positive when it runs anticlockwise.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&origin) = points.first() else { return 0.0 };
    edges(points).map(|(a, b)| cross(origin, a, b)).sum::<f64>() / 2.0
}

/// The loops cleaned (repeated points dropped), checked, and wound: openings anticlockwise.
pub(super) fn checked(loops: Vec<Vec<Point>>) -> Result<Vec<Vec<Point>>, Error> {
    if loops.is_empty() {
        return Err(Error::outline("there is no loop of points", "give at least one closed loop"));
    }
    let mut clean = Vec::with_capacity(loops.len());
    for (i, mut points) in loops.into_iter().enumerate() {
        let name = i + 1;
        if let Some(at) = points.iter().position(|p| !(p[0].is_finite() && p[1].is_finite())) {
            return Err(Error::outline(
                format!("loop {name}, point {}: a coordinate is not finite", at + 1),
                "give every point as two plain numbers in mm",
            ));
        }
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        if points.len() < 3 {
            return Err(Error::outline(
                format!("loop {name} has fewer than three different points"),
                "a closed loop needs three or more",
            ));
        }
        // An area below the rounding of its own coordinates is none.
        let reach = points.iter().flatten().fold(0.0f64, |m, c| m.max(c.abs()));
        if signed_area(&points).abs() <= 1e-14 * reach * reach {
            return Err(Error::outline(
                format!("loop {name} has no area: its points lie on a line"),
                "a hole has an inside: check the points' order and values",
            ));
        }
        clean.push(points);
    }
    if let Some((loop_index, [x, y])) = first_crossing(&clean) {
        return Err(Error::outline(
            format!("edges cross near ({x:.4} mm, {y:.4} mm), on loop {}", loop_index + 1),
            "an outline may not cross itself or another loop: check the points' order",
        ));
    }
    wind(&mut clean);
    Ok(clean)
}

/// Openings anticlockwise, islands clockwise, by how many loops lie around each.
fn wind(loops: &mut [Vec<Point>]) {
    let boxes: Vec<_> = loops.iter().map(bounds).collect();
    let depths: Vec<usize> = (0..loops.len())
        .map(|i| {
            // The middle of an edge: loops may touch at a vertex.
            let (a, b) = (loops[i][0], loops[i][1]);
            let probe = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
            (0..loops.len())
                .filter(|&j| j != i && boxes[j].contains(probe) && contains(&loops[j], probe))
                .count()
        })
        .collect();
    for (points, depth) in loops.iter_mut().zip(depths) {
        if (signed_area(points) > 0.0) != (depth % 2 == 0) {
            points.reverse();
        }
    }
}

/// Whether a point lies inside a closed loop (even-odd rule).
pub(crate) fn contains(points: &[Point], [x, y]: Point) -> bool {
    edges(points)
        .filter(|(a, b)| (a[1] > y) != (b[1] > y))
        .filter(|(a, b)| x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
        .count()
        % 2
        == 1
}

/// An upright rectangle by two corners.
pub(super) struct Bounds {
    pub(super) low: Point,
    pub(super) high: Point,
}

impl Bounds {
    fn contains(&self, p: Point) -> bool {
        (0..2).all(|axis| self.low[axis] <= p[axis] && p[axis] <= self.high[axis])
    }
}

/// The smallest upright rectangle around the points.
pub(super) fn bounds<'a>(points: impl IntoIterator<Item = &'a Point>) -> Bounds {
    let mut all = Bounds { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };
    for p in points {
        all.low = [all.low[0].min(p[0]), all.low[1].min(p[1])];
        all.high = [all.high[0].max(p[0]), all.high[1].max(p[1])];
    }
    all
}

/// The first pair of edges that cross, as the loop of one of them and a point near the crossing.
///
/// Edges are sorted into the cells of a square grid with about as many cells as edges, so that only
/// neighbours are compared: the time grows as the number of edges, not as its square.
fn first_crossing(loops: &[Vec<Point>]) -> Option<(usize, Point)> {
    let all: Vec<(usize, Point, Point)> = loops
        .iter()
        .enumerate()
        .flat_map(|(i, points)| edges(points).map(move |(a, b)| (i, a, b)))
        .collect();
    let around = bounds(loops.iter().flatten());
    let side = (all.len() as f64).sqrt().ceil().clamp(1.0, 1024.0) as usize;
    let cell = |value: f64, axis: usize| -> usize {
        let width = around.high[axis] - around.low[axis];
        ((((value - around.low[axis]) / width) * side as f64) as usize).min(side - 1)
    };
    let mut cells: Vec<Vec<u32>> = vec![Vec::new(); side * side];
    for (index, &(_, a, b)) in all.iter().enumerate() {
        let span = |axis: usize| {
            let (low, high) = (a[axis].min(b[axis]), a[axis].max(b[axis]));
            cell(low, axis)..=cell(high, axis)
        };
        for row in span(1) {
            for column in span(0) {
                cells[row * side + column].push(index as u32);
            }
        }
    }
    for members in &cells {
        for (k, &i) in members.iter().enumerate() {
            for &j in &members[k + 1..] {
                let ((name, a, b), (_, c, d)) = (all[i as usize], all[j as usize]);
                if cross(a, b, c) * cross(a, b, d) < 0.0 && cross(c, d, a) * cross(c, d, b) < 0.0 {
                    return Some((name, [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]));
                }
            }
        }
    }
    None
}
