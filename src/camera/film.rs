//! Where the film is: distance, angles and stretch at each of its places.
//!
//! The hole lies at the origin in the plate, whose plane is z = 0; x runs to the right, y up and z
//! from the hole to the film, looking from the film out to the scene. A place on the film is given on
//! the sheet laid flat, in mm from its middle, which lies at (0, 0, v). Film on the inside of a tube
//! of radius ρ with a vertical axis has the place (s, y) at
//!
//! ```text
//! (ρ sin β, y, v - ρ + ρ cos β) ,    β = s/ρ
//! ```
//!
//! so that the hole lies h = v - ρ from the tube's axis: on the wall where v = 2ρ, on the axis where
//! v = ρ, and between the axis and the film where the sheet is bent only slightly (ρ > v).

use crate::error::Error;
use crate::geometry::vector::{Vector, cross, dot, length};
use crate::geometry::{Map, Point};
use crate::quantity::Quantity;

/// Describes the sheet of film, and how it is bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Film {
    /// Width of the sheet laid flat, in mm.
    pub width_mm: f64,
    /// Height of the sheet laid flat, in mm.
    pub height_mm: f64,
    /// How it lies in the camera.
    pub shape: Shape,
}

/// Tells how the film lies in the camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Flat, square to the axis of the hole.
    Flat,
    /// On the inside of a tube.
    Cylinder {
        /// The radius of the film, in mm.
        radius_mm: f64,
        /// How the tube stands.
        axis: Axis,
    },
}

/// Tells which way the axis of a tube runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Upright: the film's width is bent.
    Vertical,
    /// Lying: the film's height is bent.
    Horizontal,
}

/// Steepest angle at the hole that the model is asked for: beyond it the plate itself is in the way.
const STEEPEST_RAD: f64 = 89.0 * std::f64::consts::PI / 180.0;

/// Describes one place on the film as the hole sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// On the sheet laid flat, in mm from its middle: x to the right, y up.
    pub at_mm: Point,
    /// In space, in mm from the hole.
    pub position_mm: Vector,
    /// The unit vectors of the sheet's x and y at this place.
    along: [Vector; 2],
    /// The distance of the middle of the film, in mm.
    middle_mm: f64,
}

impl Film {
    /// Returns the place at `at_mm` on the sheet, whose middle is `distance_mm` from the hole.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the place lies beyond the sheet, or beside or behind the plate of the hole.
    pub fn place(&self, distance_mm: f64, at_mm: Point) -> Result<Place, Error> {
        let half = [self.width_mm / 2.0, self.height_mm / 2.0];
        // A hair's breadth beyond the edge is rounding.
        let beyond = |i: usize| at_mm[i].is_nan() || at_mm[i].abs() > half[i] * (1.0 + 1e-9);
        if beyond(0) || beyond(1) {
            return Err(Error::limit(
                format!(
                    "({}, {}) is beyond the film",
                    Quantity::Length.write(at_mm[0]),
                    Quantity::Length.write(at_mm[1])
                ),
                format!(
                    "the film reaches {} to each side of its middle and {} up and down",
                    Quantity::Length.write(half[0]),
                    Quantity::Length.write(half[1])
                ),
            ));
        }
        let place = self.anywhere(distance_mm, at_mm);
        if place.hole_angle_rad() < STEEPEST_RAD {
            return Ok(place);
        }
        Err(Error::limit(
            format!(
                "the film at ({}, {}) is {:.0} degrees off the hole's axis, out of the hole's \
                 sight",
                Quantity::Length.write(at_mm[0]),
                Quantity::Length.write(at_mm[1]),
                place.hole_angle_rad().to_degrees()
            ),
            "keep the sheet within 89 degrees of the axis: make it smaller, or move it",
        ))
    }

    /// Returns the middle of the sheet.
    pub fn middle(&self, distance_mm: f64) -> Place {
        self.anywhere(distance_mm, [0.0, 0.0])
    }

    /// How strongly the sheet is bent along its x and y, in 1/mm.
    pub(super) fn bend_per_mm(&self) -> Point {
        match self.shape {
            Shape::Flat => [0.0, 0.0],
            Shape::Cylinder { radius_mm, axis: Axis::Vertical } => [1.0 / radius_mm, 0.0],
            Shape::Cylinder { radius_mm, axis: Axis::Horizontal } => [0.0, 1.0 / radius_mm],
        }
    }

    /// The place, wherever it is.
    pub(crate) fn anywhere(&self, distance_mm: f64, [x, y]: Point) -> Place {
        let bent = |s: f64, radius: f64| {
            let (sin, cos) = (s / radius).sin_cos();
            (radius * sin, distance_mm - radius + radius * cos, cos, -sin)
        };
        let (position_mm, along) = match self.shape {
            Shape::Flat => ([x, y, distance_mm], [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]),
            Shape::Cylinder { radius_mm, axis: Axis::Vertical } => {
                let (across, deep, cos, sin) = bent(x, radius_mm);
                ([across, y, deep], [[cos, 0.0, sin], [0.0, 1.0, 0.0]])
            }
            Shape::Cylinder { radius_mm, axis: Axis::Horizontal } => {
                let (up, deep, cos, sin) = bent(y, radius_mm);
                ([x, up, deep], [[1.0, 0.0, 0.0], [0.0, cos, sin]])
            }
        };
        Place { at_mm: [x, y], position_mm, along, middle_mm: distance_mm }
    }

