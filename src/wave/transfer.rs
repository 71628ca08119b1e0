//! The optical transfer function, from the overlap of the hole with itself.
//!
//! At the frequency f along a direction, the hole shifted by Δ = λvf against itself, with r the
//! place in the overlap and m the magnification of the shadow,
//!
//! ```text
//! H(f) = 1/A ∬_overlap exp(2πi m f·r) d²r ,      H(0) = 1
//! ```
//!
//! (`Goodman`, ch. 6; with the waves' curvature
//! it is his "OTF of a focusing error".) Strip by strip along the direction the overlap is a few
//! intervals and the integral a sinc, so that no tail is cut off, as it would be by transforming a
//! finite piece of the PSF.

use super::light::{Distances, Light, MM_PER_NM};
use super::waves::sum_of_waves;
use crate::geometry::Outline;
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;
use std::ops::Range;

/// An outline in strips along one direction: what the OTF in that direction is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Chords {
    /// The lines that the outline meets in one interval.
    whole: Whole,
    /// The lines that it meets in several.
    broken: Vec<Strip>,
    /// Area by the strips: the strips' own, so that H(0) is 1 exactly.
    area_mm2: f64,
    /// Largest extent along the direction, in mm: the OTF ends at extent/(λv).
    extent_mm: f64,
}

/// Lines with one open interval each, the longest interval first: their weights across the direction, and the ends of
/// the intervals from the centroid of all, in mm.
#[derive(Debug, Clone, PartialEq)]
struct Whole {
    weight_mm: Vec<f64>,
    low_mm: Vec<f64>,
    high_mm: Vec<f64>,
}

/// The open intervals on one line along the direction, from the centroid of all, and the line's weight across it, in mm.
#[derive(Debug, Clone, PartialEq)]
struct Strip {
    weight_mm: f64,
    open_mm: Vec<[f64; 2]>,
}

impl Chords {
    /// Cuts the outline into `strips` strips along the direction at `direction_rad` anticlockwise
    /// from +x. They lie evenly on an arcsine scale, which follows the ends of a round hole:
    /// 256 strips give the OTF of a disc to 2e-5 and 1024 to 2e-6 (measured against
    /// [`super::analytic::DiscOtf`] in this file's tests; the kinks where strips cease to overlap
    /// are what is left).
    pub fn along(outline: &Outline, direction_rad: f64, strips: usize) -> Chords {
        let (sin, cos) = direction_rad.sin_cos();
        let turn = |p: &[f64; 2]| [cos * p[0] + sin * p[1], cos * p[1] - sin * p[0]];
        let turned: Vec<Vec<[f64; 2]>> =
            outline.loops().iter().map(|points| points.iter().map(turn).collect()).collect();
        let across = || turned.iter().flatten().map(|point| point[1]);
        let low = across().fold(f64::INFINITY, f64::min);
        let high = across().fold(f64::NEG_INFINITY, f64::max);
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        let step = PI / strips as f64;
        let (lines, weights): (Vec<f64>, Vec<f64>) = (0..strips)
            .map(|i| ((i as f64 + 0.5) * step - PI / 2.0).sin_cos())
            .map(|(sin, cos)| (middle + half * sin, half * cos * step))
            .unzip();
        let mut crossings: Vec<(usize, f64)> = Vec::with_capacity(3 * strips);
        for points in &turned {
            // Half-open, so that a line through a vertex counts it once.
            let below = |point: &[f64; 2]| lines.partition_point(|line| *line <= point[1]);
            let Some(mut a) = points.last() else { continue };
            let mut from = below(a);
            for b in points {
                let to = below(b);
                let (first, last) = (from.min(to), from.max(to));
                crossings.extend(
                    (first..last)
                        .map(|i| (i, a[0] + (lines[i] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))),
                );
                (a, from) = (b, to);
            }
        }
        crossings.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut cut = Vec::with_capacity(strips);
        for line in crossings.chunk_by(|a, b| a.0 == b.0) {
            let open_mm = line.chunks_exact(2).map(|pair| [pair[0].1, pair[1].1]).collect();
            cut.push(Strip { weight_mm: weights[line[0].0], open_mm });
        }
        Chords::from_strips(cut)
    }

    fn from_strips(mut strips: Vec<Strip>) -> Chords {
        let (mut area_mm2, mut moment) = (0.0, 0.0);
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for strip in &strips {
            for [low, high] in &strip.open_mm {
                area_mm2 += strip.weight_mm * (high - low);
                moment += strip.weight_mm * (high - low) * (high + low) / 2.0;
                (least, most) = (least.min(*low), most.max(*high));
            }
        }
        let centroid_mm = moment / area_mm2;
        strips.iter_mut().flat_map(|strip| strip.open_mm.iter_mut().flatten()).for_each(|end| {
            *end -= centroid_mm;
        });
        let (mut single, broken): (Vec<Strip>, Vec<Strip>) =
            strips.into_iter().partition(|strip| strip.open_mm.len() == 1);
        let length = |strip: &Strip| strip.open_mm[0][1] - strip.open_mm[0][0];
        single.sort_by(|a, b| length(b).total_cmp(&length(a)));
        let whole = Whole {
            weight_mm: single.iter().map(|strip| strip.weight_mm).collect(),
            low_mm: single.iter().map(|strip| strip.open_mm[0][0]).collect(),
            high_mm: single.iter().map(|strip| strip.open_mm[0][1]).collect(),
        };
        Chords { whole, broken, area_mm2, extent_mm: most - least }
    }

