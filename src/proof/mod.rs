//! What a picture of a known chart proves: whether the camera draws what its hole can.
//!
//! - [`Chart`]: what is printed where, laid out in places of the film.
//! - [`find()`]: the chart in a picture, however it lies (`blobs`: spots and their form).
//! - [`Tone`]: from pixel values back to light, by the chart's grey steps.
//! - [`Lighting`]: how evenly the chart was lit.
//! - [`Edge`]: a straight edge's spread function and MTF, with its uncertainty; [`measured()`]: those of every octagon.
//! - [`single`]: one edge in any picture.
//! - [`predicted`]: what this hole allows at the same place, seen through the same window.
//! - [`Depth`]: where the film lay, by where the octagons' images fell.
//! - [`Scanner`]: what the scanner blurs, by an edge that it scanned.
//! - [`Enlargement`]: how large the image is, and which distance the chart was drawn for.
//! - [`causes()`]: movement, blur or another hole, as fits with odds; [`loss_jnd`]: what each costs; [`findings()`]: all that was found.

mod blobs;
pub mod causes;
pub mod chart;
mod depth;
pub mod edge;
mod find;
mod findings;
mod lighting;
pub mod loss;
mod measured;
mod patch;
pub mod predicted;
pub mod scanner;
pub mod single;
mod size;
mod tone;

pub use causes::{Cause, Datum, Fit, causes};
pub use chart::Chart;
pub use depth::Depth;
pub use edge::Edge;
pub use find::{Found, find};
pub use findings::{Finding, findings};
pub use lighting::Lighting;
pub use loss::loss_jnd;
pub use measured::{Curve, Octagon, measured};
pub use scanner::Scanner;
pub use size::{Drawn, Enlargement};
pub use tone::Tone;
