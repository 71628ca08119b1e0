//! f-number and exposure time of a hole, and how the light falls off over the film.

use super::description::Camera;
use super::point_image;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::Gauss;
use serde::Serialize;

/// Tells what a meter says about the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Meter {
    /// An exposure value at ISO 100: log2(f-number² / time in s).
    ExposureValue(f64),
    /// A time that the meter gives for the emulsion's speed at an f-number.
    Reading {
        /// The time, in s.
        time_s: f64,
        /// The f-number.
        f_number: f64,
    },
    /// The light that falls on the subject, in lux.
    Illuminance(f64),
}

impl Meter {
    /// Is a meter in the sun, on an ordinary scene: common practice, no source.
    pub const SUN: Meter = Meter::ExposureValue(15.0);
}

/// Tells how an emulsion fails at long exposures.
#[derive(Debug, Clone, PartialEq)]
pub enum Reciprocity {
    /// Beyond the onset a metered time t needs onset (t/onset)^exponent (K. Schwarzschild 1900, in the
    /// makers' form).
    Power {
        /// The exponent, 1 or more: the inverse of Schwarzschild's p.
        exponent: f64,
        /// The time up to which nothing needs correcting, in s.
        onset_s: f64,
    },
    /// Metered times and the times they need, in s, both rising: between them by straight lines on
    /// logarithmic paper, beyond the last as between the last two, before the first unchanged.
    Table(Vec<(f64, f64)>),
}

impl Reciprocity {
    /// Returns the time that a metered one needs, in s.
    pub fn needed_s(&self, metered_s: f64) -> f64 {
        match self {
            Reciprocity::Power { exponent, onset_s } if metered_s > *onset_s => {
                onset_s * (metered_s / onset_s).powf(*exponent)
            }
            Reciprocity::Table(rows) if rows.first().is_some_and(|first| metered_s > first.0) => {
                let above = rows.partition_point(|row| row.0 < metered_s);
                let high = above.clamp(1, rows.len() - 1);
                let (low, high) = (rows[high - 1], rows[high]);
                let slope = (high.1 / low.1).ln() / (high.0 / low.0).ln();
                low.1 * (metered_s / low.0).powf(slope)
            }
            _ => metered_s,
        }
    }
}

/// Describes the exposure of a hole.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Exposure {
    /// Film distance over the diameter of the disc of the hole's area.
    pub f_number: f64,
    /// The time that the meter's figure becomes at this f-number, in s: right for the middle of the film.
    pub metered_s: f64,
    /// The time that the emulsion needs for it, reciprocity failure included, in s.
    pub corrected_s: f64,
    /// Stops from the f-number that the reading was made at (f/16 for an exposure value or lux) to this
    /// one.
    pub stops_from_reference: f64,
    /// The time, failure included, that is right for the average over the film, in s.
    pub average_corrected_s: f64,
    /// How much light the places of the film get.
    pub fall_off: FallOff,
    /// Times about the corrected one, a stop apart.
    pub bracket: Vec<Bracketed>,
    /// Times in the kinds of light that one meets.
    pub scenes: Vec<SceneTime>,
}

/// Describes the light on the film against its middle, in stops: negative where it is darker. None where no light
/// comes at all.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct FallOff {
    /// At the middle of the left and right edges.
    pub side_stops: Option<f64>,
    /// At the middle of the upper and lower edges.
    pub upper_stops: Option<f64>,
    /// In the corners.
    pub corner_stops: Option<f64>,
    /// On average over the film.
    pub average_stops: f64,
}

/// Describes one exposure of a series.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Bracketed {
    /// Stops more than the metered exposure.
    pub stops: f64,
    /// The time that the emulsion needs for it, in s.
    pub time_s: f64,
}

/// Light as one meets it, and its exposure value at ISO 100. Common practice, no source.
pub const SCENES: [(&str, f64); 5] = [
    ("open sun", 15.0),
    ("light cloud", 13.0),
    ("overcast", 12.0),
    ("shade", 11.0),
    ("indoors", 6.0),
];

/// The time in one kind of light.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SceneTime {
    /// What one calls it: "open sun", "light cloud", "overcast", "shade", "indoors".
    pub scene: &'static str,
    /// Its exposure value at ISO 100.
    pub exposure_value: f64,
    /// The time that the emulsion needs for it, in s.
    pub time_s: f64,
}

/// The f-number that an exposure value is compared with: the rule of "f/16 in the sun".
const REFERENCE_F_NUMBER: f64 = 16.0;

