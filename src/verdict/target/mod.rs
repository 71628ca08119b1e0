//! The diameter to aim for in a camera: how far off still looks the same, what in the drawer comes near, what hangs on
//! the published weight of the eye, and the film distance that another diameter suits.

pub mod criterion;
pub mod depth;
pub mod tightest;
pub mod trade;

use crate::camera::Camera;
use crate::quantity::MM_PER_INCH;
use crate::verdict::merit::eye::Sensitivity;
use crate::verdict::merit::{Sheet, acutance_of_disc, quality_of_disc, quality_of_disc_felt};
use crate::verdict::search::{SampledBySize, edge, highest, sample_size};
use crate::verdict::thresholds::JND;
use crate::wave::{Distances, MM_PER_NM};
use criterion::Criterion;
use depth::Subject;
use serde::Serialize;
use std::ops::{Range, RangeInclusive};
use trade::{PUBLISHED, Published, Tool, nearest};

/// Shares of the merit whose band of diameters is given, where it is not judged in jnd.
const SHARES: [f64; 4] = [0.02, 0.05, 0.10, 0.20];

/// The constants between which a band is looked for: a hole outside is no pinhole of its camera.
const SMALLEST: f64 = 0.01;
const LARGEST: f64 = 20.0;

/// The constants between which the best one is looked for; one at an end is the end of the search and no top.
const BEST: Range<f64> = 0.27..6.0;

/// The best disc for a camera.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Target {
    /// The diameter to aim for, in mm.
    pub diameter_mm: f64,
    /// The same in µm.
    pub diameter_um: f64,
    /// The same in thousandths of an inch.
    pub diameter_thou: f64,
    /// How many such diameters a loupe counts in one mm.
    pub diameters_per_mm: f64,
    /// That diameter over √(λz), λ the mean wavelength by energy, z the effective distance.
    pub constant: f64,
    /// Whether a best size was found: not where a hole were the better the wider it is, up to the largest that is still a
    /// pinhole, because the metal, what moves or the angle of the film spoils every smaller one.
    pub is_found: bool,
    /// How it was judged.
    pub criterion: &'static str,
    /// The diameters that lose no more than this.
    pub band: Vec<Band>,
    /// Film distance over diameter.
    pub f_number: f64,
    /// What it makes of the camera's subject, and of others, by the eye's merit.
    pub subject: Subject,
    /// The stock tools just below and just above the diameter.
    pub tools: Vec<Fit>,
    /// What the published constants come to here, from the least to the greatest.
    pub published: Vec<Rule>,
    /// The merit of the best disc, by [`Criterion`]: for the eye's, in jnd.
    #[serde(skip)]
    pub quality: f64,
}

/// Diameters between which a disc loses at most so much of the best one's merit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Band {
    /// The loss in just-noticeable differences; left out where it is not judged in them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_jnd: Option<f64>,
    /// The loss as a share of the best one's merit, 0..1.
    pub loss: f64,
    /// The smaller diameter that loses so much, in mm.
    pub low_mm: f64,
    /// The larger one, in mm.
    pub high_mm: f64,
    /// The smaller diameter as a count: how many of them a loupe counts in one mm.
    pub low_per_mm: f64,
    /// The larger diameter as a count.
    pub high_per_mm: f64,
    /// The metered exposure of the smaller one, in times that of the best.
    pub low_exposure_times: f64,
    /// The metered exposure of the larger one, in times that of the best.
    pub high_exposure_times: f64,
}

/// A tool, and what the hole that it makes would lose if it were its size.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Fit {
    /// The tool.
    #[serde(flatten)]
    pub tool: Tool,
    /// The loss against the best disc in just-noticeable differences; left out where it is not judged in them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_jnd: Option<f64>,
    /// The loss as a share of the best one's merit, 0..1.
    pub loss: f64,
}

