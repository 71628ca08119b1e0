//! The best size by each published weight of the eye: how much hangs on which of them is believed.

use super::eye::Sensitivity;
use super::quality::{acutance_of_disc, quality_of_disc, quality_of_disc_felt};
use super::target::{Target, best_disc_by};
use crate::camera::Camera;
use serde::Serialize;

/// The best sizes of a camera by each of the published weights.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EyeWeights {
    /// Each with its best size: first the one that decides here.
    pub weights: Vec<ByWeight>,
    /// The smallest of those sizes, in mm.
    pub low_mm: f64,
    /// The largest of them, in mm.
    pub high_mm: f64,
    /// What the one of them that is worst here loses, in just-noticeable differences.
    pub most_loss_jnd: f64,
}

/// A published weight and the best size by it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ByWeight {
    /// Who, and when.
    pub weight: &'static str,
    /// The best diameter, in mm.
    pub diameter_mm: f64,
}

impl EyeWeights {
    /// Of a camera whose target is judged by the first of them.
    pub fn of(camera: &Camera, target: &Target) -> EyeWeights {
        let older = |mm: f64| quality_of_disc_felt(camera, mm, Sensitivity::Barten1989);
        let acutance = |mm: f64| acutance_of_disc(camera, mm);
        let best = |merit: &dyn Fn(f64) -> f64| best_disc_by(camera, merit).0;
        let weights: Vec<ByWeight> = [
            ("Barten 2004", target.diameter_mm),
            ("Barten 1989", best(&older)),
            ("IEEE 1858", best(&acutance)),
        ]
        .map(|(weight, diameter_mm)| ByWeight { weight, diameter_mm })
        .to_vec();
        let sizes = || weights.iter().map(|one| one.diameter_mm);
        let most =
            sizes().map(|mm| target.quality - quality_of_disc(camera, mm)).fold(0.0, f64::max);
        EyeWeights {
            low_mm: sizes().fold(f64::INFINITY, f64::min),
            high_mm: sizes().fold(0.0, f64::max),
            most_loss_jnd: most,
            weights,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::target::target;

    /// By the sheet on perception the older sensitivity moves the best constant by at most 0.025 of 1.6, and acutance
    /// puts it 4 to 6 % lower for one wavelength; over a sheet of many places and colours twice that is left.
    #[test]
    fn published_weights_agree_to_a_few_hundredths() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        let found = EyeWeights::of(&camera, &target);
        let share = |i: usize| found.weights[i].diameter_mm / target.diameter_mm - 1.0;
        println!("{found:?}");
        assert_eq!(share(0), 0.0);
        assert!(share(1).abs() < 0.03, "{}", share(1));
        assert!((-0.12..-0.02).contains(&share(2)), "{}", share(2));
        assert!(found.low_mm < found.high_mm && found.most_loss_jnd < 1.0);
    }
}
