//! The largest circle that an outline leaves room for.

use super::circle::Circle;
use super::{Outline, Point, contains, distance};
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::SQRT_2;
use std::rc::Rc;

/// Edges looked at before the search is content; a cell itself costs as much as so many.
const MOST_WORK: usize = 30_000_000;
const CELL_WORK: usize = 40;

/// Returns the largest circle in the open area, clear of every edge, islands too, to `accuracy_mm`: its
/// radius falls short of the largest possible by no more than that.
///
/// Branch and bound: the distance to the edges changes by no more than one moves, so a square cell
/// whose middle has clearance d and whose half-diagonal is h holds no centre with clearance above
/// d + h. Cells that could beat the best by more than `accuracy_mm` are quartered. The edge nearest
/// to any point of a cell is within |d| + 2h of its middle, so its quarters look at those only. After some
/// tenths of a second of work, which only slivers a thousand times as long as wide take, the best so far
/// is given.
pub fn inscribed(outline: &Outline, accuracy_mm: f64) -> Circle {
    let (low, high) = outline.bounds_mm();
    let side = (high[0] - low[0]).min(high[1] - low[1]);
    let counts = [0, 1].map(|axis| ((high[axis] - low[axis]) / side).ceil().clamp(1.0, 64.0));
    let half = (0..2).map(|a| (high[a] - low[a]) / counts[a] / 2.0).fold(0.0, f64::max);
    let all: Rc<[Edge]> = outline.edges().collect();
    let middle = outline.centroid_mm();
    let clearance = signed(is_open(outline, middle), nearest(&all, middle));
    let mut best = Circle { centre_mm: middle, radius_mm: clearance.max(0.0) };
    let mut cells = BinaryHeap::new();
    for row in 0..counts[1] as usize {
        for column in 0..counts[0] as usize {
            let at = |k: usize, axis: usize| {
                low[axis] + (k as f64 + 0.5) * (high[axis] - low[axis]) / counts[axis]
            };
            let middle = [at(column, 0), at(row, 1)];
            let clearance = signed(is_open(outline, middle), nearest(&all, middle));
            cells.push(Cell { middle, half, clearance, edges: Rc::clone(&all) });
        }
    }
    // Rounding makes cells below this meaningless, whatever accuracy is asked for.
    let accuracy = accuracy_mm.max(1e-9 * side);
    let mut work = 0;
    while let Some(cell) = cells.pop() {
        if cell.bound() <= best.radius_mm + accuracy || work > MOST_WORK {
            break;
        }
        for part in cell.quarters(outline, &mut work) {
            if part.clearance > best.radius_mm {
                best = Circle { centre_mm: part.middle, radius_mm: part.clearance };
            }
            if part.bound() > best.radius_mm + accuracy {
                cells.push(part);
            }
        }
    }
    best
}

type Edge = (Point, Point);

/// A square of possible centres, sorted by the largest clearance it could hold.
struct Cell {
    middle: Point,
    half: f64,
    /// The distance from its middle to the nearest edge: positive in the opening, negative in the
    /// metal.
    clearance: f64,
    /// The edges among which are the nearest to all of its points.
    edges: Rc<[Edge]>,
}

impl Cell {
    fn bound(&self) -> f64 {
        self.clearance + self.half * SQRT_2
    }

    fn quarters(&self, outline: &Outline, work: &mut usize) -> [Cell; 4] {
        let reach = self.clearance.abs() + 2.0 * SQRT_2 * self.half;
        // Rounding must not lose the nearest edge itself.
        let reach_squared = (reach * (1.0 + 1e-9)).powi(2);
        let near = |edge: &&Edge| squared_distance(**edge, self.middle) <= reach_squared;
        let edges: Rc<[Edge]> = self.edges.iter().filter(near).copied().collect();
        let half = self.half / 2.0;
        [(-half, -half), (half, -half), (-half, half), (half, half)].map(|(dx, dy)| {
            let middle = [self.middle[0] + dx, self.middle[1] + dy];
            // No edge lies within the clearance, so nothing changes there.
            let open = if distance(middle, self.middle) < self.clearance.abs() {
                self.clearance > 0.0
            } else {
                *work += outline.loops().iter().map(Vec::len).sum::<usize>();
                is_open(outline, middle)
            };
            *work += edges.len() + CELL_WORK;
            let clearance = signed(open, nearest(&edges, middle));
            Cell { middle, half, clearance, edges: Rc::clone(&edges) }
        })
    }
}

impl Ord for Cell {
    fn cmp(&self, other: &Cell) -> Ordering {
        self.bound().total_cmp(&other.bound())
    }
}
impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Cell) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Cell {
    fn eq(&self, other: &Cell) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Cell {}

fn signed(open: bool, distance: f64) -> f64 {
    if open { distance } else { -distance }
}

fn is_open(outline: &Outline, p: Point) -> bool {
    outline.loops().iter().filter(|points| contains(points, p)).count() % 2 == 1
}

/// The distance from `p` to the nearest edge.
fn nearest(edges: &[Edge], p: Point) -> f64 {
    edges.iter().map(|edge| squared_distance(*edge, p)).fold(f64::INFINITY, f64::min).sqrt()
}

fn squared_distance((a, b): Edge, p: Point) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy);
    let t = along.clamp(0.0, 1.0);
    let (ex, ey) = (a[0] + t * dx - p[0], a[1] + t * dy - p[1]);
    ex * ex + ey * ey
}
