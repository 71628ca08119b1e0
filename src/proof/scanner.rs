//! What a scanner blurs, by a sharp edge that it scanned: a razor blade's or a cut sheet's, at the dots per inch of the proof.
//!
//! Over the frequencies that a hole draws, any symmetric blur takes exp(-2π²σ²f²) to second order, whatever its form,
//! so its variance σ² is fitted to the edge's contrast there and undone as that of a normal distribution. The
//! contrast of [`Edge`] is free of the pixel's own square, as the proof's is.

use super::edge::{Contrast, Edge};
use super::single::edge_at;
use crate::error::Error;
use crate::geometry::{Point, distance};
use ndarray::Array2;
use rayon::prelude::*;
use std::f64::consts::PI;

/// The side of the squares whose gradients tell where an edge is, in px.
const SQUARE_PX: usize = 16;
/// Squares that are tried, those of the steepest light, and how far apart they lie at least, in px.
const TRIED: usize = 60;
const APART_PX: f64 = 64.0;
/// The highest frequency that pixels show, in cycles to one.
const HIGHEST: f64 = 0.4;
/// Swing beyond an edge's levels that no blur makes (common practice, no source).
const OVERSHOOT: f64 = 0.04;
/// A standard deviation is the median absolute deviation times this, for a normal distribution.
const OF_MEDIAN: f64 = 1.4826;

/// Describes the blur of a scanner, alike in all directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scanner {
    /// Its variance along a line, in mm².
    pub variance_mm2: f64,
    /// The expanded uncertainty (95 %) of the variance, in mm².
    pub uncertainty_mm2: f64,
    /// The places along an edge that tell it; none where it was stated.
    pub places: usize,
}

impl Scanner {
    /// Is a blur that somebody states, as a standard deviation in mm; 0 for none.
    pub fn stated(sigma_mm: f64) -> Scanner {
        Scanner { variance_mm2: sigma_mm * sigma_mm, uncertainty_mm2: 0.0, places: 0 }
    }

    /// Measures it on the edges of a picture, at frequencies in line pairs per mm. The median of all places counts; what they
    /// disagree by and what each leaves open are its uncertainty, added as squares.
    ///
    /// # Errors
    /// [`NotThere`](crate::Kind::NotThere) for a picture without a straight edge; [`Damaged`](crate::Kind::Damaged) for one that was sharpened by software.
    pub fn of_edge(
        light: &Array2<f32>,
        mm_per_px: f64,
        frequencies: &[f64],
    ) -> Result<Scanner, Error> {
        let edges: Vec<Edge> =
            steep_places(light).into_par_iter().filter_map(|at| edge_at(light, at)).collect();
        if edges.is_empty() {
            return Err(Error::not_there(
                "shows no straight edge between two even tones",
                "scan a razor blade's edge or a cut sheet on white, a few degrees off the rows, at the dots per inch of the \
                 picture",
            ));
        }
        let mut swings: Vec<f64> = edges.iter().map(|edge| edge.overshoot).collect();
        if median(&mut swings) > OVERSHOOT {
            return Err(Error::damaged(
                "shows an edge that swings beyond its levels: software sharpened it",
                "scan edge and picture alike, without sharpening",
            ));
        }
        let shown: Vec<f64> =
            frequencies.iter().copied().filter(|f| f * mm_per_px <= HIGHEST).collect();
        let fits: Vec<[f64; 2]> =
            edges.iter().map(|edge| variance_mm2(edge, mm_per_px, &shown)).collect();
        let count = fits.len();
        let of = |i: usize| fits.iter().map(|fit| fit[i]).collect::<Vec<f64>>();
        let (middle, doubt) = (median(&mut of(0)), median(&mut of(1)));
        let mut off: Vec<f64> = fits.iter().map(|fit| (fit[0] - middle).abs()).collect();
        // The median of few varies as much as one of them does.
        let spread = 2.0 * OF_MEDIAN * median(&mut off);
        Ok(Scanner {
            variance_mm2: middle.max(0.0),
            uncertainty_mm2: doubt.hypot(spread),
            places: count,
        })
    }

    /// The standard deviation, in mm, and its expanded uncertainty: how much larger it may be.
    pub fn sigma_mm(&self) -> [f64; 2] {
        let sigma = self.variance_mm2.sqrt();
        [sigma, (self.variance_mm2 + self.uncertainty_mm2).sqrt() - sigma]
    }

    /// What it leaves of contrast at a frequency in line pairs per mm, and the share of that which its uncertainty may be.
    pub fn leaves(&self, frequency_lp_per_mm: f64) -> [f64; 2] {
        let square = 2.0 * (PI * frequency_lp_per_mm).powi(2);
        [(-square * self.variance_mm2).exp(), square * self.uncertainty_mm2]
    }
}

