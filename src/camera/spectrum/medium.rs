//! What the light falls on, by its sensitivity to energy at each wavelength.

use super::curve::{Curve, table};

/// V(λ) of the CIE: nm and value.
const LUMINOSITY: &str = include_str!("luminosity.csv");

/// The step at which the built-in sensitivities are laid out, and within which they end, in nm.
const STEP_NM: f64 = 10.0;

/// Film whose dyes reach the red; no film is without sensitivity beyond the ends, but little of it.
/// Wavelength in nm and log10 of the sensitivity, linear between: a smooth approximation, common
/// practice, no source.
const PANCHROMATIC: &[(f64, f64)] = &[(400.0, 0.0), (640.0, 0.0), (660.0, -0.3), (680.0, -1.0)];

/// Film whose dyes reach the yellow, with the usual gap in the blue-green. As [`PANCHROMATIC`].
const ORTHOCHROMATIC: &[(f64, f64)] = &[
    (360.0, -0.1),
    (400.0, 0.0),
    (450.0, -0.05),
    (480.0, -0.2),
    (500.0, -0.35),
    (520.0, -0.3),
    (550.0, -0.05),
    (560.0, 0.0),
    (570.0, -0.15),
    (580.0, -0.6),
    (590.0, -1.5),
];

/// Paper and film without dyes: what silver salts see by themselves. As [`PANCHROMATIC`].
const BLUE_SENSITIVE: &[(f64, f64)] = &[
    (350.0, -0.3),
    (380.0, -0.1),
    (410.0, 0.0),
    (440.0, -0.05),
    (460.0, -0.3),
    (480.0, -0.9),
    (500.0, -2.0),
];

/// The three layers of colour film: where each is most sensitive, in nm, and how wide it reaches
/// (the standard deviation of a normal curve). A smooth approximation, common practice, no source.
const LAYERS: [(f64, f64); 3] = [(440.0, 28.0), (545.0, 28.0), (640.0, 25.0)];
/// Where the layers together end, in nm.
const LAYERS_NM: (f64, f64) = (370.0, 700.0);

/// Tells what the light falls on. The emulsions that are built in are smooth approximations, common
/// practice without a source; a maker's own curve is better where there is one.
#[derive(Debug, Clone, PartialEq)]
pub enum Medium {
    /// Black-and-white film that sees all colours.
    Panchromatic,
    /// Black-and-white film that does not see red.
    Orthochromatic,
    /// Paper, and film without dyes: blue, violet and near ultraviolet alone.
    BlueSensitive,
    /// The eye by day: V(λ), `CIE15`.
    Eye,
    /// Colour film: the three layers together.
    Colour,
    /// A sensitivity that somebody measured, to energy, in linear measure.
    Measured(Curve),
}

impl Medium {
    /// Returns the medium of a name: "panchromatic", "orthochromatic", "blue-sensitive", "eye" or "colour".
    /// None when the words name no medium.
    pub fn named(words: &str) -> Option<Medium> {
        match words.trim().to_ascii_lowercase().as_str() {
            "panchromatic" => Some(Medium::Panchromatic),
            "orthochromatic" => Some(Medium::Orthochromatic),
            "blue-sensitive" => Some(Medium::BlueSensitive),
            "eye" => Some(Medium::Eye),
            "colour" => Some(Medium::Colour),
            _ => None,
        }
    }

    /// Tells whether a picture keeps its colours on it; if not, they all make one grey.
    pub fn in_colour(&self) -> bool {
        matches!(self, Medium::Eye | Medium::Colour)
    }

    /// Returns the sensitivity to energy at each wavelength, relative.
    pub fn sensitivity(&self) -> Curve {
        match self {
            Medium::Panchromatic => emulsion(PANCHROMATIC),
            Medium::Orthochromatic => emulsion(ORTHOCHROMATIC),
            Medium::BlueSensitive => emulsion(BLUE_SENSITIVE),
            Medium::Eye => Curve::through(table(LUMINOSITY).map(|[nm, v]| (nm, v)).collect()),
            Medium::Colour => laid_out(LAYERS_NM, |nm| {
                LAYERS
                    .iter()
                    .map(|(peak, width)| (-((nm - peak) / width).powi(2) / 2.0).exp())
                    .sum()
            }),
            Medium::Measured(curve) => curve.clone(),
        }
    }
}