/// A published constant in this camera.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Rule {
    /// Who, and when.
    pub author: &'static str,
    /// The constant.
    pub constant: f64,
    /// What is best at it.
    pub optimum: &'static str,
    /// The diameter it gives here, in mm.
    pub diameter_mm: f64,
    /// What that loses against the best disc, in just-noticeable differences; left out where it is not judged in
    /// them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_jnd: Option<f64>,
    /// The loss as a share of the best one's merit, 0..1.
    pub loss: f64,
}

/// Searches the best diameter of a camera and its bands: what an eye sees in the print.
pub fn target(camera: &Camera) -> Target {
    target_of(camera, &Discs::of(camera))
}

/// The same from the merits of the camera's discs.
pub(super) fn target_of(camera: &Camera, discs: &Discs) -> Target {
    let merit = |c: f64| discs.sampled.at(c);
    target_from(camera, Criterion::Eye, discs.best(), merit)
}

/// The same by another criterion.
pub fn target_by(camera: &Camera, criterion: Criterion) -> Target {
    if criterion == Criterion::Eye {
        return target(camera);
    }
    let unit_mm = unit_mm(camera);
    let exact = |c: f64| criterion.merit(camera, c * unit_mm);
    let sampled = SampledBySize::new(exact);
    // Measures of a point image are quick, and have kinks.
    let merit = |c: f64| if criterion.is_over_sheet() { sampled.at(c) } else { exact(c) };
    target_from(camera, criterion, best(merit, merit), merit)
}

/// √(λz) in mm, λ the mean wavelength by energy: the unit of the constants.
fn unit_mm(camera: &Camera) -> f64 {
    (camera.light.mean_nm() * MM_PER_NM * camera.distances.effective_mm()).sqrt()
}

/// The target from the best constant and the merit of each.
fn target_from(
    camera: &Camera,
    criterion: Criterion,
    constant: f64,
    merit: impl Fn(f64) -> f64,
) -> Target {
    let unit_mm = unit_mm(camera);
    let quality = merit(constant);
    let in_jnd = |share: f64| (criterion == Criterion::Eye).then_some(share * quality);
    let share = |diameter_mm: f64| (1.0 - merit(diameter_mm / unit_mm) / quality).max(0.0);
    let diameter_mm = constant * unit_mm;
    let band_of = |loss: f64| {
        let spare = |c: f64| merit(c) / quality - (1.0 - loss);
        let low = edge(constant, SMALLEST, 1e-9, spare).unwrap_or(SMALLEST);
        let high = edge(constant, LARGEST, 1e-9, spare).unwrap_or(LARGEST);
        Band {
            loss_jnd: in_jnd(loss),
            loss,
            low_mm: unit_mm * low,
            high_mm: unit_mm * high,
            low_per_mm: 1.0 / (unit_mm * low),
            high_per_mm: 1.0 / (unit_mm * high),
            low_exposure_times: (constant / low).powi(2),
            high_exposure_times: (constant / high).powi(2),
        }
    };
    let band = match criterion {
        Criterion::Eye => {
            JND.map(|jnd| Band { loss_jnd: Some(jnd), ..band_of(jnd / quality) }).to_vec()
        }
        _ => SHARES.map(band_of).to_vec(),
    };
    let fit = |tool: Tool| {
        let loss = share(tool.diameter_mm);
        Fit { loss_jnd: in_jnd(loss), loss, tool }
    };
    let rule = |one: Published| {
        let loss = share(one.constant * unit_mm);
        Rule {
            author: one.author,
            constant: one.constant,
            optimum: one.optimum,
            diameter_mm: one.constant * unit_mm,
            loss_jnd: in_jnd(loss),
            loss,
        }
    };
    Target {
        diameter_mm,
        diameter_um: 1000.0 * diameter_mm,
        diameter_thou: 1000.0 * diameter_mm / MM_PER_INCH,
        diameters_per_mm: 1.0 / diameter_mm,
        constant,
        is_found: BEST.contains(&constant),
        criterion: criterion.in_words(),
        band,
        f_number: camera.distances.film_mm() / diameter_mm,
        subject: Subject::of(camera, diameter_mm),
        tools: nearest(diameter_mm).into_iter().map(fit).collect(),
        published: PUBLISHED.map(rule).to_vec(),
        quality,
    }
}

