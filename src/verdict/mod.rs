//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`eye`]: what an eye can tell of a print, in just-noticeable differences; [`quality`]: the merit of a hole by
//!   that, over the sheet.
//! - [`target`]: the best diameter for a camera, and how flat the top is; by [`criterion`]: that merit, acutance, or one
//!   of the trade's measures of a point image.
//! - [`suits`]: the film distance that a hole suits; [`stock`], [`published`]: the tools and the constants that stand beside it; [`depth`]: near subjects;
//!   [`tightest`]: the disc whose light keeps together best; [`eye_weights`]: what hangs on the weight of the eye.
//! - [`appraise`]: a hole against the best disc: its loss, what causes it, and what would be without each cause;
//!   [`loss_by_size`], [`lines`], [`camera_losses`], [`size_doubt`] are parts of that.
//! - [`hand`]: how a pass goes, learnt from a maker's own passes; [`plan`]: what each piece of work costs in the end.
//! - [`decision`]: the rule, on one page; [`outlook`]: what a piece of work would do; [`judgement`]: a hole judged, with
//!   its [`reason`]s as values; [`thresholds`]: every number at which an answer changes.

pub mod appraise;
pub mod camera_losses;
pub mod criterion;
pub mod decision;
pub mod depth;
pub mod eye;
pub mod eye_weights;
pub mod film_map;
pub mod hand;
pub mod judgement;
pub mod lines;
pub mod loss_by_size;
pub mod outlook;
pub mod plan;
pub mod published;
pub mod quality;
pub mod reason;
mod search;
pub mod size_doubt;
pub mod stock;
pub mod suits;
pub mod target;
pub mod thresholds;
pub mod tightest;
