//! Stop or go on: the decision, with the odds of one more pass.

use super::appraise::Appraisal;
use super::doubt::SizeDoubt;
use super::target::Target;
use crate::quantity::{Quantity, significant};
use crate::wave::Gauss;
use serde::Serialize;
use std::f64::consts::PI;

/// A gain below this is not worth touching the hole again: it is what 10 % off the best diameter
/// costs, which nobody sees. Common practice, no source.
const WORTHWHILE: f64 = 0.02;
/// A loss above this is plainly visible beside the best hole's picture. Common practice, no source.
pub(super) const ACCEPTABLE: f64 = 0.10;

/// A size known better than this is known: the loss of 3 % off the best is 0.2 %.
const NOTABLE: f64 = 0.03;

/// Growth of the diameter in one careful pass with needle or abrasive, as a share of it: mean and
/// standard deviation. Common practice, no source: replace by a maker's own record where there is one.
const GROWTH: (f64, f64) = (0.06, 0.04);

/// What to do now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Leave the hole as it is.
    Stop,
    /// Widen it a little and measure again.
    Enlarge,
    /// Take the burr off and measure again.
    Deburr,
    /// Make a new hole.
    StartOver,
}

/// What one more widening pass would do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NextPass {
    /// The loss to expect after it, 0..1.
    pub expected_loss: f64,
    /// The chance, 0..1, that the hole ends worse than it is now: a hole can be widened and never
    /// narrowed.
    pub chance_of_overshooting: f64,
}

/// The decision and its reasons.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// What to do now.
    pub action: Action,
    /// Loss of sharpness against the best disc of this camera, 0..1.
    pub loss: f64,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// What one more widening pass would do.
    pub next_pass: NextPass,
    /// Whether the hole's size is known well enough.
    pub size_doubt: SizeDoubt,
}

/// Decides. `diameter_uncertainty_mm` is expanded (k = 2).
pub fn verdict(appraisal: &Appraisal, target: &Target, diameter_uncertainty_mm: f64) -> Verdict {
    let relative = diameter_uncertainty_mm / 2.0 / appraisal.smooth_diameter_mm;
    let odds = Odds::of(appraisal, relative);
    let action = decide(appraisal, target, &odds);
    let size_doubt = SizeDoubt::of(&appraisal.sizes, 2.0 * relative);
    let mut reasons = reasons(action, appraisal, target, &odds);
    if size_doubt.relative > NOTABLE {
        reasons.push(size_doubt.in_words());
    }
    Verdict {
        action,
        loss: appraisal.loss.clamp(0.0, 1.0),
        reasons,
        size_doubt,
        next_pass: NextPass {
            expected_loss: odds.after.clamp(0.0, 1.0),
            chance_of_overshooting: odds.worse,
        },
    }
}

fn decide(appraisal: &Appraisal, target: &Target, odds: &Odds) -> Action {
    let smooth = appraisal.loss - appraisal.loss_of_burrs;
    let narrow = appraisal.smooth_diameter_mm < target.diameter_mm;
    // What hands can still reach: a narrow hole can be widened to the best size, a wide one stays.
    let within_reach = if narrow { appraisal.loss_of_form } else { smooth };
    if within_reach > ACCEPTABLE {
        Action::StartOver
    } else if appraisal.loss_of_burrs >= WORTHWHILE {
        Action::Deburr
    } else if narrow && (odds.now - odds.after >= WORTHWHILE || appraisal.loss > ACCEPTABLE) {
        Action::Enlarge
    } else {
        Action::Stop
    }
}

/// Expected losses under what is not known: the hole's own size, and what a pass adds to it.
struct Odds {
    /// Expected loss as the hole is.
    now: f64,
    /// Expected loss after one more pass.
    after: f64,
    /// Chance that the pass leaves the hole worse than it is.
    worse: f64,
}

impl Odds {
    /// Integrates over the size (normal, `relative` its standard uncertainty) and the growth (normal,
    /// cut at zero: a pass narrows nothing).
    fn of(appraisal: &Appraisal, relative: f64) -> Odds {
        let sizes = normal(1.0, relative.max(1e-6), 0.5);
        let growths = normal(GROWTH.0, GROWTH.1, 0.0);
        let (mut now, mut after, mut worse) = (0.0, 0.0, 0.0);
        for (size, chance) in &sizes {
            let before = appraisal.sizes.at(*size);
            now += chance * before;
            for (growth, share) in &growths {
                let loss = appraisal.sizes.at(size * (1.0 + growth));
                after += chance * share * loss;
                worse += if loss > before { chance * share } else { 0.0 };
            }
        }
        Odds { now, after, worse }
    }
}

/// A normal distribution cut off below `least` as points with chances that add up to 1.
fn normal(mean: f64, deviation: f64, least: f64) -> Vec<(f64, f64)> {
    let density = |x: f64| (-0.5 * ((x - mean) / deviation).powi(2)).exp() / (2.0 * PI).sqrt();
    let (low, high) = ((mean - 5.0 * deviation).max(least), mean + 5.0 * deviation);
    let points: Vec<(f64, f64)> =
        Gauss::rule(48).on(low, high).map(|(x, weight)| (x, weight * density(x))).collect();
    let total: f64 = points.iter().map(|point| point.1).sum();
    points.into_iter().map(|(x, weight)| (x, weight / total)).collect()
}

pub(super) fn percent(share: f64) -> String {
    let hundred = 100.0 * share.max(0.0);
    match hundred {
        h if h < 0.1 => "less than 0.1 %".into(),
        h if h > 99.0 => "more than 99 %".into(),
        _ => format!("{} %", significant(hundred, if hundred < 1.0 { 1 } else { 2 })),
    }
}

