//! The mean profile of light across a rim: its blur, and how well its place is known.

use crate::geometry::signed_area;
use ndarray::Array2;
use std::f64::consts::PI;

/// How well half way between two levels is known, as a share of the step. Common practice, no source.
const LEVEL_DOUBT: f64 = 0.015;
/// What pixels and their interpolation leave, in pixels. Measured on drawn photos, with room.
const PIXEL_DOUBT: f64 = 0.03;

/// The rim's mean profile from inside to outside.
pub(super) struct Edge {
    /// As the σ of a Gaussian, in pixels.
    pub(super) sigma_px: f64,
    /// How far 80 % lies inside half way, over how far 20 % lies outside it: 1 on a Gaussian edge.
    pub(super) balance: f64,
}

impl Edge {
    /// From the places where the mean profile across the rim passes 80 % and 20 %: 2 × 0.8416 σ apart
    /// on a Gaussian edge (Φ⁻¹(0.8)). The pixels' own width and the interpolation are in it, and have
    /// moved the contour too.
    pub(super) fn of(open: &Array2<f32>, rim: &[[f64; 2]]) -> Edge {
        const STEP: f64 = 0.25;
        const REACH: i32 = 40;
        let outwards = signed_area(rim).signum();
        let mut sums = vec![(0.0, 0usize); (2 * REACH + 1) as usize];
        // Normals over a few vertices: single edges of the contour zigzag.
        let span = (rim.len() / 100).clamp(2, 8);
        for (i, point) in rim.iter().enumerate() {
            let (a, b) = (rim[(i + rim.len() - span) % rim.len()], rim[(i + span) % rim.len()]);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let length = dx.hypot(dy);
            if length < 1e-9 {
                continue;
            }
            let normal = [outwards * dy / length, -outwards * dx / length];
            for (k, sum) in sums.iter_mut().enumerate() {
                let t = (k as i32 - REACH) as f64 * STEP;
                if let Some(v) = sampled(open, point[0] + t * normal[0], point[1] + t * normal[1]) {
                    *sum = (sum.0 + v, sum.1 + 1);
                }
            }
        }
        let profile: Vec<f64> =
            sums.iter().map(|(sum, count)| sum / (*count).max(1) as f64).collect();
        let middle = REACH as usize;
        let crossing = |level: f64, outward: bool| -> f64 {
            let mut k = middle;
            loop {
                let next = if outward { k + 1 } else { k.wrapping_sub(1) };
                let Some(value) = profile.get(next) else { return REACH as f64 * STEP };
                if (*value < level) == outward {
                    let share = (profile[k] - level) / (profile[k] - value);
                    return (k.abs_diff(middle) as f64 + share) * STEP;
                }
                k = next;
            }
        };
        let (outside, inside) = (crossing(0.2, true), crossing(0.8, false));
        Edge {
            sigma_px: (outside + inside) / (2.0 * 0.8416),
            balance: inside.max(STEP / 4.0) / outside.max(STEP / 4.0),
        }
    }

    /// The share of the bright half of the edge that was cut off by white, 0..1: on a whole edge
    /// 80 % and 20 % lie equally far from half way. `bright` when the hole is the bright side.
    pub(super) fn cut_share(&self, bright: bool) -> f64 {
        let kept = if bright { self.balance } else { 1.0 / self.balance };
        (1.0 - kept).clamp(0.0, 1.0)
    }

    /// Noise: each stretch of the rim as long as the blur is an independent sight of it, its place
    /// uncertain by noise over the slope, √(2π) σ. Levels and pixels move the whole rim, and so does
    /// light cut off by white: by 1.4 to 2.2 σ times the share cut, of the Gaussian edge worked out
    /// for lights of 1.25 and 2 times white.
    pub(super) fn uncertainty_px(&self, noise: f64, cut: f64, perimeter_px: f64) -> f64 {
        let slope = (2.0 * PI).sqrt() * self.sigma_px;
        let sights = (perimeter_px / (2.0 * self.sigma_px).max(1.0)).max(1.0);
        (noise * slope / sights.sqrt())
            .hypot(LEVEL_DOUBT * slope)
            .hypot(PIXEL_DOUBT)
            .hypot(2.0 * cut * self.sigma_px)
    }
}

/// The value between four pixel centres; None outside them.
fn sampled(open: &Array2<f32>, x: f64, y: f64) -> Option<f64> {
    let (rows, columns) = open.dim();
    let (u, v) = (x - 0.5, y - 0.5);
    if u < 0.0 || v < 0.0 || u >= (columns - 1) as f64 || v >= (rows - 1) as f64 {
        return None;
    }
    let (i, j) = (u as usize, v as usize);
    let (s, t) = (u - i as f64, v - j as f64);
    let at = |row: usize, column: usize| f64::from(open[[row, column]]);
    let (top, bottom) =
        ((1.0 - s) * at(j, i) + s * at(j, i + 1), (1.0 - s) * at(j + 1, i) + s * at(j + 1, i + 1));
    Some((1.0 - t) * top + t * bottom)
}
