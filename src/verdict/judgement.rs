//! A hole judged: the decision with everything that it rests on, and its reasons.

use super::appraise::{Appraisal, Budget, Causes, Corner, Counterfactuals, Lines, appraise};
use super::decision::hand::Hand;
use super::decision::outlook::{Action, Looked, Means, Prospect};
use super::decision::{Alternative, Weighed};
use super::losses::{Reference, SizeDoubt};
use super::target::{Target, film_distance_for};
use super::thresholds::{DONE_JND, EITHER_JND, NOTABLE_DOUBT};
use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::Outline;
use serde::Serialize;

/// The decision, and what it rests on. Losses in jnd are against the best disc of this camera; shares are of that
/// disc's merit.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Verdict {
    /// What to do now.
    pub action: Action,
    /// Another action that costs the same in the end: either is right; null where there is none.
    pub alternative: Option<Alternative>,
    /// The loss in just-noticeable differences.
    pub loss_jnd: f64,
    /// The same as a share, 0..1.
    pub loss: f64,
    /// What of that loss each cause makes, in jnd; together they are the loss.
    pub causes_jnd: Causes,
    /// The same as shares.
    pub causes: Causes,
    /// The loss against the best disc in a plate without thickness and without movement, and its
    /// causes, which are all of it, as shares.
    pub against_ideal: Budget,
    /// What the plate's thickness does in the corner of the film; null without thickness.
    pub corner: Option<Corner>,
    /// The loss in jnd that the hole would have if one thing were done.
    pub counterfactuals_jnd: Counterfactuals,
    /// The same as shares.
    pub counterfactuals: Counterfactuals,
    /// Which lines in the picture suffer most from the hole's form; null where the rim was not seen.
    pub lines: Option<Lines>,
    /// Whether the rim was looked at: in a photo or an outline, not by a count or a size.
    pub rim_seen: bool,
    /// How many burrs stand into the opening; null where the rim was not seen.
    pub burrs: Option<usize>,
    /// How many specks lie in it; null where the rim was not seen.
    pub specks: Option<usize>,
    /// Why: told as sentences in JSON, under `reasons`.
    #[serde(skip)]
    pub reasons: Vec<Reason>,
    /// The loss to expect of the hole as it is, in jnd, over the sizes that it may have.
    pub expected_loss_jnd: f64,
    /// The same as a share, 0..1.
    pub expected_loss: f64,
    /// What one more widening pass would do.
    pub next_pass: NextPass,
    /// What reaming it round would do; null where the rim was not seen.
    pub reaming: Option<Prospect>,
    /// What taking off burrs and debris would do; null where there are none.
    pub deburring: Option<Prospect>,
    /// What each piece of work costs in the end, its work and what follows included, in jnd.
    pub costs_jnd: CostsOfWork,
    /// Whether the hole's size is known well enough.
    pub size_doubt: SizeDoubt,
    /// The film distance at which this hole is the best one, all else of the camera kept, in mm; null where there is
    /// none.
    pub suits_distance_mm: Option<f64>,
}

/// What each piece of work costs in the end, in jnd; null where there is nothing to do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CostsOfWork {
    /// Leaving it.
    pub stop: f64,
    /// Widening it as it is.
    pub enlarge: f64,
    /// Reaming it round.
    pub ream: Option<f64>,
    /// Taking off burrs or debris.
    pub remove: Option<f64>,
    /// A new hole.
    pub start_over: f64,
}

/// What one more widening pass would do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct NextPass {
    /// The diameter that it should aim at, in mm.
    pub aim_mm: f64,
    /// The same as a count: how many of it a loupe counts in one mm.
    pub aim_per_mm: f64,
    /// What to expect of it.
    #[serde(flatten)]
    pub prospect: Prospect,
    /// How this maker's passes go.
    pub growth: Hand,
}

