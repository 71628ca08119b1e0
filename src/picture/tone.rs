//! How dark film and paper become by the light that fell on them.
//!
//! Density over the logarithm of the exposure has a toe, a nearly straight middle and a shoulder. The
//! logistic curve has all three in the fewest terms. With u = ln(H/H_half) a negative has
//! D = base + range/(1 + exp(-k u)), whose steepest slope is range k/4 in u, at u = 0; in log10 H it is
//! larger by ln 10. So k = 4 gamma/(range ln 10), and gamma is the slope that makers state.

use crate::error::Error;
use crate::raster::Raster;
use std::f64::consts::LN_10;
use std::ops::RangeInclusive;

/// The light of the scene that comes to half the range of density: the grey that meters are set for
/// (common practice, no source).
const MID_GREY: f64 = 0.18;

/// The largest density above the base that any film or paper keeps in (common practice, no source).
const DENSITIES: RangeInclusive<f64> = 0.0..=6.0;
/// The least range that a picture could be told from its ground by (common practice, no source).
const LEAST_RANGE: f64 = 0.1;
/// From a soaked stand development to a lith film (common practice, no source).
const SLOPES: RangeInclusive<f64> = 0.1..=20.0;

/// Describes the density of a medium over its exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone {
    base: f64,
    range: f64,
    /// The exponent k: below zero where light makes the medium paler.
    exponent: f64,
}

impl Tone {
    /// Makes a negative, as film is: the more light, the denser, from `base` to `densest`, at most by
    /// `slope` (gamma) for each factor of ten.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when a density is not in 0 to 6, `densest` is not above `base` by at least
    /// 0.1, or `slope` is not in 0.1 to 20.
    pub fn negative(base: f64, densest: f64, slope: f64) -> Result<Tone, Error> {
        if !(DENSITIES.contains(&base)
            && DENSITIES.contains(&densest)
            && densest - base >= LEAST_RANGE)
        {
            return Err(Error::limit(
                format!("densities from {base} to {densest} are out of range"),
                "give densities from 0 to 6, the densest above that of the base by 0.1 or more",
            ));
        }
        if !SLOPES.contains(&slope) {
            return Err(Error::limit(
                format!("no film or paper has a slope of {slope}"),
                "give the steepest slope of density against the logarithm of exposure: 0.1 to 20, \
                 about 0.6 for most film",
            ));
        }
        let range = densest - base;
        Ok(Tone { base, range, exponent: 4.0 * slope / (range * LN_10) })
    }

    /// Makes a direct positive: densest where no light fell, and paler by the same curve.
    ///
    /// # Errors
    /// As [`Tone::negative`].
    pub fn positive(base: f64, densest: f64, slope: f64) -> Result<Tone, Error> {
        let tone = Tone::negative(base, densest, slope)?;
        Ok(Tone { exponent: -tone.exponent, ..tone })
    }

    /// Returns the density by the light of the scene, 0.18 being what comes to the middle of the curve. Less
    /// light than none counts as none.
    pub fn density(&self, light: f64) -> f64 {
        self.base + self.range / (1.0 + (MID_GREY / light.max(0.0)).powf(self.exponent))
    }

