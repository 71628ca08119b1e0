//! What spreads the image of a point besides the hole.

use super::description::Camera;
use super::shake::Support;
use super::timing::{Timing, f_number};
use crate::geometry::{Outline, Point};
use std::f64::consts::TAU;

/// What spreads the image besides the hole: the emulsion, and what moves while the hole is open.
#[derive(Debug, Clone, PartialEq)]
pub struct Blur {
    emulsion_mm: f64,
    support: Option<Support>,
    timing: Timing,
    f_number: f64,
}

impl Blur {
    /// For the time that this hole needs by the camera's meter.
    pub fn of(camera: &Camera, hole: &Outline) -> Blur {
        Blur::at_f_number(camera, f_number(camera, hole))
    }

    /// For the time that this f-number needs.
    pub fn at_f_number(camera: &Camera, f_number: f64) -> Blur {
        Blur {
            emulsion_mm: camera.emulsion.blur_mm,
            support: camera.support,
            timing: Timing::of(camera),
            f_number,
        }
    }

    /// Whether nothing is spread.
    pub fn is_none(&self) -> bool {
        self.emulsion_mm == 0.0 && self.support.is_none()
    }

    /// Whether it is the same in all directions.
    pub fn is_round(&self) -> bool {
        self.support.is_none_or(|s| s.drift_mm_per_s == 0.0 && s.sway.is_none())
    }

    /// The factor on the OTF at a frequency on the film, in line pairs per mm along x and y.
    pub fn transfer(&self, frequency: Point) -> f64 {
        let squared = frequency[0].powi(2) + frequency[1].powi(2);
        let emulsion = (-(TAU * self.emulsion_mm).powi(2) * squared / 2.0).exp();
        let moved = |support: &Support| support.transfer(frequency, self.time_s());
        emulsion * self.support.as_ref().map_or(1.0, moved)
    }

    /// Whether the factor is the product of one along x and the same along y: where nothing moves.
    pub fn is_along_each(&self) -> bool {
        self.support.is_none()
    }

    /// How far it reaches, in mm. For choosing grids.
    pub fn extent_mm(&self) -> f64 {
        let moved = |support: &Support| support.extent_mm(self.time_s());
        3.0 * self.emulsion_mm + self.support.as_ref().map_or(0.0, moved)
    }

    fn time_s(&self) -> f64 {
        self.timing.needed_s(self.f_number, 1.0)
    }

    /// For a hole `factor` times as large.
    pub(super) fn scaled(&self, factor: f64) -> Blur {
        Blur { f_number: self.f_number / factor, ..self.clone() }
    }
}
