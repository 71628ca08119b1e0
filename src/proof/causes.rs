//! Why a picture is softer than its hole allows: causes as fits, with odds.
//!
//! Each cause makes of the predicted contrast another: movement by a length l takes sinc(f l cos φ), φ the angle between
//! movement and frequency; blur of a standard deviation σ, alike in all directions, takes exp(-2π²σ²f²); a hole
//! of another size has another prediction. Each is fitted to all contrasts at once by least squares. Causes are
//! weighed against each other by the Bayesian information criterion (`Schwarz1978`):
//! a fit must be better by ln n for each further parameter.

use std::f64::consts::PI;

/// What is not known of a contrast though its edge is free of noise: the octagon's other sides and the steps' greys are in
/// it. From edges of faultless simulated pictures; see `tests/reference/make_proof.py`.
const MODEL: f64 = 0.004;
/// How many contrasts of one curve tell as much as a single one: neighbours share their noise.
const ALIKE: f64 = 4.0;
/// The least misfit, beyond that of no cause at all, by which a cause is believed: odds of 400 to one.
const BELIEVED: f64 = 12.0;

/// Describes contrast in one direction at one place and frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// The number of the octagon.
    pub place: usize,
    /// The direction, in rad anticlockwise from the film's x.
    pub direction_rad: f64,
    /// In line pairs per mm on the film.
    pub frequency_lp_per_mm: f64,
    /// The contrast found.
    pub measured: f64,
    /// Its expanded uncertainty (95 %).
    pub uncertainty: f64,
    /// What the hole allows, and what it would allow if it were larger or smaller: one for each of [`SIZES`].
    pub predicted: [f64; SIZES.len()],
}

/// Sizes of the hole over the one that was given, for which contrast is predicted.
pub const SIZES: [f64; 7] = [0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.35];
/// The place of 1 among them.
pub const AS_GIVEN: usize = 3;

/// Tells what may soften a picture.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Cause {
    /// Nothing beyond what the hole does.
    None,
    /// The image moved on the film, steadily.
    Moved {
        /// How far, in mm.
        length_mm: f64,
        /// Its expanded uncertainty, in mm.
        length_uncertainty_mm: f64,
        /// Along which line, in degrees anticlockwise from the film's x: 0 to 180.
        direction_deg: f64,
    },
    /// Blur alike in all directions: scanner, emulsion, print.
    Softened {
        /// Its standard deviation, in mm.
        sigma_mm: f64,
        /// Its expanded uncertainty, in mm.
        sigma_uncertainty_mm: f64,
    },
    /// The hole is larger or smaller than it was measured.
    Resized {
        /// Its size over the one that was given.
        factor: f64,
        /// Its expanded uncertainty.
        factor_uncertainty: f64,
    },
}

/// Describes a cause as it was fitted.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Fit {
    /// The cause.
    #[serde(flatten)]
    pub cause: Cause,
    /// How probable it is among the causes that are weighed, 0 to 1.
    pub odds: f64,
    /// What is left, in standard uncertainties, root-mean-square.
    pub misfit: f64,
}

/// Weighs the causes; the most probable comes first.
pub fn causes(data: &[Datum]) -> Vec<Fit> {
    let none = sum(data, &|datum| datum.predicted[AS_GIVEN]);
    let longest =
        1.2 / data.iter().map(|datum| datum.frequency_lp_per_mm).fold(0.1, f64::max) * 2.0;
    let (moved, moved_sum) = fit_moved(data, longest);
    let (softened, softened_sum) = fit_softened(data, longest / 3.0);
    let (resized, resized_sum) = fit_resized(data);
    let n = data.len() as f64 / ALIKE;
    let sums = [
        (Cause::None, none, 0.0),
        (moved, moved_sum, 2.0),
        (softened, softened_sum, 1.0),
        (resized, resized_sum, 1.0),
    ];
    let least = sums.iter().map(|(_, sum, _)| *sum).fold(f64::MAX, f64::min);
    // Where even the best leaves more than its uncertainties, all of them are too small.
    let scale = scale(data, least);
    let criterion = |(cause, sum, parameters): &(Cause, f64, f64)| {
        let doubtful =
            if matches!(cause, Cause::None) { 0.0 } else { BELIEVED - n.ln().min(BELIEVED) };
        sum / scale + parameters * n.ln() + doubtful
    };
    let best = sums.iter().map(criterion).fold(f64::MAX, f64::min);
    let weights = sums.map(|one| (-(criterion(&one) - best) / 2.0).exp());
    let all: f64 = weights.iter().sum();
    let mut fits: Vec<Fit> = sums
        .iter()
        .zip(weights)
        .map(|((cause, sum, _), weight)| Fit {
            cause: *cause,
            odds: weight / all,
            misfit: (sum / n).sqrt(),
        })
        .collect();
    fits.sort_by(|a, b| b.odds.total_cmp(&a.odds));
    fits
}

/// The sum of squares of what a model leaves, in standard uncertainties; contrasts that share their noise count once.
fn sum(data: &[Datum], model: &dyn Fn(&Datum) -> f64) -> f64 {
    let part = |datum: &Datum| {
        let off = datum.measured - model(datum);
        off * off / ((datum.uncertainty / 2.0).powi(2) + MODEL * MODEL)
    };
    data.iter().map(part).sum::<f64>() / ALIKE
}

