//! The moments of an outline: exact sums over its edges.
//!
//! By Green's theorem each Legendre moment ∬_hole P_j(x) P_k(y) dA is a sum over the outline's edges
//! of ∫ Q_j(x) P_k(y) dy, with Q_j = (P_{j+1} - P_{j-1})/(2j+1) the integral of P_j (`DLMF`, 18.9.7 and
//! 18.9.19), done by Gauss points on each edge. Islands and several openings need nothing special.

use super::legendre::{self, Gauss};
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use ndarray::linalg::general_mat_mul;
use rayon::prelude::*;

/// Points on an edge; a longer edge is cut into pieces.
const MOST_POINTS: usize = 16;
/// Polynomial values held at once: with as many weights beside them they fit the second-level cache.
const VALUES_TOGETHER: usize = 1 << 16;
/// Partial sums, made side by side. Their number is fixed, so that the digits are the same whatever
/// the number of threads.
const PARTS: usize = 8;

/// The rectangle that holds an outline: -1..1 on both axes is what the polynomials see.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub(super) centre_mm: Point,
    /// Half its width and its height.
    pub(super) half_mm: Point,
}

/// How finely the edges are to be followed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fineness {
    /// The most that the diffraction integrand's phase turns over one unit of the frame, in rad.
    pub(super) turn: f64,
    /// The error that is allowed, relative to the rim's length times the frame's larger half.
    pub(super) tolerance: f64,
}

/// M_kj = ∬ P_j P_k dA in the frame, in mm²: (row k of y, column j of x), `order` of each.
pub(super) fn moments(
    outline: &Outline,
    frame: Frame,
    order: usize,
    fineness: Fineness,
) -> Array2<f64> {
    let points = EdgePoints::of(outline, frame, fineness);
    let parts: Vec<Array2<f64>> = points.parts().par_iter().map(|p| p.products(order)).collect();
    let sums = parts.into_iter().reduce(|sum, part| sum + part).unwrap_or_default();
    let scale = frame.half_mm[0] * frame.half_mm[1];
    Array2::from_shape_fn((order, order), |(k, j)| {
        // Q_0 = x = P_1; P_{-1} is none.
        let below = if j == 0 { 0.0 } else { sums[[k, j - 1]] };
        scale * (sums[[k, j + 1]] - below) / (2.0 * j as f64 + 1.0)
    })
}

/// Gauss points along edges, in the frame: x, y, and dy times the weight.
#[derive(Default)]
struct EdgePoints {
    x: Vec<f64>,
    y: Vec<f64>,
    weight: Vec<f64>,
}

/// A run of them.
struct Run<'a> {
    x: &'a [f64],
    y: &'a [f64],
    weight: &'a [f64],
}

impl EdgePoints {
    fn of(outline: &Outline, frame: Frame, fineness: Fineness) -> EdgePoints {
        let rules: Vec<Gauss> = (1..=MOST_POINTS).map(Gauss::rule).collect();
        let reach: Vec<f64> =
            (1..=MOST_POINTS).map(|p| largest_turn(p, fineness.tolerance)).collect();
        let scaled = |p: Point| {
            let axis = |i: usize| (p[i] - frame.centre_mm[i]) / frame.half_mm[i];
            [axis(0), axis(1)]
        };
        let mut points = EdgePoints::default();
        for (a, b) in outline.edges() {
            let (a, b) = (scaled(a), scaled(b));
            let along = [b[0] - a[0], b[1] - a[1]];
            // A level edge adds nothing to an integral over dy.
            if along[1] == 0.0 {
                continue;
            }
            let turn = fineness.turn * (along[0].abs() + along[1].abs());
            let pieces = (turn / reach[MOST_POINTS - 1]).ceil().max(1.0);
            let rule = reach.iter().position(|r| *r >= turn / pieces).unwrap_or(MOST_POINTS - 1);
            for piece in 0..pieces as usize {
                let (low, high) = (piece as f64 / pieces, (piece + 1) as f64 / pieces);
                for (s, weight) in rules[rule].on(low, high) {
                    points.x.push(a[0] + s * along[0]);
                    points.y.push(a[1] + s * along[1]);
                    points.weight.push(weight * along[1]);
                }
            }
        }
        points
    }

    fn parts(&self) -> Vec<Run<'_>> {
        let each = self.x.len().div_ceil(PARTS).max(1);
        let runs = self.x.chunks(each).zip(self.y.chunks(each)).zip(self.weight.chunks(each));
        runs.map(|((x, y), weight)| Run { x, y, weight }).collect()
    }
}

impl Run<'_> {
    /// Σ weight P_k(y) P_j(x): (row k below `order`, column j up to `order`).
    fn products(&self, order: usize) -> Array2<f64> {
        let mut sums = Array2::zeros((order, order + 1));
        let together = (VALUES_TOGETHER / order).max(MOST_POINTS);
        let runs = self.x.chunks(together).zip(self.y.chunks(together));
        for ((x, y), weight) in runs.zip(self.weight.chunks(together)) {
            let of_y = legendre::polynomials(y, weight, order);
            let of_x = legendre::polynomials(x, &vec![1.0; x.len()], order + 1);
            general_mat_mul(1.0, &of_y, &of_x.t(), 1.0, &mut sums);
        }
        sums
    }
}

/// The largest turn ψ that a rule of `p` points integrates to `tolerance`: over a unit interval it
/// errs by (p!)⁴ ψ^{2p} / ((2p+1) ((2p)!)³) on exp(iψt) (Abramowitz & Stegun 25.4.30).
fn largest_turn(p: usize, tolerance: f64) -> f64 {
    let ln_factorial = |m: usize| libm::lgamma(m as f64 + 1.0);
    let ln_error = 4.0 * ln_factorial(p) - (2.0 * p as f64 + 1.0).ln() - 3.0 * ln_factorial(2 * p);
    ((tolerance.ln() - ln_error) / (2.0 * p as f64)).exp()
}
