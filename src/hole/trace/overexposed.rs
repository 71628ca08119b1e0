//! The place of a rim whose bright side is clipped: from the foot of its edge, for every exposure that
//! fits it.
//!
//! The half level of the file is not that of the light there, so the hole reads too large. What is left
//! of the edge below the clip is fitted by a model of the camera ([`super::edge_model`]) at a ladder of
//! exposures; the place of the edge is their mean by how well they fit, and their spread is its doubt.
//! Priors and divisors were chosen on drawn photos (tests/photos, `rehearsed`; common practice, no
//! source).

use super::edge_model::{
    COUNT, EdgeModel, FIRST, GLOW, GROUND, LIGHT, PLACE, Parameters, SLOPE, STEP, WINGS, edge_at,
    log_width,
};
use super::fit::{Fit, Problem};
use super::hidden::{Inwards, foot_px};
use super::tone_profile::{Bin, CLIPPED, ToneProfile};
use crate::raster::encode;

/// The ladder of exposures: light in the hole over the clip.
const EXPOSURES: [f64; 11] = [1.02, 1.15, 1.35, 1.7, 2.3, 3.2, 4.6, 7.0, 11.0, 18.0, 30.0];
/// Where the scan starts: a walk from each of two, so that a false minimum of one is seen by the other.
const STARTS: [usize; 2] = [5, 1];
const FIRST_STEPS: usize = 25;
const WALK_STEPS: usize = 10;
/// A walk ends where the sum of squares is this much above the best.
const HOPELESS: f64 = 30.0;
/// What a mean tone may be off by itself (JPEG, shapes that the model has not): 3/4 of a grey level.
const TONE_ERROR: f64 = 0.003;
/// And next to the clip, where demosaic and denoise round the edge, over half a pixel.
const CLIP_ERROR: f64 = 0.03;
const CLIP_REACH: f64 = 0.5;
/// By which a clipped bin may fall below the clip.
const BELOW_CLIP: f64 = 0.02;

/// What is known of a parameter beforehand: mean, standard deviation, bounds.
struct Prior(f64, f64, [f64; 2]);

const NONE: f64 = f64::INFINITY;
/// ln of the width in pixels.
const WIDTH: (f64, f64) = (0.223, 0.3);

/// Noise and uneven light leave pixels below the clip where it is passed by less than this (ln L).
const NEAR_CLIP: f64 = 0.1;
/// A hole with a smaller share of clipped pixels is one of these.
const PARTLY: f64 = 0.75;

/// In the order of the parameters.
const PRIORS: [Prior; COUNT] = [
    Prior(0.0, NONE, [-8.0, 8.0]),
    Prior(0.0, NONE, [-3.0, 3.0]),
    Prior(0.0, NONE, [-1.5, 3.5]),
    Prior(0.1, 0.4, [-1.0, 1.3]),
    Prior(0.0, 0.02, [-0.05, 0.9]),
    Prior(-3.2, 1.3, [-9.0, 3.0]),
    Prior(1.95, 0.5, [0.4, 3.6]),
    Prior(0.05, 0.25, [-0.5, 2.0]),
    Prior(0.26, 0.35, [-1.0, 1.3]),
    Prior(0.0, 0.05, [-0.3, 0.3]),
    Prior(0.3, 0.5, [-0.2, 1.3]),
];

/// The blur of a rim, as a photo of the same set-up shows it that is not clipped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimBlur {
    /// The width of its Gaussian core (σ), in pixels.
    pub width_px: f64,
    /// The share of wide wings in it; below 0 that of an unfocused lens.
    pub wings: f64,
}

/// How well a blur is known that another photo shows: of the logarithm of its width, and of its wings.
const KNOWN: [f64; 2] = [0.07, 0.2];

