//! A diffraction bench for people who make pinholes by hand.
//!
//! A hole comes in as a size, a count under the loupe, an outline or a photo. The library computes the light that
//! this very hole puts on the film of a camera, the picture it takes and the exposure it needs, and says whether
//! to stop or to go on working on it.
//!
//! ```text
//! photo | count | size | outline  →  Outline  →  Field  →  Psf  →  measures  →  Verdict
//! ```
//!
//! # Where to begin
//!
//! - [`task`] answers a whole question: a request in, an answer out. Begin with [`task::appraise`].
//! - [`words`] says an answer in English and draws its labelled pictures; [`report`] binds both into one HTML file.
//! - [`camera::Camera`] is what a hole is put in; [`hole::Hole`] is what was measured.
//! - [`wave`] is the diffraction itself. Its front page is a short chapter.
//!
//! # Chapters
//!
//! Each module uses only those above it:
//!
//! | module | holds |
//! |---|---|
//! | [`quantity`] | lengths, times, wavelengths and angles as people write them |
//! | [`raster`] | pictures as linear light |
//! | [`geometry`] | outlines, shapes, reference circles |
//! | [`wave`] | diffraction: from an outline to a point-spread function and its measures |
//! | [`hole`] | what is on the bench: traced, counted, measured |
//! | [`camera`] | film, light, emulsion, movement, exposure |
//! | [`picture`] | scenes, and the pictures that holes take of them |
//! | [`verdict`] | the best size, what a hole loses and why, what to do next |
//! | [`proof`] | a chart, and what a picture of it proves |
//! | [`record`] | the bench log |
//! | [`plate`], [`diagram`], [`figure`] | labelled pictures, curves and maps, teaching figures |
//! | [`task`] | one file a command |
//! | [`words`] | answers in English |
//! | [`report`] | an appraisal as one HTML file |
//! | [`files`] | paths to bytes and back: the outer edge |
//! | [`cli`] | the command line |
//!
//! How to use it, command by command: [`guide`]. What the numbers rest on: [`verification`].
//!
//! Lengths are `f64` mm, wavelengths nm, angles rad, times s; a public number has its unit in its name. x runs to the
//! right and y up, from inside the camera looking out. An uncertainty is expanded (k = 2, about 95 %).
//!
//! # An example
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
#[cfg(feature = "cli")]
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
pub mod proof;
pub mod quantity;
pub mod raster;
pub mod record;
pub mod report;
pub mod task;
pub mod verdict;
#[doc = include_str!("guide.md")]
pub mod guide {}
#[doc = include_str!("verification.md")]
pub mod verification {}
mod watch;
pub mod wave;
pub mod words;

pub use error::{Candidate, Error, Kind, Place as ErrorPlace, Wanted};
pub use watch::{Step, Watch};
