//! `appraise`: the main job. A hole measured, its light, its picture, its exposure, and what to do.

use super::{expose, gauge, preview, psf};
use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::error::Error;
use crate::geometry::shapes;
use crate::hole::{Hole, Stated};
use crate::raster::Raster;
use crate::verdict::decision::hand::Hand;
use crate::verdict::decision::outlook::{Looked, Means};
use crate::verdict::judgement::{Verdict, verdict};
use crate::verdict::losses::Reference;
use crate::verdict::merit::quality;
use crate::verdict::target::{Target, best_disc};
use crate::verdict::thresholds::TOO_WIDE_JND;
use crate::watch::{Step, Watch};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The middle of the film.
const MIDDLE: [f64; 2] = [0.0, 0.0];

/// What to appraise.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub hole: Hole,
    /// How this maker's passes go.
    pub hand: Hand,
    /// Whether the hole was measured again after the advice to do so.
    pub again: bool,
    /// Other cameras of the maker's, which the hole may suit better.
    pub others: Vec<Camera>,
}

/// The first stage: what is measured, and what to do.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
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
    /// What to do, and why; a face adds the reasons in sentences.
    #[serde(skip)]
    pub verdict: Verdict,
    /// The other cameras in which the hole loses less, and little enough to be kept for them: the best first.
    pub suits_cameras: Vec<Suited>,
}

/// A camera that a hole suits better than the one it was judged for.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Suited {
    /// The camera's name.
    pub camera: String,
    /// Its film distance, in mm.
    pub film_distance_mm: f64,
    /// What the hole loses in it against its best disc, in just-noticeable differences.
    pub loss_jnd: f64,
}

/// The second stage: the image of a point in the middle of the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    /// Through this hole.
    pub psf: psf::Answer,
    /// Through the best disc, on the same grid.
    pub best_psf: psf::Answer,
}

/// The third stage: one scene taken twice.
#[derive(Debug, Clone, PartialEq)]
pub struct Pictures {
    /// The picture that this hole takes.
    pub picture: preview::Answer,
    /// The picture that the best disc takes.
    pub best_picture: preview::Answer,
}

/// Everything known about a hole in a camera.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The measurements and the verdict.
    #[serde(flatten)]
    pub judged: Judged,
    /// The light: the keys of `psf`.
    pub psf: psf::Answer,
    /// The light of the best disc, on the same grid.
    #[serde(skip)]
    pub best_psf: psf::Answer,
    /// The pictures.
    #[serde(skip)]
    pub pictures: Pictures,
}

/// How a hole was looked at.
fn looked(hole: &Hole, again: bool) -> Looked {
    let means = match hole.stated {
        None => Means::Outline,
        Some(Stated::Count) => Means::Count,
        Some(Stated::Size) => Means::Size,
        Some(Stated::Screen) => Means::Screen,
    };
    Looked { means, diameter_uncertainty_mm: hole.diameter_uncertainty_mm(), again }
}

/// Measures and judges a hole.
///
/// # Errors
/// A limit when the hole, the meter's figures or the film are beyond what the model holds for; a fault for two cameras
/// of one name; a stop by the watcher.
pub fn judge(request: &Request, watch: Watch) -> Result<Judged, Error> {
    let Request { camera, hole, hand, again, others } = request;
    check_names(std::iter::once(camera).chain(others))?;
    let gauge = gauge::run(&gauge::Request { hole: hole.clone(), camera: None }, watch)?;
    watch.begins(Step::Verdict)?;
    let reference = Reference::of(camera);
    watch.is_at(Step::Verdict, 0.5)?;
    let verdict = verdict(camera, &reference, &hole.outline, looked(hole, *again), hand)?;
    Ok(Judged {
        camera: camera.name.clone(),
        suits_cameras: suited(others, hole, verdict.loss_jnd, watch)?,
        verdict,
        exposure: expose::run(camera, hole)?,
        target: reference.target,
        gauge,
    })
}

/// Refuses two cameras of one name that are not the same, which nobody could tell apart in an answer.
pub(super) fn check_names<'a>(cameras: impl IntoIterator<Item = &'a Camera>) -> Result<(), Error> {
    let mut seen: BTreeMap<&str, &Camera> = BTreeMap::new();
    for camera in cameras {
        if seen.insert(&camera.name, camera).is_some_and(|other| other != camera) {
            return Err(Error::words(
                &camera.name,
                "is the name of two cameras",
                "give each camera file a name of its own (name = \"...\")",
            ));
        }
    }
    Ok(())
}

