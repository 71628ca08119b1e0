//! `expose`: the exposure time of a hole.

use crate::camera::Camera;
use crate::camera::exposure::{Exposure, Meter, exposure};
use crate::error::Error;
use crate::hole::Hole;

/// The exposure of a hole in a camera by a meter's word.
///
/// # Errors
/// As [`exposure`].
pub fn run(camera: &Camera, hole: &Hole, meter: Meter) -> Result<Exposure, Error> {
    exposure(camera, &hole.outline, meter)
}
