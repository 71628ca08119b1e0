//! What moves during the exposure, and what the emulsion itself spreads.
//!
//! Each is a factor on the OTF, by the frequency f along the movement in line pairs per mm, with τ the
//! exposure:
//!
//! ```text
//! drift at the rate ρ            sinc(f ρ τ)                       sinc x = sin πx / πx
//! sway of amplitude b            √Σ J_n(2πfb)² sinc²(nτ/T) ,        to J0(2πfb) in the long run
//! random walk, ⟨x²⟩ = q τ        √(2 (y - 1 + exp(-y)))/y ,         y = 2π² f² q τ , along each axis
//! emulsion of spread σ           exp(-2π² f² σ²)
//! ```
//!
//! Sources: the box, the sine and the Gaussian are Fourier transforms of where the image stays (`GoodmanStatistical`,
//! ch. 8; Bessel: `DLMF`, 10.9.1). A walk wanders away
//! from where it began: the factor is the root-mean-square modulus of its transform, wherever the
//! picture comes to lie, from ⟨exp(2πif(x - x'))⟩ = exp(-2π²f² q |τ - τ'|) averaged over both times.

use crate::geometry::Point;
use std::f64::consts::{PI, TAU};

/// Tells how the camera or the subject moves while the hole is open: displacements of the image in the
/// middle of the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// Steady drift, in mm per s.
    pub drift_mm_per_s: f64,
    /// Swaying to and fro.
    pub sway: Option<Sway>,
    /// Random walk: the growth of the mean square displacement along each axis, in mm² per s.
    pub walk_mm2_per_s: f64,
    /// The direction of drift and sway on the film, in rad anticlockwise from x.
    pub direction_rad: f64,
}

/// Describes a movement to and fro, as a sine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sway {
    /// From the middle to one end, in mm.
    pub amplitude_mm: f64,
    /// To and fro, in s.
    pub period_s: f64,
}

impl Support {
    /// Returns the factor on the OTF at a frequency on the film, in line pairs per mm along x and y, for an
    /// exposure of `time_s`.
    pub fn transfer(&self, frequency: Point, time_s: f64) -> f64 {
        let (sin, cos) = self.direction_rad.sin_cos();
        let along = frequency[0] * cos + frequency[1] * sin;
        let drift = sinc(along * self.drift_mm_per_s * time_s);
        let sway = self.sway.map_or(1.0, |sway| sway.transfer(along, time_s));
        let squared = frequency[0].powi(2) + frequency[1].powi(2);
        drift * sway * walk(2.0 * PI * PI * squared * self.walk_mm2_per_s * time_s)
    }

    /// Returns a length beyond which the movement takes the image only rarely, in mm. For choosing grids.
    pub fn extent_mm(&self, time_s: f64) -> f64 {
        self.drift_mm_per_s * time_s / 2.0
            + self.sway.map_or(0.0, |sway| sway.amplitude_mm)
            + 3.0 * (self.walk_mm2_per_s * time_s).sqrt()
    }
}

impl Sway {
    /// The exposure sees some part of the sine, nobody knows which: the factor is the root mean square
    /// over all beginnings of (1/τ)∫exp(2πifb sin(2πt/T + φ))dt = Σ J_n(2πfb) sinc(nτ/T) exp(inφ) (DLMF
    /// 10.12.2). Over whole periods it is |J0|, and over many it comes near it.
    fn transfer(self, frequency: f64, time_s: f64) -> f64 {
        let phase = (TAU * frequency * self.amplitude_mm).abs().min(LARGEST_PHASE);
        let turn = (PI * time_s / self.period_s).min(LARGEST_TURN);
        if phase < 1e-4 {
            // J0 and J1 alone: to the fourth power of the phase.
            return 1.0 - phase * phase / 4.0 * (1.0 - sinc(turn / PI).powi(2));
        }
        // All J_n by their recurrence downwards (DLMF 3.6(iii), Miller): from so far beyond n = phase that what
        // it begins with has no part in them, and scaled by J0 + 2 (J2 + J4 + ...) = 1 (DLMF 10.12.4). The sines
        // of nτ/T follow by theirs.
        let first = (phase + 10.0 * phase.cbrt() + 20.0) as usize;
        let [mut beyond, mut bessel] = [0.0, 1e-30];
        let [mut sine_beyond, mut sine] = [first + 1, first].map(|n| (n as f64 * turn).sin());
        let [mut squares, mut whole] = [0.0, 0.0];
        for n in (1..=first).rev() {
            let angle = n as f64 * turn;
            let share = if angle < 1e-8 { 1.0 } else { sine / angle };
            squares += 2.0 * (bessel * share).powi(2);
            whole += if n % 2 == 0 { 2.0 * bessel } else { 0.0 };
            (beyond, bessel) = (bessel, 2.0 * n as f64 / phase * bessel - beyond);
            (sine_beyond, sine) = (sine, 2.0 * turn.cos() * sine - sine_beyond);
        }
        (squares + bessel * bessel).sqrt() / (whole + bessel).abs()
    }
}

/// Phases beyond this are taken for it: less than a hundredth of the contrast is left.
const LARGEST_PHASE: f64 = 1e4;

/// Beyond so many half periods, in rad, the long run has come: J0 alone is left.
const LARGEST_TURN: f64 = 1e9;

/// sin πx/(πx).
pub(super) fn sinc(x: f64) -> f64 {
    let phase = PI * x;
    if phase.abs() < 1e-8 { 1.0 } else { phase.sin() / phase }
}

