//! What each piece of work is worth in the end: a small dynamic program over the hole's size.
//!
//! x is the logarithm of the diameter over the best disc's. A hole in a state (its form, a burr) may be left as it is,
//! which costs what it loses; or be worked on, which costs the price of the work and then what the best that can be done
//! from there costs, on average over how the work may go. Holes only grow, so one sweep from the widest size down solves
//! it, and a few sweeps settle the price of a new hole, from which starting over follows. All costs are in jnd
//! ([`crate::verdict::thresholds`] has the prices).
//!
//! So few places cut the tails: the price of a new hole comes out 0.1 to 0.3 jnd low, and what is advised costs 0.00 to
//! 0.02 jnd more than by a fine solution.

use super::hand::Hand;
use crate::verdict::thresholds::{
    BURR_JND, CLEANING_JND, DEBURRING_GROWTH, DEBURRING_JND, NEW_HOLE_JND, NEW_HOLE_SIZES,
    PASS_JND, REAMING_GROWTH, REAMING_JND,
};

/// Sizes that are looked at: from 0.45 to 1.65 times the best.
const LOWEST: f64 = -0.8;
const STEP: f64 = 0.02;
const SIZES: usize = 66;
/// Growths that a pass may aim at.
const AIMS: [f64; 12] = [0.01, 0.02, 0.03, 0.045, 0.06, 0.08, 0.11, 0.14, 0.18, 0.22, 0.26, 0.3];
/// Places of the hand.
const HAND: usize = 9;
/// Sweeps in which the price of a new hole settles.
const SWEEPS: usize = 4;
/// Burrs that a pass may leave: none, and those of [`BURR_JND`].
const BURRS: usize = 1 + BURR_JND.len();

/// What a hole loses at each size that is looked at, in jnd, in each of its forms.
#[derive(Debug, Clone, PartialEq)]
pub struct Losses {
    /// With its burrs and what lies in it.
    as_it_is: Vec<f64>,
    /// Without them.
    smooth: Vec<f64>,
    /// As a disc.
    round: Vec<f64>,
    /// The smallest disc around the smooth form over the disc of its area, as a logarithm.
    around: f64,
    /// What takes away burrs and specks, where there are any.
    removal: Option<Removal>,
}

/// What takes away what stands or lies in a hole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Removal {
    /// Fine abrasive, which widens the hole too.
    Deburring,
    /// A breath or a brush, which does not.
    Cleaning,
}

/// What each piece of work costs in the end, all that follows included, in jnd.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Costs {
    /// Leaving it.
    pub stop: f64,
    /// One widening pass, aimed as well as can be.
    pub enlarge: f64,
    /// Reaming it round.
    pub ream: f64,
    /// Taking off burrs or debris.
    pub remove: f64,
    /// A new hole.
    pub start_over: f64,
    /// The growth at which the pass should aim.
    pub aim: f64,
}

impl Losses {
    /// Of a hole from its losses in each form as functions of x.
    pub fn of(
        as_it_is: impl Fn(f64) -> f64,
        smooth: impl Fn(f64) -> f64,
        round: impl Fn(f64) -> f64,
        around: f64,
        removal: Option<Removal>,
    ) -> Losses {
        let over = |of: &dyn Fn(f64) -> f64| (0..SIZES).map(|i| of(place(i))).collect();
        Losses {
            as_it_is: over(&as_it_is),
            smooth: over(&smooth),
            round: over(&round),
            around,
            removal,
        }
    }

    /// Of a disc.
    pub fn of_disc(round: impl Fn(f64) -> f64) -> Losses {
        Losses::of(&round, &round, &round, 0.0, None)
    }

    /// The mean over what a size may be, `deviation` in the logarithm: what is decided by a doubtful size meets.
    #[must_use]
    pub fn over_doubt(&self, deviation: f64) -> Losses {
        if deviation <= 0.0 {
            return self.clone();
        }
        let places: Vec<f64> =
            (0..9).map(|i| super::hand::normal_quantile((f64::from(i) + 0.5) / 9.0)).collect();
        let mean = |losses: &Vec<f64>| -> Vec<f64> {
            let at = |x: f64| {
                places.iter().map(|z| between(losses, x + deviation * z)).sum::<f64>()
                    / places.len() as f64
            };
            (0..SIZES).map(|i| at(place(i))).collect()
        };
        Losses {
            as_it_is: mean(&self.as_it_is),
            smooth: mean(&self.smooth),
            round: mean(&self.round),
            ..self.clone()
        }
    }
}

