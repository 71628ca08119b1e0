//! What shines: daylight, glowing bodies, and lights that were measured.

use super::curve::{Curve, table};
use crate::error::Error;

/// The components of daylight: nm, S0, S1, S2.
const COMPONENTS: &str = include_str!("daylight.csv");
/// Temperatures that the CIE's formula of daylight holds for (`CIE15`).
const DAYLIGHT_K: std::ops::RangeInclusive<f64> = 4000.0..=25_000.0;
/// From the reddest glow that would expose anything to beyond the hottest stars one can picture by
/// (common practice, no source).
const BLACKBODY_K: std::ops::RangeInclusive<f64> = 1000.0..=20_000.0;
/// CIE illuminant A: a tungsten lamp.
const TUNGSTEN_K: f64 = 2856.0;
/// The names D50 to D75 were given when the second radiation constant was 1.4380e-2 m K; now that it
/// is 1.4388e-2, the same light has a temperature higher by this ratio (`CIE15`).
const SINCE_RENAMED: f64 = 1.4388 / 1.4380;
/// The second radiation constant hc/k, in nm K: CODATA 2018.
const SECOND_RADIATION_NM_K: f64 = 1.438_776_877e7;
/// Where all relative powers are 100 (CIE practice).
const REFERENCE_NM: f64 = 560.0;

/// Describes light by its relative power at each wavelength.
#[derive(Debug, Clone, PartialEq)]
pub enum Illuminant {
    /// The same energy in each nm.
    Flat,
    /// A phase of daylight: the D series of the CIE.
    Daylight {
        /// The correlated colour temperature, in K: 4000 to 25 000.
        kelvin: f64,
    },
    /// A body that glows, black when cold.
    Blackbody {
        /// Its temperature, in K: 1000 to 20 000.
        kelvin: f64,
    },
    /// Relative energies that somebody measured.
    Measured(Curve),
}

impl Illuminant {
    /// Returns the light that words name: "flat", "daylight" (D55), "D50", "D55", "D65", "D75", "tungsten"
    /// (2856 K), or a temperature as "5500 K". None when they name no light.
    ///
    /// A bare temperature means daylight from 4000 K on and a glowing body below: there the formula
    /// of daylight ends, and nobody meets a sky so red or a lamp so hot.
    pub fn named(words: &str) -> Option<Illuminant> {
        let words = words.trim();
        let nominal = |kelvin: f64| Illuminant::Daylight { kelvin: kelvin * SINCE_RENAMED };
        match words.to_ascii_lowercase().as_str() {
            "flat" => Some(Illuminant::Flat),
            "d50" => Some(nominal(5000.0)),
            "daylight" | "d55" => Some(nominal(5500.0)),
            "d65" => Some(nominal(6500.0)),
            "d75" => Some(nominal(7500.0)),
            "tungsten" => Some(Illuminant::Blackbody { kelvin: TUNGSTEN_K }),
            _ => {
                let kelvin = words.strip_suffix('K')?.trim_end().parse().ok()?;
                Some(if kelvin < *DAYLIGHT_K.start() {
                    Illuminant::Blackbody { kelvin }
                } else {
                    Illuminant::Daylight { kelvin }
                })
            }
        }
    }

    /// The relative energy in each nm as a function of the wavelength in nm, and the curve behind it
    /// if there is one.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the temperature is beyond what the formula holds for.
    pub(super) fn power(&self) -> Result<Power, Error> {
        match self {
            Illuminant::Flat => Ok(Power::Flat),
            Illuminant::Daylight { kelvin } if DAYLIGHT_K.contains(kelvin) => {
                Ok(Power::Curve(daylight(*kelvin)))
            }
            Illuminant::Blackbody { kelvin } if BLACKBODY_K.contains(kelvin) => {
                Ok(Power::Blackbody(*kelvin))
            }
            Illuminant::Measured(curve) => Ok(Power::Curve(curve.clone())),
            Illuminant::Daylight { kelvin } => Err(Error::limit(
                format!("daylight of {kelvin} K is out of range"),
                "the daylight formula holds from 4000 K to 25000 K; give one of these, or a \
                 measured curve",
            )),
            Illuminant::Blackbody { kelvin } => Err(Error::limit(
                format!("a lamp of {kelvin} K is out of range"),
                "give 1000 K to 20000 K, or a measured curve",
            )),
        }
    }
}

