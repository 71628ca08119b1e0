//! What the camera itself takes from every hole, the best one too: its plate's thickness, and what
//! moves.

use super::appraise::Causes;
use super::loss_by_size::LossBySize;
use super::quality::quality_at;
use super::target::{Target, best_disc, target};
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::Outline;
use serde::Serialize;

/// The whole loss against an ideal, as shares of its merit: the best disc there could be in this camera, were its plate
/// without thickness and did nothing move. All the causes together are that loss.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Budget {
    /// The whole loss against the ideal, 0..1.
    pub loss: f64,
    /// Size of the hole.
    pub size: f64,
    /// Its form.
    pub form: f64,
    /// Its burrs.
    pub burrs: f64,
    /// Debris in it.
    pub debris: f64,
    /// The plate's thickness, as the best disc of this plate loses by it. What a hole off the best size
    /// loses more by it counts as its size.
    pub thickness: f64,
    /// What moves during the exposure, as the best disc loses by it. What a narrower hole loses more,
    /// because it is open longer, counts as its size.
    pub motion: f64,
}

/// What the plate's thickness does where it does most: in the corner of the film.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Corner {
    /// The angle of the corner from the axis of the hole, in degrees.
    pub angle_deg: f64,
    /// The share of the hole that the plate leaves open there, 0..1.
    pub open: f64,
    /// What the thickness takes of the sharpness there, against the same hole in thin metal: below
    /// zero where the narrowed hole is sharper. Null where no light comes at all.
    pub loss: Option<f64>,
}

/// What the holes of a camera are held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// The best disc of the camera as it is.
    pub target: Target,
    /// What discs of the camera lose, by their size over the best one's.
    pub discs: LossBySize,
    /// The merit of the best disc were nothing to move.
    unmoved: f64,
    /// And in a plate without thickness besides.
    ideal: f64,
}

/// The narrowest disc of which the loss is computed, over the best one: less by the steps below a hole's own size.
const NARROWEST: f64 = 0.55;

impl Reference {
    /// What a disc loses, in jnd, whose diameter has this logarithm over the best one's.
    pub fn disc_jnd(&self, x: f64) -> f64 {
        self.discs.at(x.exp() / NARROWEST).max(0.0)
    }

    /// Of a camera; what it has not is not searched for.
    pub fn of(camera: &Camera) -> Reference {
        let best = |camera: &Camera, is_same: bool, known: f64| {
            if is_same { known } else { best_disc(camera).1 }
        };
        let own = target(camera);
        let still = Camera { support: None, ..camera.clone() };
        let unmoved = best(&still, camera.support.is_none(), own.quality);
        let thin = Camera { plate_mm: 0.0, ..still };
        let ideal = best(&thin, camera.plate_mm == 0.0, unmoved);
        let discs = LossBySize::of_discs(camera, &own, NARROWEST * own.diameter_mm);
        Reference { target: own, discs, unmoved, ideal }
    }
}

impl Budget {
    /// Of a hole, from its causes against the best disc of its very camera.
    pub(super) fn of(reference: &Reference, causes: &Causes) -> Budget {
        let Reference { target, unmoved, ideal, .. } = reference;
        let share = 1.0 / ideal;
        let Causes { size, form, burrs, debris } = causes;
        let [size, form, burrs, debris] = [size, form, burrs, debris].map(|cause| share * cause);
        let motion = (unmoved - target.quality) / ideal;
        let thickness = 1.0 - unmoved / ideal;
        Budget {
            loss: size + form + burrs + debris + thickness + motion,
            size,
            form,
            burrs,
            debris,
            thickness,
            motion,
        }
    }
}

