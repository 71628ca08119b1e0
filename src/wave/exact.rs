//! The very path of each wave through a hole, as the film's axes see it.

use super::light::Wave;
use super::path::Path;
use crate::geometry::{Map, Point};
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// An aperture whose waves take the very path to one place on the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Exact {
    pub(super) path: Path,
    /// From the aperture's plane, as the film's axes see it, back to the plate.
    pub(super) to_plate: Map,
    /// Where the middle of grids and places lies, on the film, from the path's end.
    pub(super) shift_mm: Point,
    /// How far from the subject's geometrical image that is, along one axis of the film.
    pub(super) beside_mm: f64,
}

impl Exact {
    /// 2π/λ, in rad per mm.
    pub(super) fn turn_per_mm(&self, wave: Wave) -> f64 {
        2.0 * PI * self.path.film_mm() / wave.spread_mm2
    }

    /// The distance from the hole to the path's end, in mm.
    pub(super) fn film_mm(&self) -> f64 {
        self.path.film_mm()
    }

    /// How much longer the path by a point, as the film's axes see it, is than the origin's, in mm, with the
    /// shift of grids; and its amplitude.
    pub(super) fn by(&self, seen: Point) -> (f64, f64) {
        let on_plate = self.to_plate.of(seen);
        let shift = (self.shift_mm[0] * seen[0] + self.shift_mm[1] * seen[1]) / self.path.film_mm();
        (self.path.longer_mm(on_plate) - shift, self.path.amplitude(on_plate))
    }

    /// What the light by a point brings against the origin's.
    pub(super) fn wave_at(&self, seen: Point, turn_per_mm: f64) -> Complex64 {
        let (longer_mm, amplitude) = self.by(seen);
        Complex64::from_polar(amplitude, turn_per_mm * longer_mm)
    }
}
