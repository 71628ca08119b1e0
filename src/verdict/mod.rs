//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`quality`]: the one merit, what an eye sees in the print, over the sheet.
//! - [`criterion`]: that merit, or one of the trade's measures of a point image.
//! - [`target`]: the best diameter for a camera, and how flat the top is.
//! - [`stock`], [`published`]: the tools and the constants that stand beside it.
//! - [`depth`]: near subjects: magnification, shadow, and which are as sharp.
//! - [`tightest`]: the disc whose light keeps together best, one of the published criteria.
//! - [`appraise`]: a hole against the best disc, its loss split into causes, and what would be without
//!   each.
//! - [`by_size`]: the loss of a form against its size; [`direction`]: which lines suffer most.
//! - [`setting`]: what the plate's thickness and what moves take from every hole.
//! - [`doubt`]: whether a hole's size is known well enough to decide by.
//! - [`growth`]: how much a pass widens a hole, learnt from a maker's own passes.
//! - [`odds`]: what one more piece of work would do, under what is not known.
//! - [`advice`]: stop, enlarge, deburr or start over; [`reasons`]: why, in sentences.

pub mod advice;
pub mod appraise;
pub mod by_size;
pub mod criterion;
pub mod depth;
pub mod direction;
pub mod doubt;
pub mod film_map;
pub mod growth;
pub mod odds;
pub mod published;
pub mod quality;
pub mod reasons;
mod sampled;
mod search;
pub mod setting;
pub mod stock;
pub mod target;
pub mod tightest;
