//! What the hole is put in: the camera, its light, its exposure.
//!
//! - [`Camera`]: the camera file, its defaults, and the demonstration camera.
//! - [`point_image`]: this hole in this camera: the one place where a PSF or an OTF is asked for.
//! - [`exposure`]: f-number and time.
//! - [`spectrum`]: what light counts: its source, a filter, and what it falls on.

mod description;
pub mod exposure;
mod file;
pub mod point_image;
pub mod spectrum;

pub use description::{Camera, Emulsion, Film, Print, Reciprocity};
