//! The camera that a hole suits: where the film would have to lie for it to be the best one.

use super::criterion::Criterion;
use super::target::Target;
use crate::camera::Camera;
use crate::wave::Distances;

/// The film distance at which a disc of this diameter is the best one, all else of the camera kept, in mm; none where
/// no distance from a twentieth to twenty times the camera's own does.
///
/// The best diameter goes nearly with the root of the distance; each step corrects by what it missed.
pub fn film_distance_for(camera: &Camera, target: &Target, diameter_mm: f64) -> Option<f64> {
    const STEPS: usize = 8;
    let own_mm = camera.distances.film_mm();
    let (mut distance_mm, mut guess_mm) = (own_mm, target.diameter_mm);
    let mut nearest = (f64::INFINITY, own_mm);
    for _ in 0..STEPS {
        let off = diameter_mm / guess_mm;
        if (off - 1.0).abs() < nearest.0 {
            nearest = ((off - 1.0).abs(), distance_mm);
        }
        if nearest.0 < 3e-3 {
            break;
        }
        distance_mm *= off * off;
        if !(own_mm / 20.0..=own_mm * 20.0).contains(&distance_mm) {
            return None;
        }
        let distances = Distances::new(camera.distances.subject_mm(), distance_mm).ok()?;
        let moved = Camera { distances, ..camera.clone() };
        let corner = [moved.film.width_mm / 2.0, moved.film.height_mm / 2.0];
        moved.place(corner).ok()?;
        guess_mm = best_near(&moved, diameter_mm);
    }
    // Over the film the top is so flat that its place is known to a hundredth or two.
    (nearest.0 < 0.02).then_some(nearest.1)
}

/// The best diameter of a camera, in mm, if it lies near a guess: the tops of parabolas through three discs.
fn best_near(camera: &Camera, guess_mm: f64) -> f64 {
    const STEP: f64 = 0.12;
    let mut middle = guess_mm;
    for _ in 0..6 {
        let [a, b, c] =
            [-STEP, 0.0, STEP].map(|step| Criterion::Eye.merit(camera, middle * step.exp()));
        let bend = a - 2.0 * b + c;
        let shift = if bend < 0.0 { 0.5 * (a - c) / bend } else { (c - a).signum() };
        middle *= (STEP * shift.clamp(-2.0, 2.0)).exp();
        if shift.abs() < 0.5 {
            break;
        }
    }
    middle
}
