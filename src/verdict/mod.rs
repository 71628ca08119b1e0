//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`quality`]: the one merit, what an eye sees in the print.
//! - [`target`]: the best diameter for a camera, and how flat the top is.
//! - [`tightest`]: the disc whose light keeps together best, one of the published criteria.
//! - [`appraise`]: a hole against the best disc, its loss split into causes.
//! - [`doubt`]: whether a hole's size is known well enough to decide by.
//! - [`growth`]: how much a pass widens a hole, learnt from a maker's own passes.
//! - [`advice`]: stop, enlarge, deburr or start over, with the odds of one more pass.
//! - [`stock`]: the stock drills and needles about a diameter.

pub mod advice;
pub mod appraise;
pub mod doubt;
pub mod growth;
pub mod quality;
mod search;
pub mod stock;
pub mod target;
pub mod tightest;
