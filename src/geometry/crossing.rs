//! Whether edges of closed loops cross, or lie on each other. Loops that only touch do neither.

use super::bounds::{Bounds, bounds};
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

/// Edges compared or placed before the search is given up: about a second of work, reached only by loops so
/// tangled that no hole has them.
const MOST_WORK: usize = 60_000_000;
/// So few edges are compared each with each.
const FEW: usize = 24;
/// Halvings after which what lies in a box is compared as it is.
const DEEPEST: usize = 48;

/// What the search found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Found {
    /// No two edges meet that must not.
    Nothing,
    /// How two edges meet, the number of the loop of one of them, counted from 1, and a point nearby.
    Meeting(Meeting, u32, Point),
    /// The search was given up.
    TooMuch,
}

/// The first pair of edges that cross or lie on each other.
///
/// The box around all edges is halved again and again across its longer side, each edge going with the part
/// of it that lies in each half, until few are left to be compared. The time grows as the number of edges
/// where they are spread like a rim; the work is bounded in any case.
pub(super) fn first(loops: &[Vec<Point>]) -> Found {
    let mut all = Vec::with_capacity(loops.iter().map(Vec::len).sum());
    for (name, points) in (1..).zip(loops) {
        let next = |i: usize| points[(i + 1) % points.len()];
        let edge = |i: usize| Edge { name, a: points[i], b: next(i), after: next(i + 1) };
        all.extend((0..points.len()).map(edge));
    }
    let around = bounds(loops.iter().flatten());
    let pieces = (0..all.len() as u32).map(|index| {
        let Edge { a, b, .. } = all[index as usize];
        Piece { index, a, b }
    });
    let mut search = Search { slack: rounding(&around), edges: &all, work: 0 };
    search.within(pieces.collect(), around, 0)
}

/// The part of an edge that lies in a box.
#[derive(Clone, Copy)]
struct Piece {
    index: u32,
    a: Point,
    b: Point,
}

impl Piece {
    /// The parts below and above a line at `place` square to an axis; what touches the line is in both.
    fn halves(self, axis: usize, place: f64, slack: f64) -> [Option<Piece>; 2] {
        let Piece { index, a, b } = self;
        let (low, high) = if a[axis] <= b[axis] { (a, b) } else { (b, a) };
        if high[axis] < place - slack {
            return [Some(self), None];
        }
        if low[axis] > place + slack {
            return [None, Some(self)];
        }
        let share = ((place - low[axis]) / (high[axis] - low[axis])).clamp(0.0, 1.0);
        if !share.is_finite() {
            return [Some(self), Some(self)];
        }
        let at = [0, 1].map(|k| low[k] + share * (high[k] - low[k]));
        [Some(Piece { index, a: low, b: at }), Some(Piece { index, a: at, b: high })]
    }
}

struct Search<'a> {
    edges: &'a [Edge],
    slack: f64,
    work: usize,
}

impl Search<'_> {
    fn within(&mut self, pieces: Vec<Piece>, around: Bounds, depth: usize) -> Found {
        let axis = usize::from(around.high[1] - around.low[1] > around.high[0] - around.low[0]);
        let place = (around.low[axis] + around.high[axis]) / 2.0;
        if pieces.len() <= FEW || depth >= DEEPEST {
            return self.compared(&pieces);
        }
        self.work += pieces.len();
        let mut halves = [Vec::new(), Vec::new()];
        for piece in &pieces {
            for (half, part) in halves.iter_mut().zip(piece.halves(axis, place, 4.0 * self.slack)) {
                half.extend(part);
            }
        }
        // Edges that all go through one place are not parted by a line.
        if halves.iter().map(Vec::len).sum::<usize>() * 10 > pieces.len() * 19 {
            return self.compared(&pieces);
        }
        drop(pieces);
        let [below, above] = halves;
        let (mut low_half, mut high_half) = (around.clone(), around);
        low_half.high[axis] = place;
        high_half.low[axis] = place;
        match self.within(below, low_half, depth + 1) {
            Found::Nothing => self.within(above, high_half, depth + 1),
            found => found,
        }
    }

    /// Each of the edges with each other.
    fn compared(&mut self, pieces: &[Piece]) -> Found {
        for (k, piece) in pieces.iter().enumerate() {
            self.work += pieces.len() - k;
            if self.work > MOST_WORK {
                return Found::TooMuch;
            }
            let one = &self.edges[piece.index as usize];
            for other in &pieces[k + 1..] {
                if let Some(how) = meeting(one, &self.edges[other.index as usize], self.slack) {
                    let middle = [0, 1].map(|axis| (one.a[axis] + one.b[axis]) / 2.0);
                    return Found::Meeting(how, one.name, middle);
                }
            }
        }
        Found::Nothing
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Loops that once cost minutes or gigabytes are judged within the bound on the work.
    #[test]
    fn tangled_loops_are_bounded_work() {
        let stroke = |i: usize| {
            let x = i as f64 * 1e-4;
            vec![[x, 0.0], [x + 10.0, 10.0], [x + 10.0, 10.0 + 1e-5]]
        };
        let strokes = |count: usize| -> Vec<_> { (0..count).map(stroke).collect() };
        assert_eq!(first(&strokes(300)), Found::Nothing);
        assert_eq!(first(&strokes(60_000)), Found::TooMuch);
        let ring = |count: usize, radius: f64, x: f64| -> Vec<Point> {
            let at = |i: usize| TAU * i as f64 / count as f64;
            (0..count).map(|i| [x + radius * at(i).cos(), radius * at(i).sin()]).collect()
        };
        // A crowd of points in one place, far from the rest.
        let crowd = vec![ring(40_000, 1e-6, 0.0), ring(100, 1.0, 5.0)];
        assert_eq!(first(&crowd), Found::Nothing);
        let nested: Vec<_> = (1..=200).map(|i| ring(500, 0.01 * f64::from(i), 0.0)).collect();
        assert_eq!(first(&nested), Found::Nothing);
        let crossing = vec![ring(40_000, 1.0, 0.0), ring(40_000, 1.0, 1.9999)];
        assert!(matches!(first(&crossing), Found::Meeting(Meeting::Cross, ..)));
    }
}
