//! Stop or go on: a decision between pieces of work whose outcome is not certain.
//!
//! Each is judged by the loss to expect after it, over the sizes that the hole may have and the growth
//! that the work may bring ([`super::odds`]). Work is worth its trouble when it is expected to gain what
//! can be seen, or, while the hole is outside the good sizes, when it is more likely to help than to
//! harm. A hole that no work can bring to what is acceptable is made anew.

use super::appraise::{Appraisal, Causes, Counterfactuals, appraise};
use super::direction::Lines;
use super::doubt::SizeDoubt;
use super::growth::Growth;
use super::odds::{Prospect, Spread, Work, sizes};
use super::reasons::reasons;
use super::setting::{Budget, Corner, Reference};
use super::target::Target;
use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::Outline;
use serde::Serialize;

/// A gain below this is not worth touching the hole again: it is what 10 % off the best diameter
/// costs, which nobody sees. Common practice, no source.
const WORTHWHILE: f64 = 0.02;
/// A hole that loses no more is done: hardly to be seen, even side by side. Common practice, no source.
pub const GOOD_ENOUGH: f64 = 0.05;
/// A loss above this is plainly visible beside the best hole's picture. Common practice, no source.
pub(super) const ACCEPTABLE: f64 = 0.10;
/// Taking off a burr with fine abrasive widens the hole too: mean and standard deviation as shares of
/// the diameter. Common practice, no source.
pub(super) const DEBURRING: Spread = Spread { mean: 0.02, deviation: 0.02 };
/// Loose debris is blown or brushed out, which widens nothing.
const CLEANING: Spread = Spread { mean: 0.0, deviation: 0.0 };
/// Another action that is right with this chance makes the advice a doubtful one.
const DOUBTFUL: f64 = 0.2;

/// What to do now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Leave the hole as it is.
    Stop,
    /// Widen it a little and measure again.
    Enlarge,
    /// Take off what stands or lies in the opening, a burr or debris, and measure again.
    Deburr,
    /// Make a new hole.
    StartOver,
}

/// The decision, and what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// What to do now.
    pub action: Action,
    /// What else might be right, where the doubt of the hole's size decides; null where it does not.
    pub undecided: Option<Undecided>,
    /// Loss of sharpness against the best disc of this camera, 0..1.
    pub loss: f64,
    /// What of that loss each cause makes; together they are the loss.
    pub causes: Causes,
    /// The loss against the best disc in a plate without thickness and without movement, and its
    /// causes, which are all of it.
    pub against_ideal: Budget,
    /// What the plate's thickness does in the corner of the film; null without thickness.
    pub corner: Option<Corner>,
    /// The loss that the hole would have if one thing were done.
    pub counterfactuals: Counterfactuals,
    /// Which lines in the picture suffer most from the hole's form.
    pub lines: Lines,
    /// How many burrs stand into the opening.
    pub burrs: usize,
    /// How many specks lie in it.
    pub specks: usize,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// The loss to expect of the hole as it is, 0..1, over the sizes that it may have.
    pub expected_loss: f64,
    /// What one more widening pass would do.
    pub next_pass: NextPass,
    /// What taking off burrs and debris would do; null where there are none.
    pub deburring: Option<Prospect>,
    /// Whether the hole's size is known well enough.
    pub size_doubt: SizeDoubt,
}

/// What one more widening pass would do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NextPass {
    /// What to expect of it.
    #[serde(flatten)]
    pub prospect: Prospect,
    /// How much it grows the hole, as this maker's passes have taught.
    pub growth: Growth,
}

/// Another action, and the chance that it would be the right one if the size were known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Undecided {
    /// The other action.
    pub other: Action,
    /// Its chance, 0..1.
    pub chance: f64,
}

/// Appraises a hole in a camera and decides. `diameter_uncertainty_mm` is expanded (k = 2).
///
/// # Errors
/// As [`appraise`], and as [`crate::camera::Film::place`].
pub fn verdict(
    camera: &Camera,
    reference: &Reference,
    outline: &Outline,
    diameter_uncertainty_mm: f64,
    growth: &Growth,
) -> Result<Verdict, Error> {
    let target = &reference.target;
    let appraisal = appraise(camera, target, outline)?;
    // The doubt of an outline's diameter is a doubt of its scale.
    let relative = diameter_uncertainty_mm / outline.equivalent_diameter_mm();
    let size_doubt = SizeDoubt::of(&appraisal.sizes, relative);
    let spread = Spread { mean: growth.mean, deviation: growth.deviation };
    let decision = Decision::of(&appraisal, target, relative / 2.0, spread);
    // Sizes that look alike are no matter, whatever would be done about them.
    let undecided = decision.undecided.filter(|_| !size_doubt.enough);
    let decision = Decision { undecided, ..decision };
    let corner = Corner::of(camera, outline)?;
    Ok(Verdict {
        action: decision.action,
        undecided,
        loss: appraisal.loss.clamp(0.0, 1.0),
        causes: appraisal.causes,
        against_ideal: Budget::of(reference, &appraisal.causes),
        corner,
        counterfactuals: appraisal.counterfactuals,
        lines: appraisal.lines,
        burrs: appraisal.burrs,
        specks: appraisal.specks,
        reasons: reasons(&appraisal, target, &decision, &size_doubt, corner.as_ref()),
        expected_loss: decision.outlook.now.clamp(0.0, 1.0),
        next_pass: NextPass { prospect: decision.outlook.pass.within(), growth: *growth },
        deburring: decision.outlook.removal.map(Prospect::within),
        size_doubt,
    })
}