/// The sensitivity of an emulsion from its logarithms.
fn emulsion(logarithms: &[(f64, f64)]) -> Curve {
    let ends = |point: Option<&(f64, f64)>| point.map_or(0.0, |point| point.0);
    // Logarithms are interpolated, not values: between its points the sensitivity is a power of ten.
    let curve = Curve::through(logarithms.to_vec());
    laid_out((ends(logarithms.first()), ends(logarithms.last())), |nm| 10f64.powf(curve.at(nm)))
}

/// A sensitivity by its values every [`STEP_NM`]; beyond the ends it falls to zero within one step,
/// since no emulsion ends at a cliff.
fn laid_out((low, high): (f64, f64), value: impl Fn(f64) -> f64) -> Curve {
    let steps = ((high - low) / STEP_NM).round() as usize;
    let inside = (0..=steps).map(|step| low + STEP_NM * step as f64).map(|nm| (nm, value(nm)));
    let first = std::iter::once((low - STEP_NM, 0.0));
    Curve::through(first.chain(inside).chain([(high + STEP_NM, 0.0)]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn peak_nm(medium: &Medium) -> f64 {
        let curve = medium.sensitivity();
        let mut places: Vec<f64> = (300..=830).map(f64::from).collect();
        places.sort_by(|a, b| curve.at(*b).total_cmp(&curve.at(*a)));
        places[0]
    }

    /// `CIE15`: V(λ) is 1 at 555 nm, 0.99495 at 550 nm and 0.995 at 560 nm; half its height lies
    /// near 510 nm and 610 nm (0.503 at both).
    #[test]
    fn the_eye_sees_green_best() {
        let eye = Medium::Eye.sensitivity();
        assert_eq!(eye.points().len(), 48);
        // The table has every 10 nm, so that the peak lies between its two largest values, which are
        // alike as they can only be about 555 nm.
        assert!((550.0..=560.0).contains(&peak_nm(&Medium::Eye)));
        assert!((eye.at(550.0) - eye.at(560.0)).abs() < 1e-4);
        assert!(eye.at(540.0) < eye.at(550.0) && eye.at(570.0) < eye.at(560.0));
        assert_eq!((eye.at(510.0), eye.at(610.0)), (0.503, 0.503));
    }

    #[test]
    fn emulsions_are_what_they_are_called() {
        let at = |medium: &Medium, nm: f64| medium.sensitivity().at(nm);
        // Stated logarithms, to the rounding of powers.
        assert!((at(&Medium::BlueSensitive, 450.0) / 10f64.powf(-0.175) - 1.0).abs() < 1e-14);
        assert!((at(&Medium::Panchromatic, 670.0) / 10f64.powf(-0.65) - 1.0).abs() < 1e-14);
        assert_eq!(peak_nm(&Medium::BlueSensitive), 410.0);
        assert_eq!(at(&Medium::Panchromatic, 520.0), 1.0);
        // Green passes a red lamp's light by far on orthochromatic film, and paper sees neither.
        assert_eq!(at(&Medium::Orthochromatic, 610.0), 0.0);
        assert!(at(&Medium::Orthochromatic, 560.0) == 1.0);
        assert!(at(&Medium::BlueSensitive, 520.0) == 0.0);
        // Each layer has its own peak, with a hollow before the next.
        let colour = Medium::Colour.sensitivity();
        for (peak, hollow) in [(440.0, 490.0), (540.0, 600.0), (640.0, 690.0)] {
            assert!(colour.at(peak) > 0.95 && colour.at(hollow) < 0.7 * colour.at(peak));
        }
    }

    #[test]
    fn words_name_media_and_their_colour() {
        let cases = [
            ("panchromatic", Medium::Panchromatic, false),
            ("orthochromatic", Medium::Orthochromatic, false),
            ("blue-sensitive", Medium::BlueSensitive, false),
            ("eye", Medium::Eye, true),
            ("Colour", Medium::Colour, true),
        ];
        for (words, medium, in_colour) in cases {
            assert_eq!(medium.in_colour(), in_colour);
            assert_eq!(Medium::named(words), Some(medium));
        }
        assert_eq!(Medium::named("film.csv"), None);
    }
}
