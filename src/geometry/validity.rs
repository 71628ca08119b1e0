//! Which loops make an outline: finite, with area, without crossings, wound by what lies in what.

use super::bounds::bounds;
use super::crossing::{self, Found, Meeting};
use super::{Point, cross, edges};
use crate::error::Error;

/// (3 - √5)/2.
const GOLDEN: f64 = 0.381_966_011_250_105;

/// The signed area of a closed loop: positive when it runs anticlockwise.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&origin) = points.first() else { return 0.0 };
    edges(points).map(|(a, b)| cross(origin, a, b)).sum::<f64>() / 2.0
}

/// The centroid of what a closed loop encloses.
pub(crate) fn centroid(points: &[Point]) -> Point {
    // From a vertex, so that a loop far from the origin loses no digits.
    let Some(&[x0, y0]) = points.first() else { return [0.0; 2] };
    let (mut area, mut mx, mut my) = (0.0, 0.0, 0.0);
    for (a, b) in edges(points) {
        let twice = cross([x0, y0], a, b);
        area += twice;
        mx += twice * (a[0] + b[0] - 2.0 * x0);
        my += twice * (a[1] + b[1] - 2.0 * y0);
    }
    [x0 + mx / (3.0 * area), y0 + my / (3.0 * area)]
}

/// The loops cleaned (repeated points dropped), checked, and wound: openings anticlockwise.
pub(super) fn checked(loops: Vec<Vec<Point>>) -> Result<Vec<Vec<Point>>, Error> {
    if loops.is_empty() {
        return Err(Error::outline(
            "the outline has no loop of points",
            "give at least one closed loop",
        ));
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
                "check the points' order and values",
            ));
        }
        clean.push(points);
    }
    match crossing::first(&clean) {
        Found::Meeting(Meeting::Cross, name, [x, y]) => Err(Error::outline(
            format!("edges cross near ({x:.4} mm, {y:.4} mm), on loop {name}"),
            "an outline must not cross itself or another loop: check the points' order",
        )),
        Found::Meeting(Meeting::Overlap, name, [x, y]) => Err(Error::outline(
            format!("edges coincide near ({x:.4} mm, {y:.4} mm), on loop {name}"),
            "give every edge once: no loop twice, none that runs back along itself or another",
        )),
        Found::TooMuch => Err(Error::limit(
            "the loops are too tangled to be checked for crossings",
            "give the rim of one hole: fewer points, or fewer loops",
        )),
        Found::Nothing => {
            wind(&mut clean);
            Ok(clean)
        }
    }
}

/// Openings anticlockwise, islands clockwise, by how many loops lie around each.
fn wind(loops: &mut [Vec<Point>]) {
    let boxes: Vec<_> = loops.iter().map(bounds).collect();
    let depths: Vec<usize> = (0..loops.len())
        .map(|i| {
            // Loops may touch at a vertex, and that may lie in the middle of an edge, but hardly at its
            // golden section.
            let (a, b) = (loops[i][0], loops[i][1]);
            let probe = [0, 1].map(|axis| a[axis] + GOLDEN * (b[axis] - a[axis]));
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