/// Where a clipped rim is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// How far it lies outwards (away from the light) of the contour, in pixels.
    pub(super) outwards_px: f64,
    /// The standard uncertainty of that.
    pub(super) uncertainty_px: f64,
    /// The width of the blur, in pixels (σ).
    pub(super) width_px: f64,
    /// The light in the hole over the clip: from, to.
    pub(super) exposures: [f64; 2],
    /// The squared residuals a bin: 1 where the model tells all there is.
    pub(super) misfit: f64,
}

/// A fit at one exposure.
#[derive(Debug, Clone, Copy)]
struct Rung {
    fit: Fit<COUNT>,
    /// The variance of the edge's place in it.
    variance: f64,
}

/// The model against one profile.
struct Search<'a> {
    profile: &'a ToneProfile,
    model: EdgeModel,
    blur: Option<RimBlur>,
}

impl Search<'_> {
    fn residuals(&self, p: &Parameters, out: &mut Vec<f64>) {
        let tones = self.model.tones(p);
        let bins = &self.profile.bins;
        let clip = bins.iter().rfind(|bin| bin.clipped).map(|bin| bin.at);
        for bin in bins {
            let model = mean_over(bin, &tones);
            if bin.clipped {
                out.push((model - CLIPPED).min(0.0) / BELOW_CLIP);
            } else {
                let rounded =
                    clip.map_or(0.0, |clip| CLIP_ERROR * (-(bin.at - clip) / CLIP_REACH).exp());
                out.push((model - bin.tone) / bin.error.hypot(TONE_ERROR).hypot(rounded));
            }
        }
        for (i, Prior(mean, deviation, _)) in PRIORS.iter().enumerate() {
            if deviation.is_finite() && (i != WINGS || self.blur.is_none()) {
                let mean = if i == GROUND { self.profile.ground } else { *mean };
                out.push((p[i] - mean) / deviation);
            }
        }
        match self.blur {
            None => out.push((log_width(p) - WIDTH.0) / WIDTH.1),
            Some(known) => {
                out.push((log_width(p) - known.width_px.ln()) / KNOWN[0]);
                out.push((p[WINGS] - known.wings) / KNOWN[1]);
            }
        }
        out.push((p[GLOW] - p[LIGHT] - 0.05f64.ln()).max(0.0) / 0.5);
        // Where some of the hole is not clipped, its light is near the clip.
        if self.profile.clipped_share < PARTLY {
            out.push(p[LIGHT] / NEAR_CLIP);
        }
    }

    fn fit(&self, start: Parameters, steps: usize, light_is_held: bool) -> Rung {
        let mut held = [false; COUNT];
        held[LIGHT] = light_is_held;
        let problem = Problem {
            residuals: &|p, out| self.residuals(p, out),
            bounds: PRIORS.map(|Prior(_, _, bounds)| bounds),
            held,
        };
        let fit = problem.fit(start, steps);
        Rung { fit, variance: fit.variance_of(edge_at) }
    }

    /// Where a search starts for a light.
    fn start(&self, light: f64) -> Parameters {
        let mut p = PRIORS.map(|Prior(mean, ..)| mean);
        p[GROUND] = self.profile.ground;
        p[LIGHT] = light.ln();
        p[PLACE] = self.half_place();
        // A Gaussian edge of the usual width and this light.
        p[SLOPE] = 0.0;
        p[SLOPE] = self.blur.map_or(WIDTH.0, |blur| blur.width_px.ln()) - log_width(&p);
        p
    }

    /// Where the tone is first that of half the light.
    fn half_place(&self) -> f64 {
        let half = encode(0.5);
        let bins = self.profile.bins.iter();
        bins.rev().find(|bin| bin.tone >= half).map_or(0.0, |bin| bin.at)
    }

    /// The fits of the ladder, a None where no walk came.
    fn scan(&self) -> Ladder {
        let mut ladder = Ladder { best: [None; EXPOSURES.len()], least: f64::INFINITY };
        for start in STARTS {
            let first = self.fit(self.start(EXPOSURES[start]), FIRST_STEPS, true);
            ladder.keep(start, first);
            self.walk(start + 1..EXPOSURES.len(), first, &mut ladder);
            self.walk((0..start).rev(), first, &mut ladder);
        }
        // Back from both ends: a fit that got stuck on its way is freed by its neighbour.
        for ends in [0, EXPOSURES.len() - 1] {
            if let Some(last) = ladder.best[ends] {
                if ends == 0 {
                    self.walk(1..EXPOSURES.len(), last, &mut ladder);
                } else {
                    self.walk((0..ends).rev(), last, &mut ladder);
                }
            }
        }
        ladder
    }

    fn walk(&self, rungs: impl Iterator<Item = usize>, mut last: Rung, ladder: &mut Ladder) {
        for i in rungs {
            let mut from = last.fit.at;
            from[LIGHT] = EXPOSURES[i].ln();
            last = self.fit(from, WALK_STEPS, true);
            if !ladder.keep(i, last) {
                break;
            }
            last = ladder.best[i].unwrap_or(last);
        }
    }
}

