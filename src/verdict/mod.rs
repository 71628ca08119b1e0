//! What to do: how good a hole is, what the best one would be, and whether to go on.
//!
//! - [`eye`]: what an eye can tell of a print, in just-noticeable differences; [`quality`]: the merit of a hole by
//!   that, over the sheet; [`film_map`]: over the film, place by place.
//! - [`target`]: the best diameter for a camera, how flat the top is, and what hangs on the weight of the eye; by
//!   [`criterion`]: that merit, acutance, or one of the trade's measures of a point image. [`trade`]: the tools and the
//!   constants beside it; [`depth`]: near subjects; [`tightest`]: the disc whose light keeps together best.
//! - [`losses`]: what a form of hole loses at each size, and what the holes of a camera are held against; [`appraise`]: a
//!   hole against the best disc: its loss, what causes it, what would be without each cause, what the camera itself takes.
//! - [`hand`]: how a pass goes, learnt from a maker's own passes; [`plan`]: what each piece of work costs in the end.
//! - [`decision`]: the rule, on one page; [`outlook`]: what a piece of work would do; [`judgement`]: a hole judged, with
//!   its reasons as values; [`thresholds`]: every number at which an answer changes.

pub mod appraise;
pub mod criterion;
pub mod decision;
pub mod depth;
pub mod eye;
pub mod film_map;
pub mod hand;
pub mod judgement;
pub mod losses;
pub mod outlook;
pub mod plan;
pub mod quality;
mod search;
pub mod target;
pub mod thresholds;
pub mod tightest;
pub mod trade;