impl Corner {
    /// Of a hole in a camera; none in metal that has no thickness.
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`], for a film that the hole cannot see all of.
    pub(super) fn of(camera: &Camera, outline: &Outline) -> Result<Option<Corner>, Error> {
        if camera.plate_mm == 0.0 {
            return Ok(None);
        }
        let at_mm = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        let open = PointImage::where_lit(camera, outline, at_mm)?.map_or(0.0, |image| image.open);
        let thin = Camera { plate_mm: 0.0, ..camera.clone() };
        let kept = quality_at(camera, outline, at_mm)? / quality_at(&thin, outline, at_mm)?;
        Ok(Some(Corner {
            angle_deg: camera.place(at_mm)?.hole_angle_rad().to_degrees(),
            open,
            loss: kept.is_finite().then_some(1.0 - kept),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Support;
    use crate::geometry::shapes;
    use crate::verdict::appraise::appraise;
    use crate::verdict::quality::{quality, quality_of_disc};
    use std::f64::consts::PI;

    /// All causes together against one computation: the merit of the hole as it is over the best merit
    /// of a dense look over discs in the ideal camera.
    #[test]
    fn causes_add_up_to_the_loss_against_the_ideal() {
        let mut camera = Camera::demonstration().unwrap();
        camera.plate_mm = 0.1;
        camera.support = Some(Support {
            drift_mm_per_s: 0.02,
            sway: None,
            walk_mm2_per_s: 0.0,
            direction_rad: 0.3,
        });
        let reference = Reference::of(&camera);
        let target = &reference.target;
        let hole = shapes::burred_disc(0.8 * target.diameter_mm, 0.5, 0.3, 0.1).unwrap();
        let appraisal = appraise(&camera, target, &hole).unwrap();
        let found = Budget::of(&reference, &appraisal.causes);
        let ideal = Camera { plate_mm: 0.0, support: None, ..camera.clone() };
        let best = (0..400)
            .map(|i| quality_of_disc(&ideal, 0.2 + 0.001 * f64::from(i)))
            .fold(0.0, f64::max);
        let loss = 1.0 - quality(&camera, &hole) / best;
        let sum = found.size + found.form + found.burrs + found.debris;
        // The dense look misses the flat top by less than 1e-5; two routes to a disc differ by 0.01 jnd of 130.
        assert!((found.loss - loss).abs() < 2e-4, "{} {loss}", found.loss);
        assert!((sum + found.thickness + found.motion - found.loss).abs() < 1e-12);
        assert!(found.motion > 0.001, "{found:?}");
        // Against the best disc of the same camera: what the hole itself causes.
        let own = sum / (1.0 - found.thickness - found.motion);
        let share = appraisal.loss_jnd / target.quality;
        assert!((own - share).abs() < 1e-9, "{own} {share}");
        camera.support = None;
        camera.plate_mm = 0.0;
        let thin = Budget::of(&Reference::of(&camera), &appraisal.causes);
        assert_eq!((thin.motion, thin.thickness), (0.0, 0.0));
        assert!((thin.loss - appraisal.loss_jnd / reference.target.quality).abs() < 0.01);
    }

    /// What the plate leaves open of a disc: A(θ)/A = (2/π)(arccos q - q √(1 - q²)), q = t tan θ / d, the
    /// overlap of two discs.
    #[test]
    fn the_corner_sees_the_overlap_of_two_discs() {
        let mut camera = Camera::demonstration().unwrap();
        let disc = shapes::disc(0.3).unwrap();
        camera.plate_mm = 0.15;
        let found = Corner::of(&camera, &disc).unwrap().unwrap();
        let tangent =
            camera.film.width_mm.hypot(camera.film.height_mm) / (2.0 * camera.distances.film_mm());
        assert!((found.angle_deg.to_radians().tan() - tangent).abs() < 1e-9);
        let q: f64 = 0.15 * tangent / 0.3;
        let open = 2.0 / PI * (q.acos() - q * (1.0 - q * q).sqrt());
        // The disc is a polygon of many sides.
        assert!((found.open - open).abs() < 1e-4, "{} {open}", found.open);
        assert!(found.loss.is_some());
        camera.plate_mm = 1.0;
        let closed = Corner::of(&camera, &disc).unwrap().unwrap();
        assert_eq!((closed.open, closed.loss), (0.0, None));
        camera.plate_mm = 0.0;
        assert_eq!(Corner::of(&camera, &disc).unwrap(), None);
    }
}
