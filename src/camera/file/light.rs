//! The light in a camera file: wavelengths, or an illuminant, a filter and a medium.

use super::source::Source;
use super::{Anything, Words};
use crate::camera::Assumed;
use crate::camera::spectrum::{self, Curve, FORM_OF_CURVE, Illuminant, Medium};
use crate::error::{Error, quoted};
use crate::quantity::Quantity;
use crate::wave::Light;
use serde::Deserialize;
use toml::Spanned;

/// Green, where the eye and most film are most sensitive (common practice, no source).
const DEFAULT_WAVELENGTH_NM: f64 = 550.0;

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct LightTable {
    wavelength: Option<Anything>,
    weight: Option<Spanned<Vec<f64>>>,
    medium: Option<Words>,
    illuminant: Option<Words>,
    filter: Option<Words>,
}

impl LightTable {
    /// What the table does not say.
    pub(super) fn assumed(&self) -> Vec<Assumed> {
        match (&self.wavelength, &self.medium, &self.illuminant, &self.filter) {
            (Some(_), ..) => vec![],
            (None, None, None, None) => vec![Assumed::Light],
            (None, medium, illuminant, _) => {
                let silent = [
                    (Assumed::Illuminant, illuminant.is_none()),
                    (Assumed::Medium, medium.is_none()),
                ];
                silent.into_iter().filter(|one| one.1).map(|one| one.0).collect()
            }
        }
    }
}

impl Source<'_> {
    /// The light that counts, and whether the picture has colours.
    pub(super) fn light(&self, table: &LightTable) -> Result<(Light, bool), Error> {
        let of_media = [&table.medium, &table.illuminant, &table.filter];
        let medium = of_media.into_iter().flatten().next();
        match (&table.wavelength, &table.weight, medium) {
            (Some(wavelength), weight, None) => {
                Ok((self.wavelengths(wavelength, weight.as_ref())?, true))
            }
            (Some(wavelength), _, Some(_)) => Err(self.fault(
                wavelength.span().start,
                "light.wavelength contradicts a medium, an illuminant or a filter",
                "give either the wavelengths or what they follow from",
            )),
            (None, Some(weight), _) => Err(self.fault(
                weight.span().start,
                "light.weight needs light.wavelength",
                "give the wavelengths too",
            )),
            (None, None, None) => Ok((Light::single(DEFAULT_WAVELENGTH_NM)?, true)),
            (None, None, Some(first)) => self.spectrum(table, first.span().start),
        }
    }

    fn spectrum(&self, table: &LightTable, at: usize) -> Result<(Light, bool), Error> {
        let medium = match &table.medium {
            None => Medium::Panchromatic,
            Some(words) => match Medium::named(words.get_ref()) {
                Some(medium) => medium,
                None => Medium::Measured(self.curve(
                    "light.medium",
                    words,
                    "panchromatic, orthochromatic, blue-sensitive, eye, colour",
                )?),
            },
        };
        let illuminant = match &table.illuminant {
            None => Illuminant::named("daylight").unwrap_or(Illuminant::Flat),
            Some(words) => match Illuminant::named(words.get_ref()) {
                Some(illuminant) => illuminant,
                None => Illuminant::Measured(self.curve(
                    "light.illuminant",
                    words,
                    "daylight, D55, tungsten, flat, a temperature such as \"5500 K\"",
                )?),
            },
        };
        let filter = match &table.filter {
            None => None,
            Some(words) => Some(self.curve("light.filter", words, "none for a filter")?),
        };
        let light = spectrum::light(&illuminant, filter.as_ref(), &medium)
            .map_err(|why| self.about(at, "light", &why))?;
        Ok((light, medium.in_colour()))
    }

    /// A curve from a CSV file beside the camera file.
    fn curve(&self, key: &str, words: &Words, known: &str) -> Result<Curve, Error> {
        let at = words.span().start;
        let name = words.get_ref();
        let text = (self.curves)(name).map_err(|why| {
            self.fault(
                at,
                &format!(
                    "{key} = {} is not a known name, and as a file it {}",
                    quoted(name),
                    why.wrong()
                ),
                &format!(
                    "known names: {known}; or give a CSV file of nm,value beside the camera \
                          file"
                ),
            )
        })?;
        Curve::parse(&text)
            .map_err(|why| self.fault(at, &format!("{key}: {}", why.in_file(name)), FORM_OF_CURVE))
    }

    fn wavelengths(
        &self,
        wavelength: &Anything,
        weight: Option<&Spanned<Vec<f64>>>,
    ) -> Result<Light, Error> {
        let at = wavelength.span().start;
        let words: Option<Vec<&str>> = match wavelength.get_ref() {
            toml::Value::String(one) => Some(vec![one]),
            toml::Value::Array(several) => several.iter().map(toml::Value::as_str).collect(),
            _ => None,
        };
        let words = words.ok_or_else(|| {
            self.fault(
                at,
                "light.wavelength is neither a wavelength nor a list of them",
                "write \"550 nm\", or [\"450 nm\", \"550 nm\"]",
            )
        })?;
        let read: Result<Vec<f64>, Error> =
            words.iter().map(|word| Quantity::Wavelength.read_positive(word)).collect();
        let read = read.map_err(|why| self.about(at, "light.wavelength", &why))?;
        let weights = match weight {
            Some(weights) => weights.get_ref().clone(),
            None => vec![1.0; read.len()],
        };
        if weights.len() != read.len() {
            return Err(self.fault(
                at,
                &format!("there are {} wavelengths and {} weights", read.len(), weights.len()),
                "give one weight for each wavelength, or none",
            ));
        }
        let lines: Vec<(f64, f64)> = read.into_iter().zip(weights).collect();
        Light::new(&lines).map_err(|why| self.about(at, "light.wavelength", &why))
    }
}
