//! The camera: film, subject, light, emulsion, print.

use super::file;
use crate::error::Error;
use crate::wave::{Distances, Light};
use std::fs;
use std::path::Path;

/// The camera that stands in when none is given. Invented for this program.
const DEMONSTRATION: &str = include_str!("../../examples/cedar_box.toml");

/// A camera file larger than this is not a camera file.
const LARGEST_FILE: u64 = 1 << 20;

/// A lensless camera, what it looks at, and what becomes of its negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// What its maker calls it.
    pub name: String,
    /// The film.
    pub film: Film,
    /// The distances from the hole to the subject and to the film.
    pub distances: Distances,
    /// The wavelengths that count, with their shares of the energy.
    pub light: Light,
    /// The emulsion.
    pub emulsion: Emulsion,
    /// The print.
    pub print: Print,
}

/// Flat film, upright behind the hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Film {
    /// Width, in mm.
    pub width_mm: f64,
    /// Height, in mm.
    pub height_mm: f64,
}

/// What the light falls on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emulsion {
    /// Speed as an ISO number.
    pub speed_iso: f64,
    /// How it fails at long exposures, where that is known.
    pub reciprocity: Option<Reciprocity>,
}

/// Failure of reciprocity: beyond the onset, a metered time t needs onset (t/onset)^exponent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reciprocity {
    /// The exponent, 1 or more: the inverse of Schwarzschild's p.
    pub exponent: f64,
    /// The time up to which nothing needs correcting, in s.
    pub onset_s: f64,
}

/// How the picture is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Print {
    /// Size of the print over the negative's.
    pub enlargement: f64,
    /// Distance from the print to the eye, in mm.
    pub viewing_distance_mm: f64,
}

impl Camera {
    /// The built-in demonstration camera.
    ///
    /// # Errors
    /// None in a sound build: a test reads the built-in file.
    pub fn demonstration() -> Result<Camera, Error> {
        file::parse(DEMONSTRATION, Path::new("the demonstration camera"))
    }

    /// Reads a camera file (TOML).
    ///
    /// # Errors
    /// [`Error::File`] when it cannot be read; [`Error::Camera`] with the line for unknown keys,
    /// missing units, impossible values, and keys that this version does not honour yet.
    pub fn read(path: &Path) -> Result<Camera, Error> {
        let unreadable = |why: String| {
            Error::file(path, format!("the camera file cannot be read: {why}"), "check its name")
        };
        let size = fs::metadata(path).map_err(|e| unreadable(e.to_string()))?.len();
        if size > LARGEST_FILE {
            return Err(unreadable(format!("it is {size} bytes long, and no text of settings")));
        }
        let text = fs::read_to_string(path).map_err(|e| unreadable(e.to_string()))?;
        file::parse(&text, path)
    }

    /// The frequency on the film, in line pairs per mm, that the eye sees in the print as one cycle
    /// per degree: (180/π) enlargement / viewing distance.
    pub fn lp_per_mm_at_one_cycle_per_degree(&self) -> f64 {
        1f64.to_degrees() * self.print.enlargement / self.print.viewing_distance_mm
    }
}
