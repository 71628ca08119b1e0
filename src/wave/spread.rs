//! The images of a line and of an edge, from the OTF across them.
//!
//! The line spread is the PSF summed along the line, so that its transform is the OTF along the
//! direction across it (projection and slice; `Goodman`, ch. 2), and the edge spread is its integral. For a disc far
//! away it is Struve's function (`Struve1882`):
//!
//! ```text
//! l(x) = 2 ∫_0^f_c Re[H(f) exp(-2πifx)] df
//! E(x) = 1/2 + 1/π ∫_0^f_c Im[H*(f) exp(2πifx)] df/f
//! ```

use super::legendre::Gauss;
use super::light::{Distances, Light};
use super::transfer::Chords;
use rustfft::num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Frequencies up to the cut-off: enough for 30 dark rings to each side.
const FREQUENCIES: usize = 256;

/// How a hole images a line, and an edge, that runs across the direction of its chords.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// (frequency in lp/mm, quadrature weight, OTF).
    terms: Vec<(f64, f64, Complex64)>,
}

impl Spread {
    /// Prepares the spread along the chords' direction in this light at these distances. Right to
    /// about 1e-6 of the peak with 1024 strips, out to 30 dark rings.
    pub fn along(chords: &Chords, light: &Light, distances: Distances) -> Spread {
        let rule = Gauss::rule(FREQUENCIES);
        let terms = rule
            .on(0.0, chords.cut_off_lp_per_mm(light, distances))
            .map(|(f, weight)| (f, weight, chords.otf(light, distances, f)))
            .collect();
        Spread { terms }
    }

    /// The image of a line at `x_mm` from the centroid, along the direction: energy per mm.
    pub fn line_at(&self, x_mm: f64) -> f64 {
        let wave = |f: f64| Complex64::cis(-TAU * f * x_mm);
        2.0 * self.terms.iter().map(|(f, weight, h)| weight * (h * wave(*f)).re).sum::<f64>()
    }

    /// The image of an edge, dark on the lower side and 1 on the upper, at `x_mm` from the centroid.
    pub fn edge_at(&self, x_mm: f64) -> f64 {
        let wave = |f: f64| Complex64::cis(TAU * f * x_mm);
        let terms = self.terms.iter().map(|(f, weight, h)| weight * (h.conj() * wave(*f)).im / f);
        0.5 + terms.sum::<f64>() / PI
    }
}