fn walk(y: f64) -> f64 {
    if y < 1e-4 {
        // The series of the same: the difference below would leave no digits.
        return 1.0 - y / 6.0;
    }
    (2.0 * (y - 1.0 + (-y).exp())).sqrt() / y
}

#[cfg(test)]
mod tests {
    use super::*;

    const STILL: Support =
        Support { drift_mm_per_s: 0.0, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.0 };

    /// Zeros: of the sinc at a whole number of periods drifted, of J0 at 2.404826 (`DLMF`, table 10.21).
    #[test]
    fn drift_and_sway_have_their_zeros() {
        let drift = Support { drift_mm_per_s: 0.1, ..STILL };
        assert!(drift.transfer([2.0, 0.0], 5.0).abs() < 1e-12);
        assert!((drift.transfer([1.0, 0.0], 5.0) - 2.0 / PI).abs() < 1e-12);
        assert_eq!(drift.transfer([0.0, 2.0], 5.0), 1.0);
        let upright = Support { direction_rad: PI / 2.0, ..drift };
        assert!((upright.transfer([0.0, 1.0], 5.0) - 2.0 / PI).abs() < 1e-12);
        let sway = Sway { amplitude_mm: 2.404_825_557_695_773 / TAU, period_s: 1.0 };
        let swaying = Support { sway: Some(sway), ..STILL };
        assert!(swaying.transfer([1.0, 0.0], 10.0).abs() < 1e-12);
    }

    /// Against each Bessel function by itself.
    #[test]
    fn a_sway_is_the_sum_over_bessel_functions() {
        let sway = Sway { amplitude_mm: 1.0 / TAU, period_s: 2.0 };
        for phase in [0.0, 1e-6, 0.99e-4, 1.01e-4, 0.3, 2.4048, 7.7, 31.0, 104.0, 903.3] {
            for time in [0.0, 1e-12, 0.3, 2.0, 7.1, 1e5] {
                let share = |n: i32| libm::jn(n, phase) * sinc(f64::from(n) * time / 2.0);
                let last = 1.1 * phase + 40.0;
                let sum: f64 = (1..=last as i32).map(|n| 2.0 * share(n).powi(2)).sum();
                let truth = (share(0).powi(2) + sum).sqrt();
                // Rounding over a thousand steps.
                assert!((sway.transfer(phase, time) - truth).abs() < 1e-10, "{phase} {time}");
            }
        }
    }

    #[test]
    fn a_sway_of_no_period_is_one_in_the_long_run() {
        let sway = Sway { amplitude_mm: 1.0 / TAU, period_s: 1e-320 };
        assert!((sway.transfer(7.7, 3.0) - libm::j0(7.7).abs()).abs() < 1e-9);
        assert!((sway.transfer(1e-5, 3.0) - 1.0).abs() < 1e-9);
    }

    /// A sway seen for less and for more than its period, by averaging over times and beginnings.
    #[test]
    fn a_part_of_a_sway_is_its_mean_square() {
        for (f, time) in [(3.0, 0.7), (3.8, 2.5), (3.8, 5.4), (2.0, 2.0), (1.0, 13.0)] {
            swayed(f, time);
        }
    }

    fn swayed(f: f64, time: f64) {
        let sway = Sway { amplitude_mm: 0.1, period_s: 2.0 };
        let mut sum = 0.0;
        for beginning in 0..400 {
            let phi = TAU * f64::from(beginning) / 400.0;
            let (mut re, mut im) = (0.0, 0.0);
            for step in 0..4000 {
                let t = time * (f64::from(step) + 0.5) / 4000.0;
                let phase = TAU * f * 0.1 * (TAU * t / 2.0 + phi).sin();
                re += phase.cos() / 4000.0;
                im += phase.sin() / 4000.0;
            }
            sum += (re * re + im * im) / 400.0;
        }
        // Midpoints of a smooth integrand, 4000 of them.
        assert!((sway.transfer(f, time) - sum.sqrt()).abs() < 1e-5, "{f} {time}");
        assert!((sway.transfer(f, 1e-9) - 1.0).abs() < 1e-9);
    }

    /// The walk's factor by simulating walks, and its two ends: 1 - y/6 for little, √(2/y) for much
    /// movement (expansions of the closed form).
    #[test]
    fn a_walk_blurs_by_its_mean_square() {
        // A small generator of its own (`Marsaglia2003`), so that it is the same
        // every time.
        let mut state = 88_172_645_463_325_252u64;
        let mut sign = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            if state >> 63 == 1 { 1.0 } else { -1.0 }
        };
        let (f, q_time, steps, walks) = (1.0, 0.08, 400, 4000);
        let step = f64::sqrt(q_time / f64::from(steps));
        let mut sum = 0.0;
        for _ in 0..walks {
            let (mut x, mut re, mut im) = (0.0, 0.0, 0.0);
            for _ in 0..steps {
                x += step * sign();
                re += (TAU * f * x).cos() / f64::from(steps);
                im += (TAU * f * x).sin() / f64::from(steps);
            }
            sum += (re * re + im * im) / f64::from(walks);
        }
        let moving = Support { walk_mm2_per_s: 0.08, ..STILL };
        let found = moving.transfer([f, 0.0], 1.0);
        // 4000 walks: the mean square is known to about 0.3/√4000 = 0.005.
        assert!((found - sum.sqrt()).abs() < 0.01, "{found} {}", sum.sqrt());
        assert!((walk(1e-3) - (1.0 - 1e-3 / 6.0)).abs() < 1e-7);
        assert!((walk(1e4) / (2.0f64 / 1e4).sqrt() - 1.0).abs() < 1e-4);
        assert!((walk(1.0001e-4) - walk(0.9999e-4)).abs() < 1e-8);
    }
}
