//! photo | count | size | outline  →  Outline  →  Field  →  Psf  →  measures  →  Verdict

mod error;
pub mod geometry;
pub mod picture;
pub mod quantity;
pub mod raster;

pub use error::Error;
