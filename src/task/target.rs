//! `target`: the diameter to aim for in a camera, and how far off still looks the same.

use crate::camera::Camera;
use crate::verdict::target::{Target, target};

/// The best disc for the camera.
pub fn run(camera: &Camera) -> Target {
    target(camera)
}
