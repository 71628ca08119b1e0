//! What a fault of the picture costs, in just-noticeable differences of the print.

use super::causes::Cause;
use crate::camera::exposure::exposure;
use crate::camera::{Camera, Support};
use crate::error::Error;
use crate::geometry::Outline;
use crate::verdict::merit::quality_at;

/// How much worse than the hole allows a cause makes the middle of the picture, in jnd; below zero for a hole of another size that
/// is better. The middle is where most is to be lost.
///
/// # Errors
/// As [`exposure`].
pub fn loss_jnd(camera: &Camera, hole: &Outline, cause: Cause) -> Result<f64, Error> {
    let middle = [0.0, 0.0];
    let allowed = quality_at(camera, hole, middle)?;
    let found = match cause {
        Cause::None => allowed,
        Cause::Resized { factor, .. } => quality_at(camera, &hole.scaled(factor), middle)?,
        Cause::Softened { sigma_mm, .. } => {
            let mut softer = camera.clone();
            softer.emulsion.blur_mm = camera.emulsion.blur_mm.hypot(sigma_mm);
            quality_at(&softer, hole, middle)?
        }
        Cause::Moved { length_mm, direction_deg, .. } => {
            let time_s = exposure(camera, hole)?.corrected_s;
            let support = Support {
                drift_mm_per_s: length_mm / time_s,
                sway: None,
                walk_mm2_per_s: 0.0,
                direction_rad: direction_deg.to_radians(),
            };
            quality_at(&Camera { support: Some(support), ..camera.clone() }, hole, middle)?
        }
    };
    Ok(allowed - found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// Nothing costs nothing; blur and movement of the same second moment (σ² = l²/12 along one direction, half of it averaged over all)
    /// cost alike while both are small, by the expansion of both transfers to second order.
    #[test]
    fn small_faults_of_the_same_second_moment_cost_alike() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.34).unwrap();
        assert!(loss_jnd(&camera, &hole, Cause::None).unwrap().abs() < 1e-12);
        let length_mm = 0.08;
        let moved = Cause::Moved { length_mm, length_uncertainty_mm: 0.0, direction_deg: 20.0 };
        let sigma_mm = length_mm / 24f64.sqrt();
        let softened = Cause::Softened { sigma_mm, sigma_uncertainty_mm: 0.0 };
        let [moved, softened] =
            [moved, softened].map(|cause| loss_jnd(&camera, &hole, cause).unwrap());
        assert!(softened > 0.01, "{softened}");
        // Terms of the fourth order: (2π f l)² at the finest seen is some tenths.
        assert!((moved / softened - 1.0).abs() < 0.1, "{moved} {softened}");
    }
}
