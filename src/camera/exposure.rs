//! f-number and exposure time of a hole.

use super::description::Camera;
use crate::error::Error;
use crate::geometry::Outline;

/// What a meter says about the light.
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
}

/// The exposure of a hole, in the middle of the film.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Exposure {
    /// Film distance over the diameter of the disc of the hole's area.
    pub f_number: f64,
    /// The time that the meter's figure becomes at this f-number, in s.
    pub metered_s: f64,
    /// The time that the emulsion needs for it, reciprocity failure included, in s.
    pub corrected_s: f64,
    /// Stops from the f-number that the reading was made at (f/16 for an exposure value) to this one.
    pub stops_from_reference: f64,
}

/// The f-number that an exposure value is compared with: the rule of "f/16 in the sun".
const REFERENCE_F_NUMBER: f64 = 16.0;

/// A century: beyond it a time is a mistake in the figures.
const LONGEST_S: f64 = 3.2e9;

/// Film distance over equivalent diameter.
pub fn f_number(camera: &Camera, outline: &Outline) -> f64 {
    camera.distances.film_mm() / outline.equivalent_diameter_mm()
}

/// The exposure of a hole in a camera by a meter's word.
///
/// Time = f-number² · 100 / (speed · 2^EV) (ISO 2720, exposure value at ISO 100); from a reading,
/// time · (f-number / metered f-number)². Reciprocity failure beyond its onset: onset (t/onset)^P
/// (K. Schwarzschild 1900 in the makers' form).
///
/// # Errors
/// [`Error::Limit`] when the meter's figures are no exposure, or the time passes a century.
pub fn exposure(camera: &Camera, outline: &Outline, meter: Meter) -> Result<Exposure, Error> {
    let f_number = f_number(camera, outline);
    let (metered_s, reference) = match meter {
        Meter::ExposureValue(value) => {
            let speed = camera.emulsion.speed_iso;
            (f_number * f_number * 100.0 / (speed * value.exp2()), REFERENCE_F_NUMBER)
        }
        Meter::Reading { time_s, f_number: metered } => {
            (time_s * (f_number / metered).powi(2), metered)
        }
    };
    let corrected_s = corrected(camera, metered_s);
    if !(metered_s > 0.0 && reference > 0.0 && corrected_s <= LONGEST_S) {
        return Err(Error::limit(
            format!("the meter's figures give an exposure of {metered_s:.3e} s"),
            "check the exposure value (0 is dusk, 15 the sun), or the time and f-number",
        ));
    }
    let stops_from_reference = 2.0 * (f_number / reference).log2();
    Ok(Exposure { f_number, metered_s, corrected_s, stops_from_reference })
}

fn corrected(camera: &Camera, metered_s: f64) -> f64 {
    match camera.emulsion.reciprocity {
        Some(failure) if metered_s > failure.onset_s => {
            failure.onset_s * (metered_s / failure.onset_s).powf(failure.exponent)
        }
        _ => metered_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Reciprocity;
    use crate::geometry::shapes;

    fn camera(distance_mm: f64, exponent: Option<f64>) -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.distances = crate::wave::Distances::distant(distance_mm).unwrap();
        camera.emulsion.speed_iso = 100.0;
        camera.emulsion.reciprocity =
            exponent.map(|exponent| Reciprocity { exponent, onset_s: 1.0 });
        camera
    }

    /// EV 15 at ISO 100, worked by hand from t = N²/2^EV: f/123.29 → 0.4639 s, f/250 → 1.9073 s,
    /// f/294.12 → 2.6399 s; stops from f/16: 5.892, 7.932, 8.400.
    #[test]
    fn sunlight_by_the_exposure_value() {
        let cases = [(123.29, 0.4639, 5.892), (250.0, 1.9073, 7.932), (294.12, 2.6399, 8.400)];
        for (f_number, time, stops) in cases {
            let hole = shapes::disc(100.0 / f_number).unwrap();
            let found = exposure(&camera(100.0, None), &hole, Meter::ExposureValue(15.0)).unwrap();
            assert!((found.f_number / f_number - 1.0).abs() < 1e-9);
            // The figures carry four digits.
            assert!((found.metered_s / time - 1.0).abs() < 2e-4, "{}", found.metered_s);
            assert!((found.stops_from_reference - stops).abs() < 1e-3);
            assert_eq!(found.corrected_s, found.metered_s);
        }
    }

    /// P = 1.31: 2 → 2.479, 5 → 8.235, 10 → 20.417, 60 → 213.49 s, by hand from t^P.
    #[test]
    fn reciprocity_lengthens_beyond_its_onset() {
        let hole = shapes::disc(1.0).unwrap();
        for (metered, needed) in [(0.5, 0.5), (2.0, 2.479), (5.0, 8.235), (60.0, 213.49)] {
            let meter = Meter::Reading { time_s: metered, f_number: 100.0 };
            let found = exposure(&camera(100.0, Some(1.31)), &hole, meter).unwrap();
            assert!((found.corrected_s / needed - 1.0).abs() < 1e-3, "{}", found.corrected_s);
            assert!(found.stops_from_reference.abs() < 1e-9);
        }
    }

    #[test]
    fn what_is_no_exposure_is_refused() {
        let hole = shapes::disc(0.3).unwrap();
        let meters = [
            Meter::ExposureValue(f64::NAN),
            Meter::ExposureValue(-60.0),
            Meter::Reading { time_s: 0.0, f_number: 16.0 },
            Meter::Reading { time_s: 1.0, f_number: 0.0 },
        ];
        for meter in meters {
            assert!(exposure(&camera(100.0, Some(1.3)), &hole, meter).is_err(), "{meter:?}");
        }
    }
}
