//! From pixel values back to light, by the chart's grey steps.
//!
//! Film, paper, scanner and file together answer light E with a value V. Over the range of a chart nearly every
//! such curve is E = β Vᵖ - F: p = 1 for a file of linear light, another power for one with a display's
//! curve, below zero for a negative; F is light that fell on everything alike, fog, or the toe of the film,
//! which looks the same. Where the steps do not follow a power, their own differences from it are kept, and
//! nothing is said of fog.

use super::chart::{Chart, STEP_CODES, reflectance};
use super::find::Found;
use super::patch::patch;
use crate::camera::PointImage;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use ndarray::Array2;

/// The share of a step's width, about its middle, that is averaged: the rest is blurred into its neighbours.
const AVERAGED: f64 = 0.5;
/// The mean light of what surrounds a step: other steps and paper.
const SURROUND: f64 = 0.75;
/// How well a printer keeps a grey, over it: standard uncertainty (common practice, no source).
const PRINT: f64 = 0.01;
/// What the darkest greys are uncertain by besides, over paper white.
const PRINT_BLACK: f64 = 0.002;
/// Root-mean-square misfit, in standard uncertainties, beyond which the steps follow no power.
const MISFIT: f64 = 2.5;
/// Powers that are tried.
const POWERS: i32 = 120;
const POWER_STEP: f64 = 0.025;

/// Describes how values in a picture answer light.
#[derive(Debug, Clone, PartialEq)]
pub struct Tone {
    /// The steps: light over that of bare paper in the middle of the film, and the mean value.
    pub steps: Vec<[f64; 2]>,
    /// The power p.
    pub power: f64,
    /// Light that fell on everything, over that of bare paper; None where the steps follow no power.
    pub fog: Option<f64>,
    /// Its expanded uncertainty (95 %).
    pub fog_uncertainty: f64,
    /// Whether the two darkest or the two lightest steps could not be told apart.
    pub is_clipped: [bool; 2],
    factor: f64,
    offset: f64,
    /// By rising value: value, and what the power leaves of the light.
    rest: Vec<[f64; 2]>,
}

impl Tone {
    /// Measures the curve from the steps of a chart that was found; `lit` gives the light of bare paper at a place on the
    /// film, over that in the middle.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) for steps that do not differ: the picture is too dark, burnt out or fogged over.
    pub fn of(
        light: &Array2<f32>,
        chart: &Chart,
        hole: &Outline,
        found: &Found,
        lit: &dyn Fn(Point) -> f64,
    ) -> Result<Tone, Error> {
        let middle = PointImage::on_axis(&chart.camera, hole);
        let leaked = 1.0 - middle.encircled().within(chart.step_mm());
        let mut steps = Vec::new();
        let mut noise: f64 = 0.0;
        for (step, code) in STEP_CODES.into_iter().enumerate() {
            let places = chart.step_places_mm(step);
            let half = AVERAGED * chart.step_mm() / 2.0;
            let [one, other] = places.map(|place| patch(light, found.px(place), found, half));
            let [one_lit, other_lit] = places.map(lit);
            let sent = reflectance(code) * (1.0 - leaked) + SURROUND * leaked;
            steps.push([sent * (one_lit + other_lit) / 2.0, (one[0] + other[0]) / 2.0]);
            noise = noise.max(one[1].max(other[1]));
        }
        Tone::fitted(steps, noise)
    }

    /// Fits the curve to steps of light and value; `noise` is the standard deviation of a step's mean value.
    fn fitted(steps: Vec<[f64; 2]>, noise: f64) -> Result<Tone, Error> {
        let sign = (steps[7][1] - steps[0][1]).signum();
        let range = sign * (steps[7][1] - steps[0][1]);
        let rises = |i: usize| sign * (steps[i + 1][1] - steps[i][1]) > (0.002 * range).max(noise);
        let flat = (0..7).filter(|i| !rises(*i)).count();
        let is_used = range > 10.0 * noise && range > 0.002 && flat <= 3;
        if !is_used || steps.iter().any(|step| step[1] <= 0.0 || !step[1].is_finite()) {
            return Err(Error::damaged(
                "shows grey steps that do not differ: it is too dark, burnt out or fogged over",
                "expose longer or shorter, light the chart evenly, and scan without clipping black or white",
            ));
        }
        let is_clipped = [!rises(0), !rises(6)];
        // Steps beyond the picture's range say nothing of its curve.
        let kept: Vec<[f64; 2]> = (0..8)
            .filter(|i| !(is_clipped[0] && *i == 0 || is_clipped[1] && *i == 7))
            .map(|i| steps[i])
            .collect();
        let fits: Vec<Fit> = (-POWERS..=POWERS)
            .filter(|i| *i != 0)
            .filter_map(|i| Fit::of(&kept, f64::from(i) * POWER_STEP))
            .collect();
        let Some(best) = fits.iter().min_by(|a, b| a.misfit.total_cmp(&b.misfit)) else {
            return Err(Error::damaged("shows grey steps in no order", "scan the chart again"));
        };
        let spread = (best.misfit / kept.len() as f64).sqrt();
        let scale = (best.misfit / (kept.len() as f64 - 3.0).max(1.0)).max(1.0);
        // 95 % of what one parameter may be: four above the least sum of squares.
        let likely = fits.iter().filter(|fit| fit.misfit < best.misfit + 4.0 * scale);
        let fog_uncertainty =
            likely.map(|fit| (fit.offset - best.offset).abs()).fold(0.005, f64::max);
        let follows = spread < MISFIT;
        let mut rest: Vec<[f64; 2]> = if follows {
            Vec::new()
        } else {
            kept.iter().map(|[sent, value]| [*value, sent - best.light(*value)]).collect()
        };
        rest.sort_by(|a, b| a[0].total_cmp(&b[0]));
        Ok(Tone {
            power: best.power,
            fog: follows.then_some(-best.offset),
            fog_uncertainty,
            is_clipped,
            factor: best.factor,
            offset: best.offset,
            rest,
            steps,
        })
    }

