//! Whether edges of closed loops cross, or lie on each other. Loops that only touch do neither.

use super::validity::{Bounds, bounds};
use super::{Point, cross};

/// How two edges meet that must not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Meeting {
    /// The loops go through each other, be it at a vertex.
    Cross,
    /// The edges have more than a point in common.
    Overlap,
}

/// An edge from a to b, with the point after b: what a loop does at a vertex needs all three.
#[derive(Clone, Copy)]
struct Edge {
    name: u32,
    a: Point,
    b: Point,
    after: Point,
}

/// The first pair of edges that cross or lie on each other: how, the number of the loop of one of them,
/// counted from 1, and a point nearby.
///
/// Edges are sorted into the cells of a square grid with about as many cells as edges, so that only
/// neighbours are compared: the time grows as the number of edges, not as its square.
pub(super) fn first(loops: &[Vec<Point>]) -> Option<(Meeting, u32, Point)> {
    let mut all = Vec::with_capacity(loops.iter().map(Vec::len).sum());
    for (name, points) in (1..).zip(loops) {
        let next = |i: usize| points[(i + 1) % points.len()];
        let edge = |i: usize| Edge { name, a: points[i], b: next(i), after: next(i + 1) };
        all.extend((0..points.len()).map(edge));
    }
    let around = bounds(loops.iter().flatten());
    let slack = rounding(&around);
    let side = (all.len() as f64).sqrt().ceil().clamp(1.0, 1024.0) as usize;
    let cell = |value: f64, axis: usize| -> usize {
        let width = around.high[axis] - around.low[axis];
        ((((value - around.low[axis]) / width) * side as f64) as usize).min(side - 1)
    };
    let mut cells: Vec<Vec<u32>> = vec![Vec::new(); side * side];
    for (index, Edge { a, b, .. }) in all.iter().enumerate() {
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
                let (one, other) = (&all[i as usize], &all[j as usize]);
                if let Some(how) = meeting(one, other, slack) {
                    let middle = [0, 1].map(|axis| (one.a[axis] + one.b[axis]) / 2.0);
                    return Some((how, one.name, middle));
                }
            }
        }
    }
    None
}

/// How far a point may be from where it is meant, by the rounding of its coordinates.
fn rounding(around: &Bounds) -> f64 {
    let corners = around.low.iter().chain(&around.high);
    1e-15 * corners.fold(0.0, |most: f64, c| most.max(c.abs()))
}

fn meeting(one: &Edge, other: &Edge, slack: f64) -> Option<Meeting> {
    let sides = [one.a, one.b].map(|p| cross(other.a, other.b, p));
    let others = [other.a, other.b].map(|p| cross(one.a, one.b, p));
    if sides[0] * sides[1] < 0.0 && others[0] * others[1] < 0.0 {
        return Some(Meeting::Cross);
    }
    if overlap(one, other, others, slack) {
        return Some(Meeting::Overlap);
    }
    let through = one.b == other.b && goes_through(one, other)
        || sides[1] == 0.0 && steps_over(one, other)
        || others[1] == 0.0 && steps_over(other, one);
    through.then_some(Meeting::Cross)
}

/// Whether edges lie on one line and have a piece of it in common.
fn overlap(one: &Edge, other: &Edge, heights: [f64; 2], slack: f64) -> bool {
    let along = [one.b[0] - one.a[0], one.b[1] - one.a[1]];
    let length = along[0].hypot(along[1]);
    // Twice a triangle's area over its base is its height.
    if heights.iter().any(|height| height.abs() > slack * length) {
        return false;
    }
    let place = |p: Point| ((p[0] - one.a[0]) * along[0] + (p[1] - one.a[1]) * along[1]) / length;
    let (c, d) = (place(other.a), place(other.b));
    c.max(d).min(length) - c.min(d).max(0.0) > 10.0 * slack
}

/// Whether two loops with a vertex in common go through each other there: one leaves the other on
/// another side than it came from.
fn goes_through(one: &Edge, other: &Edge) -> bool {
    let corner = one.b;
    // Between the ways to a and to `after`, anticlockwise.
    let between = |p: Point| {
        let turn = |from: Point, to: Point| cross(corner, from, to);
        if turn(one.a, one.after) >= 0.0 {
            turn(one.a, p) > 0.0 && turn(p, one.after) > 0.0
        } else {
            turn(one.after, p) < 0.0 || turn(p, one.a) < 0.0
        }
    };
    between(other.a) != between(other.after)
}

/// Whether a loop whose vertex b lies on the line of an edge goes over that edge there.
fn steps_over(one: &Edge, edge: &Edge) -> bool {
    let before = |end: Point, from: Point| {
        (one.b[0] - from[0]) * (end[0] - from[0]) + (one.b[1] - from[1]) * (end[1] - from[1]) > 0.0
    };
    before(edge.b, edge.a)
        && before(edge.a, edge.b)
        && cross(edge.a, edge.b, one.a) * cross(edge.a, edge.b, one.after) < 0.0
}