    /// Returns the picture on the medium: the light that each place of it sends back, 10^-D, of the light of
    /// the scene.
    ///
    /// The density of the base is left out, so that bare film and paper are white, as the eye takes
    /// them to be.
    #[must_use]
    pub fn reflectance(&self, mut light: Raster) -> Raster {
        light.linear.par_mapv_inplace(|light| {
            10f64.powf(self.base - self.density(f64::from(light))) as f32
        });
        light
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array3;

    /// Base, densest, slope.
    const MEDIA: [(f64, f64, f64); 4] =
        [(0.2, 2.2, 0.6), (0.05, 2.05, 2.5), (0.0, 0.1, 0.1), (0.3, 6.0, 20.0)];

    #[test]
    fn slope_in_the_middle_is_gamma_and_no_slope_is_steeper() {
        for (base, densest, gamma) in MEDIA {
            let negative = Tone::negative(base, densest, gamma).unwrap();
            let positive = Tone::positive(base, densest, gamma).unwrap();
            let step = 1e-4;
            let slope = |tone: &Tone, decades: f64| {
                let at = |decades: f64| tone.density(MID_GREY * 10f64.powf(decades));
                (at(decades + step) - at(decades - step)) / (2.0 * step)
            };
            // The third derivative leaves (k ln 10 step)²/12 of the difference: 1e-6 for the steepest
            // of these; rounding leaves 1e-15/step.
            assert!((slope(&negative, 0.0) / gamma - 1.0).abs() < 1e-5, "{gamma}");
            assert!((slope(&positive, 0.0) / gamma + 1.0).abs() < 1e-5, "{gamma}");
            for decades in [-2.0, -0.5, -0.1, 0.1, 0.5, 2.0] {
                assert!(slope(&negative, decades) < gamma);
            }
        }
    }

    #[test]
    fn densities_run_from_base_to_densest_through_the_middle() {
        for (base, densest, slope) in MEDIA {
            let negative = Tone::negative(base, densest, slope).unwrap();
            let positive = Tone::positive(base, densest, slope).unwrap();
            let near = |density: f64, expected: f64| {
                // A few roundings of numbers below 10.
                assert!((density - expected).abs() < 1e-14, "{density} for {expected}");
            };
            near(negative.density(0.0), base);
            near(negative.density(-1.0), base);
            near(negative.density(f64::INFINITY), densest);
            near(positive.density(0.0), densest);
            near(positive.density(f64::INFINITY), base);
            for tone in [negative, positive] {
                near(tone.density(0.18), (base + densest) / 2.0);
            }
            // A negative and a positive of the same curve share out the range.
            for light in [0.01, 0.1, 0.5, 3.0] {
                near(negative.density(light) + positive.density(light), base + densest);
            }
        }
    }

    #[test]
    fn a_grey_wedge_stays_ordered_on_a_positive_and_turns_on_a_negative() {
        let wedge = || Raster {
            linear: Array3::from_shape_fn((1, 1, 21), |(_, _, step)| {
                if step == 0 { 0.0 } else { 0.001 * 2f32.powf(step as f32 / 2.0) }
            }),
        };
        for (base, densest, slope) in [(0.2, 2.2, 0.6), (0.05, 2.05, 2.5)] {
            let negative = Tone::negative(base, densest, slope).unwrap().reflectance(wedge());
            let positive = Tone::positive(base, densest, slope).unwrap().reflectance(wedge());
            for (tone, sign) in [(&negative, -1.0), (&positive, 1.0)] {
                let steps: Vec<f32> = tone.linear.iter().copied().collect();
                assert!(steps.windows(2).all(|pair| sign * (pair[1] - pair[0]) > 0.0), "{steps:?}");
                assert!(steps.iter().all(|light| (0.0..=1.0).contains(light)));
            }
            // Where no light fell the negative is bare, and bare is white.
            assert_eq!(negative.linear[[0, 0, 0]], 1.0);
            let darkest = 10f64.powf(base - densest);
            assert!((f64::from(positive.linear[[0, 0, 0]]) / darkest - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn what_is_no_medium_is_refused() {
        let cases = [
            (-0.1, 2.0, 1.0),
            (0.0, 6.1, 1.0),
            (1.0, 1.05, 1.0),
            (2.0, 1.0, 1.0),
            (f64::NAN, 2.0, 1.0),
            (0.1, 2.0, 0.05),
            (0.1, 2.0, 21.0),
            (0.1, 2.0, f64::NAN),
        ];
        for (base, densest, slope) in cases {
            for tone in [Tone::negative, Tone::positive] {
                let error = tone(base, densest, slope).unwrap_err();
                assert!(error.remedy().contains("0.1"), "{base} {densest} {slope}: {error}");
            }
        }
    }
}
