//! The camera: film, subject, plate, light, emulsion, support, print.

use super::exposure::{Meter, Reciprocity};
use super::file;
use super::film::{Film, Place};
use super::shake::Support;
use crate::error::Error;
use crate::geometry::Point;
use crate::wave::{Distances, Light};

/// Is the camera that stands in when none is given. Invented for this program. All keys of a camera file
/// are explained in it.
pub const DEMONSTRATION: &str = include_str!("../../examples/cedar_box.toml");

/// A camera of our own invention to start from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template {
    /// The word for its kind.
    pub word: &'static str,
    /// Its name, as in its file.
    pub name: &'static str,
    /// Its camera file, with its keys explained.
    pub text: &'static str,
}

/// The cameras to start from: a flat box, a tube, a small tin for paper, a wide camera on bent film.
pub const TEMPLATES: [Template; 4] = [
    Template { word: "box", name: "Cedar box", text: DEMONSTRATION },
    Template {
        word: "tube",
        name: "Biscuit tube",
        text: include_str!("../../examples/biscuit_tube.toml"),
    },
    Template { word: "tin", name: "Tea tin", text: include_str!("../../examples/tea_tin.toml") },
    Template {
        word: "wide",
        name: "Wide drum",
        text: include_str!("../../examples/wide_drum.toml"),
    },
];

/// Brings the text of a curve by its name.
pub type Curves<'a> = dyn Fn(&str) -> Result<String, Error> + 'a;

/// Brings no curve: for a camera text that comes alone.
///
/// # Errors
/// Always: there is none.
pub fn no_curves(_: &str) -> Result<String, Error> {
    Err(Error::not_there(
        "names a curve file, but no files came with the camera",
        "use a known name",
    ))
}

/// Describes a lensless camera, what it looks at, and what becomes of its negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// What its maker calls it.
    pub name: String,
    /// The film.
    pub film: Film,
    /// The distances from the hole to the subject and to the film, along the axis.
    pub distances: Distances,
    /// Thickness of the plate at the hole's rim, in mm.
    pub plate_mm: f64,
    /// The wavelengths that count, with their shares of the energy.
    pub light: Light,
    /// Whether the picture has colours, or is a grey one of all wavelengths together.
    pub in_colour: bool,
    /// The emulsion.
    pub emulsion: Emulsion,
    /// What moves while the hole is open; None for a camera that stands still.
    pub support: Option<Support>,
    /// The print.
    pub print: Print,
    /// How much light there is.
    pub meter: Meter,
}

/// Tells what the light falls on.
#[derive(Debug, Clone, PartialEq)]
pub struct Emulsion {
    /// Speed as an ISO number.
    pub speed_iso: f64,
    /// How it fails at long exposures, where that is known.
    pub reciprocity: Option<Reciprocity>,
    /// The standard deviation of what the emulsion itself spreads, in mm.
    pub blur_mm: f64,
    /// The steepest slope of density against the logarithm of exposure.
    pub gamma: f64,
    /// The density that no exposure passes, above that of the base.
    pub densest: f64,
    /// RMS granularity; None for a picture without grain.
    pub granularity: Option<f64>,
}

/// Tells how the picture is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Print {
    /// Size of the print over the negative's.
    pub enlargement: f64,
    /// Distance from the print to the eye, in mm.
    pub viewing_distance_mm: f64,
}

impl Camera {
    /// Returns the built-in demonstration camera.
    ///
    /// # Errors
    /// None in a sound build: a test reads the built-in file.
    pub fn demonstration() -> Result<Camera, Error> {
        file::parse(DEMONSTRATION, "the demonstration camera", &no_curves)
    }

    /// Reads the text of a camera file (TOML). `name` is what the text is called in faults, and, without its
    /// folder and ending, the camera's name where the text gives none. `curves` brings the text of a curve
    /// by the name that the file gives it: from beside the file, from what was uploaded, or not at all
    /// ([`no_curves`]).
    ///
    /// # Errors
    /// A fault with its key and line for unknown keys, missing units and impossible values.
    pub fn parse(text: &str, name: &str, curves: &Curves<'_>) -> Result<Camera, Error> {
        file::parse(text, name, curves)
    }

    /// Returns the frequency on the film, in line pairs per mm, that the eye sees in the print as one cycle
    /// per degree: (180/π) enlargement / viewing distance.
    pub fn lp_per_mm_at_one_cycle_per_degree(&self) -> f64 {
        1f64.to_degrees() * self.print.enlargement / self.print.viewing_distance_mm
    }

    /// Returns the place at `at_mm` on the film, from its middle.
    ///
    /// # Errors
    /// As [`Film::place`].
    pub fn place(&self, at_mm: Point) -> Result<Place, Error> {
        self.film.place(self.distances.film_mm(), at_mm)
    }

    /// Returns the middle of the film.
    pub fn middle(&self) -> Place {
        self.film.middle(self.distances.film_mm())
    }

    /// Returns the distances along the ray to a place: the subject is a plane square to the axis.
    pub fn distances_along(&self, place: &Place) -> Distances {
        self.distances.along(place.hole_angle_rad(), place.distance_mm())
    }
}
