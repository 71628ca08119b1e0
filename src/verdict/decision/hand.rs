//! How a pass goes: a maker's hand, as the passes on record have taught it.
//!
//! A pass that aims at a growth g (the logarithm of the diameter's ratio) grows the hole by g e^r. r is normal, its
//! mean the bias of the hand and its standard deviation the spread; now and then a slip multiplies the growth by four.
//! No pass narrows a hole.
//!
//! **The prior is our guess, no source**: bias 0 ± 0.35; spread about 0.55, its logarithm ± 0.3; one pass in 25 slips;
//! three passes in twenty leave a burr, worth as much as ten passes of one's own. So of an aim of 5 % half the passes
//! give less than 5.2 %, eight of ten 2 to 13 %, and one in 37 more than 25 %.
//!
//! Bias and spread are learnt on a grid: each pass multiplies the weight of each pair by how likely it makes what was
//! measured, slips and the measurement's own error included. One slip does not break it, since the model knows slips;
//! the order of the passes does not matter.

use crate::verdict::search::bisected;
use serde::Serialize;
use std::f64::consts::{LN_2, PI, SQRT_2};

/// The prior of the bias: its standard deviation.
const BIAS: f64 = 0.35;
/// The prior of the spread: its median, and the standard deviation of its logarithm.
const SPREAD: (f64, f64) = (0.55, 0.3);
/// How often a pass slips, and what that multiplies its growth by.
const SLIP: f64 = 0.04;
const SLIP_LN: f64 = 2.0 * LN_2;
/// How often a pass leaves a burr, and how many passes of one's own that weighs as much as.
const BURR: (f64, f64) = (0.15, 10.0);
/// The growth of a pass whose aim nobody wrote down: a careful one. Our guess.
const UNSPOKEN_AIM: f64 = 0.05;
/// How much of the gap is aimed at falls with the spread of the hand: f = exp(-bias - 1.25 spread), which the best aims
/// of the dynamic program follow (see `examples/makers.rs`).
const CAUTION: f64 = 1.25;

/// Biases and spreads of the grid.
const BIASES: usize = 29;
const SPREADS: usize = 15;
/// Passes that count, the last: hands change, and more teach little.
const MOST_PASSES: usize = 24;
/// Places of a measured growth that stand for its doubt.
const DOUBTS: usize = 33;

/// One widening pass: the diameter before it and after it, as measured, and what it aimed at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// The equivalent diameter before the pass, in mm.
    pub from_mm: f64,
    /// The equivalent diameter after it, in mm.
    pub to_mm: f64,
    /// The uncertainty of their difference, in mm, expanded (k = 2); 0 where it is not known.
    pub uncertainty_mm: f64,
    /// The diameter that it aimed at, in mm; none where nobody wrote it down.
    pub aim_mm: Option<f64>,
    /// Whether it left a burr; none where the rim was not looked at before or after it.
    pub burred: Option<bool>,
}

/// What is known of a maker's hand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Hand {
    /// The bias: what a pass gives over what it aims at, in the logarithm.
    pub bias: f64,
    /// The spread of that from pass to pass, and of what is not known of the bias.
    pub spread: f64,
    /// The chance that a pass slips, 0..1.
    pub slip_chance: f64,
    /// The chance that a pass leaves a burr, 0..1.
    pub burr_chance: f64,
    /// The part of the gap to the best size, in the logarithm, that the next pass should aim at.
    pub aim_share: f64,
    /// How many passes it was learnt from.
    pub passes: usize,
    /// What those passes did; nothing without any.
    pub seen: Option<Seen>,
}

/// What the passes on record did, as measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Seen {
    /// The mean growth of the diameter, in mm.
    pub mean_mm: f64,
    /// Its standard deviation from pass to pass, in mm; 0 for a single pass.
    pub deviation_mm: f64,
    /// The middle one of the passes whose aim is known, what it grew over what it aimed at; null without any.
    pub over_aim: Option<f64>,
}

