//! A hole against the best disc of the same camera: its loss, what causes it, and what would be
//! without each cause.

use super::lines::Lines;
use super::loss_by_size::LossBySize;
use super::quality::{quality, quality_of_disc};
use super::target::Target;
use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::feret::Feret;
use crate::geometry::{Outline, reference_circles};
use crate::hole::{Side, burrs, without_burrs, without_debris};
use serde::Serialize;

/// The loss of a hole against the best disc, in jnd: what the best disc's merit has more than its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Appraisal {
    /// The whole loss of this hole as it is, in jnd.
    pub loss_jnd: f64,
    /// What causes it.
    pub causes: Causes,
    /// What it would be if something were done.
    pub counterfactuals: Counterfactuals,
    /// Which lines in the picture suffer from its form.
    pub lines: Lines,
    /// How many burrs there are.
    pub burrs: usize,
    /// How many specks lie in it.
    pub specks: usize,
    /// Equivalent diameter of the hole without burrs and debris, in mm.
    pub smooth_diameter_mm: f64,
    /// The diameter of the smallest disc around all of it without burrs and debris, in mm.
    pub around_mm: f64,
    /// Its largest over its smallest Feret diameter, without burrs and debris.
    pub aspect_ratio: f64,
    /// The loss of the hole at other sizes.
    pub sizes: LossBySize,
    /// The same without debris.
    pub clean_sizes: LossBySize,
    /// The same without burrs and debris.
    pub smooth_sizes: LossBySize,
}

/// What a hole loses to each cause; together they are its loss. In jnd, or as shares of the best disc's merit.
///
/// They are taken away one after the other: first the debris, then the burrs, then the form, and each
/// is what its removal gains. So what debris, burrs and form do to the open area counts as theirs, and
/// what they do together goes to the one that is taken first. A cause may be below zero: in a hole that
/// is too wide, a burr that takes area is worth more than it spoils, and so is debris.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Causes {
    /// What a perfect disc of the smooth hole's area loses against the best disc.
    pub size: f64,
    /// What the smooth rim's form (oval, lobes, nicks) adds.
    pub form: f64,
    /// What the burrs add.
    pub burrs: f64,
    /// What the specks inside the opening add.
    pub debris: f64,
}

/// The loss that the hole would have, computed anew, if one thing were done and nothing else. In jnd, or as shares of
/// the best disc's merit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Counterfactuals {
    /// Without its burrs.
    pub without_burrs: f64,
    /// Without the specks inside the opening.
    pub without_debris: f64,
    /// As a disc of the least-squares circle of its rim without burrs and debris.
    pub rounded: f64,
    /// The diameter of that circle, in mm.
    pub rounded_diameter_mm: f64,
    /// Widened to its best size, the form with its burrs and debris as it is.
    pub widened: f64,
    /// The equivalent diameter that it would have then, in mm; its own where widening gains nothing.
    pub widened_diameter_mm: f64,
    /// Opened out to the smallest disc that takes in all of its rim, or to the best where that is
    /// larger: what a round tool can make of it.
    pub opened_out: f64,
    /// The diameter of that disc, in mm.
    pub opened_out_diameter_mm: f64,
}

impl Causes {
    /// The same over a merit.
    pub(super) fn over(self, merit: f64) -> Causes {
        Causes {
            size: self.size / merit,
            form: self.form / merit,
            burrs: self.burrs / merit,
            debris: self.debris / merit,
        }
    }
}

impl Counterfactuals {
    /// The same over a merit.
    pub(super) fn over(self, merit: f64) -> Counterfactuals {
        Counterfactuals {
            without_burrs: self.without_burrs / merit,
            without_debris: self.without_debris / merit,
            rounded: self.rounded / merit,
            widened: self.widened / merit,
            opened_out: self.opened_out / merit,
            ..self
        }
    }
}

/// Appraises a hole.
///
/// # Errors
/// As [`without_burrs`]: the rim without its burrs would cross itself.
pub fn appraise(camera: &Camera, target: &Target, outline: &Outline) -> Result<Appraisal, Error> {
    let loss_of = |quality: f64| target.quality - quality;
    let clean = without_debris(outline)?;
    let smooth = without_burrs(&clean)?;
    let burrs = burrs(&clean).iter().filter(|burr| burr.side == Side::Inward).count();
    let specks = outline.loops().len() - clean.loops().len();
    let sizes = LossBySize::of(camera, target, outline);
    // What changes nothing is not computed twice.
    let clean_sizes =
        if specks == 0 { sizes.clone() } else { LossBySize::of(camera, target, &clean) };
    let smooth_sizes =
        if burrs == 0 { clean_sizes.clone() } else { LossBySize::of(camera, target, &smooth) };
    let smooth_diameter_mm = smooth.equivalent_diameter_mm();
    let (loss, of_clean, of_smooth) = (sizes.at(1.0), clean_sizes.at(1.0), smooth_sizes.at(1.0));
    let of_disc = loss_of(quality_of_disc(camera, smooth_diameter_mm));
    let feret = Feret::of(&smooth);
    let (factor, widened) = sizes.best_from(1.0);
    let circle = reference_circles::least_squares(&reference_circles::profile(&smooth));
    let rounded_diameter_mm = 2.0 * circle.radius_mm;
    let around = reference_circles::circumscribed(&smooth.loops().concat());
    let around_mm = 2.0 * around.radius_mm;
    let opened_out_diameter_mm = target.diameter_mm.max(around_mm);
    Ok(Appraisal {
        loss_jnd: loss,
        causes: Causes {
            size: of_disc,
            form: of_smooth - of_disc,
            burrs: of_clean - of_smooth,
            debris: loss - of_clean,
        },
        counterfactuals: Counterfactuals {
            without_burrs: match (burrs, specks) {
                (0, _) => loss,
                (_, 0) => of_smooth,
                _ => loss_of(quality(camera, &without_burrs(outline)?)),
            },
            without_debris: of_clean,
            rounded: loss_of(quality_of_disc(camera, rounded_diameter_mm)),
            rounded_diameter_mm,
            widened,
            widened_diameter_mm: factor * outline.equivalent_diameter_mm(),
            opened_out: loss_of(quality_of_disc(camera, opened_out_diameter_mm)),
            opened_out_diameter_mm,
        },
        lines: Lines::of(camera, target, &smooth),
        burrs,
        specks,
        smooth_diameter_mm,
        around_mm,
        aspect_ratio: feret.max_mm / feret.min_mm,
        sizes,
        clean_sizes,
        smooth_sizes,
    })
}

#[cfg(test)]
#[path = "appraise_tests.rs"]
mod tests;
