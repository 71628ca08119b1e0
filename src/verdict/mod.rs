//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`quality`]: the one merit, what an eye sees in the print, over the sheet.
//! - [`criterion`]: that merit, or one of the trade's measures of a point image.
//! - [`target`]: the best diameter for a camera, and how flat the top is.
//! - [`stock`], [`published`]: the tools and the constants that stand beside it.
//! - [`depth`]: near subjects: magnification, shadow, and which are as sharp.
//! - [`tightest`]: the disc whose light keeps together best, one of the published criteria.
//! - [`appraise`]: a hole against the best disc, its loss split into causes.
//! - [`doubt`]: whether a hole's size is known well enough to decide by.
//! - [`advice`]: stop, enlarge, deburr or start over, with the odds of one more pass.

pub mod advice;
pub mod appraise;
pub mod criterion;
pub mod depth;
pub mod doubt;
pub mod published;
pub mod quality;
mod sampled;
mod search;
pub mod stock;
pub mod target;
pub mod tightest;
