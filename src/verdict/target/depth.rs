//! Near subjects: how large they come out, how a point of them blurs, and how deep the picture is.

use crate::camera::Camera;
use crate::verdict::merit::quality_of_disc;
use crate::verdict::search::edge;
use crate::verdict::thresholds::DEPTH_JND;
use crate::wave::Distances;
use serde::Serialize;

/// How closely the ends are searched, as a share of 1/z and of the merit: a hundredth of a jnd is 10⁻⁴ of it.
const ACCURACY: f64 = 1e-6;

/// What a hole makes of the subject that the camera is set up for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Subject {
    /// From the hole to the subject along the axis, in mm; infinite (null in JSON) for a distant one.
    #[schemars(with = "Option<f64>")]
    pub distance_mm: f64,
    /// Size of the picture on the film over that of the subject, v/u: 0 for a distant one.
    pub magnification: f64,
    /// Width on the film of the hole's shadow in the light of a point of the subject, d (1 + v/u), in mm:
    /// the blur without any diffraction.
    pub shadow_mm: f64,
    /// Which other subjects are as sharp.
    pub depth: Depth,
}

/// The subjects that one hole takes nearly as sharply as the one it was made for.
///
/// A loss is reckoned against the picture that this same hole takes of its own subject. A maker has one
/// hole, and one print in which near and far stand side by side: what shows is whether one is softer than
/// the other. Whether another hole would have served the other subject better cannot be seen in that
/// print, and is what the target for that distance tells.
///
/// Frequencies are those of the print, whatever the subject's distance. With the hole and the film where
/// they are, the subject's distance then enters by the Fresnel number a²/(λz) alone, 1/z = 1/u + 1/v. It
/// falls as the subject recedes, and the less it is the less the waves' curvature spreads the light: what
/// lies behind the subject comes out a little sharper than the subject, and the depth ends on the near
/// side only. That is found by looking both ways, not taken for granted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Depth {
    /// The loss against the subject itself that ends it, in just-noticeable differences.
    pub loss_jnd: f64,
    /// The same as a share of the subject's merit, 0..1.
    pub loss: f64,
    /// The nearest subject that loses no more, in mm from the hole.
    pub nearest_mm: f64,
    /// The farthest, in mm from the hole; infinite (null in JSON) where the horizon is inside.
    #[schemars(with = "Option<f64>")]
    pub farthest_mm: f64,
    /// What the horizon loses against the subject, in just-noticeable differences: below zero where it comes out
    /// sharper.
    pub horizon_loss_jnd: f64,
    /// The same as a share of the subject's merit.
    pub horizon_loss: f64,
}

impl Subject {
    /// Of a disc in its camera.
    pub fn of(camera: &Camera, diameter_mm: f64) -> Subject {
        let distances = camera.distances;
        let magnification = distances.film_mm() / distances.subject_mm();
        Subject {
            distance_mm: distances.subject_mm(),
            magnification,
            shadow_mm: diameter_mm * (1.0 + magnification),
            depth: Depth::of(camera, diameter_mm),
        }
    }
}

impl Depth {
    /// Of a disc in its camera.
    fn of(camera: &Camera, diameter_mm: f64) -> Depth {
        // The search runs over 1/z, which goes from the horizon's 1/v up without end.
        let horizon = 1.0 / camera.distances.film_mm();
        let merit = |curvature: f64| {
            let subject_mm = 1.0 / (curvature - horizon).max(0.0);
            Distances::new(subject_mm, camera.distances.film_mm()).map_or(0.0, |distances| {
                quality_of_disc(&Camera { distances, ..camera.clone() }, diameter_mm)
            })
        };
        let own = 1.0 / camera.distances.effective_mm();
        let reference = merit(own);
        let spare = |curvature: f64| (merit(curvature) - reference + DEPTH_JND) / reference;
        let subject_mm = |curvature: f64| 1.0 / (curvature - horizon);
        let horizon_loss_jnd = reference - merit(horizon);
        Depth {
            loss_jnd: DEPTH_JND,
            loss: DEPTH_JND / reference,
            nearest_mm: edge(own, f64::INFINITY, ACCURACY, spare).map_or(0.0, subject_mm),
            farthest_mm: edge(own, horizon, ACCURACY, spare).map_or(f64::INFINITY, subject_mm),
            horizon_loss_jnd,
            horizon_loss: horizon_loss_jnd / reference,
        }
    }
}

#[cfg(test)]
#[path = "depth_tests.rs"]
mod tests;
