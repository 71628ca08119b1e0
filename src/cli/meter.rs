//! What the meter says, as several commands take it.

use super::next::option;
use crate::camera::Meter;
use crate::camera::exposure::SCENES;
use crate::error::Error;
use crate::quantity::Quantity;
use clap::Args;

/// The light where none is named.
const USUAL_LIGHT: &str = "sun";

/// What the meter says.
#[derive(Args)]
pub(super) struct MeterWords {
    /// Exposure value (ISO 100): sun 15, overcast 12, deep shade 9
    #[arg(
        long,
        value_name = "EV",
        help_heading = "Light",
        default_value = USUAL_LIGHT,
        allow_negative_numbers = true
    )]
    ev: String,
    /// Time that a meter shows for the film's speed, as in "1/60 s", with --at-f
    #[arg(long, value_name = "TIME", help_heading = "Light", requires = "at_f", conflicts_with_all = ["ev", "lux"])]
    metered: Option<String>,
    /// The f-number of that reading, as in "16"
    #[arg(long, value_name = "F-NUMBER", help_heading = "Light", requires = "metered")]
    at_f: Option<f64>,
    /// Light that falls on the subject, in lux
    #[arg(long, value_name = "LUX", help_heading = "Light", conflicts_with = "ev")]
    lux: Option<f64>,
}

impl MeterWords {
    /// The same, to be typed again.
    pub(super) fn again(&self) -> Vec<String> {
        match (&self.metered, self.at_f, self.lux) {
            (Some(time), Some(f_number), _) => {
                [option("--metered", time), option("--at-f", &f_number.to_string())].concat()
            }
            (_, _, Some(lux)) => option("--lux", &lux.to_string()).into(),
            _ if self.ev == USUAL_LIGHT => Vec::new(),
            _ => option("--ev", &self.ev).into(),
        }
    }

    pub(super) fn read(&self) -> Result<Meter, Error> {
        Ok(match (&self.metered, self.at_f, self.lux) {
            (Some(time), Some(f_number), _) => {
                Meter::Reading { time_s: Quantity::Time.read_positive(time)?, f_number }
            }
            (_, _, Some(lux)) => Meter::Illuminance(lux),
            _ => Meter::ExposureValue(exposure_value(&self.ev)?),
        })
    }
}

/// An exposure value from a number or from the last word of a kind of light: "sun" of "open sun".
fn exposure_value(words: &str) -> Result<f64, Error> {
    let wanted = words.trim().to_lowercase();
    let named = |scene: &str| scene == wanted || scene.split(' ').next_back() == Some(&wanted);
    let scene = SCENES.iter().find(|(scene, _)| named(scene)).map(|(_, value)| *value);
    let number = || wanted.parse::<f64>().ok().filter(|value| value.is_finite());
    scene.or_else(number).ok_or_else(|| {
        Error::words(
            words,
            "is not an exposure value",
            "give a number, as in 15, or one of: sun, cloud, overcast, shade, indoors",
        )
    })
}
