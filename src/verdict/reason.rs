//! Why a hole is judged as it is: values, which each face puts into words.

use super::hand::Hand;
use super::outlook::{Action, Means, Prospect};
use super::size_doubt::SizeDoubt;

/// One reason. Losses are in jnd.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// The size over the best one, and what it costs.
    Size {
        /// The diameter without burrs over the best one.
        ratio: f64,
        /// The best one, in mm.
        best_mm: f64,
        /// What the size alone costs.
        cost_jnd: f64,
    },
    /// Nobody looked at the rim.
    RimNotSeen,
    /// It is a zone plate or a photon sieve, and loses so much.
    Screen {
        /// The loss against the best disc.
        loss_jnd: f64,
    },
    /// What the rim costs: its form, burrs, specks.
    Rim {
        /// Length over width, and what the form costs.
        form: (f64, f64),
        /// How many burrs, and what they cost.
        burrs: (usize, f64),
        /// How many specks, and what they cost.
        specks: (usize, f64),
    },
    /// It is left as it is.
    Done {
        /// The loss.
        loss_jnd: f64,
        /// Whether it is too wide.
        is_wide: bool,
        /// What a pass would do.
        pass: Prospect,
    },
    /// One more pass.
    Widen {
        /// The diameter to aim at, in mm.
        aim_mm: f64,
        /// The loss to expect as it is.
        now_jnd: f64,
        /// What the pass would do.
        pass: Prospect,
        /// How the maker's passes go.
        hand: Hand,
    },
    /// Reaming it round.
    Ream {
        /// The smallest disc around its rim, in mm.
        around_mm: f64,
        /// The loss to expect as it is.
        now_jnd: f64,
        /// What reaming would do.
        ream: Prospect,
    },
    /// Taking off burrs.
    Deburr {
        /// The loss to expect as it is.
        now_jnd: f64,
        /// What it would do.
        deburring: Prospect,
    },
    /// Blowing or brushing it clean.
    Clean {
        /// The loss to expect as it is.
        now_jnd: f64,
        /// What it would do.
        cleaning: Prospect,
    },
    /// One more measurement before the hole is given up.
    Measure {
        /// How it was measured.
        means: Means,
        /// What it may lose.
        doubt: SizeDoubt,
    },
    /// No work helps.
    StartOver {
        /// The least loss that work could reach.
        within_reach_jnd: f64,
    },
    /// The hole is the best one for another film distance.
    Suits {
        /// That distance, in mm.
        distance_mm: f64,
    },
    /// Another action costs the same.
    Either {
        /// The action.
        other: Action,
    },
    /// The plate darkens the corners.
    ThickPlate {
        /// The share of the hole that it leaves open there.
        open: f64,
    },
    /// How well the size is known.
    Doubt(SizeDoubt),
}
