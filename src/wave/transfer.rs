//! The optical transfer function, from the overlap of the hole with itself.
//!
//! At the frequency f along a direction, the hole shifted by Δ = λvf against itself, with r the
//! place in the overlap and m the magnification of the shadow,
//!
//! ```text
//! H(f) = 1/A ∬_overlap exp(2πi m f·r) d²r ,      H(0) = 1
//! ```
//!
//! (Goodman, Introduction to Fourier Optics, ch. 6, chapter from memory; with the waves' curvature
//! it is his "OTF of a focusing error".) Strip by strip along the direction the overlap is a few
//! intervals and the integral a sinc, so that no tail is cut off, as it would be by transforming a
//! finite piece of the PSF.

use super::light::{Distances, Light, MM_PER_NM};
use crate::geometry::Outline;
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// An outline in strips along one direction: what the OTF in that direction is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Chords {
    strips: Vec<Strip>,
    /// Area by the strips: the strips' own, so that H(0) is 1 exactly.
    area_mm2: f64,
    /// Where the centroid lies along the direction, in mm, by the strips.
    centroid_mm: f64,
    /// Largest extent along the direction, in mm: the OTF ends at extent/(λv).
    extent_mm: f64,
}

/// The open intervals on one line along the direction, and the line's weight across it, in mm.
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
        let turned: Vec<([f64; 2], [f64; 2])> = outline
            .edges()
            .map(|(a, b)| {
                let turn = |p: [f64; 2]| [cos * p[0] + sin * p[1], cos * p[1] - sin * p[0]];
                (turn(a), turn(b))
            })
            .collect();
        let low = turned.iter().map(|(a, _)| a[1]).fold(f64::INFINITY, f64::min);
        let high = turned.iter().map(|(a, _)| a[1]).fold(f64::NEG_INFINITY, f64::max);
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        let step = PI / strips as f64;
        let (lines, weights): (Vec<f64>, Vec<f64>) = (0..strips)
            .map(|i| ((i as f64 + 0.5) * step - PI / 2.0).sin_cos())
            .map(|(sin, cos)| (middle + half * sin, half * cos * step))
            .unzip();
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); strips];
        for (a, b) in turned {
            let (from, to) = (a[1].min(b[1]), a[1].max(b[1]));
            // Half-open, so that a line through a vertex counts it once.
            let first = lines.partition_point(|line| *line <= from);
            let last = lines.partition_point(|line| *line <= to);
            for i in first..last {
                crossings[i].push(a[0] + (lines[i] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
            }
        }
        let strips: Vec<Strip> = crossings
            .into_iter()
            .zip(weights)
            .map(|(mut at, weight_mm)| {
                at.sort_by(f64::total_cmp);
                let open_mm = at.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect();
                Strip { weight_mm, open_mm }
            })
            .collect();
        Chords::from_strips(strips)
    }

    fn from_strips(strips: Vec<Strip>) -> Chords {
        let (mut area_mm2, mut moment) = (0.0, 0.0);
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for strip in &strips {
            for [low, high] in &strip.open_mm {
                area_mm2 += strip.weight_mm * (high - low);
                moment += strip.weight_mm * (high - low) * (high + low) / 2.0;
                (least, most) = (least.min(*low), most.max(*high));
            }
        }
        Chords { strips, area_mm2, centroid_mm: moment / area_mm2, extent_mm: most - least }
    }

    /// The same chords of the outline `factor` (above zero) times as large.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Chords {
        let mut all = self.clone();
        for strip in &mut all.strips {
            strip.weight_mm *= factor;
            for end in strip.open_mm.iter_mut().flatten() {
                *end *= factor;
            }
        }
        all.area_mm2 *= factor * factor;
        all.centroid_mm *= factor;
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
        for strip in &self.strips {
            match strip.open_mm[..] {
                [[low, high]] if turn * (high - low) > LEAST_TURN => {
                    let [low_end, high_end] = [low, high]
                        .map(|end| Complex64::cis(turn * (end - self.centroid_mm)))
                        .map(|wave| wave * strip.weight_mm);
                    for line in &mut lines {
                        if high - low > 2.0 * line.half_shift {
                            line.low_ends += low_end;
                            line.high_ends += high_end;
                        }
                    }
                }
                _ => {
                    for line in &mut lines {
                        line.overlaps += strip.overlaps(line.half_shift, turn, self.centroid_mm);
                    }
                }
            }
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
        self.strips.iter().map(of).sum::<f64>() / self.area_mm2
    }
}

/// A chord over which a wave turns by less has its ends' phases too close for their difference, in rad: the
/// ten digits that are left are more than strips hold.
const LEAST_TURN: f64 = 1e-5;

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
    /// ∫ exp(iκs) ds over the overlap of the strip with itself shifted, s from the centroid.
    fn overlaps(&self, half_shift: f64, turn: f64, centroid_mm: f64) -> Complex64 {
        let mut total = Complex64::default();
        for one in &self.open_mm {
            for other in &self.open_mm {
                let low = (one[0] - half_shift).max(other[0] + half_shift);
                let high = (one[1] - half_shift).min(other[1] + half_shift);
                if high > low {
                    let middle = (low + high) / 2.0 - centroid_mm;
                    total += Complex64::cis(turn * middle)
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

    /// Far field of a square: the triangle 1 - |σ| along its side (Goodman 6.3, from memory).
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