/// The variance that an edge's contrast tells, and its expanded uncertainty, in mm²: least squares of -ln M = 2π²f² σ². The
/// frequencies of one edge share its noise, so their uncertainties add.
fn variance_mm2(edge: &Edge, mm_per_px: f64, frequencies: &[f64]) -> [f64; 2] {
    let (mut up, mut doubt, mut down) = (0.0, 0.0, 0.0);
    for f in frequencies {
        let Contrast { mtf, uncertainty } = edge.contrast(f * mm_per_px);
        let square = 2.0 * (PI * f).powi(2);
        // Equal uncertainties of contrast M are uncertainties 1/M of its logarithm.
        let weight = mtf * mtf;
        up -= weight * square * mtf.max(1e-3).ln();
        doubt += weight * square * uncertainty / mtf.max(1e-3);
        down += weight * square * square;
    }
    [up, doubt].map(|sum| sum / down.max(1e-12))
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let last = values.len() - 1;
    (values[last / 2] + values[last - last / 2]) / 2.0
}

/// Places where light is steepest, in px: the middles of squares weighted by the gradient in them.
fn steep_places(light: &Array2<f32>) -> Vec<Point> {
    let (rows, columns) = light.dim();
    let mut squares: Vec<(f64, Point)> = Vec::new();
    for top in (1..rows.saturating_sub(SQUARE_PX)).step_by(SQUARE_PX) {
        for left in (1..columns.saturating_sub(SQUARE_PX)).step_by(SQUARE_PX) {
            let (mut sum, mut at) = (0.0, [0.0; 2]);
            for row in top..top + SQUARE_PX {
                for column in left..left + SQUARE_PX {
                    let across = light[[row, column + 1]] - light[[row, column - 1]];
                    let down = light[[row + 1, column]] - light[[row - 1, column]];
                    // The square, so that an edge outweighs what is noise all over.
                    let steep = f64::from(across).powi(2) + f64::from(down).powi(2);
                    sum += steep;
                    at[0] += steep * (column as f64 + 0.5);
                    at[1] += steep * (row as f64 + 0.5);
                }
            }
            if sum > 0.0 {
                squares.push((sum, at.map(|c| c / sum)));
            }
        }
    }
    squares.sort_by(|one, other| other.0.total_cmp(&one.0));
    let mut places: Vec<Point> = Vec::new();
    for (_, at) in squares.into_iter().take(20 * TRIED) {
        if places.len() < TRIED && places.iter().all(|other| distance(*other, at) > APART_PX) {
            places.push(at);
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An edge through the middle, turned by `turn_rad`, blurred by a normal distribution of `sigma_px` and gathered by square pixels
    /// (8 × 8 points of each), with noise: by the error function.
    fn drawn(size: usize, turn_rad: f64, sigma_px: f64, noise: f64) -> Array2<f32> {
        let (sin, cos) = turn_rad.sin_cos();
        let mut dice = 7u64;
        Array2::from_shape_fn((size, size), |(row, column)| {
            let middle = size as f64 / 2.0;
            let at = |i: usize| (i as f64 + 0.5) / 8.0;
            let light = (0..64)
                .map(|k| {
                    let across = (column as f64 + at(k % 8) - middle) * cos
                        + (row as f64 + at(k / 8) - middle) * sin;
                    0.5 * libm::erfc(-across / (sigma_px * 2f64.sqrt()))
                })
                .sum::<f64>()
                / 64.0;
            dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let off = ((dice >> 33) as f64 / f64::from(1u32 << 31) - 0.5) * 12f64.sqrt();
            (0.05 + 0.8 * light + noise * off) as f32
        })
    }

    /// 1200 dpi, and the frequencies of a hole near 2 line pairs per mm.
    const PITCH_MM: f64 = 25.4 / 1200.0;

    fn measured(light: &Array2<f32>) -> Scanner {
        let frequencies: Vec<f64> = (1..=16).map(|i| 0.3 * f64::from(i)).collect();
        Scanner::of_edge(light, PITCH_MM, &frequencies).unwrap()
    }

    /// The blur that was drawn comes back within its uncertainty, which is no larger than it must be: a tenth of it, or what
    /// noise makes.
    #[test]
    fn the_blur_that_was_drawn_comes_back() {
        for (sigma_mm, noise, most) in
            [(0.012, 0.0, 0.001), (0.02, 0.005, 0.003), (0.035, 0.01, 0.005), (0.05, 0.02, 0.008)]
        {
            let scanner = measured(&drawn(600, 0.09, sigma_mm / PITCH_MM, noise));
            let [found, uncertainty] = scanner.sigma_mm();
            assert!(
                (found - sigma_mm).abs() < uncertainty.max(0.02 * sigma_mm),
                "{sigma_mm} {scanner:?}"
            );
            assert!(uncertainty < most, "{sigma_mm}: {uncertainty}");
            assert!(scanner.places >= 4, "{scanner:?}");
        }
    }

    #[test]
    fn what_has_no_edge_is_refused() {
        let none = Array2::from_elem((400, 400), 0.5f32);
        let frequencies = [1.0, 2.0];
        assert!(Scanner::of_edge(&none, PITCH_MM, &frequencies).is_err());
        let mut sharp = drawn(600, 0.09, 1.0, 0.0);
        let soft = drawn(600, 0.09, 4.0, 0.0);
        sharp.zip_mut_with(&soft, |sharp, soft| *sharp += *sharp - soft);
        let error = Scanner::of_edge(&sharp, PITCH_MM, &frequencies).unwrap_err();
        assert!(error.to_string().contains("sharpened"), "{error}");
    }
}