/// The best fit at each exposure.
struct Ladder {
    best: [Option<Rung>; EXPOSURES.len()],
    least: f64,
}

impl Ladder {
    /// Keeps a fit if it is better; whether a walk may go on from there.
    fn keep(&mut self, i: usize, rung: Rung) -> bool {
        self.least = self.least.min(rung.fit.sum);
        if self.best[i].is_none_or(|known| rung.fit.sum < known.fit.sum) {
            self.best[i] = Some(rung);
        }
        rung.fit.sum < self.least + HOPELESS
    }
}

/// The model's tone over a bin.
fn mean_over(bin: &Bin, tones: &[f64]) -> f64 {
    let middle = ((bin.at - FIRST) / STEP).round() as usize;
    let half = bin.steps / 2;
    let over = &tones[middle - half..=middle + half];
    over.iter().sum::<f64>() / over.len() as f64
}

/// The place of a clipped rim. None when the model does not fit it at any exposure.
pub(super) fn place(profile: &ToneProfile, blur: Option<RimBlur>) -> Option<Place> {
    let search = Search { profile, model: EdgeModel::new(profile.radius), blur };
    let rungs: Vec<(f64, Rung)> = EXPOSURES
        .iter()
        .zip(search.scan().best)
        .filter_map(|(light, rung)| Some((light.ln(), rung?)))
        .filter(|(_, rung)| rung.fit.sum.is_finite() && rung.variance.is_finite())
        .collect();
    let best = rungs.iter().min_by(|a, b| a.1.fit.sum.total_cmp(&b.1.fit.sum))?.1;
    let misfit = best.fit.sum / profile.bins.len() as f64;
    combined(profile, &rungs, &best, misfit, blur)
}

/// A weight falls with half the sum of squares where residuals are independent; neighbouring bins are
/// not, and shapes are wrong.
const SUM_DIVISOR: f64 = 3.5;
const WIDER: f64 = 1.4;
/// The light over the clip, where a photo does not tell it: up to four stops.
const UNTOLD: [f64; 2] = [1.0, 16.0];
/// Pixels and rounding, of a diameter, in pixels.
const PIXELS: f64 = 0.1;

