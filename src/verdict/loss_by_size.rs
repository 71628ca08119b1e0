//! The loss of one form of hole against its size, in jnd: what it would lose were it narrower or wider.

use super::quality::{quality, quality_of_disc};
use super::search::cubic;
use super::target::Target;
use crate::camera::Camera;
use crate::geometry::Outline;
use rayon::prelude::*;

/// Sizes lie so far apart, each over the one before it.
const STEP: f64 = 1.08;
/// How many of them lie below the hole's own: down to 0.735 of it.
const BELOW: usize = 4;
/// How wide, over the hole's own size, is looked at least. The widest pass that is believed doubles a
/// hole, and a size may be uncertain by a quarter besides.
const LARGEST: f64 = 2.5;
/// How far beyond the best size is looked.
const BEYOND_BEST: f64 = 1.25;

/// The loss of one form of hole against its size, as a factor on the size that it has, in jnd.
#[derive(Debug, Clone, PartialEq)]
pub struct LossBySize {
    losses: Vec<f64>,
}

impl LossBySize {
    /// Computes the loss at sizes from 0.735 to 2.5 times the hole's own or more, so that the best
    /// size is among them whenever the hole is narrower.
    pub(super) fn of(camera: &Camera, target: &Target, outline: &Outline) -> LossBySize {
        let to_best = target.diameter_mm / outline.equivalent_diameter_mm();
        let largest = LARGEST.max(BEYOND_BEST * to_best);
        let above = (largest.ln() / STEP.ln()).ceil() as usize;
        let loss = |i| target.quality - quality(camera, &outline.scaled(scale(i)));
        LossBySize { losses: (0..=BELOW + above).into_par_iter().map(loss).collect() }
    }

    /// The same of discs, from a hole of `diameter_mm` on.
    pub(super) fn of_discs(camera: &Camera, target: &Target, diameter_mm: f64) -> LossBySize {
        let largest = LARGEST.max(BEYOND_BEST * target.diameter_mm / diameter_mm);
        let above = (largest.ln() / STEP.ln()).ceil() as usize;
        let loss = |i| target.quality - quality_of_disc(camera, diameter_mm * scale(i));
        LossBySize { losses: (0..=BELOW + above).into_par_iter().map(loss).collect() }
    }

    /// The loss of the hole `factor` times as large: the cubic through the four nearest sizes, accurate to
    /// 0.03 jnd where less than 10 are lost and to 0.3 beyond, where the curve is less smooth and
    /// nobody asks so closely. Beyond the sizes that were computed, that of the last.
    pub fn at(&self, factor: f64) -> f64 {
        let last = (self.losses.len() - 1) as f64;
        let place = (BELOW as f64 + factor.ln() / STEP.ln()).clamp(0.0, last);
        let first = (place.floor() as usize).saturating_sub(1).min(self.losses.len() - 4);
        let [a, b, c, d] = std::array::from_fn(|i| self.losses[first + i]);
        cubic([a, b, c, d], place - first as f64)
    }

    /// The best size that widening can reach from `factor` on, and its loss there.
    pub fn best_from(&self, factor: f64) -> (f64, f64) {
        const FINE: f64 = 1.005;
        let last = scale(self.losses.len() - 1);
        let mut best = (factor, self.at(factor));
        let mut next = factor * FINE;
        while next <= last {
            let loss = self.at(next);
            if loss < best.1 {
                best = (next, loss);
            }
            next *= FINE;
        }
        best
    }
}

fn scale(i: usize) -> f64 {
    STEP.powi(i as i32 - BELOW as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::verdict::target::target;

    #[test]
    fn loss_by_size_follows_the_discs() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        for own in [1.0, 0.2] {
            let disc = shapes::disc(own * target.diameter_mm).unwrap();
            let found = LossBySize::of(&camera, &target, &disc);
            for factor in [0.735, 0.8, 0.87, 1.0, 1.13, 1.31, 1.6, 2.4] {
                let size_mm = own * factor * target.diameter_mm;
                let loss = target.quality - quality_of_disc(&camera, size_mm);
                let found = found.at(factor);
                let allowed = if loss < 10.0 { 0.03 } else { 0.3 };
                assert!((found - loss).abs() < allowed, "{own} {factor}: {found} {loss}");
            }
            let (factor, loss) = found.best_from(0.8);
            // A flat top: 1 % beside it is 0.005 jnd; the routes to a disc differ by as much.
            assert!((own * factor - 1.0).abs() < 0.02 && loss.abs() < 0.03, "{factor} {loss}");
            assert_eq!(found.at(1e3), found.at(1e4));
        }
        let disc = shapes::disc(target.diameter_mm).unwrap();
        assert_eq!(LossBySize::of(&camera, &target, &disc).best_from(1.4).0, 1.4);
    }
}
