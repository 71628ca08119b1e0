//! `target`: the diameter to aim for in a camera, and how far off still looks the same.

use crate::camera::Camera;
use crate::verdict::criterion::Criterion;
use crate::verdict::target::{Target, target_by};

/// The best disc for the camera by a criterion.
pub fn run(camera: &Camera, criterion: Criterion) -> Target {
    target_by(camera, criterion)
}
