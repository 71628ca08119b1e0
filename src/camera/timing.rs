//! From f-numbers to times: a camera's meter and emulsion.

use super::description::Camera;
use super::meter::{Meter, Reciprocity};
use crate::geometry::Outline;

/// Is the calibration constant of incident-light meters with a flat receptor, in lux s: `ISO2720` allows 240
/// to 400, and 250 is the usual one.
pub const INCIDENT_CONSTANT: f64 = 250.0;

/// Returns the f-number: film distance over equivalent diameter.
pub fn f_number(camera: &Camera, outline: &Outline) -> f64 {
    camera.distances.film_mm() / outline.equivalent_diameter_mm()
}

/// Turns f-numbers into times: a camera's meter and emulsion.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// The metered time at f/1, in s.
    at_one_s: f64,
    reciprocity: Option<Reciprocity>,
}

impl Timing {
    /// Makes times by the camera's meter: time = f-number² · 100/(speed · 2^EV) (`ISO2720`, exposure value at ISO
    /// 100); f-number² C/(lux · speed); or time · (f-number/metered f-number)².
    pub fn of(camera: &Camera) -> Timing {
        let speed = camera.emulsion.speed_iso;
        let at_one_s = match camera.meter {
            Meter::ExposureValue(value) => 100.0 / (speed * value.exp2()),
            Meter::Reading { time_s, f_number } => time_s / f_number.powi(2),
            Meter::Illuminance(lux) => INCIDENT_CONSTANT / (lux * speed),
        };
        Timing { at_one_s, reciprocity: camera.emulsion.reciprocity.clone() }
    }

    /// Returns the time for an f-number by the meter, in s.
    pub fn metered_s(&self, f_number: f64) -> f64 {
        self.at_one_s * f_number * f_number
    }

    /// Returns the time that the emulsion needs for so much of the metered exposure, in s.
    pub fn needed_s(&self, f_number: f64, share: f64) -> f64 {
        let metered = self.metered_s(f_number) * share;
        self.reciprocity.as_ref().map_or(metered, |failure| failure.needed_s(metered))
    }
}
