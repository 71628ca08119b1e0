//! Plane geometry in mm: the outline of a hole, the shapes it can have, and what is measured on it.
//!
//! - [`Outline`]: closed loops, what is open and what is metal; area, centroid, moments.
//! - [`shapes`]: outlines by construction: disc, ellipse, rectangle, polygon, annulus, zone plate; [`with_tongues`]: burrs on
//!   any of them.
//! - [`clip`]: what a plate of some thickness leaves open at an angle.
//! - [`feret`]: convex hull, and the largest and smallest distance between parallel tangents.
//! - [`reference_circles`]: least-squares, minimum-zone, inscribed and circumscribed circle.
//! - [`vector`]: products of vectors in space.
//!
//! Axes: x to the right, y up, looking from the film out to the scene. Nothing here knows of light.

mod bounds;
mod circle;
pub mod clip;
mod crossing;
pub mod feret;
mod inscribed;
mod linear;
mod map;
mod outline;
pub mod reference_circles;
pub mod shapes;
mod tongue;
mod validity;
pub mod vector;

pub(crate) use linear::solve;
pub use map::Map;
pub use outline::Outline;
pub use tongue::{Tongue, with_tongues};
pub(crate) use validity::{centroid, contains, signed_area};

/// Describes a point of the plane, (x, y), in mm unless said otherwise.
pub type Point = [f64; 2];

/// Twice the signed area of the triangle a, b, c: positive when they run anticlockwise.
pub(crate) fn cross(a: Point, b: Point, c: Point) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// The distance between two points.
pub(crate) fn distance(a: Point, b: Point) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// The edges of a closed loop, each as its two ends.
pub(crate) fn edges(points: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    points.iter().copied().zip(points.iter().copied().cycle().skip(1))
}
