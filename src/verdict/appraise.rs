//! A hole against the best disc of the same camera: its loss, what causes it, what would be without each cause, and which
//! lines of the picture suffer most from its form.
//!
//! An oval blurs along its length where the light goes straight, and across it where diffraction decides, so the eye
//! cannot tell from the hole alone. For lines the merit is taken along single directions: frequencies along x are seen in
//! upright lines. The picture is the film turned by half a turn, which leaves every line its lean.
//!
//! A camera takes something from every hole, the best one too: by its plate's thickness, and by what moves.

use super::losses::{LossBySize, Reference};
use super::merit::{quality, quality_along, quality_at, quality_of_disc};
use super::target::Target;
use super::thresholds::LINES_ALIKE_JND;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::feret::Feret;
use crate::geometry::{Outline, reference_circles, shapes};
use crate::hole::{Side, burrs, without_burrs, without_debris};
use serde::Serialize;
use std::f64::consts::PI;

/// Directions that are looked along, over half a turn.
const DIRECTIONS: usize = 16;

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

impl Appraisal {
    /// The same where nobody saw burrs or specks: of a screen, whose rings and islands are its form.
    pub(super) fn all_form(self) -> Appraisal {
        let (loss, Causes { size, form, burrs, debris }) = (self.loss_jnd, self.causes);
        Appraisal {
            causes: Causes { size, form: form + burrs + debris, burrs: 0.0, debris: 0.0 },
            counterfactuals: Counterfactuals {
                without_burrs: loss,
                without_debris: loss,
                ..self.counterfactuals
            },
            burrs: 0,
            specks: 0,
            clean_sizes: self.sizes.clone(),
            smooth_sizes: self.sizes.clone(),
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

/// The whole loss against an ideal, as shares of its merit: the best disc there could be in this camera, were its plate
/// without thickness and did nothing move. All the causes together are that loss.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Budget {
    /// The whole loss against the ideal, 0..1.
    pub loss: f64,
    /// Size of the hole.
    pub size: f64,
    /// Its form.
    pub form: f64,
    /// Its burrs.
    pub burrs: f64,
    /// Debris in it.
    pub debris: f64,
    /// The plate's thickness, as the best disc of this plate loses by it. What a hole off the best size
    /// loses more by it counts as its size.
    pub thickness: f64,
    /// What moves during the exposure, as the best disc loses by it. What a narrower hole loses more,
    /// because it is open longer, counts as its size.
    pub motion: f64,
}

impl Budget {
    /// Of a hole, from its causes against the best disc of its very camera.
    pub(super) fn of(reference: &Reference, causes: &Causes) -> Budget {
        let Reference { target, unmoved, ideal, .. } = reference;
        let share = 1.0 / ideal;
        let Causes { size, form, burrs, debris } = causes;
        let [size, form, burrs, debris] = [size, form, burrs, debris].map(|cause| share * cause);
        let motion = (unmoved - target.quality) / ideal;
        let thickness = 1.0 - unmoved / ideal;
        Budget {
            loss: size + form + burrs + debris + thickness + motion,
            size,
            form,
            burrs,
            debris,
            thickness,
            motion,
        }
    }
}

/// What the plate's thickness does where it does most: in the corner of the film.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Corner {
    /// The angle of the corner from the axis of the hole, in degrees.
    pub angle_deg: f64,
    /// The share of the hole that the plate leaves open there, 0..1.
    pub open: f64,
    /// What the thickness takes of the sharpness there, against the same hole in thin metal: below
    /// zero where the narrowed hole is sharper. Null where no light comes at all.
    pub loss: Option<f64>,
}

impl Corner {
    /// Of a hole in a camera; none in metal that has no thickness.
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`], for a film that the hole cannot see all of.
    pub(super) fn of(camera: &Camera, outline: &Outline) -> Result<Option<Corner>, Error> {
        if camera.plate_mm == 0.0 {
            return Ok(None);
        }
        let at_mm = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        let open = PointImage::where_lit(camera, outline, at_mm)?.map_or(0.0, |image| image.open);
        let thin = Camera { plate_mm: 0.0, ..camera.clone() };
        let kept = quality_at(camera, outline, at_mm)? / quality_at(&thin, outline, at_mm)?;
        Ok(Some(Corner {
            angle_deg: camera.place(at_mm)?.hole_angle_rad().to_degrees(),
            open,
            loss: kept.is_finite().then_some(1.0 - kept),
        }))
    }
}

/// What lines of different directions lose to a hole's form, in the middle of the film and with the
/// camera standing still: what turning the plate can change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Lines {
    /// The direction in the picture of the lines that suffer most, in degrees anticlockwise from
    /// level: 90 are upright lines.
    pub worst_deg: f64,
    /// What those lines lose against the best disc, in jnd.
    pub worst_loss_jnd: f64,
    /// What the lines across them lose, in jnd.
    pub across_loss_jnd: f64,
    /// The same as shares of the best disc's merit along one direction.
    pub worst_loss: f64,
    /// The same of the lines across them.
    pub across_loss: f64,
}

/// Lines of a picture by how they lean, as far apart as words tell them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// Upright lines.
    Upright,
    /// Lines that fall to the right.
    Falling,
    /// Level lines.
    Level,
    /// Lines that rise to the right.
    Rising,
}

impl Lines {
    /// Of a hole without its burrs.
    pub(super) fn of(camera: &Camera, target: &Target, smooth: &Outline) -> Lines {
        let still = Camera { support: None, ..camera.clone() };
        let angle = |i: usize| PI * i as f64 / DIRECTIONS as f64;
        // Any direction of a disc is as good as another.
        let best = shapes::disc(target.diameter_mm)
            .map_or(1.0, |best| quality_along(&still, &best, &[0.0])[0]);
        let angles: Vec<f64> = (0..DIRECTIONS).map(angle).collect();
        let merits = quality_along(&still, smooth, &angles);
        let worst = (0..DIRECTIONS).min_by(|&a, &b| merits[a].total_cmp(&merits[b])).unwrap_or(0);
        let across = (worst + DIRECTIONS / 2) % DIRECTIONS;
        Lines {
            worst_deg: (angle(worst).to_degrees() + 90.0) % 180.0,
            worst_loss_jnd: best - merits[worst],
            across_loss_jnd: best - merits[across],
            worst_loss: 1.0 - merits[worst] / best,
            across_loss: 1.0 - merits[across] / best,
        }
    }

    /// The lean of the lines that suffer most, unless all look alike.
    pub fn worst_lean(&self) -> Option<Lean> {
        const LEANS: [Lean; 4] = [Lean::Upright, Lean::Falling, Lean::Level, Lean::Rising];
        let kind = ((self.worst_deg - 90.0).rem_euclid(180.0) / 45.0).round() as usize % 4;
        let apart = self.worst_loss_jnd - self.across_loss_jnd;
        (apart >= LINES_ALIKE_JND).then_some(LEANS[kind])
    }
}

#[cfg(test)]
#[path = "appraise_tests.rs"]
mod tests;
