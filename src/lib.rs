//! A diffraction bench for people who make pinholes by hand.
//!
//! ```text
//! photo | count | size | outline  →  Outline  →  Field  →  Psf  →  measures  →  Verdict
//! ```
//!
//! The modules stand in the order of the light; each uses only what stands before it:
//! [`quantity`] (lengths and times as people write them), [`raster`] (pictures as light),
//! [`geometry`] (outlines), [`wave`] (diffraction), [`hole`] (what is on the workbench),
//! [`camera`] (what the hole is put in), [`picture`] (what comes out), [`verdict`] (what to do),
//! [`record`] (the bench log), [`plate`] and [`diagram`] (drawings), [`figure`] (teaching figures), [`task`]
//! (one file a command), [`words`] (answers in English), [`report`], [`cli`].
//!
//! ```
//! use foramen::geometry::shapes;
//! use foramen::wave::{Distances, Encircled, Light};
//! // A hole this small gives the Airy disc: 83.8 % of the light within 1.22 λv/d of the middle.
//! let hole = shapes::disc(0.10)?; // mm
//! let circles = Encircled::of(&hole, &Light::single(550.0)?, Distances::distant(1000.0)?);
//! let dark_ring_mm = 1.2197 * 550e-6 * 1000.0 / 0.10;
//! assert!((circles.within(2.0 * dark_ring_mm) - 0.838).abs() < 0.005);
//! # Ok::<(), foramen::Error>(())
//! ```

pub mod camera;
pub mod cli;
pub mod diagram;
mod error;
pub mod figure;
pub mod files;
pub mod geometry;
pub mod hole;
#[cfg(feature = "page")]
pub mod page;
pub mod picture;
pub mod plate;
pub mod quantity;
pub mod raster;
pub mod record;
pub mod report;
pub mod task;
pub mod verdict;
mod watch;
pub mod wave;
pub mod words;

pub use error::{Candidate, Error, Kind, Place as ErrorPlace, Wanted};
pub use watch::{Step, Watch};
