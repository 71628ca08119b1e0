//! `appraise`: the main job. A hole measured, its light, its picture, its exposure, and what to do.

use super::{Watch, expose, gauge, preview, psf};
use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::error::Error;
use crate::geometry::shapes;
use crate::hole::{Hole, Stated};
use crate::raster::Raster;
use crate::verdict::camera_losses::Reference;
use crate::verdict::hand::Hand;
use crate::verdict::judgement::{Verdict, verdict};
use crate::verdict::outlook::{Looked, Means};
use crate::verdict::target::Target;
use crate::words::verdict::reasons;
use serde::{Serialize, Serializer};

/// Steps of which a watcher hears.
pub const STEPS: usize = 3 + 2 * preview::STEPS;

/// The middle of the film.
const MIDDLE: [f64; 2] = [0.0, 0.0];

/// What to appraise.
#[derive(Clone)]
pub struct Request<'a> {
    /// The camera.
    pub camera: &'a Camera,
    /// The hole.
    pub hole: &'a Hole,
    /// The perfect image of the scene on the film: see [`crate::picture::View`].
    pub scene: &'a Raster,
    /// How this maker's passes go.
    pub hand: Hand,
    /// Whether the hole was measured again after the advice to do so.
    pub again: bool,
    /// Who hears of its steps.
    pub watch: Watch<'a>,
}

/// A hole judged, without its light and its picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// The camera's name.
    pub camera: String,
    /// The measurements: the keys of `gauge`.
    #[serde(flatten)]
    pub gauge: gauge::Answer,
    /// The best disc: the keys of `target`.
    pub target: Target,
    /// The exposure: the keys of `expose`.
    pub exposure: Exposure,
    /// What to do, and why, in sentences under `reasons`.
    #[serde(serialize_with = "told")]
    pub verdict: Verdict,
}

/// Everything known about a hole in a camera.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The camera's name.
    pub camera: String,
    /// The measurements: the keys of `gauge`.
    #[serde(flatten)]
    pub gauge: gauge::Answer,
    /// The light: the keys of `psf`.
    pub psf: psf::Answer,
    /// The best disc: the keys of `target`.
    pub target: Target,
    /// The exposure: the keys of `expose`.
    pub exposure: Exposure,
    /// What to do, and why, in sentences under `reasons`.
    #[serde(serialize_with = "told")]
    pub verdict: Verdict,
    /// The light of the best disc, on the same grid.
    #[serde(skip)]
    pub best_psf: psf::Answer,
    /// The picture that this hole takes.
    #[serde(skip)]
    pub picture: preview::Answer,
    /// The picture that the best disc takes.
    #[serde(skip)]
    pub best_picture: preview::Answer,
}

/// How a hole was looked at.
fn looked(hole: &Hole, again: bool) -> Looked {
    let means = match hole.stated {
        None => Means::Outline,
        Some(Stated::Count) => Means::Count,
        Some(Stated::Size) => Means::Size,
    };
    Looked { means, diameter_uncertainty_mm: hole.diameter_uncertainty_mm(), again }
}

/// A verdict with its reasons as sentences.
#[derive(Serialize)]
struct Told<'a> {
    #[serde(flatten)]
    verdict: &'a Verdict,
    reasons: Vec<String>,
}

impl Told<'_> {
    fn of(verdict: &Verdict) -> Told<'_> {
        Told { verdict, reasons: reasons(verdict) }
    }
}

fn told<S: Serializer>(verdict: &Verdict, to: S) -> Result<S::Ok, S::Error> {
    Told::of(verdict).serialize(to)
}

#[expect(clippy::ref_option, reason = "serde hands the field by reference")]
fn told_if_known<S: Serializer>(verdict: &Option<Verdict>, to: S) -> Result<S::Ok, S::Error> {
    verdict.as_ref().map(Told::of).serialize(to)
}

