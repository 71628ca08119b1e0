//! What to do with a hole: the rule, and what it rests on.
//!
//! A loss is in jnd, just-noticeable differences against the best round hole of this very camera. Below 1 no eye can
//! tell. The rule, as one maker would tell it to another:
//!
//! 1. **Within 1 jnd: stop**, whatever could still be gained. Up to 3 jnd on the wide side: stop too, for metal cannot
//!    be put back, and a new hole costs more than it gains. (Within about 14 % and 24 % of the best diameter.)
//! 2. **Too small by more: one more pass, aimed at a part of the gap**: from d towards the best size d₀ to
//!    d (d₀/d)^f, f = 0.42 for a hand that nobody knows, more for a steady one, less for a heavy or wild one. Measure;
//!    again from 1. Never "so many more passes".
//! 3. **The form at fault: ream round**, where that is cheaper than widening the hole as it is, or gains half a jnd.
//! 4. **Deburr last**, when the size is done and half a jnd is gained, what the abrasive widens included, or where it
//!    saves a hole from 5. Clean likewise.
//! 5. **Above 3 jnd and too wide, or nothing within reach below 3: start over**, after one more measurement where the doubt
//!    of the size reaches below 3. Never while the hole is only too small.
//! 6. Work that is not expected to better the hole is never named; where only the doubt of its size hides whether it
//!    does, measure.
//!
//! What that costs, in jnd a hole: what is lost in the end, and the work at our guess of its price, without the first
//! hole. 100 000 simulated makers of each kind (`examples/makers.rs`); random error 0.01.
//!
//! | | | best possible, hand known | this rule, six passes logged | no log | ±10 %: widen to 0.9 | widen to 0.98 | the former rule |
//! |---|---|---|---|---|---|---|---|
//! | count | careful | 1.14 | 1.21 | 1.28 | 2.27 | 2.63 | 2.73 |
//! | | bold | 1.41 | 1.48 | 1.59 | 1.79 | 2.37 | 2.02 |
//! | | clumsy | 1.81 | 1.92 | 2.01 | 2.15 | 2.88 | 2.19 |
//! | photo | careful | 1.05 | 1.15 | 1.24 | 2.20 | 2.55 | 2.67 |
//! | | bold | 1.31 | 1.39 | 1.51 | 1.70 | 2.21 | 1.99 |
//! | | clumsy | 1.72 | 1.83 | 1.92 | 2.05 | 2.70 | 2.16 |
//!
//! There is no test of expected gain between 1 and 3 jnd: small passes add up, and such a test costs 0.35 jnd a hole
//! (computed with simulated makers, `examples/makers.rs`). 1 jnd is not the cheapest place to stop for every hand, but
//! within 0.1 of it. Burrs, doubt and the plate's thickness never make the advice bolder: whether to widen is judged
//! without burrs, at the size that was measured, and thick metal is a note. (A wide hole that its burrs bring above 3 jnd,
//! and that is still above when they are off, is above 3.)
//!
//! [`plan`] says what each piece of work costs in the end; where the two cheapest cost nearly the same, either is
//! right, and the answer says so.

pub mod hand;
pub mod outlook;
pub mod plan;

use crate::verdict::appraise::Appraisal;
use crate::verdict::losses::{LossBySize, Reference, SizeDoubt};
use crate::verdict::thresholds::{
    DEBURRING_GROWTH, DONE_JND, EITHER_JND, LEAST_AIM, NAMED_GAIN_JND, REAMING_GROWTH,
    REWORK_GAIN_JND, TOO_WIDE_JND,
};
use hand::Hand;
use outlook::{Action, Doubt, Looked, Prospect, Work};
use plan::{Costs, Losses, Plan, Removal};
use serde::Serialize;

/// Places of the hand for the outlook of one piece of work.
const HAND: usize = 99;

/// What the rule looks at. All losses in jnd, at the size that was measured: doubt makes no advice bolder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// The loss as it is.
    pub now: f64,
    /// The loss without burrs and debris.
    pub smooth: f64,
    /// Whether a pass is expected to help: a wider hole of the same form would lose less.
    pub is_small: bool,
    /// What takes off what stands or lies in it, and the loss to expect after that.
    pub removal: Option<(Removal, f64)>,
    /// What reaming it round would do, where that is expected to help.
    pub reaming: Option<Reaming>,
    /// The least loss that widening or reaming could reach.
    pub within_reach: f64,
}

/// What reaming a hole round would do, in jnd.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reaming {
    /// What it saves in the end against leaving the hole as it is.
    pub saves_on_stopping: f64,
    /// What it saves in the end against widening the hole.
    pub saves_on_widening: f64,
    /// The loss to expect after it.
    pub after: f64,
}

