//! A hole against the best disc of the same camera: its loss, and what causes it.

use super::quality::{quality, quality_of_disc};
use super::target::Target;
use crate::camera::Camera;
use crate::geometry::Outline;
use rayon::prelude::*;

/// Scales of the hole at which its loss is computed, for the odds of a further pass.
const SMALLEST_SCALE: f64 = 0.8;
const LARGEST_SCALE: f64 = 1.6;
const SCALES: usize = 17;

/// The loss of a hole against the best disc, split into causes that add up to it.
///
/// A loss is 1 - Q/Q_best: 0 for the best disc, 1 for no image at all.
#[derive(Debug, Clone, PartialEq)]
pub struct Appraisal {
    /// The whole loss of this hole as it is.
    pub loss: f64,
    /// What a perfect disc of the smooth hole's area loses.
    pub loss_of_size: f64,
    /// What the smooth rim's form (oval, lobes) adds.
    pub loss_of_form: f64,
    /// What the burrs add: this hole against itself without them.
    pub loss_of_burrs: f64,
    /// How many burrs there are.
    pub burrs: usize,
    /// Equivalent diameter of the hole without burrs, in mm.
    pub smooth_diameter_mm: f64,
    /// The loss of the hole at other sizes.
    pub sizes: LossBySize,
}

/// The loss of one form of hole against its size, between 0.8 and 1.6 times as large as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct LossBySize {
    losses: Vec<f64>,
}

/// Appraises a hole with so many `burrs`; `without_burrs` is the same outline with them taken off.
pub fn appraise(
    camera: &Camera,
    target: &Target,
    outline: &Outline,
    burrs: usize,
    without_burrs: &Outline,
) -> Appraisal {
    let loss_of = |quality: f64| 1.0 - quality / target.quality;
    let loss = loss_of(quality(camera, outline));
    let smooth = if burrs == 0 { loss } else { loss_of(quality(camera, without_burrs)) };
    let smooth_diameter_mm = without_burrs.equivalent_diameter_mm();
    let loss_of_size = loss_of(quality_of_disc(camera, smooth_diameter_mm));
    Appraisal {
        loss,
        loss_of_size,
        loss_of_form: smooth - loss_of_size,
        loss_of_burrs: loss - smooth,
        burrs,
        smooth_diameter_mm,
        sizes: LossBySize::of(camera, target, outline),
    }
}

impl LossBySize {
    fn of(camera: &Camera, target: &Target, outline: &Outline) -> LossBySize {
        let losses = (0..SCALES)
            .into_par_iter()
            .map(|i| 1.0 - quality(camera, &outline.scaled(scale(i))) / target.quality);
        LossBySize { losses: losses.collect() }
    }

    /// The loss of the hole `factor` times as large: by straight lines between the computed sizes,
    /// which lie so close that the curve between them bends by less than 0.001.
    pub fn at(&self, factor: f64) -> f64 {
        let place = (factor.clamp(SMALLEST_SCALE, LARGEST_SCALE) - SMALLEST_SCALE) / step();
        let index = (place as usize).min(SCALES - 2);
        let share = place - index as f64;
        self.losses[index] * (1.0 - share) + self.losses[index + 1] * share
    }
}

fn step() -> f64 {
    (LARGEST_SCALE - SMALLEST_SCALE) / (SCALES - 1) as f64
}

fn scale(i: usize) -> f64 {
    SMALLEST_SCALE + step() * i as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::verdict::target::target;

    #[test]
    fn causes_add_up_and_the_best_disc_loses_nothing() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        let best = shapes::disc(target.diameter_mm).unwrap();
        let found = appraise(&camera, &target, &best, 0, &best);
        // The two routes to a disc's merit differ by 1e-5.
        assert!(found.loss.abs() < 5e-5, "{}", found.loss);
        let smooth = shapes::disc(0.9 * target.diameter_mm).unwrap();
        let burred =
            shapes::burred_disc(0.9 * target.diameter_mm, 1.0, 0.3, 0.3 * target.diameter_mm);
        let found = appraise(&camera, &target, &burred.unwrap(), 1, &smooth);
        let sum = found.loss_of_size + found.loss_of_form + found.loss_of_burrs;
        assert!((sum - found.loss).abs() < 1e-12);
        assert!(found.loss_of_burrs > 0.02 && found.loss_of_form.abs() < 1e-4);
    }

    #[test]
    fn loss_by_size_follows_the_discs() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        let best = shapes::disc(target.diameter_mm).unwrap();
        let found = appraise(&camera, &target, &best, 0, &best);
        for factor in [0.8, 0.87, 1.0, 1.13, 1.31, 1.6] {
            let disc = 1.0 - quality_of_disc(&camera, factor * target.diameter_mm) / target.quality;
            assert!((found.sizes.at(factor) - disc).abs() < 1.5e-3, "{factor}");
        }
    }
}