fn fit_moved(data: &[Datum], longest: f64) -> (Cause, f64) {
    let model = |[length, direction]: [f64; 2]| {
        sum(data, &|datum| {
            let x = datum.frequency_lp_per_mm * length * (datum.direction_rad - direction).cos();
            datum.predicted[AS_GIVEN] * moved(x)
        })
    };
    let starts =
        (1..=12).flat_map(|i| (0..8).map(move |j| [f64::from(i) / 12.0, f64::from(j) * PI / 8.0]));
    let start = starts
        .map(|[share, direction]| [share * longest, direction])
        .min_by(|a, b| model(*a).total_cmp(&model(*b)))
        .unwrap_or([0.0, 0.0]);
    let ([length, direction], least) = descended(&model, start, [longest / 24.0, PI / 16.0]);
    let sure = width(&|length| model([length, direction]), length, longest, scale(data, least));
    let cause = Cause::Moved {
        length_mm: length.abs(),
        length_uncertainty_mm: sure,
        direction_deg: direction.rem_euclid(PI).to_degrees(),
    };
    (cause, least)
}

/// What steady movement leaves of contrast: sin πx/(πx), x the frequency times the movement along it.
fn moved(x: f64) -> f64 {
    if x.abs() < 1e-9 { 1.0 } else { ((PI * x).sin() / (PI * x)).abs() }
}

fn fit_softened(data: &[Datum], largest: f64) -> (Cause, f64) {
    let model = |sigma: f64| {
        sum(data, &|datum| {
            let x = PI * sigma * datum.frequency_lp_per_mm;
            datum.predicted[AS_GIVEN] * (-2.0 * x * x).exp()
        })
    };
    let sigma = least_of(&model, 0.0, largest);
    let least = model(sigma);
    let sure = width(&model, sigma, largest, scale(data, least));
    (Cause::Softened { sigma_mm: sigma, sigma_uncertainty_mm: sure }, least)
}

fn fit_resized(data: &[Datum]) -> (Cause, f64) {
    let model = |factor: f64| sum(data, &|datum| resized(&datum.predicted, factor));
    let factor = least_of(&model, SIZES[0], SIZES[SIZES.len() - 1]);
    let least = model(factor);
    let sure = width(&model, factor, 1.0, scale(data, least));
    (Cause::Resized { factor, factor_uncertainty: sure }, least)
}

/// Contrast between the sizes for which it is known, by the parabola through the three nearest.
fn resized(predicted: &[f64; SIZES.len()], factor: f64) -> f64 {
    let nearest = (1..SIZES.len() - 1)
        .min_by(|a, b| (SIZES[*a] - factor).abs().total_cmp(&(SIZES[*b] - factor).abs()))
        .unwrap_or(AS_GIVEN);
    let range = nearest - 1..=nearest + 1;
    range
        .clone()
        .map(|i| {
            let basis = range
                .clone()
                .filter(|j| *j != i)
                .map(|j| (factor - SIZES[j]) / (SIZES[i] - SIZES[j]));
            predicted[i] * basis.product::<f64>()
        })
        .sum()
}

/// Where a function is least between two ends: the best of a hundred, then by golden section.
fn least_of(model: &dyn Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let step = (high - low) / 100.0;
    let best =
        (0..=100).map(|i| low + step * f64::from(i)).min_by(|a, b| model(*a).total_cmp(&model(*b)));
    let best = best.unwrap_or(low);
    let (mut a, mut b) = ((best - step).max(low), (best + step).min(high));
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    for _ in 0..40 {
        let (left, right) = (b - golden * (b - a), a + golden * (b - a));
        if model(left) < model(right) { b = right } else { a = left }
    }
    (a + b) / 2.0
}

/// Steps downhill along each axis, halved where none leads down.
fn descended(
    model: &dyn Fn([f64; 2]) -> f64,
    mut at: [f64; 2],
    mut step: [f64; 2],
) -> ([f64; 2], f64) {
    let mut least = model(at);
    for _ in 0..200 {
        let mut went = false;
        for axis in 0..2 {
            for sign in [1.0, -1.0] {
                let mut next = at;
                next[axis] += sign * step[axis];
                let value = model(next);
                if value < least {
                    (at, least, went) = (next, value, true);
                }
            }
        }
        if !went {
            step = step.map(|s| s / 2.0);
        }
        if step[0] < 1e-6 {
            break;
        }
    }
    (at, least)
}

/// By how much the uncertainties are too small where a fit leaves more than they allow.
fn scale(data: &[Datum], least: f64) -> f64 {
    (least * ALIKE / data.len() as f64).max(1.0)
}

/// How far a parameter may be off with 95 %: until the sum of squares has grown by four.
fn width(model: &dyn Fn(f64) -> f64, at: f64, most: f64, scale: f64) -> f64 {
    let least = model(at);
    let (mut low, mut high) = (0.0, most);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if model(at + middle) > least + 4.0 * scale { high = middle } else { low = middle }
    }
    high
}

#[cfg(test)]
#[path = "causes_tests.rs"]
mod tests;