impl Target {
    /// The narrowest band, by the eye that of 1 jnd: within it no eye can tell the hole from the best one.
    pub fn good_enough(&self) -> Band {
        self.band[0]
    }
}

/// The diameter of the best disc of a camera, in mm, by what an eye can tell, and its merit in jnd: nothing else of
/// the target.
pub fn best_disc(camera: &Camera) -> (f64, f64) {
    let discs = Discs::of(camera);
    let constant = discs.best();
    (constant * discs.unit_mm, discs.sampled.at(constant))
}

/// The diameter of the best disc by a merit of discs that is smooth in the diameter in mm.
fn best_disc_by(camera: &Camera, merit: impl Fn(f64) -> f64 + Sync) -> f64 {
    let unit_mm = unit_mm(camera);
    let sampled = SampledBySize::new(|c: f64| merit(c * unit_mm));
    best(|c| sampled.at(c), |c| sampled.at(c)) * unit_mm
}

/// The merits in jnd of a camera's discs, each computed when it is first asked for.
pub(super) struct Discs<'a> {
    unit_mm: f64,
    sampled: SampledBySize<Box<dyn Fn(f64) -> f64 + Sync + 'a>>,
    camera: &'a Camera,
}

impl Discs<'_> {
    pub(super) fn of(camera: &Camera) -> Discs<'_> {
        let (sheet, unit_mm) = (Sheet::of(camera), unit_mm(camera));
        let merit = move |c: f64| sheet.of_disc(c * unit_mm);
        Discs { unit_mm, sampled: SampledBySize::new(Box::new(merit)), camera }
    }

    /// The merit of a disc.
    pub(super) fn at_mm(&self, diameter_mm: f64) -> f64 {
        self.sampled.at(diameter_mm / self.unit_mm)
    }

    /// Computes what is needed between two diameters, side by side.
    pub(super) fn fill(&self, low_mm: f64, high_mm: f64) {
        self.sampled.fill(low_mm / self.unit_mm, high_mm / self.unit_mm);
    }

    fn best(&self) -> f64 {
        let glance = Sheet::at_a_glance(self.camera);
        best(|c| glance.of_disc(c * self.unit_mm), |c| self.sampled.at(c))
    }
}

/// The place of the highest merit: a coarse look over all sizes that could be best, be it at a glance, at places where
/// a sampled merit has samples; then a close one, which climbs on where the glance was deceived.
fn best(glance: impl Fn(f64) -> f64, merit: impl Fn(f64) -> f64) -> f64 {
    // From 0.3 to 5, and a step beyond: all of [`BEST`].
    const PLACES: RangeInclusive<i32> = -8..=11;
    let coarse = |i: i32| sample_size(3 * i);
    let seen = PLACES.map(|i| (i, glance(coarse(i)))).max_by(|a, b| a.1.total_cmp(&b.1));
    let mut top = seen.map_or(0, |(i, _)| i);
    let mut height = merit(coarse(top));
    for step in [-1, 1] {
        while PLACES.contains(&(top + step)) {
            let next = merit(coarse(top + step));
            if next <= height {
                break;
            }
            (top, height) = (top + step, next);
        }
    }
    highest(coarse(top - 1), coarse(top + 1), merit)
}