    /// Tells whether the hole can see all of the sheet.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the hole lies outside the tube, the sheet is longer than the tube is
    /// round, or a part of it lies beside or behind the plate of the hole.
    pub fn check(&self, distance_mm: f64) -> Result<(), Error> {
        if let Shape::Cylinder { radius_mm, axis } = self.shape {
            if distance_mm > 2.0 * radius_mm * (1.0 + 1e-9) {
                return Err(Error::limit(
                    format!(
                        "the hole is {} outside the tube: the film is {} away, the tube {} wide",
                        Quantity::Length.write(distance_mm - 2.0 * radius_mm),
                        Quantity::Length.write(distance_mm),
                        Quantity::Length.write(2.0 * radius_mm)
                    ),
                    "film.distance must be at most twice film.radius: there the hole is in the \
                     wall",
                ));
            }
            let round = std::f64::consts::TAU * radius_mm;
            let bent = if axis == Axis::Vertical { self.width_mm } else { self.height_mm };
            if bent >= round {
                return Err(Error::limit(
                    format!(
                        "a sheet of {} goes more than once around a tube of radius {}",
                        Quantity::Length.write(bent),
                        Quantity::Length.write(radius_mm)
                    ),
                    format!(
                        "the tube measures {} around; make the sheet shorter",
                        Quantity::Length.write(round)
                    ),
                ));
            }
        }
        let half = [self.width_mm / 2.0, self.height_mm / 2.0];
        self.place(distance_mm, half).map(drop)
    }
}

impl Place {
    /// Returns the distance from the hole to this place, in mm.
    pub fn distance_mm(&self) -> f64 {
        length(self.position_mm)
    }

    /// The distance from the hole to the middle of the film, in mm.
    pub(super) fn middle_distance_mm(&self) -> f64 {
        self.middle_mm
    }

    /// The unit vectors of the sheet's x and y at this place.
    pub fn tangents(&self) -> [Vector; 2] {
        self.along
    }

    /// The unit vector from the hole to this place.
    pub fn ray(&self) -> Vector {
        let distance = self.distance_mm();
        self.position_mm.map(|c| c / distance)
    }

    /// Returns the angle between the ray to this place and the axis of the hole, in rad.
    pub fn hole_angle_rad(&self) -> f64 {
        // By the tangent: near the axis the cosine has no digits left.
        let [x, y, z] = self.position_mm;
        x.hypot(y).atan2(z)
    }

    /// Returns the angle at which the ray falls on the film, from its normal, in rad.
    pub fn film_angle_rad(&self) -> f64 {
        let normal = cross(self.along[0], self.along[1]);
        let aside = cross(self.ray(), normal);
        dot(aside, aside).sqrt().atan2(dot(self.ray(), normal))
    }

    /// Returns the direction on the plate in which the ray is tilted, as a unit vector; along x on the axis.
    pub fn tilt(&self) -> Point {
        let [x, y, _] = self.position_mm;
        let aside = x.hypot(y);
        if aside > 0.0 { [x / aside, y / aside] } else { [1.0, 0.0] }
    }

    /// Maps the plate, foreshortened: a point of the hole in mm to its place across the ray, in mm along
    /// the tangential and the sagittal direction. The tangential is shortened by cos θ.
    pub fn plate_to_ray(&self) -> Map {
        let ([cos_a, sin_a], cos) = (self.tilt(), self.hole_angle_rad().cos());
        Map { of_x: [cos_a * cos, -sin_a], of_y: [sin_a * cos, cos_a] }
    }

    /// Maps a small step on the sheet to the step across the ray that it is seen as, along the tangential
    /// and the sagittal direction, projected along the ray. Its determinant is cos θ_f.
    pub fn film_to_ray(&self) -> Map {
        let ([cos_a, sin_a], angle) = (self.tilt(), self.hole_angle_rad());
        let (sin, cos) = angle.sin_cos();
        let tangential = [cos_a * cos, sin_a * cos, -sin];
        let sagittal = [-sin_a, cos_a, 0.0];
        let of = |along: Vector| [dot(along, tangential), dot(along, sagittal)];
        Map { of_x: of(self.along[0]), of_y: of(self.along[1]) }
    }

    /// Returns the direction on the sheet, in rad anticlockwise from its x, along which the film leans to the
    /// ray: where lines are drawn out by the slant. On the axis, x.
    pub fn tangential_rad(&self) -> f64 {
        // The sheet's own part of the ray.
        let ray = self.ray();
        let [x, y] = [dot(ray, self.along[0]), dot(ray, self.along[1])];
        if x.hypot(y) > 1e-12 { y.atan2(x) } else { 0.0 }
    }

    /// Returns the light on the film against the middle, for a scene of one brightness and a thin plate: cos
    /// θ for the hole seen at an angle, cos θ_f for the film, and the distance squared. On flat film cos⁴ θ.
    pub fn irradiance(&self) -> f64 {
        let distance = self.middle_mm / self.distance_mm();
        self.hole_angle_rad().cos() * self.film_angle_rad().cos() * distance * distance
    }

    /// Returns the solid angle that one square mm of film takes of the scene, in sr.
    pub fn solid_angle_sr_per_mm2(&self) -> f64 {
        self.film_angle_rad().cos() / self.distance_mm().powi(2)
    }

    /// Tells where the scene is seen from here: the tangents of the angles to the right and up, X/Z and Y/Z,
    /// of what falls on this place. The image is upside down: a place to the right sees the left.
    pub fn view(&self) -> Point {
        let [x, y, z] = self.position_mm;
        [-x / z, -y / z]
    }

    /// Tells how long a small piece of a flat subject is drawn along the sheet's x and y, against the
    /// middle of the film. 1 and 1 all over flat film.
    pub fn stretch(&self) -> Point {
        let [x, y, z] = self.position_mm;
        self.along.map(|along| {
            let view = [(along[0] * z - x * along[2]) / z, (along[1] * z - y * along[2]) / z];
            z / (self.middle_mm * view[0].hypot(view[1]))
        })
    }
}

#[cfg(test)]
#[path = "film_tests.rs"]
mod tests;
