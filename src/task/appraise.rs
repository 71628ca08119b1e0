//! `appraise`: the main job. A hole measured, its light, its picture, its exposure, and what to do.

use super::{Watch, expose, gauge, preview, psf};
use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::error::Error;
use crate::geometry::shapes;
use crate::hole::{Hole, without_burrs};
use crate::raster::Raster;
use crate::verdict::advice::{Verdict, verdict};
use crate::verdict::appraise::appraise;
use crate::verdict::target::{Target, target};
use serde::Serialize;

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
    /// Who hears of its steps.
    pub watch: Watch<'a>,
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
    /// What to do, and why.
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
    let target = target(camera);
    let best = shapes::disc(target.diameter_mm)?;
    let smooth = without_burrs(outline)?;
    let appraisal = appraise(camera, &target, outline, gauge.hole.inward_burrs().count(), &smooth);
    let verdict = verdict(&appraisal, &target, gauge.hole.equivalent_diameter_uncertainty_mm);
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