/// The film distance at which a disc of this diameter is the best one, all else of the camera kept, in mm; none where
/// no distance from a twentieth to twenty times the camera's own does.
///
/// The best diameter goes nearly with the root of the distance; each step corrects by what it missed, and the power by
/// what the last one did.
pub fn film_distance_for(camera: &Camera, target: &Target, diameter_mm: f64) -> Option<f64> {
    const STEPS: usize = 8;
    let own_mm = camera.distances.film_mm();
    let (mut distance_mm, mut guess_mm, mut power) = (own_mm, target.diameter_mm, 0.5);
    let mut nearest = (f64::INFINITY, own_mm);
    for _ in 0..STEPS {
        let off = diameter_mm / guess_mm;
        if (off - 1.0).abs() < nearest.0 {
            nearest = ((off - 1.0).abs(), distance_mm);
        }
        if nearest.0 < 3e-3 {
            break;
        }
        let farther = off.powf(1.0 / power);
        distance_mm *= farther;
        if !(own_mm / 20.0..=own_mm * 20.0).contains(&distance_mm) {
            return None;
        }
        let distances = Distances::new(camera.distances.subject_mm(), distance_mm).ok()?;
        let moved = Camera { distances, ..camera.clone() };
        let corner = [moved.film.width_mm / 2.0, moved.film.height_mm / 2.0];
        moved.place(corner).ok()?;
        let before_mm = std::mem::replace(&mut guess_mm, best_near(&moved, diameter_mm));
        power = ((guess_mm / before_mm).ln() / farther.ln()).clamp(0.3, 1.0);
    }
    // Over the film the top is so flat that its place is known to a hundredth or two.
    (nearest.0 < 0.02).then_some(nearest.1)
}

/// The best diameter of a camera, in mm, if it lies near a guess: the tops of parabolas through three discs.
fn best_near(camera: &Camera, guess_mm: f64) -> f64 {
    const STEP: f64 = 0.12;
    let sheet = Sheet::of(camera);
    let mut middle = guess_mm;
    for _ in 0..6 {
        let [a, b, c] = [-STEP, 0.0, STEP].map(|step| sheet.of_disc(middle * step.exp()));
        let bend = a - 2.0 * b + c;
        let shift = if bend < 0.0 { 0.5 * (a - c) / bend } else { (c - a).signum() };
        middle *= (STEP * shift.clamp(-2.0, 2.0)).exp();
        if shift.abs() < 0.5 {
            break;
        }
    }
    middle
}

/// The best sizes of a camera by each of the published weights.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct EyeWeights {
    /// Each with its best size: first the one that decides here.
    pub weights: Vec<ByWeight>,
    /// The smallest of those sizes, in mm.
    pub low_mm: f64,
    /// The largest of them, in mm.
    pub high_mm: f64,
    /// What the one of them that is worst here loses, in just-noticeable differences.
    pub most_loss_jnd: f64,
}

/// A published weight and the best size by it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct ByWeight {
    /// Who, and when.
    pub weight: &'static str,
    /// The best diameter, in mm.
    pub diameter_mm: f64,
}

impl EyeWeights {
    /// Of a camera whose target is judged by the first of them.
    pub fn of(camera: &Camera, target: &Target) -> EyeWeights {
        let older = |mm: f64| quality_of_disc_felt(camera, mm, Sensitivity::Barten1989);
        let acutance = |mm: f64| acutance_of_disc(camera, mm);
        let best = |merit: &(dyn Fn(f64) -> f64 + Sync)| best_disc_by(camera, merit);
        let weights: Vec<ByWeight> = [
            ("Barten 2004", target.diameter_mm),
            ("Barten 1989", best(&older)),
            ("IEEE 1858", best(&acutance)),
        ]
        .map(|(weight, diameter_mm)| ByWeight { weight, diameter_mm })
        .to_vec();
        let sizes = || weights.iter().map(|one| one.diameter_mm);
        let most =
            sizes().map(|mm| target.quality - quality_of_disc(camera, mm)).fold(0.0, f64::max);
        EyeWeights {
            low_mm: sizes().fold(f64::INFINITY, f64::min),
            high_mm: sizes().fold(0.0, f64::max),
            most_loss_jnd: most,
            weights,
        }
    }
}

#[cfg(test)]
#[path = "target_tests.rs"]
mod tests;