/// What is done, and what was weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Decision {
    pub(super) action: Action,
    pub(super) undecided: Option<Undecided>,
    pub(super) outlook: Outlook,
    /// The growth of a pass that was reckoned with.
    pub(super) growth: Spread,
}

/// What is to be expected of each piece of work on a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Outlook {
    /// The loss without any.
    pub(super) now: f64,
    /// One more widening pass.
    pub(super) pass: Prospect,
    /// Taking off burrs and debris, where there are any.
    pub(super) removal: Option<Prospect>,
    /// The least loss that any work could reach: cleaned, and widened as it is or opened out round.
    pub(super) within_reach: f64,
    /// The loss that opening it out with a round tool leaves, where the form is what costs.
    pub(super) opened_out: Option<f64>,
}

impl Decision {
    /// Over the sizes that the hole may have, `relative` the standard deviation over the size, and the
    /// growth of a pass.
    pub(super) fn of(
        appraisal: &Appraisal,
        target: &Target,
        relative: f64,
        growth: Spread,
    ) -> Decision {
        let each: Vec<(f64, Outlook)> = sizes(relative)
            .map(|(size, chance)| (chance, Outlook::of(appraisal, target, size, growth)))
            .collect();
        let outlook = Outlook::mean(&each);
        let action = outlook.action();
        let chance = |action: Action| -> f64 {
            each.iter().filter(|(_, one)| one.action() == action).map(|(chance, _)| chance).sum()
        };
        let others = [Action::Stop, Action::Enlarge, Action::Deburr, Action::StartOver]
            .into_iter()
            .filter(|other| *other != action)
            .map(|other| Undecided { other, chance: chance(other) });
        let undecided = others
            .max_by(|a, b| a.chance.total_cmp(&b.chance))
            .filter(|other| other.chance >= DOUBTFUL);
        Decision { action, undecided, outlook, growth }
    }
}

impl Outlook {
    /// For a hole `size` times as large as was measured.
    fn of(appraisal: &Appraisal, target: &Target, size: f64, growth: Spread) -> Outlook {
        let past = target.good_enough().high_mm / appraisal.smooth_diameter_mm;
        let now = appraisal.sizes.at(size);
        let work = |after, growth| Work { after, growth, past }.prospect(size, now);
        let removal = match (appraisal.burrs, appraisal.specks) {
            (0, 0) => None,
            (0, _) => Some(work(&appraisal.clean_sizes, CLEANING)),
            _ => Some(work(&appraisal.smooth_sizes, DEBURRING)),
        };
        let opened_out = appraisal.counterfactuals.opened_out;
        let is_form_at_fault = appraisal.causes.form >= WORTHWHILE;
        Outlook {
            now,
            pass: work(&appraisal.sizes, growth),
            removal,
            within_reach: appraisal.smooth_sizes.best_from(size).1.min(opened_out),
            opened_out: is_form_at_fault.then_some(opened_out),
        }
    }

    fn mean(each: &[(f64, Outlook)]) -> Outlook {
        let mean = |part: fn(&Outlook) -> f64| -> f64 {
            each.iter().map(|(chance, one)| chance * part(one)).sum()
        };
        let prospect = |part: fn(&Outlook) -> Option<Prospect>| {
            Prospect::mean(each.iter().filter_map(|(chance, one)| Some((*chance, part(one)?))))
        };
        let is_obstructed = each.iter().any(|(_, one)| one.removal.is_some());
        Outlook {
            now: mean(|one| one.now),
            pass: prospect(|one| Some(one.pass)),
            removal: is_obstructed.then(|| prospect(|one| one.removal)),
            within_reach: mean(|one| one.within_reach),
            // The same for all sizes: by how much it is to be opened out hangs on the rim.
            opened_out: each.first().and_then(|(_, one)| one.opened_out),
        }
    }

    /// The action that is to be expected to lose least, among those worth their trouble.
    fn action(&self) -> Action {
        if self.within_reach > ACCEPTABLE {
            return Action::StartOver;
        }
        let gain = |work: &Prospect| self.now - work.expected_loss;
        let deburring = self.removal.as_ref().map_or(0.0, gain);
        let pass = gain(&self.pass);
        if deburring >= WORTHWHILE && deburring >= pass {
            return Action::Deburr;
        }
        let is_done = self.now <= GOOD_ENOUGH;
        let is_likely_to_help = pass > 0.0 && self.pass.chance_of_overshooting < 0.5;
        let can_be_rounded = self.opened_out.is_some_and(|loss| self.now - loss >= WORTHWHILE);
        if pass >= WORTHWHILE || (!is_done && (is_likely_to_help || can_be_rounded)) {
            Action::Enlarge
        } else if deburring >= WORTHWHILE {
            Action::Deburr
        } else {
            Action::Stop
        }
    }
}

impl Prospect {
    /// With nothing beyond what a share can be: rounding, or a hole a hair better than the best disc.
    fn within(self) -> Prospect {
        let share = |value: f64| value.clamp(0.0, 1.0);
        Prospect {
            expected_loss: share(self.expected_loss),
            chance_of_overshooting: share(self.chance_of_overshooting),
            chance_past_band: share(self.chance_past_band),
        }
    }
}

#[cfg(test)]
#[path = "advice_tests.rs"]
mod tests;
