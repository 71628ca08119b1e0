//! The camera: film, subject, plate, light, emulsion, support, print.

use super::film::{Film, Place};
use super::meter::{Meter, Reciprocity};
use super::shake::Support;
use crate::error::Error;
use crate::geometry::Point;
use crate::wave::{Distances, Light};
use serde::Serialize;

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
    /// How the plate's thickness is taken for light along the ray.
    pub plate_model: PlateModel,
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
    /// What the camera file does not say, and was taken to be as its remark has it.
    pub assumed: Vec<Assumed>,
}

/// Names what a camera file does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Assumed {
    /// The light: a single wavelength of 550 nm.
    Light,
    /// The illuminant: daylight.
    Illuminant,
    /// The medium: panchromatic.
    Medium,
    /// The plate: without thickness.
    Plate,
    /// The speed of the film: ISO 100.
    Speed,
    /// Reciprocity failure: none.
    Reciprocity,
    /// The size of the print: a contact print.
    Enlargement,
    /// The distance that the print is seen from: its diagonal, but at least 250 mm.
    ViewingDistance,
}

/// Tells how the plate's thickness is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PlateModel {
    /// Both rims clip oblique rays, and the light goes on as from an infinitely thin plate.
    #[default]
    Thin,
    /// The samples and the field of a point image have the diffraction between both rims too.
    TwoPlane,
}

/// Tells what the light falls on.
#[derive(Debug, Clone, PartialEq)]
pub struct Emulsion {
    /// Whether it is paper, by its speed.
    pub is_paper: bool,
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

    /// Returns what the film takes in across its width, across its height and from corner to corner: angles at the hole,
    /// in rad.
    ///
    /// # Errors
    /// As [`Film::place`].
    pub fn view_rad(&self) -> Result<[f64; 3], Error> {
        let half = [self.film.width_mm / 2.0, self.film.height_mm / 2.0];
        let angle = |at_mm| Ok(2.0 * self.place(at_mm)?.hole_angle_rad());
        Ok([angle([half[0], 0.0])?, angle([0.0, half[1]])?, angle(half)?])
    }

    /// Returns the distances along the ray to a place: the subject is a plane square to the axis.
    pub fn distances_along(&self, place: &Place) -> Distances {
        self.distances.along(place.hole_angle_rad(), place.distance_mm())
    }
}