impl Standing {
    /// A round clean hole.
    pub fn of_disc(loss_jnd: f64, is_small: bool) -> Standing {
        Standing {
            now: loss_jnd,
            smooth: loss_jnd,
            is_small,
            removal: None,
            reaming: None,
            within_reach: if is_small { 0.0 } else { loss_jnd },
        }
    }

    /// The rule: see the module's page.
    pub fn action(&self) -> Action {
        if self.now < DONE_JND {
            return Action::Stop;
        }
        if self.is_small && self.smooth >= DONE_JND {
            return match self.reaming {
                _ if self.within_reach > TOO_WIDE_JND => Action::StartOver,
                Some(reaming) if reaming.saves_on_widening > EITHER_JND => Action::Ream,
                _ => Action::Enlarge,
            };
        }
        // The size is done, or too wide: what is left is worth its work, or saves the hole.
        let is_lost = self.now > TOO_WIDE_JND;
        let is_worth = |after: f64, gain: f64| {
            after <= TOO_WIDE_JND && gain > 0.0 && (is_lost || gain >= REWORK_GAIN_JND)
        };
        match (self.removal, self.reaming) {
            (Some((removal, after)), _) if is_worth(after, self.now - after) => removal.action(),
            (_, Some(reaming)) if is_worth(reaming.after, reaming.saves_on_stopping) => {
                Action::Ream
            }
            _ if is_lost => Action::StartOver,
            _ => Action::Stop,
        }
    }

    /// The least loss to expect of the hole after any one piece of work, or as it is.
    pub fn least_to_expect(&self) -> f64 {
        let removed = self.removal.map_or(self.now, |(_, after)| after);
        let reamed = self.reaming.map_or(self.now, |reaming| reaming.after);
        let widened = if self.is_small { self.within_reach } else { self.now };
        self.now.min(removed).min(reamed).min(widened)
    }
}

impl Removal {
    /// The action that it is.
    fn action(self) -> Action {
        match self {
            Removal::Deburring => Action::Deburr,
            Removal::Cleaning => Action::Clean,
        }
    }

    /// What it may grow the hole by: equally likely.
    fn growths(self) -> Vec<(f64, f64)> {
        match self {
            Removal::Deburring => DEBURRING_GROWTH.map(|growth| (growth, 1.0 / 3.0)).to_vec(),
            Removal::Cleaning => vec![(0.0, 1.0)],
        }
    }
}

/// Another action and what it costs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Alternative {
    /// The action.
    pub action: Action,
    /// What it costs more in the end, in jnd; below zero where it costs less.
    pub cost_more_jnd: f64,
}

/// What was weighed of a hole.
pub(super) struct Weighed {
    pub(super) standing: Standing,
    pub(super) costs: Costs,
    pub(super) expected_jnd: f64,
    pub(super) aim_mm: f64,
    /// The part of the way to the best size of its form that it is.
    pub(super) aim_part: f64,
    pub(super) pass: Prospect,
    pub(super) ream: Option<Prospect>,
    pub(super) removal: Option<(Removal, Prospect)>,
}

