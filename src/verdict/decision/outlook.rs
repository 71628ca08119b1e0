//! What may be done, and what one piece of work would do to a hole whose size is in doubt.

use super::hand::normal_quantile;
use crate::verdict::thresholds::{DONE_JND, TOO_WIDE_JND, WORSE_JND};
use serde::Serialize;

/// Places of a doubtful size.
const DOUBTS: usize = 9;

/// What to do now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Leave the hole as it is.
    Stop,
    /// Widen it to an aim and measure again.
    Enlarge,
    /// Ream it round and measure again.
    Ream,
    /// Take off the burrs and measure again.
    Deburr,
    /// Blow or brush out what lies in it.
    Clean,
    /// Measure it once more before anything else.
    Measure,
    /// Make a new hole.
    StartOver,
}

#[cfg(test)]
impl Action {
    /// Each of them.
    pub(crate) const ALL: [Action; 7] = [
        Action::Stop,
        Action::Enlarge,
        Action::Ream,
        Action::Deburr,
        Action::Clean,
        Action::Measure,
        Action::StartOver,
    ];
}

/// How a hole was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Means {
    /// Traced: a photo, or an outline of another program.
    Outline,
    /// A count under the loupe.
    Count,
    /// A size that somebody states.
    Size,
    /// A zone plate or a photon sieve: nobody works on it by hand.
    Screen,
}

/// How well a hole was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Looked {
    /// How it was measured.
    pub means: Means,
    /// The uncertainty of its equivalent diameter, in mm, expanded (k = 2).
    pub diameter_uncertainty_mm: f64,
    /// Whether it was measured again after the advice to do so.
    pub again: bool,
}

/// What one piece of work on a hole would do.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Prospect {
    /// The loss to expect after it, in jnd.
    pub expected_loss_jnd: f64,
    /// The same as a share, 0..1.
    pub expected_loss: f64,
    /// The chance, 0..1, that the hole ends more than 0.05 jnd worse than it is.
    pub chance_of_ending_worse: f64,
    /// The chance, 0..1, that it ends within 1 jnd.
    pub chance_within_1_jnd: f64,
    /// The chance, 0..1, that it ends wider than the best size of its form.
    pub chance_of_overshooting: f64,
    /// The chance, 0..1, that it ends so wide that a new hole is needed.
    pub chance_of_new_hole: f64,
}

/// The sizes that a hole may have: normal about what was measured, in the logarithm.
pub(super) struct Doubt {
    pub(super) x: f64,
    pub(super) deviation: f64,
}

impl Doubt {
    fn places(&self) -> impl Iterator<Item = f64> + '_ {
        let count = if self.deviation > 0.0 { DOUBTS } else { 1 };
        (0..count).map(move |i| {
            self.x + self.deviation * normal_quantile((i as f64 + 0.5) / count as f64)
        })
    }

    pub(super) fn mean(&self, of: &dyn Fn(f64) -> f64) -> f64 {
        let (sum, count) = self.places().fold((0.0, 0.0), |(sum, n), x| (sum + of(x), n + 1.0));
        sum / count
    }
}

/// A piece of work: what the hole loses by its size before it and after it, and the best size then.
pub(super) struct Work<'a> {
    pub(super) now: &'a dyn Fn(f64) -> f64,
    pub(super) after: &'a dyn Fn(f64) -> f64,
    pub(super) merit: f64,
    pub(super) best: f64,
}

impl Work<'_> {
    /// Over the sizes that the hole may have and the growths, with their chances.
    pub(super) fn prospect(&self, doubt: &Doubt, growths: &[(f64, f64)]) -> Prospect {
        let mut found = Prospect::default();
        let places: Vec<f64> = doubt.places().collect();
        for &x in &places {
            let now = (self.now)(x);
            for &(growth, chance) in growths {
                let chance = chance / places.len() as f64;
                let (end, loss) = (x + growth, (self.after)(x + growth));
                let add = |to: &mut f64, holds: bool| *to += if holds { chance } else { 0.0 };
                found.expected_loss_jnd += chance * loss;
                add(&mut found.chance_of_ending_worse, loss > now + WORSE_JND);
                add(&mut found.chance_within_1_jnd, loss < DONE_JND);
                add(&mut found.chance_of_overshooting, end > self.best);
                add(&mut found.chance_of_new_hole, end > self.best && loss > TOO_WIDE_JND);
            }
        }
        let within = |chance: &mut f64| *chance = chance.clamp(0.0, 1.0);
        for chance in [
            &mut found.chance_of_ending_worse,
            &mut found.chance_within_1_jnd,
            &mut found.chance_of_overshooting,
            &mut found.chance_of_new_hole,
        ] {
            // What adds up to all but rounding is certain.
            *chance = if *chance > 1.0 - 1e-9 { 1.0 } else { *chance };
            within(chance);
        }
        found.expected_loss = (found.expected_loss_jnd / self.merit).clamp(0.0, 1.0);
        found
    }
}
