//! What is on the workbench: a hole from words, an outline file or a photo, and what is measured on it.
//!
//! - [`Said`]: words, and the [`Source`] that they mean; [`Hole::of`]: the one door, from a source to a hole.
//! - [`Shape`]: an oval, a slit, a zone plate, burrs, in words.
//! - [`Sheet`]: every hole of one picture.
//! - [`trace`]: picture to outline, to a fraction of a pixel.
//! - [`Scale`], [`SizeUncertainty`]: mm to a pixel, and how well a size is known.
//! - [`Sizes`]: every measurement of an outline.
//! - [`burrs`], [`without_burrs`]: what sticks into the opening, and what is torn out of the metal.
//! - [`without_debris`]: the opening without what lies loose in it.
//! - [`outline_file`]: the outline as CSV or SVG.
//! - [`specimen`]: a drawn photo of an invented hole, for the demonstration and the tests.

mod burr;
mod count;
mod debris;
mod departure;
mod form;
mod gauge;
mod graduation;
#[expect(
    clippy::module_inception,
    reason = "the folder holds what is on the bench, the file the hole"
)]
mod hole;
mod median;
mod of_source;
pub mod outline_file;
mod perimeter;
mod said;
mod scale;
mod several;
mod shape;
mod sheet;
mod smooth_form;
mod source;
pub mod specimen;
mod trace;
mod uncertainty;

pub use burr::{Burr, burrs, without_burrs};
pub use count::read_reading;
pub use debris::{Speck, without_debris};
pub use departure::Side;
pub use form::Harmonic;
pub use gauge::Sizes;
pub use hole::{Hole, PhotoSize, Picture, Stated};
pub use said::{Files, Said, read_place};
pub use scale::{Scale, ScaleSource};
pub use shape::Shape;
pub use sheet::{Sheet, SheetHole};
pub use source::{Photo, PhotoFile, SheetScan, Size, Source};
pub use trace::{
    RimBlur, RimUncertainty, Traced, TracedSheet, rim_blur, trace, trace_every, trace_with_blur,
};
pub use uncertainty::{SizeUncertainty, Uncertainties};
