//! What the hole is put in: the camera, its film and light, its exposure, and what moves.
//!
//! - [`Camera`]: the camera file, its defaults, and the demonstration camera.
//! - [`Film`], [`Place`]: flat or curved film; distance, angles and stretch at each place.
//! - [`spectrum`]: the light that counts: illuminant, filter and medium.
//! - [`PointImage`]: this hole in this camera, at a place on the film: the one door to a PSF or an OTF.
//! - [`Meter`], [`Reciprocity`], [`Timing`]: from the light and the f-number to a time.
//! - [`exposure`]: the exposure of a hole, and how the light falls off over the film.
//! - [`Support`]: what moves during the exposure.

mod blur;
mod description;
pub mod exposure;
mod file;
mod film;
mod meter;
mod patch;
mod point_image;
mod shake;
pub mod spectrum;
mod template;
mod timing;

pub use blur::Blur;
pub use description::{Assumed, Camera, Emulsion, PlateModel, Print};
pub use file::{Curves, no_curves};
pub use film::{Axis, Film, Place, Shape};
pub use meter::{Meter, Reciprocity};
pub use point_image::{Along, PointImage, closed_per_mm, opening, rims_apart_mm};
pub use shake::{Support, Sway};
pub use template::{DEMONSTRATION, TEMPLATES, Template};
pub use timing::{INCIDENT_CONSTANT, Timing, f_number};