/// Relative energies, ready to be asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Power {
    Flat,
    Blackbody(f64),
    Curve(Curve),
}

impl Power {
    /// The relative energy in each nm at a wavelength.
    pub(super) fn at(&self, nm: f64) -> f64 {
        match self {
            Power::Flat => 100.0,
            Power::Blackbody(kelvin) => 100.0 * planck(nm, *kelvin) / planck(REFERENCE_NM, *kelvin),
            Power::Curve(curve) => curve.at(nm),
        }
    }
}

/// Planck's law as energy in each nm, without its constant factor: λ⁻⁵/(exp(c₂/λT) - 1).
fn planck(nm: f64, kelvin: f64) -> f64 {
    nm.powi(-5) / (SECOND_RADIATION_NM_K / (nm * kelvin)).exp_m1()
}

/// Chromaticity of daylight by its correlated colour temperature (`CIE15`, eq. 3.3 and 3.4).
fn chromaticity(kelvin: f64) -> (f64, f64) {
    let t = 1000.0 / kelvin;
    let x = if kelvin <= 7000.0 {
        ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244063
    } else {
        ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237040
    };
    (x, (-3.000 * x + 2.870) * x - 0.275)
}

/// Daylight by its three components, S0 + M1 S1 + M2 S2 (`CIE15`, eq. 3.5 and 3.6).
/// M1 and M2 are rounded to three decimals, as the published tables were made.
fn daylight(kelvin: f64) -> Curve {
    let (x, y) = chromaticity(kelvin);
    let scale = 0.0241 + 0.2562 * x - 0.7341 * y;
    let rounded = |value: f64| (1000.0 * value).round() / 1000.0;
    let first = rounded((-1.3515 - 1.7703 * x + 5.9114 * y) / scale);
    let second = rounded((0.0300 - 31.4424 * x + 30.0717 * y) / scale);
    let points = table(COMPONENTS).map(|[nm, s0, s1, s2]| (nm, s0 + first * s1 + second * s2));
    Curve::through(points.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const REFERENCE: &str = include_str!("../../../tests/reference/illuminants.csv");
    const OBSERVER: &str = include_str!("../../../tests/reference/observer_1931.csv");

    fn power(words: &str) -> Power {
        Illuminant::named(words).unwrap().power().unwrap()
    }

    /// The largest departure from the reference table, and how many rows were compared.
    fn departure(name: &str, light: &Power) -> (f64, usize) {
        let rows = REFERENCE.lines().filter_map(|row| row.strip_prefix(name)?.strip_prefix(','));
        let departures = rows.map(|row| {
            let (nm, truth) = row.split_once(',').unwrap();
            (light.at(nm.parse().unwrap()) - truth.parse::<f64>().unwrap()).abs()
        });
        departures.fold((0.0, 0), |(most, count), next| (f64::max(most, next), count + 1))
    }

    /// `CIE15`: the published D55 and D65 carry three decimals; the others stand in the table to ten
    /// digits, and the second radiation constant has ten digits too.
    #[test]
    fn power_is_that_of_published_and_independent_tables() {
        let glowing = Illuminant::Blackbody { kelvin: 6500.0 }.power().unwrap();
        let cases = [
            ("D55", power("D55"), 0.00051),
            ("D65", power("D65"), 0.00051),
            ("4500 K", power("4500 K"), 1e-7),
            ("10000 K", power("10000 K"), 1e-7),
            ("2856 K", power("tungsten"), 1e-6),
            ("6500 K glowing", glowing, 1e-6),
        ];
        for (name, light, tolerance) in cases {
            let (most, count) = departure(name, &light);
            assert!(most < tolerance && count == 24, "{name}: {most} in {count} rows");
        }
    }

    /// `CIE15`, table T.3: D65 has x = 0.31272, y = 0.32903; by the polynomials, and by summing
    /// the power over the CIE 1931 observer.
    #[test]
    fn daylight_has_the_published_colour() {
        let (x, y) = chromaticity(6504.0);
        // Published to five digits; the polynomials were fitted to four.
        assert!((x - 0.31272).abs() < 1e-4 && (y - 0.32903).abs() < 1e-4, "{x} {y}");
        let light = power("6504 K");
        let sums = table(OBSERVER).fold([0.0; 3], |sums, [nm, x, y, z]| {
            [(0, x), (1, y), (2, z)].map(|(i, value)| sums[i] + value * light.at(nm))
        });
        let total: f64 = sums.iter().sum();
        let (x, y) = (sums[0] / total, sums[1] / total);
        assert!((x - 0.31272).abs() < 1e-4 && (y - 0.32903).abs() < 1e-4, "{x} {y}");
    }

    #[test]
    fn daylight_is_light_everywhere_and_without_a_step_between_its_formulae() {
        for kelvin in [4000.0, 5000.0, 7000.0, 7000.1, 12_000.0, 25_000.0] {
            let curve = daylight(kelvin);
            assert_eq!(curve.points().len(), 54);
            assert!(curve.points().iter().all(|point| point.1 >= 0.0), "{kelvin}");
            assert_eq!(curve.at(REFERENCE_NM), 100.0);
        }
        let (low, high) = (chromaticity(7000.0), chromaticity(7000.0001));
        // The two polynomials meet to the four digits that they are stated for.
        assert!((low.0 - high.0).abs() < 1e-4, "{low:?} {high:?}");
    }

    /// Wien's displacement law, b = 2.897771955e6 nm K (`CODATA2018`).
    #[test]
    fn glow_is_strongest_where_wien_says() {
        for kelvin in [1000.0, 2856.0, 5772.0, 20_000.0] {
            let peak = 2.897_771_955e6 / kelvin;
            let light = Illuminant::Blackbody { kelvin }.power().unwrap();
            // Flat to second order at the peak: half a thousandth aside it is lower by 1e-6, which
            // rounding cannot hide, and equally so on both sides but for the third order.
            let lower = |part: f64| 1.0 - light.at(peak * (1.0 + part)) / light.at(peak);
            let (left, right) = (lower(-5e-4), lower(5e-4));
            assert!(left > 0.0 && right > 0.0, "{kelvin}");
            assert!((left / right - 1.0).abs() < 5e-3, "{kelvin}: {left} {right}");
        }
    }

    #[test]
    fn words_name_lights() {
        let daylight = |words: &str, kelvin: f64| {
            let found = Illuminant::named(words);
            let Some(Illuminant::Daylight { kelvin: found }) = found else {
                panic!("{words}: {found:?}")
            };
            // `CIE15` states them rounded to 1 K.
            assert!((found - kelvin).abs() < 0.5, "{words}: {found}");
        };
        daylight("daylight", 5503.0);
        daylight("D50", 5003.0);
        daylight("D55", 5503.0);
        daylight(" d65 ", 6504.0);
        daylight("D75", 7504.0);
        daylight("4000 K", 4000.0);
        daylight("5500K", 5500.0);
        let glow = |kelvin| Some(Illuminant::Blackbody { kelvin });
        assert_eq!(Illuminant::named("3999 K"), glow(3999.0));
        assert_eq!(Illuminant::named("tungsten"), glow(2856.0));
        assert_eq!(Illuminant::named("flat"), Some(Illuminant::Flat));
        for words in ["", "K", "5500", "D60", "lamp.csv", "warm K", "5,500 K"] {
            assert_eq!(Illuminant::named(words), None, "{words}");
        }
    }

    #[test]
    fn temperatures_beyond_the_formulae_are_refused() {
        for words in ["999 K", "25001 K", "-5 K", "NaN K", "inf K"] {
            let error = Illuminant::named(words).unwrap().power().unwrap_err();
            assert!(error.remedy().contains("measured curve"), "{words}: {error}");
        }
        for kelvin in [3999.0, f64::NAN] {
            assert!(Illuminant::Daylight { kelvin }.power().is_err());
        }
        assert!(Illuminant::Blackbody { kelvin: 20_001.0 }.power().is_err());
    }
}