/// Why a hole is judged as it is: one reason, which each face puts into words. Losses are in jnd.
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
        /// Whether the doubt of its size leaves it at that.
        surely: bool,
        /// What a pass would do.
        pass: Prospect,
        /// Whether a new hole would cost no more in the end.
        new_hole_gains: bool,
    },
    /// One more pass.
    Widen {
        /// The diameter to aim at, in mm.
        aim_mm: f64,
        /// The part of the way to the best size that this is, 0..1.
        part: f64,
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
    /// One more measurement before anything else.
    Measure {
        /// How it was measured.
        means: Means,
        /// Whether it seems too small; else too wide.
        is_small: bool,
        /// What it may lose.
        doubt: SizeDoubt,
    },
    /// No work helps.
    StartOver {
        /// The least loss to expect after any work.
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
    /// How well the size is known.
    Doubt(SizeDoubt),
}

/// Appraises a hole in a camera and decides.
///
/// # Errors
/// As [`appraise`], and as [`crate::camera::Film::place`].
pub fn verdict(
    camera: &Camera,
    reference: &Reference,
    outline: &Outline,
    looked: Looked,
    hand: &Hand,
) -> Result<Verdict, Error> {
    let target = &reference.target;
    let merit = target.quality;
    let seen = appraise(camera, target, outline)?;
    // The doubt of an outline's diameter is a doubt of its scale.
    let relative = looked.diameter_uncertainty_mm / outline.equivalent_diameter_mm();
    let rim_seen = looked.means == Means::Outline;
    let appraisal = if rim_seen { seen } else { seen.all_form() };
    let weighed = Weighed::of(reference, &appraisal, relative / 2.0, rim_seen, hand);
    let size_doubt = SizeDoubt::of(&appraisal.sizes, relative, merit);
    let by_hand = looked.means != Means::Screen;
    let action = if by_hand { weighed.action(&size_doubt, looked) } else { Action::Stop };
    let corner = Corner::of(camera, outline)?;
    let suits_distance_mm = film_distance_for(camera, target, appraisal.smooth_diameter_mm);
    let mut found = Verdict {
        action,
        alternative: if by_hand { weighed.alternative(action) } else { None },
        loss_jnd: appraisal.loss_jnd.max(0.0),
        loss: (appraisal.loss_jnd / merit).clamp(0.0, 1.0),
        causes_jnd: appraisal.causes,
        causes: appraisal.causes.over(merit),
        against_ideal: Budget::of(reference, &appraisal.causes),
        corner,
        counterfactuals_jnd: appraisal.counterfactuals,
        counterfactuals: appraisal.counterfactuals.over(merit),
        lines: rim_seen.then_some(appraisal.lines),
        rim_seen,
        burrs: rim_seen.then_some(appraisal.burrs),
        specks: rim_seen.then_some(appraisal.specks),
        reasons: Vec::new(),
        expected_loss_jnd: weighed.expected_jnd,
        expected_loss: (weighed.expected_jnd / merit).clamp(0.0, 1.0),
        next_pass: NextPass {
            aim_mm: weighed.aim_mm,
            aim_per_mm: 1.0 / weighed.aim_mm,
            prospect: weighed.pass,
            growth: *hand,
        },
        reaming: weighed.ream,
        deburring: weighed.removal.map(|(_, prospect)| prospect),
        costs_jnd: CostsOfWork {
            stop: weighed.costs.stop,
            enlarge: weighed.costs.enlarge,
            ream: Some(weighed.costs.ream).filter(|cost| cost.is_finite()),
            remove: Some(weighed.costs.remove).filter(|cost| cost.is_finite()),
            start_over: weighed.costs.start_over,
        },
        size_doubt,
        suits_distance_mm,
    };
    found.reasons = if by_hand {
        reasons(&found, &weighed, &appraisal, target, looked)
    } else {
        vec![Reason::Screen { loss_jnd: found.loss_jnd }]
    };
    Ok(found)
}

/// The reasons of a decision: the size, the rim, the work; then what else is to be known.
fn reasons(
    verdict: &Verdict,
    weighed: &Weighed,
    appraisal: &Appraisal,
    target: &Target,
    looked: Looked,
) -> Vec<Reason> {
    let causes = &verdict.causes_jnd;
    let ratio = appraisal.smooth_diameter_mm / target.diameter_mm;
    let mut said =
        vec![Reason::Size { ratio, best_mm: target.diameter_mm, cost_jnd: causes.size.max(0.0) }];
    said.push(if verdict.rim_seen {
        Reason::Rim {
            form: (appraisal.aspect_ratio, causes.form),
            burrs: (appraisal.burrs, causes.burrs),
            specks: (appraisal.specks, causes.debris),
        }
    } else {
        Reason::RimNotSeen
    });
    said.extend(work(verdict, weighed, appraisal, looked));
    if let Some(other) = verdict.alternative {
        said.push(Reason::Either { other: other.action });
    }
    let is_wide = ratio > 1.0 && verdict.loss_jnd >= DONE_JND;
    let given_up = verdict.action == Action::StartOver;
    // Elsewhere its size is right, and its form is what it was.
    let by_size = verdict.loss_jnd - causes.size < DONE_JND;
    if let Some(distance_mm) =
        verdict.suits_distance_mm.filter(|_| by_size && (is_wide || given_up))
    {
        said.push(Reason::Suits { distance_mm });
    }
    let doubt = verdict.size_doubt;
    if doubt.relative > NOTABLE_DOUBT && verdict.action != Action::Measure {
        said.push(Reason::Doubt(doubt));
    }
    said
}

fn work(
    verdict: &Verdict,
    weighed: &Weighed,
    appraisal: &Appraisal,
    looked: Looked,
) -> Option<Reason> {
    let now_jnd = verdict.expected_loss_jnd;
    Some(match verdict.action {
        Action::Stop => Reason::Done {
            loss_jnd: verdict.loss_jnd,
            surely: verdict.size_doubt.enough || verdict.size_doubt.most_loss_jnd < DONE_JND,
            pass: verdict.next_pass.prospect,
            new_hole_gains: verdict.costs_jnd.start_over < verdict.costs_jnd.stop + EITHER_JND,
        },
        Action::Enlarge => Reason::Widen {
            aim_mm: verdict.next_pass.aim_mm,
            part: weighed.aim_part,
            now_jnd,
            pass: verdict.next_pass.prospect,
            hand: verdict.next_pass.growth,
        },
        Action::Ream => {
            Reason::Ream { around_mm: appraisal.around_mm, now_jnd, ream: verdict.reaming? }
        }
        Action::Deburr => Reason::Deburr { now_jnd, deburring: verdict.deburring? },
        Action::Clean => Reason::Clean { now_jnd, cleaning: verdict.deburring? },
        Action::Measure => Reason::Measure {
            means: looked.means,
            is_small: weighed.standing.is_small,
            doubt: verdict.size_doubt,
        },
        Action::StartOver => {
            Reason::StartOver { within_reach_jnd: weighed.standing.least_to_expect() }
        }
    })
}

#[cfg(test)]
#[path = "judgement_tests.rs"]
mod tests;