impl Hand {
    /// A hand of which nothing is known but our guess.
    pub fn unknown() -> Hand {
        Hand::learnt(&[])
    }

    /// A hand that is known.
    pub fn known(bias: f64, spread: f64, slip_chance: f64, burr_chance: f64) -> Hand {
        let aim_share = (-bias - CAUTION * spread).exp().min(1.0);
        Hand { bias, spread, slip_chance, burr_chance, aim_share, passes: 0, seen: None }
    }

    /// Our guess, corrected by these passes.
    ///
    /// Left out are passes after which the hole was narrower beyond the doubt of its sizes (it was measured another way,
    /// or is another hole), and what is no diameter.
    pub fn learnt(passes: &[Pass]) -> Hand {
        let passes: Vec<Pass> = passes.iter().copied().filter(Pass::is_believable).collect();
        let recent = &passes[passes.len().saturating_sub(MOST_PASSES)..];
        let grown: Vec<Grown> = recent.iter().map(Grown::of).collect();
        let mut sums = [0.0; 4];
        let mut logs = Vec::with_capacity(BIASES * SPREADS);
        for (bias, spread) in grid() {
            let prior =
                -0.5 * (bias / BIAS).powi(2) - 0.5 * ((spread / SPREAD.0).ln() / SPREAD.1).powi(2);
            let likely: f64 = grown.iter().map(|one| one.likelihood(bias, spread).ln()).sum();
            logs.push((prior + likely, bias, spread));
        }
        let most = logs.iter().map(|one| one.0).fold(f64::NEG_INFINITY, f64::max);
        for (log, bias, spread) in logs {
            let weight = (log - most).exp();
            for (sum, value) in sums.iter_mut().zip([1.0, bias, bias * bias, spread * spread]) {
                *sum += weight * value;
            }
        }
        let [total, bias, square, variance] = sums;
        let bias = bias / total;
        let spread = (variance / total + square / total - bias * bias).sqrt();
        let looked: Vec<bool> = passes.iter().filter_map(|pass| pass.burred).collect();
        let burred = looked.iter().filter(|burred| **burred).count() as f64;
        let burr_chance = (BURR.0 * BURR.1 + burred) / (BURR.1 + looked.len() as f64);
        let seen = Seen::of(&passes);
        Hand { passes: passes.len(), seen, ..Hand::known(bias, spread, SLIP, burr_chance) }
    }

    /// Places that stand for what a pass gives over what it aims at, in the logarithm, with their chances: `usual` of
    /// the hand, a third as many of its slip.
    pub(super) fn places(&self, usual: usize) -> Vec<(f64, f64)> {
        let of = |count: usize, shift: f64, chance: f64| {
            let place = move |i: usize| {
                let quantile = normal_quantile((i as f64 + 0.5) / count as f64);
                (self.bias + shift + self.spread * quantile, chance / count as f64)
            };
            (0..count).map(place)
        };
        let slips = of(usual.div_ceil(3), SLIP_LN, self.slip_chance);
        of(usual, 0.0, 1.0 - self.slip_chance).chain(slips).collect()
    }
}

/// Biases within three deviations of the prior, spreads within three of its logarithm.
fn grid() -> impl Iterator<Item = (f64, f64)> {
    let across = |i: usize, count: usize| 6.0 * i as f64 / (count - 1) as f64 - 3.0;
    let spread = move |j: usize| SPREAD.0 * (SPREAD.1 * across(j, SPREADS)).exp();
    (0..BIASES).flat_map(move |i| (0..SPREADS).map(move |j| (BIAS * across(i, BIASES), spread(j))))
}

/// A pass as the learner sees it.
struct Grown {
    /// The growths that may have been, as logarithms over the aim, with the density of the measurement there.
    over_aim: Vec<(f64, f64)>,
}