fn combined(
    profile: &ToneProfile,
    rungs: &[(f64, Rung)],
    best: &Rung,
    misfit: f64,
    blur: Option<RimBlur>,
) -> Option<Place> {
    const PLACES: usize = 300;
    let inflated = misfit.max(1.0);
    let lights: Vec<f64> = rungs.iter().map(|(light, _)| *light).collect();
    let curve =
        |of: &dyn Fn(&Rung) -> f64| -> Vec<f64> { rungs.iter().map(|r| of(&r.1)).collect() };
    let sums = curve(&|rung| rung.fit.sum);
    let edges = curve(&|rung| edge_at(&rung.fit.at));
    let variances = curve(&|rung| rung.variance);
    let widths = curve(&|rung| log_width(&rung.fit.at));
    let (first, last) = (*lights.first()?, *lights.last()?);
    let (mut weight, mut at, mut width) = (0.0, 0.0, 0.0);
    let mut seen = Vec::with_capacity(PLACES);
    for k in 0..PLACES {
        let light = first + (last - first) * k as f64 / (PLACES - 1) as f64;
        let [sum, edge, variance, log_width] =
            [&sums, &edges, &variances, &widths].map(|values| between(&lights, values, light));
        let w = (-(sum - best.fit.sum) / (SUM_DIVISOR * inflated)).exp();
        (weight, at, width) = (weight + w, at + w * edge, width + w * log_width);
        seen.push((light, w, edge, variance));
    }
    let middle = at / weight;
    let width_px = (width / weight).exp();
    let variance = seen.iter().map(|(_, w, edge, variance)| {
        w * (WIDER * WIDER * inflated * variance + (edge - middle).powi(2))
    });
    let variance = variance.sum::<f64>() / weight;
    let half = -profile.ruler_px + width_px * width_px / (2.0 * profile.radius);
    let fitted = Inwards { px: half - middle, uncertainty_px: variance.sqrt() };
    let is_barely_clipped = profile.clipped_share < PARTLY;
    let inwards = match blur {
        _ if is_barely_clipped => fitted.barely_clipped(),
        Some(blur) => fitted.with_known_blur(blur.width_px, foot_px(profile)),
        None => fitted.alone(foot_px(profile)),
    };
    // Nine tenths of the weight.
    let quantile = |share: f64| {
        let mut sum = 0.0;
        let found = seen.iter().find(|(_, w, ..)| {
            sum += w;
            sum >= share * weight
        });
        found.map_or(f64::NAN, |(light, ..)| light.exp())
    };
    let exposures = if is_barely_clipped { [quantile(0.05), quantile(0.95)] } else { UNTOLD };
    Some(Place {
        outwards_px: half - inwards.px + profile.ruler_px,
        uncertainty_px: inwards.uncertainty_px.hypot(PIXELS / 4.0),
        width_px,
        exposures,
        misfit,
    })
}

/// Between points by a cubic that turns only where they do (`FritschButland1984`: harmonic mean of
/// the slopes on both sides).
fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let last = x.len() - 1;
    if last == 0 {
        return y[0];
    }
    let slope = |i: usize| (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
    let tangent = |i: usize| {
        if i == 0 {
            return slope(0);
        }
        if i == last {
            return slope(last - 1);
        }
        let (a, b) = (slope(i - 1), slope(i));
        if a * b <= 0.0 { 0.0 } else { 2.0 * a * b / (a + b) }
    };
    let i = x.partition_point(|x| *x <= at).clamp(1, last) - 1;
    let width = x[i + 1] - x[i];
    let t = ((at - x[i]) / width).clamp(0.0, 1.0);
    let (t2, t3) = (t * t, t * t * t);
    (2.0 * t3 - 3.0 * t2 + 1.0) * y[i]
        + (t3 - 2.0 * t2 + t) * width * tangent(i)
        + (3.0 * t2 - 2.0 * t3) * y[i + 1]
        + (t3 - t2) * width * tangent(i + 1)
}

/// The blur of a rim that is not clipped.
pub(super) fn blur_of(profile: &ToneProfile) -> Option<RimBlur> {
    let search = Search { profile, model: EdgeModel::new(profile.radius), blur: None };
    let found = search.fit(search.start(profile.plateau.clamp(0.25, 1.0)), 3 * FIRST_STEPS, false);
    let p = found.fit.at;
    (found.fit.sum < MOST_MISFIT * profile.bins.len() as f64)
        .then(|| RimBlur { width_px: log_width(&p).exp(), wings: p[WINGS] })
}

/// Squared residuals a bin of a model that does not fit.
pub(super) const MOST_MISFIT: f64 = 3.0;