    /// The same chords of the outline `factor` (above zero) times as large.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Chords {
        let mut all = self.clone();
        let Whole { weight_mm, low_mm, high_mm } = &mut all.whole;
        weight_mm.iter_mut().chain(low_mm).chain(high_mm).for_each(|length| *length *= factor);
        for strip in &mut all.broken {
            strip.weight_mm *= factor;
            strip.open_mm.iter_mut().flatten().for_each(|end| *end *= factor);
        }
        all.area_mm2 *= factor * factor;
        all.extent_mm *= factor;
        all
    }

    /// The frequency from which on the OTF of this light is zero, in line pairs per mm on the film.
    pub fn cut_off_lp_per_mm(&self, light: &Light, distances: Distances) -> f64 {
        self.extent_mm / (light.shortest_nm() * MM_PER_NM * distances.film_mm())
    }

    /// The OTF at a frequency on the film, wavelengths added, with the phase of the PSF's centroid
    /// taken out: a point image that is only shifted is not blurred. 1 at frequency 0.
    ///
    /// The phase at the ends of a chord is the same for all wavelengths; each moves the ends by its own Δ/2.
    pub fn otf(&self, light: &Light, distances: Distances, frequency_lp_per_mm: f64) -> Complex64 {
        let turn = 2.0 * PI * distances.shadow_magnification() * frequency_lp_per_mm;
        let half_shift_per_nm = MM_PER_NM * distances.film_mm() * frequency_lp_per_mm / 2.0;
        let mut lines: Vec<Line> = light
            .lines()
            .iter()
            .map(|&(nm, share)| (half_shift_per_nm * nm, share))
            .filter(|(half_shift, _)| 2.0 * half_shift < self.extent_mm)
            .map(|(half_shift, share)| Line { half_shift, share, ..Line::default() })
            .collect();
        // The shorter the shift the more chords are longer.
        lines.sort_by(|a, b| b.half_shift.total_cmp(&a.half_shift));
        let turning = self.whole.longer_than(LEAST_TURN / turn);
        let (mut done, mut ends) = (0, [Complex64::default(); 2]);
        for line in &mut lines {
            let longer = self.whole.longer_than(2.0 * line.half_shift).min(turning);
            if longer > done {
                let more = self.whole.waves(done..longer, turn);
                ends = [0, 1].map(|end| ends[end] + more[end]);
                done = longer;
            }
            [line.low_ends, line.high_ends] = ends;
            line.overlaps = (turning..self.whole.weight_mm.len())
                .map(|i| self.whole.strip(i).overlaps(line.half_shift, turn))
                .chain(self.broken.iter().map(|strip| strip.overlaps(line.half_shift, turn)))
                .sum();
        }
        lines.iter().map(|line| line.sum(turn)).sum::<Complex64>() / self.area_mm2
    }

    /// The share of the area by which chords, and the metal between two, fall short of a length.
    pub(super) fn shorter_than(&self, length_mm: f64) -> f64 {
        let short = |length: f64| (length_mm - length).max(0.0);
        let of = |strip: &Strip| -> f64 {
            let open: f64 = strip.open_mm.iter().map(|[low, high]| short(high - low)).sum();
            let metal: f64 = strip.open_mm.windows(2).map(|two| short(two[1][0] - two[0][1])).sum();
            strip.weight_mm * (open + metal)
        };
        let whole = (0..self.whole.weight_mm.len()).map(|i| of(&self.whole.strip(i)));
        (whole.sum::<f64>() + self.broken.iter().map(of).sum::<f64>()) / self.area_mm2
    }
}

/// A chord over which a wave turns by less has its ends' phases too close for their difference, in rad: the
/// ten digits that are left are more than strips hold.
const LEAST_TURN: f64 = 1e-5;

impl Whole {
    /// How many of the chords are longer than a length.
    fn longer_than(&self, length_mm: f64) -> usize {
        // The chords fall in length: a search by halves.
        let (mut low, mut high) = (0, self.weight_mm.len());
        while low < high {
            let middle = (low + high) / 2;
            let is_longer = self.high_mm[middle] - self.low_mm[middle] > length_mm;
            (low, high) = if is_longer { (middle + 1, high) } else { (low, middle) };
        }
        low
    }

