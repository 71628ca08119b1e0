//! The energy inside a circle about the PSF's centroid, from the OTF.
//!
//! ```text
//! E(D) = π D ∫_0^f_c H̄(f) J1(πDf) df
//! ```
//!
//! with H̄ the mean of the OTF over all directions. Nothing is cut off at the edge of a grid. Source:
//! Parseval for the circle's own transform D J1(πDf)/(2f); `Hopkins` uses the same form.

use super::legendre::Gauss;
use super::light::{Distances, Light};
use super::transfer::Chords;
use crate::geometry::Outline;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Directions over half a turn. A hole's OTF repeats after it; a lobe of order n needs more than n.
const DIRECTIONS: usize = 24;
const STRIPS: usize = 256;
/// Frequencies up to the cut-off: enough for circles out to about 15 dark rings.
const FREQUENCIES: usize = 160;
/// Frequencies for each turn of a shadow's OTF up to the cut-off: circles as wide as the shadow turn as often.
const PER_TURN: f64 = 8.0;
/// No more than these: a shadow of 500 turns has a Fresnel number of 250.
const MOST_FREQUENCIES: usize = 4160;

/// The mean OTF of a hole over all directions, ready for any circle.
#[derive(Debug, Clone, PartialEq)]
pub struct Encircled {
    /// (frequency in lp/mm, quadrature weight times mean OTF).
    terms: Vec<(f64, f64)>,
}

impl Encircled {
    /// Prepares the energy in circles for an outline in this light at these distances.
    pub fn of(outline: &Outline, light: &Light, distances: Distances) -> Encircled {
        let directions: Vec<Chords> = (0..DIRECTIONS)
            .map(|i| Chords::along(outline, PI * i as f64 / DIRECTIONS as f64, STRIPS))
            .collect();
        let cut_off =
            directions.iter().map(|c| c.cut_off_lp_per_mm(light, distances)).fold(0.0, f64::max);
        let turns = cut_off * distances.shadow_magnification() * outline.equivalent_diameter_mm();
        Encircled::from_mean_otf(cut_off, turns, |f| {
            let sum: f64 = directions.iter().map(|c| c.otf(light, distances, f).re).sum();
            sum / DIRECTIONS as f64
        })
    }

    /// The same from an OTF's mean over all directions, by frequency in line pairs per mm, that ends at
    /// `cut_off`, and turns so often till then: cut-off times the shadow's width.
    pub fn from_mean_otf(
        cut_off: f64,
        turns: f64,
        mean_otf: impl Fn(f64) -> f64 + Sync,
    ) -> Encircled {
        let more = (PER_TURN * turns).min((MOST_FREQUENCIES - FREQUENCIES) as f64) as usize;
        let nodes: Vec<(f64, f64)> = Gauss::rule(FREQUENCIES + more).on(0.0, cut_off).collect();
        Encircled { terms: nodes.into_par_iter().map(|(f, w)| (f, w * mean_otf(f))).collect() }
    }

    /// The share of the energy inside a circle of this diameter about the centroid.
    pub fn within(&self, diameter_mm: f64) -> f64 {
        let turn = PI * diameter_mm;
        turn * self.terms.iter().map(|(f, term)| term * libm::j1(turn * f)).sum::<f64>()
    }

    /// The diameter of the circle that holds `fraction` (between 0 and 0.95) of the energy, in mm.
    pub fn diameter_mm(&self, fraction: f64) -> f64 {
        let fraction = fraction.clamp(0.0, 0.95);
        let finest = self.terms.last().map_or(1.0, |(f, _)| 1.0 / f);
        let (mut low, mut high) = (0.0, finest);
        while self.within(high) < fraction && high < 1e3 * finest {
            (low, high) = (high, high * 1.2);
        }
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            let short = self.within(middle) < fraction;
            (low, high) = if short { (middle, high) } else { (low, middle) };
        }
        (low + high) / 2.0
    }
}
