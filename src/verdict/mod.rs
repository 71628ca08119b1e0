//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`merit`]: what an [`eye`](merit::eye) can tell of a print, in just-noticeable differences, over the sheet and in a
//!   [map of the film](merit::film_map).
//! - [`target`]: the best diameter for a camera by a [criterion](target::criterion), and how flat the top is; beside it
//!   what the [trade](target::trade) goes by, [near subjects](target::depth) and the disc whose light keeps together
//!   [best](target::tightest).
//! - [`losses`]: what a form of hole loses at each size, and what the holes of a camera are held against; [`appraise`]: a
//!   hole against the best disc: its loss, what causes it, what would be without each cause, what the camera itself takes.
//! - [`decision`]: the rule, on one page, over the maker's [hand](decision::hand), the [plan](decision::plan) of what each
//!   piece of work costs in the end, and the [outlook](decision::outlook) of one; [`judgement`]: a hole judged, with its
//!   reasons as values; [`thresholds`]: every number at which an answer changes.

pub mod appraise;
pub mod decision;
pub mod judgement;
pub mod losses;
pub mod merit;
mod search;
pub mod target;
pub mod thresholds;