/// Appraises a hole.
///
/// # Errors
/// [`Error::Limit`] when the hole, the meter's figures or the film are beyond what the model holds
/// for.
pub fn run(request: &Request) -> Result<Answer, Error> {
    let (camera, outline) = (request.camera, &request.hole.outline);
    (request.watch)("the hole's form");
    let gauge = gauge::run(request.hole, None)?;
    (request.watch)("the best size for this camera, and what this hole loses");
    let reference = Reference::of(camera);
    let target = reference.target.clone();
    let best = shapes::disc(target.diameter_mm)?;
    let looked = looked(request.hole, request.again);
    let verdict = verdict(camera, &reference, outline, looked, &request.hand)?;
    (request.watch)("the image of a point");
    let light = |outline, pitch_mm| {
        psf::run(&psf::Request { camera, outline, at_mm: MIDDLE, size: None, pitch_mm })
    };
    let psf = light(outline, None)?;
    let best_psf = light(&best, Some(psf.pitch_um / 1000.0))?;
    Ok(Answer {
        camera: camera.name.clone(),
        exposure: expose::run(camera, request.hole)?,
        picture: preview::run(camera, outline, request.scene, request.watch)?,
        best_picture: preview::run(camera, &best, request.scene, request.watch)?,
        gauge,
        psf,
        best_psf,
        target,
        verdict,
    })
}

/// Judges a hole and draws nothing.
///
/// # Errors
/// As [`run`].
pub fn judge(camera: &Camera, hole: &Hole, hand: &Hand, again: bool) -> Result<Judged, Error> {
    let reference = Reference::of(camera);
    let verdict = verdict(camera, &reference, &hole.outline, looked(hole, again), hand)?;
    Ok(Judged {
        camera: camera.name.clone(),
        gauge: gauge::run(hole, None)?,
        exposure: expose::run(camera, hole)?,
        target: reference.target,
        verdict,
    })
}

impl Answer {
    /// The first part of the answer.
    pub fn judged(&self) -> Judged {
        Judged {
            camera: self.camera.clone(),
            gauge: self.gauge.clone(),
            target: self.target.clone(),
            exposure: self.exposure.clone(),
            verdict: self.verdict.clone(),
        }
    }
}

/// Holes against each other in one camera.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The camera's name.
    pub camera: String,
    /// The best disc: the keys of `target`.
    pub target: Target,
    /// The holes in the order they were given; those of a scan in the order one reads.
    pub holes: Vec<Compared>,
}

/// One hole among others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Its file or words; of a scan, its number.
    pub name: String,
    /// Its place by the loss to expect of it, 1 the best; null where it could not be measured.
    pub rank: Option<usize>,
    /// Its equivalent diameter, in mm; null where it could not be measured.
    pub equivalent_diameter_mm: Option<f64>,
    /// The expanded uncertainty of that, in mm.
    pub equivalent_diameter_uncertainty_mm: Option<f64>,
    /// What to do, and why; null where it could not be measured.
    #[serde(serialize_with = "told_if_known")]
    pub verdict: Option<Verdict>,
    /// Why it could not be measured; left out where it could.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
}

/// A hole to be compared with others.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its file or words; of a scan, its number.
    pub name: String,
    /// The hole, or why it could not be measured.
    pub hole: Result<Hole, Error>,
}

/// Appraises each of several holes, without pictures, and ranks them.
pub fn compare(camera: &Camera, holes: &[Candidate], hand: &Hand) -> Comparison {
    let reference = Reference::of(camera);
    let compared = |Candidate { name, hole }: &Candidate| {
        let judged = hole.as_ref().map_err(Clone::clone).and_then(|hole| {
            let known_mm = hole.diameter_uncertainty_mm();
            let verdict = verdict(camera, &reference, &hole.outline, looked(hole, false), hand)?;
            Ok((hole.outline.equivalent_diameter_mm(), known_mm, verdict))
        });
        let (size, fault) = match judged {
            Ok(judged) => (Some(judged), None),
            Err(why) => (None, Some(why.to_string())),
        };
        Compared {
            name: name.clone(),
            rank: None,
            equivalent_diameter_mm: size.as_ref().map(|(mm, ..)| *mm),
            equivalent_diameter_uncertainty_mm: size.as_ref().map(|(_, mm, _)| *mm),
            verdict: size.map(|(.., verdict)| verdict),
            fault,
        }
    };
    let mut holes: Vec<Compared> = holes.iter().map(compared).collect();
    let expected = |i: usize| holes[i].verdict.as_ref().map(|verdict| verdict.expected_loss_jnd);
    let mut by_loss: Vec<(f64, usize)> =
        (0..holes.len()).filter_map(|i| Some((expected(i)?, i))).collect();
    by_loss.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (rank, (_, i)) in by_loss.into_iter().enumerate() {
        holes[i].rank = Some(rank + 1);
    }
    Comparison { camera: camera.name.clone(), target: reference.target, holes }
}