    /// The light, over that of bare paper in the middle of the film, that a value answers.
    pub fn light(&self, value: f64) -> f64 {
        let by_power = self.factor * value.max(1e-6).powf(self.power) + self.offset;
        let next = self.rest.partition_point(|rest| rest[0] < value);
        by_power
            + match (next.checked_sub(1).and_then(|i| self.rest.get(i)), self.rest.get(next)) {
                (Some([a, p]), Some([b, q])) => p + (q - p) * (value - a) / (b - a),
                (Some([_, only]), None) | (None, Some([_, only])) => *only,
                (None, None) => 0.0,
            }
    }
}

/// E = factor Vᵖ + offset.
#[derive(Debug, Clone, Copy)]
struct Fit {
    power: f64,
    factor: f64,
    offset: f64,
    /// The sum of squares in standard uncertainties.
    misfit: f64,
}

impl Fit {
    fn of(steps: &[[f64; 2]], power: f64) -> Option<Fit> {
        let weight = |sent: f64| (PRINT * sent).hypot(PRINT_BLACK).powi(-2);
        let mut sums = [0.0; 5];
        for [sent, value] in steps {
            let (w, x) = (weight(*sent), value.powf(power));
            for (sum, part) in sums.iter_mut().zip([w, w * x, w * x * x, w * sent, w * x * sent]) {
                *sum += part;
            }
        }
        let [w, x, xx, y, xy] = sums;
        let factor = (w * xy - x * y) / (w * xx - x * x);
        let offset = (y - factor * x) / w;
        let fit = Fit { power, factor, offset, misfit: 0.0 };
        let off =
            steps.iter().map(|[sent, value]| weight(*sent) * (sent - fit.light(*value)).powi(2));
        let misfit = off.sum::<f64>();
        misfit.is_finite().then_some(Fit { misfit, ..fit })
    }

    fn light(&self, value: f64) -> f64 {
        self.factor * value.powf(self.power) + self.offset
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(value: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
        STEP_CODES
            .iter()
            .map(|code| reflectance(*code))
            .map(|light| [light, value(light)])
            .collect()
    }

    /// The curve that made the values comes back, and the fog that was added.
    #[test]
    fn powers_and_fog_come_back() {
        for (power, fog) in [(1.0, 0.0), (1.0, 0.1), (0.45, 0.05), (-0.6, 0.08), (2.2, 0.03)] {
            let tone = Tone::fitted(steps(|light| 0.4 * (light + fog).powf(power)), 1e-4).unwrap();
            for light in [0.05, 0.1, 0.3, 0.8] {
                let found = tone.light(0.4 * f64::powf(light + fog, power));
                assert!((found - light).abs() < 0.004, "{power} {fog} {light}: {found}");
            }
            let found = tone.fog.unwrap();
            assert!((found - fog).abs() < 0.005, "{power} {fog}: {found}");
        }
    }

    /// A film's toe and shoulder, by the logistic curve of `picture::tone`: the light comes back.
    #[test]
    fn a_film_with_toe_and_shoulder_is_followed() {
        let value = |light: f64| 10f64.powf(-1.6 / (1.0 + (0.25 / light).powf(1.8)));
        let tone = Tone::fitted(steps(value), 1e-4).unwrap();
        for code in STEP_CODES {
            let light = reflectance(code);
            assert!((tone.light(value(light)) / light - 1.0).abs() < 0.04, "{light}");
        }
    }

    #[test]
    fn steps_that_do_not_differ_are_refused_and_clipped_ones_told() {
        assert!(Tone::fitted(steps(|_| 0.3), 1e-4).is_err());
        assert!(Tone::fitted(steps(|light| 0.3 + 1e-4 * light), 1e-4).is_err());
        let clipped = Tone::fitted(steps(|light| (1.5 * light).min(0.7)), 1e-4).unwrap();
        assert_eq!(clipped.is_clipped, [false, true]);
    }
}