/// The cameras in which a hole loses less than `loss_jnd` and no more than a hole that is kept.
fn suited(
    cameras: &[Camera],
    hole: &Hole,
    loss_jnd: f64,
    watch: Watch,
) -> Result<Vec<Suited>, Error> {
    let mut suited = Vec::new();
    for camera in cameras {
        watch.is_at(Step::Verdict, 0.9)?;
        suited.push(Suited {
            camera: camera.name.clone(),
            film_distance_mm: camera.distances.film_mm(),
            loss_jnd: (best_disc(camera).1 - quality(camera, &hole.outline)).max(0.0),
        });
    }
    suited.retain(|one| one.loss_jnd < loss_jnd && one.loss_jnd <= TOO_WIDE_JND);
    suited.sort_by(|a, b| a.loss_jnd.total_cmp(&b.loss_jnd));
    Ok(suited)
}

/// The image of a point through the hole that was judged, and through the best disc.
///
/// # Errors
/// As [`psf::run`]; a stop by the watcher.
pub fn points(request: &Request, judged: &Judged, watch: Watch) -> Result<Points, Error> {
    let best = shapes::disc(judged.target.diameter_mm)?;
    let light = |outline, pitch_mm| {
        let camera = request.camera.clone();
        psf::run(&psf::Request { camera, outline, at_mm: MIDDLE, size: None, pitch_mm }, watch)
    };
    let psf = light(request.hole.outline.clone(), None)?;
    let best_psf = light(best, Some(psf.pitch_um / 1000.0))?;
    Ok(Points { psf, best_psf })
}

/// The pictures of a scene through the hole that was judged, and through the best disc. The scene is a perfect
/// image on the film: see [`crate::picture::View`].
///
/// # Errors
/// As [`preview::run`]; a stop by the watcher.
pub fn pictures(
    request: &Request,
    judged: &Judged,
    scene: Raster,
    watch: Watch,
) -> Result<Pictures, Error> {
    let best = shapes::disc(judged.target.diameter_mm)?;
    let scene = Arc::new(scene);
    let taken = |outline| {
        let (camera, image) = (request.camera.clone(), Arc::clone(&scene));
        preview::run(&preview::Request { camera, outline, image }, watch)
    };
    Ok(Pictures { picture: taken(request.hole.outline.clone())?, best_picture: taken(best)? })
}

/// Appraises a hole: all three stages. The scene is made ready while the hole is judged, for neither keeps all cores at
/// work.
///
/// # Errors
/// As the stages, and as the scene's.
pub fn run(
    request: &Request,
    scene: impl FnOnce() -> Result<Raster, Error> + Send,
    watch: Watch,
) -> Result<Answer, Error> {
    let judged = || {
        let judged = judge(request, watch)?;
        points(request, &judged, watch).map(|points| (judged, points))
    };
    let (judged, scene) = rayon::join(judged, scene);
    let (judged, Points { psf, best_psf }) = judged?;
    let pictures = pictures(request, &judged, scene?, watch)?;
    Ok(Answer { judged, psf, best_psf, pictures })
}

/// Holes against each other in one camera.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Comparison {
    /// The camera's name.
    pub camera: String,
    /// The best disc: the keys of `target`.
    pub target: Target,
    /// The holes in the order they were given; those of a scan in the order one reads.
    pub holes: Vec<Compared>,
}

/// One hole among others.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
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
    #[serde(skip)]
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
///
/// # Errors
/// A stop by the watcher.
pub fn compare(
    camera: &Camera,
    holes: &[Candidate],
    hand: &Hand,
    watch: Watch,
) -> Result<Comparison, Error> {
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
    let share = |i: usize| i as f64 / holes.len().max(1) as f64;
    let mut judged = Vec::with_capacity(holes.len());
    for (i, hole) in holes.iter().enumerate() {
        watch.is_at(Step::Holes, share(i))?;
        judged.push(compared(hole));
    }
    let mut holes = judged;
    let expected = |i: usize| holes[i].verdict.as_ref().map(|verdict| verdict.expected_loss_jnd);
    let mut by_loss: Vec<(f64, usize)> =
        (0..holes.len()).filter_map(|i| Some((expected(i)?, i))).collect();
    by_loss.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (rank, (_, i)) in by_loss.into_iter().enumerate() {
        holes[i].rank = Some(rank + 1);
    }
    Ok(Comparison { camera: camera.name.clone(), target: reference.target, holes })
}
