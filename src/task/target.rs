//! `target`: the diameter to aim for in a camera, how far off still looks the same, and what that rests on.

use crate::camera::{Assumed, Camera};
use crate::error::Error;
use crate::verdict::target::criterion::Criterion;
use crate::verdict::target::{EyeWeights, Target, target_by};
use crate::watch::{Step, Watch};
use serde::Serialize;

/// What to find.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// By what the best disc is judged.
    pub criterion: Criterion,
}

/// The best disc of a camera, and what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The camera's name.
    pub camera: String,
    /// The best disc.
    #[serde(flatten)]
    pub target: Target,
    /// The mean wavelength that counts, by energy, in nm.
    pub wavelength_nm: f64,
    /// What the film takes in, in degrees.
    pub view: View,
    /// What the camera file does not say, and is taken to be as its remark has it.
    pub assumed: Vec<Assumed>,
    /// The best size by each published weight of the eye; null where it is not judged by the eye.
    pub eye_weights: Option<EyeWeights>,
}

/// What the film takes in, angles at the hole in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct View {
    /// Across the width.
    pub width_deg: f64,
    /// Across the height.
    pub height_deg: f64,
    /// From corner to corner.
    pub diagonal_deg: f64,
}

/// Finds the best disc for the camera by a criterion.
///
/// # Errors
/// As [`Camera::view_rad`]; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    let Request { camera, criterion } = request;
    watch.begins(Step::Verdict)?;
    let target = target_by(camera, *criterion);
    watch.is_at(Step::Verdict, 0.5)?;
    let [width_deg, height_deg, diagonal_deg] = camera.view_rad()?.map(f64::to_degrees);
    Ok(Answer {
        camera: camera.name.clone(),
        wavelength_nm: camera.light.mean_nm(),
        view: View { width_deg, height_deg, diagonal_deg },
        assumed: camera.assumed.clone(),
        eye_weights: (*criterion == Criterion::Eye).then(|| EyeWeights::of(camera, &target)),
        target,
    })
}
