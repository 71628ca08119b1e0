//! `expose`: the exposure time of a hole.

use crate::camera::Camera;
use crate::camera::exposure::{Exposure, exposure};
use crate::error::Error;
use crate::hole::Hole;

/// The exposure of a hole in a camera by its meter's word.
///
/// # Errors
/// As [`exposure`].
pub fn run(camera: &Camera, hole: &Hole) -> Result<Exposure, Error> {
    exposure(camera, &hole.outline)
}
