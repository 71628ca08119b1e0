//! Which lines of the picture suffer most from a hole's form, in plain words.
//!
//! An oval blurs along its length where the light goes straight, and across it where diffraction
//! decides, so the eye cannot tell from the hole alone. The merit is taken along single directions:
//! frequencies along x are seen in upright lines. The picture is the film turned by half a turn, which
//! leaves every line its lean.

use super::quality::quality_along;
use super::target::Target;
use super::thresholds::LINES_ALIKE_JND;
use crate::camera::Camera;
use crate::geometry::{Outline, shapes};
use rayon::prelude::*;
use serde::Serialize;
use std::f64::consts::PI;

/// Directions that are looked along, over half a turn.
const DIRECTIONS: usize = 16;

/// What lines of different directions lose to a hole's form, in the middle of the film and with the
/// camera standing still: what turning the plate can change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Lines {
    /// The direction in the picture of the lines that suffer most, in degrees anticlockwise from
    /// level: 90 are upright lines.
    pub worst_deg: f64,
    /// What those lines lose against the best disc, in jnd.
    pub worst_loss_jnd: f64,
    /// What the lines across them lose, in jnd.
    pub across_loss_jnd: f64,
    /// The same as shares of the best disc's merit along one direction.
    pub worst_loss: f64,
    /// The same of the lines across them.
    pub across_loss: f64,
}

/// Lines of a picture by how they lean, as far apart as words tell them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// Upright lines.
    Upright,
    /// Lines that fall to the right.
    Falling,
    /// Level lines.
    Level,
    /// Lines that rise to the right.
    Rising,
}

impl Lines {
    /// Of a hole without its burrs.
    pub(super) fn of(camera: &Camera, target: &Target, smooth: &Outline) -> Lines {
        let still = Camera { support: None, ..camera.clone() };
        let angle = |i: usize| PI * i as f64 / DIRECTIONS as f64;
        // Any direction of a disc is as good as another.
        let best =
            shapes::disc(target.diameter_mm).map_or(1.0, |best| quality_along(&still, &best, 0.0));
        let along = |i: usize| quality_along(&still, smooth, angle(i));
        let merits: Vec<f64> = (0..DIRECTIONS).into_par_iter().map(along).collect();
        let worst = (0..DIRECTIONS).min_by(|&a, &b| merits[a].total_cmp(&merits[b])).unwrap_or(0);
        let across = (worst + DIRECTIONS / 2) % DIRECTIONS;
        Lines {
            worst_deg: (angle(worst).to_degrees() + 90.0) % 180.0,
            worst_loss_jnd: best - merits[worst],
            across_loss_jnd: best - merits[across],
            worst_loss: 1.0 - merits[worst] / best,
            across_loss: 1.0 - merits[across] / best,
        }
    }

    /// The lean of the lines that suffer most, unless all look alike.
    pub fn worst_lean(&self) -> Option<Lean> {
        const LEANS: [Lean; 4] = [Lean::Upright, Lean::Falling, Lean::Level, Lean::Rising];
        let kind = ((self.worst_deg - 90.0).rem_euclid(180.0) / 45.0).round() as usize % 4;
        let apart = self.worst_loss_jnd - self.across_loss_jnd;
        (apart >= LINES_ALIKE_JND).then_some(LEANS[kind])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::verdict::target::target;

    fn lines(outline: &Outline) -> Lines {
        let camera = Camera::demonstration().unwrap();
        Lines::of(&camera, &target(&camera), outline)
    }

    /// A hole wider than the best lets light straight through: an oval lying on its side smears
    /// sideways, which upright lines show. One far too narrow diffracts most across its narrow side,
    /// up and down, which level lines show.
    #[test]
    fn words_say_which_lines_suffer() {
        let best = target(&Camera::demonstration().unwrap()).diameter_mm;
        let oval = |size: f64, turn: f64| {
            let oval = shapes::ellipse(1.3 * size * best, size * best / 1.3).unwrap();
            lines(&oval.turned(turn))
        };
        for (size, turn, said, degrees) in [
            (1.5, 0.0, Lean::Upright, 90.0),
            (0.5, 0.0, Lean::Level, 0.0),
            (1.5, PI / 2.0, Lean::Level, 0.0),
            (1.5, PI / 4.0, Lean::Falling, 135.0),
            (1.5, 3.0 * PI / 4.0, Lean::Rising, 45.0),
        ] {
            let found = oval(size, turn);
            // To one of the directions that are looked along: reversed contrast makes the curve rough.
            let off = (found.worst_deg - degrees + 90.0).rem_euclid(180.0) - 90.0;
            assert!(off.abs() < 12.0, "{size} {turn}: {found:?}");
            assert_eq!(found.worst_lean(), Some(said), "{found:?}");
        }
        assert_eq!(lines(&shapes::disc(best).unwrap()).worst_lean(), None);
    }
}
