//! What is on the workbench: a hole from words, an outline file or a photo, and what is measured on it.
//!
//! - [`Hole`]: the one door, [`Hole::read`].
//! - [`trace`]: picture to outline, to a fraction of a pixel.
//! - [`Scale`], [`SizeUncertainty`]: mm to a pixel, and how well a size is known.
//! - [`Sizes`]: every measurement of an outline.
//! - [`burrs`], [`without_burrs`]: what sticks into the opening.
//! - [`outline_file`]: the outline as CSV.
//! - [`specimen`]: a drawn photo of an invented hole, for the demonstration and the tests.

mod burr;
mod contour;
mod count;
mod edge;
mod gauge;
mod ground;
#[expect(
    clippy::module_inception,
    reason = "the folder holds what is on the bench, the file the hole"
)]
mod hole;
pub mod outline_file;
mod scale;
mod smooth_form;
pub mod specimen;
mod spots;
mod surface;
mod trace;
mod uncertainty;
mod window;

pub use burr::{Burr, burrs, without_burrs};
pub use gauge::Sizes;
pub use hole::{Hole, Picture};
pub use scale::Scale;
pub use trace::{Traced, trace};
pub use uncertainty::SizeUncertainty;