/// The solved program.
#[derive(Debug, Clone)]
pub struct Plan {
    losses: Losses,
    /// What a disc costs in the end at each size, by the burr that a pass left on it.
    round: Vec<[f64; BURRS]>,
    smooth: Vec<[f64; BURRS]>,
    /// Means over the burr that the next pass may leave.
    after_round: Vec<f64>,
    after_smooth: Vec<f64>,
    as_it_is: Vec<f64>,
    hand: Vec<(f64, f64)>,
    burr_chance: f64,
    new_hole: f64,
}

fn place(i: usize) -> f64 {
    LOWEST + STEP * i as f64
}

/// A value between those of the sizes, on a straight line; beyond them that of the last.
fn between(values: &[f64], x: f64) -> f64 {
    let at = ((x - LOWEST) / STEP).clamp(0.0, (values.len() - 1) as f64);
    let i = (at as usize).min(values.len() - 2);
    let part = at - i as f64;
    values[i] * (1.0 - part) + values[i + 1] * part
}

impl Plan {
    /// Solves it for a hole's losses and a hand.
    pub fn solve(losses: &Losses, hand: &Hand) -> Plan {
        let zero = vec![[0.0; BURRS]; SIZES];
        let mut plan = Plan {
            losses: losses.clone(),
            round: zero.clone(),
            smooth: zero,
            after_round: losses.round.clone(),
            after_smooth: losses.smooth.clone(),
            as_it_is: losses.as_it_is.clone(),
            hand: hand.places(HAND).into_iter().map(|(r, chance)| (r.exp(), chance)).collect(),
            burr_chance: hand.burr_chance,
            new_hole: NEW_HOLE_JND + 2.0 * PASS_JND,
        };
        for _ in 0..SWEEPS {
            plan.sweep();
        }
        plan
    }

    fn sweep(&mut self) {
        let is_round = self.losses.around < 1e-9 && self.losses.smooth == self.losses.round;
        for i in (0..SIZES).rev() {
            // A growth of less than a step leads partly back to the size itself: taken twice.
            for _ in 0..2 {
                let x = place(i);
                let pass = self.pass(x, &self.after_round).0;
                let deburred = DEBURRING_JND + self.grown(&DEBURRING_GROWTH, x, &self.clean(true));
                self.round[i] = self.burred(self.losses.round[i], pass, deburred);
                self.after_round[i] = self.after(&self.round[i]);
                if is_round {
                    self.smooth[i] = self.round[i];
                    self.after_smooth[i] = self.after_round[i];
                } else {
                    let ream = self.ream(x);
                    let pass = self.pass(x, &self.after_smooth).0.min(ream);
                    let deburred =
                        DEBURRING_JND + self.grown(&DEBURRING_GROWTH, x, &self.clean(false));
                    self.smooth[i] = self.burred(self.losses.smooth[i], pass, deburred);
                    self.after_smooth[i] = self.after(&self.smooth[i]);
                }
                let costs = self.costs(x);
                self.as_it_is[i] = costs.least();
            }
        }
        let begun = NEW_HOLE_SIZES.iter().map(|size| between(&self.after_round, size.ln()));
        self.new_hole = NEW_HOLE_JND + begun.sum::<f64>() / NEW_HOLE_SIZES.len() as f64;
    }

    /// Costs of a size without a burr, in a form.
    fn clean(&self, is_round: bool) -> Vec<f64> {
        let of = if is_round { &self.round } else { &self.smooth };
        of.iter().map(|costs| costs[0]).collect()
    }

    /// The least cost of a size by its burr, from what it loses without one.
    fn burred(&self, loss: f64, pass: f64, deburred: f64) -> [f64; BURRS] {
        let mut costs = [0.0; BURRS];
        for (k, cost) in costs.iter_mut().enumerate() {
            let burr = if k == 0 { 0.0 } else { BURR_JND[k - 1] };
            let work = if k == 0 { pass } else { pass.min(deburred) };
            *cost = (loss + burr).min(work).min(self.new_hole);
        }
        costs
    }

