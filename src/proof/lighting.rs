//! How evenly the chart was lit, by its bare paper beside the octagons.
//!
//! An edge's contrast is told by the light on either side of it, and light that falls off on the way there passes
//! for contrast. The fall-off that the camera has is known; the lamps' own is taken to be of the second
//! order over the film.

use super::chart::{Chart, REACH, TURN_RAD};
use super::find::Found;
use super::patch::patch;
use super::tone::Tone;
use crate::camera::opening;
use crate::geometry::{Outline, Point, solve};
use ndarray::Array2;

const TERMS: usize = 6;

/// Describes the light of bare paper over the film, over that in the middle.
#[derive(Debug, Clone, PartialEq)]
pub struct Lighting {
    /// Of the lamps: 1, x, y, x², xy, y² in spacings of the octagons.
    lamps: [f64; TERMS],
    spacing_mm: Point,
}

/// Describes light about a place, to the second order in mm on the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local([f64; TERMS]);

impl Lighting {
    /// Is the light of lamps that are perfectly even.
    pub fn even(chart: &Chart) -> Lighting {
        Lighting { lamps: [1.0, 0.0, 0.0, 0.0, 0.0, 0.0], spacing_mm: chart.spacing_mm }
    }

    /// Measures it on the paper at the feet of the octagons' edges; even where too little of it is in the picture.
    pub fn of(
        light: &Array2<f32>,
        chart: &Chart,
        hole: &Outline,
        found: &Found,
        tone: &Tone,
    ) -> Lighting {
        let even = Lighting::even(chart);
        let (mut normal, mut right) = ([[0.0; TERMS]; TERMS], [0.0; TERMS]);
        let out = chart.octagon_mm * (0.5 + 0.9 * REACH);
        for place in chart.places_mm() {
            for turn in 0..8 {
                let angle = f64::from(turn) * std::f64::consts::PI / 4.0 + TURN_RAD;
                let at = [place[0] + out * angle.cos(), place[1] + out * angle.sin()];
                let [value, _] = patch(light, found.px(at), found, 0.05 * chart.octagon_mm);
                let lit = tone.light(value) / even.at(chart, hole, at);
                if !lit.is_finite() {
                    continue;
                }
                let terms = even.terms(at);
                for i in 0..TERMS {
                    right[i] += terms[i] * lit;
                    for j in 0..TERMS {
                        normal[i][j] += terms[i] * terms[j];
                    }
                }
            }
        }
        match solve(normal, right) {
            Some(lamps) if lamps[0] > 0.0 => {
                Lighting { lamps: lamps.map(|term| term / lamps[0]), ..even }
            }
            _ => even,
        }
    }

    fn terms(&self, film_mm: Point) -> [f64; TERMS] {
        let [x, y] = [0, 1].map(|i| film_mm[i] / self.spacing_mm[i]);
        [1.0, x, y, x * x, x * y, y * y]
    }

    /// The light of bare paper at a place, over that in the middle.
    pub fn at(&self, chart: &Chart, hole: &Outline, film_mm: Point) -> f64 {
        let camera = &chart.camera;
        let place = camera.film.anywhere(camera.distances.film_mm(), film_mm);
        let open = opening(camera, hole, &place).map_or(0.0, |open| open.area_mm2());
        let lamps: f64 =
            self.terms(film_mm).iter().zip(self.lamps).map(|(term, of)| term * of).sum();
        lamps * place.irradiance() * open / hole.area_mm2()
    }

    /// The light about a place, by its values a step of `step_mm` to each side.
    pub fn about(&self, chart: &Chart, hole: &Outline, [x, y]: Point, step_mm: f64) -> Local {
        let at = |i: f64, j: f64| self.at(chart, hole, [x + i * step_mm, y + j * step_mm]);
        let middle = at(0.0, 0.0);
        let [right, left, up, down] = [at(1.0, 0.0), at(-1.0, 0.0), at(0.0, 1.0), at(0.0, -1.0)];
        let mixed = (at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0)) / 4.0;
        let square = step_mm * step_mm;
        Local([
            middle,
            (right - left) / (2.0 * step_mm),
            (up - down) / (2.0 * step_mm),
            (right + left - 2.0 * middle) / (2.0 * square),
            mixed / square,
            (up + down - 2.0 * middle) / (2.0 * square),
        ])
    }
}

impl Local {
    /// The light so many mm from the place.
    pub fn at(&self, [x, y]: Point) -> f64 {
        let [middle, of_x, of_y, xx, xy, yy] = self.0;
        middle + of_x * x + of_y * y + xx * x * x + xy * x * y + yy * y * y
    }
}
