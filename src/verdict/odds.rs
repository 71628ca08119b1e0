//! Losses under what is not known: the hole's own size, and what a piece of work adds to it.

use super::by_size::LossBySize;
use serde::Serialize;
use std::f64::consts::PI;

/// Places of the hole's size, and of the growth, that stand for all. Chances that jump where a loss
/// passes another are right to a five-hundredth with so many, and mean losses far better.
const SIZES: usize = 61;
const GROWTHS: usize = 1201;
/// How far out the places lie, in standard deviations: beyond are 6e-7 of the cases.
const FARTHEST: f64 = 5.0;

/// A growth of the diameter, as a share of it: normal, and no growth where that is below zero, since
/// a hole is widened and never narrowed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation; 0 for a growth that is known.
    pub deviation: f64,
}

/// What one piece of work on a hole would do.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Prospect {
    /// The loss to expect after it, 0..1.
    pub expected_loss: f64,
    /// The chance, 0..1, that the hole ends worse than it is now: a hole can be widened and never
    /// narrowed.
    pub chance_of_overshooting: f64,
    /// The chance, 0..1, that the hole ends wider than every size that loses at most 5 %.
    pub chance_past_band: f64,
}

/// A piece of work: what becomes of the form, and how the size grows.
pub(super) struct Work<'a> {
    /// The losses of the form that it leaves.
    pub(super) after: &'a LossBySize,
    pub(super) growth: Spread,
    /// The factor on the hole's size at which it passes the band.
    pub(super) past: f64,
}

impl Work<'_> {
    /// What it does to a hole that is `size` times as large as was measured, and loses `now`.
    pub(super) fn prospect(&self, size: f64, now: f64) -> Prospect {
        let mut found = Prospect::default();
        for (growth, chance) in self.growth.places(GROWTHS) {
            let size = size * (1.0 + growth.max(0.0));
            let loss = self.after.at(size);
            // Below a millionth nothing is worse, only rounded.
            let worse = loss > now + 1e-6;
            found.add(chance, loss, f64::from(u8::from(worse)), size > self.past);
        }
        found
    }
}

impl Prospect {
    fn add(&mut self, chance: f64, loss: f64, worse: f64, is_past: bool) {
        self.expected_loss += chance * loss;
        self.chance_of_overshooting += chance * worse;
        self.chance_past_band += if is_past { chance } else { 0.0 };
    }

    /// The mean of prospects with their chances.
    pub(super) fn mean(of: impl Iterator<Item = (f64, Prospect)>) -> Prospect {
        of.fold(Prospect::default(), |sum, (chance, one)| Prospect {
            expected_loss: sum.expected_loss + chance * one.expected_loss,
            chance_of_overshooting: sum.chance_of_overshooting
                + chance * one.chance_of_overshooting,
            chance_past_band: sum.chance_past_band + chance * one.chance_past_band,
        })
    }
}

impl Spread {
    /// Places of the normal, with chances that add up to 1; the mean alone where nothing spreads.
    fn places(self, count: usize) -> impl Iterator<Item = (f64, f64)> {
        let Spread { mean, deviation } = self;
        let count = if deviation > 0.0 { count } else { 1 };
        let step = 2.0 * FARTHEST / count as f64;
        let place = move |i: usize| (i as f64 + 0.5) * step - FARTHEST;
        let density = |x: f64| (-0.5 * x * x).exp();
        // The midpoint rule of a normal is right to rounding: ∫ exp(-x²/2) dx = √(2π), DLMF 7.2.1.
        let total = if count == 1 { 1.0 } else { (2.0 * PI).sqrt() / step };
        (0..count).map(move |i| (mean + deviation * place(i), density(place(i)) / total))
    }
}

/// The sizes that a hole may have, over the one that was measured, with their chances: normal, with
/// `relative` as its standard deviation, and never below a third.
pub(super) fn sizes(relative: f64) -> impl Iterator<Item = (f64, f64)> {
    Spread { mean: 1.0, deviation: relative }
        .places(SIZES)
        .map(|(size, chance)| (size.max(1.0 / 3.0), chance))
}

#[cfg(test)]
#[path = "odds_tests.rs"]
mod tests;
