//! photo | count | size | outline  →  Outline  →  Field  →  Psf  →  measures  →  Verdict

pub mod camera;
mod error;
pub mod figure;
pub mod geometry;
pub mod hole;
pub mod picture;
pub mod quantity;
pub mod raster;
pub mod task;
pub mod cli;
pub mod figure;
pub mod verdict;
pub mod wave;

pub use error::Error;
