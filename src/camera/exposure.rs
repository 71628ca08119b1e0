//! f-number and exposure time of a hole, and how the light falls off over the film.

use super::description::Camera;
use super::meter::Meter;
use super::point_image;
use super::timing::{Timing, f_number};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::Gauss;
use rayon::prelude::*;
use serde::Serialize;

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

/// A century: beyond it a time is a mistake in the figures.
const LONGEST_S: f64 = 3.2e9;

/// Stops of the series on each side of the metered exposure.
const BRACKET: i32 = 2;

/// Gauss points across the film, each way, for the average of the light: even, so that none lies in its middle row.
const PLACES: usize = 12;
/// Corners of the outline that stand out less than this share of its width are left out of that: both areas of which the
/// light is the ratio then want about the same.
const SMOOTH: f64 = 1e-4;

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
    let light_of =
        |outline: &Outline, x: f64, y: f64| irradiance(camera, outline, [x * half[0], y * half[1]]);
    let light = |x: f64, y: f64| light_of(outline, x, y);
    let stops = |light: f64| (light > 0.0).then(|| light.log2());
    // Turned by half a turn camera and film are what they were, and a hole overlaps with itself as much to one side as
    // to the other. So half of the film is enough; of its two corners the darker counts, behind a burred hole.
    let corner = light(1.0, 1.0)?.min(light(-1.0, 1.0)?);
    let (low, high) = outline.bounds_mm();
    let smooth = outline.simplified(SMOOTH * (high[0] - low[0]).max(high[1] - low[1]));
    let rule: Vec<(f64, f64)> = Gauss::rule(PLACES).on(-1.0, 1.0).collect();
    let upper = rule.iter().filter(|(y, _)| *y > 0.0);
    let places: Vec<_> = upper.flat_map(|y| rule.iter().map(move |x| (*x, *y))).collect();
    let of_place = |((x, weight), (y, share)): &((f64, f64), (f64, f64))| {
        Ok(weight * share / 2.0 * light_of(&smooth, *x, *y)?)
    };
    let average = places.par_iter().map(of_place).collect::<Result<Vec<f64>, Error>>()?;
    Ok(FallOff {
        side_stops: stops(light(1.0, 0.0)?),
        upper_stops: stops(light(0.0, 1.0)?),
        corner_stops: stops(corner),
        average_stops: average.iter().sum::<f64>().log2(),
    })
}

#[cfg(test)]
#[path = "exposure_tests.rs"]
mod tests;
