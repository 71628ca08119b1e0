//! A circle of the plane.

use super::Point;

/// Describes a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Its centre, in mm.
    pub centre_mm: Point,
    /// Its radius, in mm.
    pub radius_mm: f64,
}
