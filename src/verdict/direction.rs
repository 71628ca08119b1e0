//! Which lines of the picture suffer most from a hole's form, in plain words.
//!
//! An oval blurs along its length where the light goes straight, and across it where diffraction
//! decides, so the eye cannot tell from the hole alone. The merit is taken along single directions:
//! frequencies along x are seen in upright lines. The picture is the film turned by half a turn, which
//! leaves every line its lean.

use super::quality::quality_along;
use super::target::Target;
use crate::camera::Camera;
use crate::geometry::{Outline, shapes};
use rayon::prelude::*;
use serde::Serialize;
use std::f64::consts::PI;

/// Kinds of lines, as far apart as words tell them.
const KINDS: [(&str, &str); 4] = [
    ("upright lines", "level ones"),
    ("lines that fall to the right", "those that rise to the right"),
    ("level lines", "upright ones"),
    ("lines that rise to the right", "those that fall to the right"),
];
/// Directions that are looked along, over half a turn.
const DIRECTIONS: usize = 16;
/// Lines that differ by less look alike. Common practice, no source.
const ALIKE: f64 = 0.02;

/// What lines of different directions lose to a hole's form, in the middle of the film and with the
/// camera standing still: what turning the plate can change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lines {
    /// The direction in the picture of the lines that suffer most, in degrees anticlockwise from
    /// level: 90 are upright lines.
    pub worst_deg: f64,
    /// What those lines lose against the best disc, 0..1.
    pub worst_loss: f64,
    /// What the lines across them lose, 0..1.
    pub across_loss: f64,
}

impl Lines {
    /// Of a hole without its burrs.
    pub(super) fn of(camera: &Camera, target: &Target, smooth: &Outline) -> Lines {
        let still = Camera { support: None, ..camera.clone() };
        let angle = |i: usize| PI * i as f64 / DIRECTIONS as f64;
        // Any direction of a disc is as good as another.
        let best =
            shapes::disc(target.diameter_mm).map_or(1.0, |best| quality_along(&still, &best, 0.0));
        let along = |i: usize| quality_along(&still, smooth, angle(i)) / best;
        let merits: Vec<f64> = (0..DIRECTIONS).into_par_iter().map(along).collect();
        let worst = (0..DIRECTIONS).min_by(|&a, &b| merits[a].total_cmp(&merits[b])).unwrap_or(0);
        Lines {
            worst_deg: (angle(worst).to_degrees() + 90.0) % 180.0,
            worst_loss: 1.0 - merits[worst],
            across_loss: 1.0 - merits[(worst + DIRECTIONS / 2) % DIRECTIONS],
        }
    }

    /// What is to be said, unless all lines look alike.
    pub fn in_words(&self) -> Option<String> {
        let apart = self.worst_loss - self.across_loss;
        let kind = ((self.worst_deg - 90.0).rem_euclid(180.0) / 45.0).round() as usize % 4;
        let (worst, across) = KINDS[kind];
        (apart >= ALIKE).then(|| {
            format!(
                "{worst} suffer most, by {:.0} % more than {across}: turn the plate a quarter turn \
                 if they matter",
                100.0 * apart
            )
        })
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
            (1.5, 0.0, "upright lines", 90.0),
            (0.5, 0.0, "level lines", 0.0),
            (1.5, PI / 2.0, "level lines", 0.0),
            (1.5, PI / 4.0, "lines that fall to the right", 135.0),
            (1.5, 3.0 * PI / 4.0, "lines that rise to the right", 45.0),
        ] {
            let found = oval(size, turn);
            assert!((found.worst_deg - degrees).abs() < 1e-9, "{size} {turn}: {found:?}");
            assert!(found.in_words().unwrap().starts_with(said), "{:?}", found.in_words());
        }
        assert_eq!(lines(&shapes::disc(best).unwrap()).in_words(), None);
    }
}