    /// ∑ w exp(iκs) over the low ends and over the high ends of some of the chords.
    fn waves(&self, which: Range<usize>, turn: f64) -> [Complex64; 2] {
        let weights = &self.weight_mm[which.clone()];
        [&self.low_mm, &self.high_mm].map(|ends| sum_of_waves(weights, &ends[which.clone()], turn))
    }

    fn strip(&self, i: usize) -> Strip {
        let open_mm = vec![[self.low_mm[i], self.high_mm[i]]];
        Strip { weight_mm: self.weight_mm[i], open_mm }
    }
}

/// One wavelength's part of the OTF.
#[derive(Default)]
struct Line {
    half_shift: f64,
    share: f64,
    /// Over all chords that are longer than Δ, the waves at their ends.
    low_ends: Complex64,
    high_ends: Complex64,
    /// The integral over all other overlaps.
    overlaps: Complex64,
}

impl Line {
    /// ∫ exp(iκs) ds from each low end + Δ/2 to the high end - Δ/2, and the rest.
    fn sum(&self, turn: f64) -> Complex64 {
        if turn == 0.0 {
            return self.overlaps * self.share;
        }
        let inwards = Complex64::cis(turn * self.half_shift);
        let chords = (self.high_ends * inwards.conj() - self.low_ends * inwards) / turn;
        (Complex64::new(chords.im, -chords.re) + self.overlaps) * self.share
    }
}

impl Strip {
    /// ∫ exp(iκs) ds over the overlap of the strip with itself shifted.
    fn overlaps(&self, half_shift: f64, turn: f64) -> Complex64 {
        let mut total = Complex64::default();
        for one in &self.open_mm {
            for other in &self.open_mm {
                let low = (one[0] - half_shift).max(other[0] + half_shift);
                let high = (one[1] - half_shift).min(other[1] + half_shift);
                if high > low {
                    total += Complex64::cis(turn * (low + high) / 2.0)
                        * (self.weight_mm * (high - low) * sinc(turn * (high - low) / 2.0));
                }
            }
        }
        total
    }
}

/// sin x / x.
fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-8 { 1.0 } else { x.sin() / x }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::analytic::DiscOtf;

    /// The largest error against the closed form over N, frequency and direction.
    fn error_on_a_disc(strips: usize) -> f64 {
        let (diameter, nm, film) = (0.3, 550.0, 100.0);
        let light = Light::single(nm).unwrap();
        let truth = DiscOtf::default();
        let disc = shapes::disc(diameter).unwrap();
        let mut worst = 0.0f64;
        for subject in [f64::INFINITY, 60.0, 15.0] {
            let distances = Distances::new(subject, film).unwrap();
            let n = crate::wave::fresnel_number(diameter / 2.0, nm, distances.effective_mm());
            for direction in [0.0, 0.7] {
                let chords = Chords::along(&disc, direction, strips);
                for i in 0..40 {
                    let sigma = i as f64 / 40.0;
                    let f = sigma * diameter / (nm * 1e-6 * film);
                    let found = chords.otf(&light, distances, f);
                    worst = worst.max((found - truth.at(n, sigma)).norm());
                }
            }
        }
        worst
    }

    #[test]
    fn disc_follows_the_closed_form() {
        for (strips, bound) in [(256, 2e-5), (1024, 2e-6)] {
            let error = error_on_a_disc(strips);
            println!("{strips} strips: {error:.1e}");
            assert!(error < bound, "{strips} strips: {error}");
        }
    }

    /// Far field of a square: the triangle 1 - |σ| along its side (`Goodman`, 6.3).
    #[test]
    fn square_is_a_triangle_far_away() {
        let square = shapes::rectangle(0.01, 0.01).unwrap().moved(0.3, 0.2);
        let (light, distances) = (Light::single(550.0).unwrap(), Distances::distant(1e6).unwrap());
        let chords = Chords::along(&square, 0.0, 64);
        for sigma in [0.0, 0.2, 0.5, 0.9] {
            let f = sigma * 0.01 / (550e-6 * 1e6);
            let found = chords.otf(&light, distances, f);
            // Fresnel number 5e-8: what curvature is left is below 1e-7.
            assert!((found - (1.0 - sigma)).norm() < 1e-7, "{sigma}: {found}");
        }
    }

    #[test]
    fn scaling_is_cutting_again() {
        let burred = shapes::burred_disc(0.3, 0.4, 0.2, 0.06).unwrap();
        let (light, distances) = (Light::single(500.0).unwrap(), Distances::distant(80.0).unwrap());
        let once = Chords::along(&burred, 0.3, 200).scaled(1.3).otf(&light, distances, 3.0);
        let again = Chords::along(&burred.scaled(1.3), 0.3, 200).otf(&light, distances, 3.0);
        assert!((once - again).norm() < 1e-13);
    }
}