    /// What is to be expected of a size to which a pass has led, with or without a burr.
    fn after(&self, costs: &[f64; BURRS]) -> f64 {
        let burred = costs[1..].iter().sum::<f64>() / BURR_JND.len() as f64;
        (1.0 - self.burr_chance) * costs[0] + self.burr_chance * burred
    }

    /// The cost of a pass that is aimed as well as can be, and that aim.
    fn pass(&self, x: f64, after: &[f64]) -> (f64, f64) {
        let of = |aim: f64| PASS_JND + self.aimed(x, aim, after);
        let costs = AIMS.map(|aim| (of(aim), aim));
        costs.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::INFINITY, 0.0))
    }

    fn aimed(&self, x: f64, aim: f64, after: &[f64]) -> f64 {
        self.hand.iter().map(|(gain, chance)| chance * between(after, x + aim * gain)).sum()
    }

    fn grown(&self, growths: &[f64; 3], x: f64, after: &[f64]) -> f64 {
        growths.iter().map(|growth| between(after, x + growth)).sum::<f64>() / 3.0
    }

    /// Reaming takes the hole out to the farthest point of its rim, and as much beyond as a pass that aims at the least
    /// that cuts, or at more.
    fn ream(&self, x: f64) -> f64 {
        let from = x + self.losses.around;
        let least = self.aimed(from, REAMING_GROWTH, &self.after_round);
        let more = self.pass(from, &self.after_round).0 - PASS_JND;
        REAMING_JND + least.min(more)
    }

    /// What each piece of work costs on the hole as it is, at a size.
    pub fn costs(&self, x: f64) -> Costs {
        // Until something is taken off, the hole keeps its burrs at every size.
        let own = match self.losses.removal {
            None => &self.after_smooth,
            Some(_) => &self.as_it_is,
        };
        let (enlarge, aim) = self.pass(x, own);
        let remove = match self.losses.removal {
            None => f64::INFINITY,
            Some(Removal::Deburring) => {
                DEBURRING_JND + self.grown(&DEBURRING_GROWTH, x, &self.clean(false))
            }
            Some(Removal::Cleaning) => CLEANING_JND + between(&self.clean(false), x),
        };
        let ream = if self.losses.around > 1e-9 { self.ream(x) } else { f64::INFINITY };
        Costs {
            stop: between(&self.losses.as_it_is, x),
            enlarge,
            ream,
            remove,
            start_over: self.new_hole,
            aim,
        }
    }

    /// What a round hole costs in the end at a size, if a pass has left it a burr of this kind (0: none), and what is
    /// best done: for comparing rules with what can be reached.
    pub fn best_on_disc(&self, x: f64, burr: usize) -> Best {
        let (pass, aim) = self.pass(x, &self.after_round);
        let cost = if burr == 0 { 0.0 } else { BURR_JND[burr - 1] };
        let stop = between(&self.losses.round, x) + cost;
        let deburr = DEBURRING_JND + self.grown(&DEBURRING_GROWTH, x, &self.clean(true));
        let least = stop.min(pass).min(self.new_hole);
        if burr > 0 && deburr < least {
            Best::Deburr
        } else if stop <= least {
            Best::Stop
        } else if pass <= least {
            Best::Aim(aim)
        } else {
            Best::StartOver
        }
    }

    /// The price of a new hole, its passes and what it will lose included, in jnd.
    pub fn new_hole_jnd(&self) -> f64 {
        self.new_hole
    }
}

/// What is best done with a round hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Best {
    /// Leave it.
    Stop,
    /// One pass that aims at this growth.
    Aim(f64),
    /// Take the burr off.
    Deburr,
    /// A new hole.
    StartOver,
}

impl Costs {
    fn least(&self) -> f64 {
        self.stop.min(self.enlarge).min(self.ream).min(self.remove).min(self.start_over)
    }
}

#[cfg(test)]
#[path = "plan_tests.rs"]
mod tests;
