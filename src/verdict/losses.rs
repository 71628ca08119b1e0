//! Losses against size, in jnd: what one form of hole would lose were it narrower or wider, what it may lose, given how
//! well its size is known, and what the holes of a camera are held against.

use super::merit::{Form, Sheet};
use super::search::cubic;
use super::target::{Discs, Target, best_disc, target_of};
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
        let (sheet, form) = (Sheet::of(camera), Form::of(outline));
        let loss = |i| target.quality - sheet.of_form(&form, scale(i));
        LossBySize { losses: (0..=BELOW + above).into_par_iter().map(loss).collect() }
    }

    /// The same of discs, from a hole of `diameter_mm` on.
    pub(super) fn of_discs(discs: &Discs, target: &Target, diameter_mm: f64) -> LossBySize {
        let largest = LARGEST.max(BEYOND_BEST * target.diameter_mm / diameter_mm);
        let last = BELOW + (largest.ln() / STEP.ln()).ceil() as usize;
        discs.fill(diameter_mm * scale(0), diameter_mm * scale(last));
        let loss = |i| target.quality - discs.at_mm(diameter_mm * scale(i));
        LossBySize { losses: (0..=last).map(loss).collect() }
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

/// What the holes of a camera are held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// The best disc of the camera as it is.
    pub target: Target,
    /// What discs of the camera lose, by their size over the best one's.
    pub discs: LossBySize,
    /// The merit of the best disc were nothing to move.
    pub(super) unmoved: f64,
    /// And in a plate without thickness besides.
    pub(super) ideal: f64,
}

/// The narrowest disc of which the loss is computed, over the best one: less by the steps below a hole's own size.
const NARROWEST: f64 = 0.55;

impl Reference {
    /// What a disc loses, in jnd, whose diameter has this logarithm over the best one's.
    pub fn disc_jnd(&self, x: f64) -> f64 {
        self.discs.at(x.exp() / NARROWEST).max(0.0)
    }

    /// Of a camera; what it has not is not searched for.
    pub fn of(camera: &Camera) -> Reference {
        let best = |camera: &Camera, is_same: bool, known: f64| {
            if is_same { known } else { best_disc(camera).1 }
        };
        let of_own = Discs::of(camera);
        let own = target_of(camera, &of_own);
        let still = Camera { support: None, ..camera.clone() };
        let unmoved = best(&still, camera.support.is_none(), own.quality);
        let thin = Camera { plate_mm: 0.0, ..still };
        let ideal = best(&thin, camera.plate_mm == 0.0, unmoved);
        let discs = LossBySize::of_discs(&of_own, &own, NARROWEST * own.diameter_mm);
        Reference { target: own, discs, unmoved, ideal }
    }
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
#[path = "losses_tests.rs"]
mod tests;