impl Weighed {
    /// Of a hole whose diameter is known to `deviation`, in the logarithm. Of a rim that nobody saw nothing is reamed.
    pub(super) fn of(
        reference: &Reference,
        appraisal: &Appraisal,
        deviation: f64,
        rim_seen: bool,
        hand: &Hand,
    ) -> Weighed {
        let target = &reference.target;
        let merit = target.quality;
        let x = (appraisal.smooth_diameter_mm / target.diameter_mm).ln();
        let at = |sizes: &LossBySize, y: f64| sizes.at((y - x).exp()).max(0.0);
        let as_it_is = |y: f64| at(&appraisal.sizes, y);
        let smooth = |y: f64| at(&appraisal.smooth_sizes, y);
        let round = |y: f64| reference.disc_jnd(y);
        let kind = match (appraisal.burrs, appraisal.specks) {
            (0, 0) => None,
            (0, _) => Some(Removal::Cleaning),
            _ => Some(Removal::Deburring),
        };
        let around = if rim_seen {
            (appraisal.around_mm / appraisal.smooth_diameter_mm).ln().max(0.0)
        } else {
            0.0
        };
        let losses = Losses::of(as_it_is, smooth, round, around, kind);
        let (factor, least) = appraisal.smooth_sizes.best_from(1.0);
        let gap = factor.ln();
        let (surely, doubt) = (Doubt { x, deviation: 0.0 }, Doubt { x, deviation });
        let hands = hand.places(HAND);
        let grown = |from: f64, aim: f64| -> Vec<(f64, f64)> {
            hands.iter().map(|(r, chance)| (from + aim * r.exp(), *chance)).collect()
        };
        let widening = Work { now: &as_it_is, after: &as_it_is, merit, best: x + gap };
        let pass_of = |doubt: &Doubt| {
            let now = doubt.mean(&as_it_is);
            // A pass that is not expected to help aims at less, down to the least that hands can do.
            let mut aim = (hand.aim_share * gap).max(LEAST_AIM);
            loop {
                let pass = widening.prospect(doubt, &grown(0.0, aim));
                if pass.expected_loss_jnd < now || aim <= LEAST_AIM {
                    return (aim, pass);
                }
                aim = (aim / 2.0).max(LEAST_AIM);
            }
        };
        let reamed = (hand.aim_share * -(x + around)).max(REAMING_GROWTH);
        let ream_of = |doubt: &Doubt| {
            Work { now: &as_it_is, after: &round, merit, best: 0.0 }
                .prospect(doubt, &grown(around, reamed))
        };
        let removal_of = |doubt: &Doubt| {
            let work = Work { now: &as_it_is, after: &smooth, merit, best: x + gap };
            kind.map(|kind| (kind, work.prospect(doubt, &kind.growths())))
        };
        let now = as_it_is(x);
        let standing = Standing {
            now,
            smooth: smooth(x),
            is_small: gap > 0.005 && pass_of(&surely).1.expected_loss_jnd <= now - NAMED_GAIN_JND,
            removal: removal_of(&surely).map(|(kind, after)| (kind, after.expected_loss_jnd)),
            reaming: rim_seen
                .then(|| ream_of(&surely).expected_loss_jnd)
                .filter(|after| *after < now)
                .map(|after| {
                    let costs = Plan::solve(&losses, hand).costs(x);
                    Reaming {
                        saves_on_stopping: costs.stop - costs.ream,
                        saves_on_widening: costs.enlarge - costs.ream,
                        after,
                    }
                }),
            within_reach: least.max(0.0).min(round((x + around).max(0.0))),
        };
        let (aim, pass) = pass_of(&doubt);
        Weighed {
            standing,
            costs: Plan::solve(&losses.over_doubt(deviation), hand).costs(x),
            expected_jnd: doubt.mean(&as_it_is),
            aim_mm: appraisal.smooth_diameter_mm * aim.exp(),
            aim_part: if gap > aim { aim / gap } else { 1.0 },
            pass,
            ream: rim_seen.then(|| ream_of(&doubt)),
            removal: removal_of(&doubt),
        }
    }

    fn helps(&self, prospect: &Prospect) -> bool {
        prospect.expected_loss_jnd <= self.expected_jnd - NAMED_GAIN_JND
    }

    /// The rule, where the doubt of the size leaves work to be worth it: work that is not expected to help is never
    /// named.
    pub(super) fn action(&self, doubt: &SizeDoubt, looked: Looked) -> Action {
        let action = self.standing.action();
        let is_hidden_by_doubt = match action {
            Action::StartOver => !self.standing.is_small && doubt.least_loss_jnd <= TOO_WIDE_JND,
            Action::Enlarge => !self.helps(&self.pass),
            Action::Ream => !self.ream.is_some_and(|ream| self.helps(&ream)),
            Action::Deburr | Action::Clean => {
                !self.removal.is_some_and(|(_, removal)| self.helps(&removal))
            }
            Action::Stop | Action::Measure => false,
        };
        match action {
            _ if !is_hidden_by_doubt => action,
            _ if !looked.again => Action::Measure,
            Action::StartOver => Action::StartOver,
            _ => Action::Stop,
        }
    }

    /// What costs nearly the same in the end as the action, and helps. Nothing does where no eye can tell.
    pub(super) fn alternative(&self, action: Action) -> Option<Alternative> {
        if action == Action::Stop && self.standing.now < DONE_JND {
            return None;
        }
        let removal = self.removal.map_or(Action::Deburr, |(kind, _)| kind.action());
        let helps = |prospect: Option<Prospect>| prospect.is_some_and(|one| self.helps(&one));
        let all = [
            (Action::Stop, self.costs.stop, true),
            (Action::Enlarge, self.costs.enlarge, helps(Some(self.pass))),
            (Action::Ream, self.costs.ream, helps(self.ream)),
            (removal, self.costs.remove, helps(self.removal.map(|(_, one)| one))),
            // Never while a hole is only too small.
            (Action::StartOver, self.costs.start_over, !self.standing.is_small),
        ];
        let own = all.iter().find(|one| one.0 == action)?.1;
        let others = all.into_iter().filter(|one| one.0 != action && one.2);
        let (other, cost, _) = others.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let cost_more_jnd = cost - own;
        (cost_more_jnd.abs() < EITHER_JND).then_some(Alternative { action: other, cost_more_jnd })
    }
}

#[cfg(test)]
#[path = "decision_tests.rs"]
mod tests;
