//! A thin dark line across a hole: a hair or a scratch that the blur leaves too bright to divide it.
//!
//! A pixel belongs to such a line where both sides of it, in one of four directions, are as bright as the hole
//! and it is darker. What hangs together and runs from rim to rim is told. The limits are rules of
//! thumb, tried on drawn and on real photos (common practice, no source).

use super::rim::Rim;
use crate::geometry::{contains, signed_area};
use std::f64::consts::PI;

/// How much darker than its sides a line is, as a share of the step, and as a multiple of the noise of a pixel.
const DARKER: f32 = 0.15;
const NOISE: f64 = 6.0;
/// Both sides of it have at least this share of the hole's light.
const BRIGHT_SIDES: f32 = 0.8;
/// The sides are so far off, in pixels, beside twice the blur.
const AWAY_PX: f64 = 3.0;
/// The length of a line over the hole's diameter.
const LEAST_LENGTH: f64 = 0.5;
/// A line ends so near to the rim, as a multiple of how far off its sides are.
const REACHES: f64 = 2.0;

/// Whether a thin dark line runs across the hole from rim to rim.
pub(super) fn crosses(rim: &Rim) -> bool {
    let Some(outer) = rim.loops.first() else { return false };
    let diameter = 2.0 * (signed_area(outer).abs() / PI).sqrt();
    let away = AWAY_PX + 2.0 * rim.edge.sigma_px;
    if away > LEAST_LENGTH * diameter / 2.0 {
        return false;
    }
    let mut dark = Valleys::of(rim, outer, away.round() as usize);
    while let Some(line) = dark.next_line() {
        let (ends, length) = ends(&line);
        let width = line.len() as f64 / length.max(1.0);
        let reaches = |end: &[f64; 2]| nearest(outer, *end) < REACHES * away;
        if length > LEAST_LENGTH * diameter
            && width < 2.0 * away
            && ends.iter().all(reaches)
            && contains(outer, line[line.len() / 2])
        {
            return true;
        }
    }
    false
}

/// Pixels that are darker than both their sides.
struct Valleys {
    dark: Vec<bool>,
    columns: usize,
    next: usize,
}

impl Valleys {
    fn of(rim: &Rim, outer: &[[f64; 2]], away: usize) -> Valleys {
        let (rows, columns) = rim.open.dim();
        let span = |axis: usize, most: usize| {
            let places = outer.iter().map(|point| point[axis]);
            let (low, high) = places
                .fold((f64::INFINITY, 0.0_f64), |(low, high), at| (low.min(at), high.max(at)));
            (low.max(0.0) as usize).max(away)..((high as usize) + 1).min(most.saturating_sub(away))
        };
        let darker = DARKER.max((NOISE * rim.noise) as f32);
        // The same distance along rows, columns and both diagonals.
        let slant = (away as f64 / std::f64::consts::SQRT_2).round().max(1.0) as isize;
        let away = away as isize;
        let sides = [(0, away), (away, 0), (slant, slant), (slant, -slant)];
        let mut dark = vec![false; rows * columns];
        for row in span(1, rows) {
            for column in span(0, columns) {
                let light = |sign: isize, (down, along): (isize, isize)| {
                    let at = |from: usize, step: isize| from.saturating_add_signed(sign * step);
                    rim.open[[at(row, down), at(column, along)]]
                };
                let least = BRIGHT_SIDES.max(rim.open[[row, column]] + darker);
                dark[row * columns + column] =
                    sides.iter().any(|side| light(1, *side) > least && light(-1, *side) > least);
            }
        }
        Valleys { dark, columns, next: 0 }
    }

    /// The next pixels that hang together, as places (x, y); none when all were given.
    fn next_line(&mut self) -> Option<Vec<[f64; 2]>> {
        self.next += self.dark[self.next..].iter().position(|dark| *dark)?;
        let mut line = Vec::new();
        let mut waiting = vec![self.next];
        self.dark[self.next] = false;
        while let Some(index) = waiting.pop() {
            let (row, column) = (index / self.columns, index % self.columns);
            line.push([column as f64 + 0.5, row as f64 + 0.5]);
            for near in [
                index.wrapping_sub(self.columns + 1),
                index.wrapping_sub(self.columns),
                index.wrapping_sub(self.columns - 1),
                index.wrapping_sub(1),
                index + 1,
                index + self.columns - 1,
                index + self.columns,
                index + self.columns + 1,
            ] {
                // No pixel of the frame is dark, so that no line goes on at the other side.
                if self.dark.get(near).is_some_and(|dark| *dark) {
                    self.dark[near] = false;
                    waiting.push(near);
                }
            }
        }
        Some(line)
    }
}

/// The two ends of a line and how far they are apart: the place farthest from any, and the one farthest from that.
fn ends(line: &[[f64; 2]]) -> ([[f64; 2]; 2], f64) {
    let off = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let farthest = |from: [f64; 2]| {
        let far = line.iter().max_by(|a, b| off(from, **a).total_cmp(&off(from, **b)));
        far.copied().unwrap_or(from)
    };
    let one = farthest(line[0]);
    let other = farthest(one);
    ([one, other], off(one, other))
}

fn nearest(outer: &[[f64; 2]], [x, y]: [f64; 2]) -> f64 {
    outer.iter().map(|p| (p[0] - x).hypot(p[1] - y)).fold(f64::INFINITY, f64::min)
}