/// Is the calibration constant of incident-light meters with a flat receptor, in lux s: ISO 2720 allows 240
/// to 400, and 250 is the usual one (from memory).
pub const INCIDENT_CONSTANT: f64 = 250.0;

/// A century: beyond it a time is a mistake in the figures.
const LONGEST_S: f64 = 3.2e9;

/// Stops of the series on each side of the metered exposure.
const BRACKET: i32 = 2;

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
    /// Makes times by the camera's meter: time = f-number² · 100/(speed · 2^EV) (ISO 2720, exposure value at ISO
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

/// Returns the exposure of a hole in a camera by its meter's word.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the meter's figures are no exposure, or the time passes a century.
pub fn exposure(camera: &Camera, outline: &Outline) -> Result<Exposure, Error> {
    let (timing, f_number) = (Timing::of(camera), f_number(camera, outline));
    let reference = match camera.meter {
        Meter::Reading { f_number, .. } => f_number,
        _ => REFERENCE_F_NUMBER,
    };
    let (metered_s, corrected_s) = (timing.metered_s(f_number), timing.needed_s(f_number, 1.0));
    let fall_off = fall_off(camera, outline)?;
    let average_corrected_s = timing.needed_s(f_number, (-fall_off.average_stops).exp2());
    let bracket: Vec<Bracketed> = (-BRACKET..=BRACKET)
        .map(f64::from)
        .map(|stops| Bracketed { stops, time_s: timing.needed_s(f_number, stops.exp2()) })
        .collect();
    let longest = bracket.iter().map(|one| one.time_s).fold(average_corrected_s, f64::max);
    if !(metered_s > 0.0 && reference > 0.0 && longest <= LONGEST_S) {
        return Err(Error::limit(
            format!(
                "the meter's figures give an exposure of {corrected_s:.3e} s, which is out of \
                     range"
            ),
            "check the exposure value (dusk 0, sun 15), the lux, or the time and f-number; the \
             longest exposure is a century",
        ));
    }
    Ok(Exposure {
        f_number,
        metered_s,
        corrected_s,
        stops_from_reference: 2.0 * (f_number / reference).log2(),
        average_corrected_s,
        fall_off,
        bracket,
        scenes: SCENES.map(|(scene, value)| scene_time(camera, f_number, scene, value)).to_vec(),
    })
}

fn scene_time(camera: &Camera, f_number: f64, scene: &'static str, value: f64) -> SceneTime {
    let lit = Camera { meter: Meter::ExposureValue(value), ..camera.clone() };
    let time_s = Timing::of(&lit).needed_s(f_number, 1.0);
    SceneTime { scene, exposure_value: value, time_s }
}

/// Light at a place on the film against its middle, for a scene of one brightness: 0 where the plate's
/// thickness closes the hole.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn irradiance(camera: &Camera, outline: &Outline, at_mm: Point) -> Result<f64, Error> {
    let place = camera.place(at_mm)?;
    let open = point_image::opening(camera, outline, &place)
        .map_or(0.0, |open| open.area_mm2() / outline.area_mm2());
    Ok(place.irradiance() * open)
}

/// Tells how the light falls off from the middle of the film.
///
/// # Errors
/// As [`irradiance`].
pub fn fall_off(camera: &Camera, outline: &Outline) -> Result<FallOff, Error> {
    let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
    let light = |x: f64, y: f64| irradiance(camera, outline, [x * half[0], y * half[1]]);
    let stops = |light: f64| (light > 0.0).then(|| light.log2());
    // A burred hole behind a thick plate is darker on one side: the darker counts.
    let darker = |a: Result<f64, Error>, b: Result<f64, Error>| Ok::<f64, Error>(a?.min(b?));
    let corner = darker(
        darker(light(1.0, 1.0), light(-1.0, 1.0)),
        darker(light(1.0, -1.0), light(-1.0, -1.0)),
    )?;
    let rule: Vec<(f64, f64)> = Gauss::rule(12).on(-1.0, 1.0).collect();
    let mut average = 0.0;
    for (x, weight) in &rule {
        for (y, share) in &rule {
            average += weight * share * light(*x, *y)? / 4.0;
        }
    }
    Ok(FallOff {
        side_stops: stops(darker(light(1.0, 0.0), light(-1.0, 0.0))?),
        upper_stops: stops(darker(light(0.0, 1.0), light(0.0, -1.0))?),
        corner_stops: stops(corner),
        average_stops: average.log2(),
    })
}

#[cfg(test)]
#[path = "exposure_tests.rs"]
mod tests;