/// A loss of sharpness in words that mean the same to everybody. Common practice, no source.
pub fn in_words(loss: f64) -> &'static str {
    match loss {
        l if l < 0.02 => "nobody could tell it from the best hole",
        l if l < 0.05 => "hardly to be seen, even side by side",
        l if l < 0.10 => "to be seen side by side, not alone",
        l if l < 0.20 => "plainly softer than the best hole",
        _ => "much softer than the best hole",
    }
}

fn reasons(action: Action, appraisal: &Appraisal, target: &Target, odds: &Odds) -> Vec<String> {
    let mut said = vec![about_size(appraisal, target)];
    if appraisal.burrs > 0 {
        let (noun, verb) =
            if appraisal.burrs == 1 { ("The burr", "costs") } else { ("The burrs", "cost") };
        let cost = percent(appraisal.loss_of_burrs);
        said.push(match action {
            Action::Deburr => format!("{noun} {verb} {cost} more, and can be taken off."),
            _ => format!("{noun} {verb} {cost} more: no reason to touch the hole."),
        });
    }
    if appraisal.loss_of_form > 0.002 {
        said.push(format!(
            "The rim's form, not quite round, costs {}.",
            percent(appraisal.loss_of_form)
        ));
    }
    let pass = format!(
        "One more careful pass would bring the loss from {} to {} on average; the chance that the \
         hole ends worse is {}",
        percent(odds.now),
        percent(odds.after),
        percent(odds.worse)
    );
    said.push(match action {
        Action::Enlarge => format!("{pass}."),
        Action::Deburr => {
            "Widening would not help while the burr is there: take it off, clean the \
             hole, and measure again."
                .into()
        }
        Action::StartOver => {
            "No more work can bring this hole back: metal cannot be put back where \
             it is gone."
                .into()
        }
        Action::Stop if odds.after < odds.now => format!("{pass}: a gain that nobody would see."),
        Action::Stop => format!("{pass}: it would only lose."),
    });
    said
}

fn about_size(appraisal: &Appraisal, target: &Target) -> String {
    let ratio = appraisal.smooth_diameter_mm / target.diameter_mm;
    let best = Quantity::Length.write(target.diameter_mm);
    let off = percent((ratio - 1.0).abs());
    let cost = percent(appraisal.loss_of_size);
    if (ratio - 1.0).abs() < 0.01 {
        return format!("The size is the best there is for this camera, {best}.");
    }
    let side = if ratio < 1.0 { "below" } else { "above" };
    format!("The size is {off} {side} the best, {best}; that alone costs {cost} of the sharpness.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::geometry::{Outline, shapes};
    use crate::verdict::appraise::appraise;
    use crate::verdict::target::target;

    fn decided(outline: &Outline, smooth: &Outline) -> Verdict {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        verdict(
            &appraise(&camera, &target, outline, usize::from(outline != smooth), smooth),
            &target,
            0.002,
        )
    }

    #[test]
    fn every_hole_has_its_advice() {
        let best = target(&Camera::demonstration().unwrap()).diameter_mm;
        let disc = |factor: f64| shapes::disc(factor * best).unwrap();
        let cases = [
            (disc(1.0), disc(1.0), Action::Stop),
            (disc(0.95), disc(0.95), Action::Stop),
            (disc(0.75), disc(0.75), Action::Enlarge),
            (disc(0.3), disc(0.3), Action::Enlarge),
            (disc(1.12), disc(1.12), Action::Stop),
            (disc(1.4), disc(1.4), Action::StartOver),
            (shapes::burred_disc(best, 0.5, 0.3, 0.4 * best).unwrap(), disc(1.0), Action::Deburr),
        ];
        for (outline, smooth, action) in cases {
            let found = decided(&outline, &smooth);
            assert_eq!(found.action, action, "{found:?}");
            assert!(found.reasons.len() >= 2);
        }
        let oval = shapes::ellipse(1.9 * best, 0.6 * best).unwrap();
        assert_eq!(decided(&oval, &oval).action, Action::StartOver);
    }

    /// With no spread a decision is plain arithmetic: at the best size any growth ends worse, far
    /// below it none does.
    #[test]
    fn odds_have_their_limits() {
        let best = target(&Camera::demonstration().unwrap()).diameter_mm;
        let at = |factor: f64| {
            let disc = shapes::disc(factor * best).unwrap();
            decided(&disc, &disc).next_pass
        };
        assert!(at(1.05).chance_of_overshooting > 0.98);
        assert!(at(0.7).chance_of_overshooting < 1e-3);
        assert!(at(0.7).expected_loss < 0.15 && at(1.2).expected_loss > 0.1);
    }

    /// The points of the cut normal against its closed form, Φ by erf (DLMF 7.2.1).
    #[test]
    fn growth_is_a_cut_normal() {
        let points = normal(GROWTH.0, GROWTH.1, 0.0);
        let mean: f64 = points.iter().map(|(x, chance)| x * chance).sum();
        let alpha: f64 = -GROWTH.0 / GROWTH.1;
        let density = (-0.5 * alpha * alpha).exp() / (2.0 * PI).sqrt();
        let above = 0.5 * (1.0 - libm::erf(alpha / 2f64.sqrt()));
        // Mean of a truncated normal: μ + σ φ(α)/(1 - Φ(α)); five deviations above leave 1e-6.
        assert!((mean - (GROWTH.0 + GROWTH.1 * density / above)).abs() < 1e-6);
    }
}
