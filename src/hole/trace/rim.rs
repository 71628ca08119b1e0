//! The rim in its window: levels and contour, each found again from the other.

use super::contour::contours;
use super::edge::{CLEAR_OF_BLUR, Edge, sampled};
use super::openings::Opening;
use super::window::{Levels, Window};
use crate::geometry::{contains, signed_area};
use ndarray::Array2;
use std::f64::consts::PI;

/// Pixels of the smallest island of metal that is no speck.
const LEAST_ISLAND: f64 = 6.0;
/// A contour that differs by more than this factor in width from the spot is not its rim.
const MOST_OFF: f64 = 2.0;
/// The blur that is supposed before any is measured, over the hole's width, and in pixels.
const FIRST_BLUR: f64 = 0.05;
const FIRST_BLUR_PX: [f64; 2] = [1.0, 4.0];
/// Above this share of its radius a hole's blur has dimmed its very middle.
const DIMMING_BLUR: f64 = 0.27;

/// The rim: the levelled light, its contours at half way, and its profile.
pub(super) struct Rim {
    pub(super) open: Array2<f32>,
    /// In the window's frame, the outer rim first, then islands of more than a few pixels.
    pub(super) loops: Vec<Vec<[f64; 2]>>,
    pub(super) edge: Edge,
    /// Of single pixels, as a share of the step.
    pub(super) noise: f64,
}

impl Rim {
    /// Each rim gives the levels for the next: read where its blur is spent, and in the end corrected
    /// by what lies close to it.
    ///
    /// # Errors
    /// When no closed rim is found: the blur, in pixels, if a first one was found and is lost in it.
    pub(super) fn of(window: &Window, opening: &Opening) -> Result<Rim, Option<f64>> {
        let [least, most] = FIRST_BLUR_PX;
        let first_blur = (FIRST_BLUR * opening.diameter).clamp(least, most);
        let mut levels = window.first_levels(opening);
        let mut found = Rim::at(window, opening, &levels, first_blur).ok_or(None)?;
        for _ in 0..2 {
            let sigma = found.edge.sigma_px;
            levels = window.levels(&found.open, &levels, CLEAR_OF_BLUR * sigma);
            found = Rim::at(window, opening, &levels, sigma).ok_or(Some(sigma))?;
        }
        let sigma = found.edge.sigma_px;
        found.corrected(window, opening).ok_or(Some(sigma))
    }

    fn corrected(self, window: &Window, opening: &Opening) -> Option<Rim> {
        let Rim { open, loops, edge, noise } = self;
        let half = 0.5 * (edge.outside + edge.inside * dimmed(&open, loops.first()?, &edge));
        let around = window.within(opening.centre);
        let loops = loops_of(&open, half as f32, around, opening.diameter)?;
        let edge = Edge::of(&open, loops.first()?, edge.sigma_px)?;
        Some(Rim { open, loops, edge, noise })
    }

    fn at(window: &Window, opening: &Opening, levels: &Levels, sigma: f64) -> Option<Rim> {
        let open = window.openness(levels);
        let loops = loops_of(&open, 0.5, window.within(opening.centre), opening.diameter)?;
        let edge = Edge::of(&open, loops.first()?, sigma)?;
        Some(Rim { open, loops, edge, noise: levels.noise })
    }
}

/// By how much the light in the middle of a small blurred hole must be raised to be its own: a disc's
/// middle keeps 1 - exp(-r²/2σ²) of it.
fn dimmed(open: &Array2<f32>, rim: &[[f64; 2]], edge: &Edge) -> f64 {
    let radius = (signed_area(rim).abs() / PI).sqrt();
    if edge.sigma_px < DIMMING_BLUR * radius {
        return 1.0;
    }
    let count = rim.len() as f64;
    let middle = [0, 1].map(|axis: usize| rim.iter().map(|p| p[axis]).sum::<f64>() / count);
    let kept = 1.0 - (-0.5 * (radius / edge.sigma_px).powi(2)).exp();
    sampled(open, middle).map_or(1.0, |light| light / kept)
}

/// The contour nearest in place and size to the spot that was found, and the islands in it.
fn loops_of(
    open: &Array2<f32>,
    level: f32,
    [x, y]: [f64; 2],
    diameter: f64,
) -> Option<Vec<Vec<[f64; 2]>>> {
    let loops = contours(open, level);
    let off = |points: &[[f64; 2]]| {
        let count = points.len() as f64;
        let middle = [0, 1].map(|axis: usize| points.iter().map(|p| p[axis]).sum::<f64>() / count);
        let width = 2.0 * (signed_area(points).abs() / PI).sqrt();
        (width / diameter).ln().abs() + (middle[0] - x).hypot(middle[1] - y) / diameter
    };
    let outer = loops.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    if off(outer) > MOST_OFF.ln() {
        return None;
    }
    // Islands run the other way round than rims of openings.
    let turn = signed_area(outer).signum();
    let is_island = |points: &&Vec<[f64; 2]>| {
        -turn * signed_area(points) > LEAST_ISLAND && contains(outer, points[0])
    };
    let islands: Vec<Vec<[f64; 2]>> = loops.iter().filter(is_island).cloned().collect();
    Some([vec![outer.clone()], islands].concat())
}