impl Grown {
    fn of(pass: &Pass) -> Grown {
        let aim = pass.aim_mm.map_or(UNSPOKEN_AIM, |aim| (aim / pass.from_mm).ln());
        let aim = if aim > 1e-3 { aim } else { UNSPOKEN_AIM };
        let measured = (pass.to_mm / pass.from_mm).ln();
        // Nobody measures better than to a ten-thousandth.
        let deviation = (pass.uncertainty_mm / 2.0 / pass.from_mm).max(1e-4);
        let step = 8.0 / DOUBTS as f64;
        let place = |i: usize| {
            let z = (i as f64 + 0.5) * step - 4.0;
            (measured + deviation * z, (-0.5 * z * z).exp() * step / (2.0 * PI).sqrt())
        };
        // What did not grow at all cannot have been a pass; with its doubt it may have.
        let grew = (0..DOUBTS).map(place).filter(|(growth, _)| *growth > 0.0);
        Grown {
            over_aim: grew.map(|(growth, chance)| ((growth / aim).ln(), chance / growth)).collect(),
        }
    }

    /// How likely a hand makes it: never none, since no model knows everything.
    fn likelihood(&self, bias: f64, spread: f64) -> f64 {
        let normal = |r: f64, mean: f64| {
            (-0.5 * ((r - mean) / spread).powi(2)).exp() / (spread * (2.0 * PI).sqrt())
        };
        let of = |&(r, weight): &(f64, f64)| {
            weight * ((1.0 - SLIP) * normal(r, bias) + SLIP * normal(r, bias + SLIP_LN))
        };
        self.over_aim.iter().map(of).sum::<f64>() + 1e-6
    }
}

impl Pass {
    /// From one measurement to the next, each a diameter and its uncertainty (k = 2), in mm.
    pub fn between(before: (f64, f64), after: (f64, f64)) -> Pass {
        Pass {
            from_mm: before.0,
            to_mm: after.0,
            uncertainty_mm: before.1.hypot(after.1),
            aim_mm: None,
            burred: None,
        }
    }

    /// Whether it may be one pass on one hole: no narrower beyond the doubt of its sizes.
    pub fn is_believable(&self) -> bool {
        let measured = [self.from_mm, self.to_mm].iter().all(|mm| mm.is_finite() && *mm > 0.0)
            && self.uncertainty_mm.is_finite()
            && self.uncertainty_mm >= 0.0;
        // Rounding alone must not turn equal diameters into the unbelievable.
        measured && self.from_mm - self.to_mm <= self.uncertainty_mm + 1e-12
    }
}

impl Seen {
    fn of(passes: &[Pass]) -> Option<Seen> {
        let grown: Vec<f64> = passes.iter().map(|pass| pass.to_mm - pass.from_mm).collect();
        let freedom = grown.len().checked_sub(1)?.max(1) as f64;
        let mean_mm = grown.iter().sum::<f64>() / grown.len() as f64;
        let squares: f64 = grown.iter().map(|one| (one - mean_mm).powi(2)).sum();
        let over = |pass: &Pass| {
            let aim = (pass.aim_mm? / pass.from_mm).ln();
            (aim > 1e-3).then(|| (pass.to_mm / pass.from_mm).ln() / aim)
        };
        let mut over_aim: Vec<f64> = passes.iter().filter_map(over).collect();
        over_aim.sort_by(f64::total_cmp);
        let middle = over_aim.get(over_aim.len() / 2).copied();
        Some(Seen { mean_mm, deviation_mm: (squares / freedom).sqrt(), over_aim: middle })
    }
}

/// The place below which a share of a normal lies: by halving erf (`DLMF`, 7.2.1).
pub(super) fn normal_quantile(share: f64) -> f64 {
    bisected(-9.0, 9.0, |z| (1.0 + libm::erf(z / SQRT_2)) / 2.0 < share)
}

#[cfg(test)]
#[path = "hand_tests.rs"]
mod tests;
