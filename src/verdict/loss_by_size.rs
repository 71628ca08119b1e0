//! The loss of one form of hole against its size, in jnd: what it would lose were it narrower or wider, and what it may
//! lose, given how well its size is known.

use super::quality::{quality, quality_of_disc};
use super::search::cubic;
use super::target::Target;
use super::thresholds::{DONE_JND, TOO_WIDE_JND};
use crate::camera::Camera;
use crate::geometry::Outline;
use rayon::prelude::*;
use serde::Serialize;

/// Sizes lie so far apart, each over the one before it.
const STEP: f64 = 1.08;
/// How many of them lie below the hole's own: down to 0.735 of it.
const BELOW: usize = 4;
/// How wide, over the hole's own size, is looked at least. The widest pass that is believed doubles a
/// hole, and a size may be uncertain by a quarter besides.
const LARGEST: f64 = 2.5;
/// How far beyond the best size is looked.
const BEYOND_BEST: f64 = 1.25;

/// The loss of one form of hole against its size, as a factor on the size that it has, in jnd.
#[derive(Debug, Clone, PartialEq)]
pub struct LossBySize {
    losses: Vec<f64>,
}

impl LossBySize {
    /// Computes the loss at sizes from 0.735 to 2.5 times the hole's own or more, so that the best
    /// size is among them whenever the hole is narrower.
    pub(super) fn of(camera: &Camera, target: &Target, outline: &Outline) -> LossBySize {
        let to_best = target.diameter_mm / outline.equivalent_diameter_mm();
        let largest = LARGEST.max(BEYOND_BEST * to_best);
        let above = (largest.ln() / STEP.ln()).ceil() as usize;
        let loss = |i| target.quality - quality(camera, &outline.scaled(scale(i)));
        LossBySize { losses: (0..=BELOW + above).into_par_iter().map(loss).collect() }
    }

    /// The same of discs, from a hole of `diameter_mm` on.
    pub(super) fn of_discs(camera: &Camera, target: &Target, diameter_mm: f64) -> LossBySize {
        let largest = LARGEST.max(BEYOND_BEST * target.diameter_mm / diameter_mm);
        let above = (largest.ln() / STEP.ln()).ceil() as usize;
        let loss = |i| target.quality - quality_of_disc(camera, diameter_mm * scale(i));
        LossBySize { losses: (0..=BELOW + above).into_par_iter().map(loss).collect() }
    }

    /// The loss of the hole `factor` times as large: the cubic through the four nearest sizes, accurate to
    /// 0.03 jnd where less than 10 are lost and to 0.3 beyond, where the curve is less smooth and
    /// nobody asks so closely. Beyond the sizes that were computed, that of the last.
    pub fn at(&self, factor: f64) -> f64 {
        let last = (self.losses.len() - 1) as f64;
        let place = (BELOW as f64 + factor.ln() / STEP.ln()).clamp(0.0, last);
        let first = (place.floor() as usize).saturating_sub(1).min(self.losses.len() - 4);
        let [a, b, c, d] = std::array::from_fn(|i| self.losses[first + i]);
        cubic([a, b, c, d], place - first as f64)
    }

    /// The best size that widening can reach from `factor` on, and its loss there.
    pub fn best_from(&self, factor: f64) -> (f64, f64) {
        const FINE: f64 = 1.005;
        let last = scale(self.losses.len() - 1);
        let mut best = (factor, self.at(factor));
        let mut next = factor * FINE;
        while next <= last {
            let loss = self.at(next);
            if loss < best.1 {
                best = (next, loss);
            }
            next *= FINE;
        }
        best
    }
}

fn scale(i: usize) -> f64 {
    STEP.powi(i as i32 - BELOW as i32)
}

/// What a hole may lose, given how well its size is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SizeDoubt {
    /// The half-width of the diameter's interval (k = 2) over the diameter.
    pub relative: f64,
    /// The least loss within the interval, in jnd.
    pub least_loss_jnd: f64,
    /// The greatest loss within it, in jnd.
    pub most_loss_jnd: f64,
    /// The least loss within it, as a share of the best disc's merit, 0..1.
    pub least_loss: f64,
    /// The greatest loss within it, as a share, 0..1.
    pub most_loss: f64,
    /// Whether nothing is gained by measuring better: no eye can tell the two apart, or the loss is significant
    /// whatever the size is.
    pub enough: bool,
}

impl SizeDoubt {
    /// Over the interval of sizes `relative` about the hole's own, in 32 steps: losses change slowly. `merit_jnd` is
    /// the best disc's.
    pub fn of(sizes: &LossBySize, relative: f64, merit_jnd: f64) -> SizeDoubt {
        const STEPS: i32 = 16;
        let size = |i: i32| (1.0 + relative * f64::from(i) / f64::from(STEPS)).max(1.0 / 3.0);
        let losses = (-STEPS..=STEPS).map(|i| sizes.at(size(i)).max(0.0));
        let (least, most) = losses
            .fold((f64::INFINITY, 0.0f64), |(least, most), loss| (least.min(loss), most.max(loss)));
        SizeDoubt {
            relative,
            least_loss_jnd: least,
            most_loss_jnd: most,
            least_loss: (least / merit_jnd).min(1.0),
            most_loss: (most / merit_jnd).min(1.0),
            enough: most - least < DONE_JND || least > TOO_WIDE_JND,
        }
    }
}

#[cfg(test)]
#[path = "loss_by_size_tests.rs"]
mod tests;
