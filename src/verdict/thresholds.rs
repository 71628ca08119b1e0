//! Every number at which an answer changes, and every price that is weighed, each with its source.

/// Differences in just-noticeable differences that have a name: 1, just noticeable, 3, significant, 10, substantial
/// (`CarlsonCohen1980`).
pub const JND: [f64; 3] = [1.0, 3.0, 10.0];

/// A hole that loses less is done whichever side it is on: no eye can tell. The best place to stop lies between 0.5 and
/// 1 jnd, where the cost of a whole hole is flat (computed: `examples/makers.rs`).
pub const DONE_JND: f64 = JND[0];
/// A hole that is too wide and loses no more is done: a new one costs more than it gains (computed, as above).
pub const TOO_WIDE_JND: f64 = JND[1];
/// Taking off burrs, or reaming a crooked hole round, is worth it from this expected gain on (computed, as above: flat
/// from 0.25 to 1).
pub const REWORK_GAIN_JND: f64 = 0.5;
/// Work that is expected to gain less is not named: it is the last digit that is shown of a loss.
pub const NAMED_GAIN_JND: f64 = 0.1;
/// The least growth that a hand can aim at. Common practice, no source.
pub const LEAST_AIM: f64 = 0.02;
/// Of two pieces of work that cost the same to this, either is right. Common practice, no source.
pub const EITHER_JND: f64 = 0.1;
/// A hole that ends this much worse than it is ends worse: below nobody and no measurement could tell. Common practice, no
/// source.
pub const WORSE_JND: f64 = 0.05;
/// A cause that costs less is not worth a word. Common practice, no source.
pub const NOTABLE_JND: f64 = 0.1;
/// Lines that differ by less look alike: no eye can tell (as above).
pub const LINES_ALIKE_JND: f64 = JND[0];

/// A near or far subject that loses so much against the one the camera is set up for is no longer as sharp: what an eye
/// can just tell.
pub const DEPTH_JND: f64 = JND[0];

/// A minute of work in jnd: 1 jnd is 17 minutes. Our guess, no source; so are the minutes below.
const MINUTE_JND: f64 = 0.06;
/// A widening pass with the measurement after it.
pub const PASS_JND: f64 = 4.0 * MINUTE_JND;
/// Taking off burrs.
pub const DEBURRING_JND: f64 = 3.0 * MINUTE_JND;
/// Reaming a hole round, with the measurement after it.
pub const REAMING_JND: f64 = 6.0 * MINUTE_JND;
/// Blowing or brushing a hole clean.
pub const CLEANING_JND: f64 = MINUTE_JND;
/// A new hole up to its first measurement.
pub const NEW_HOLE_JND: f64 = 30.0 * MINUTE_JND;
/// Where a new hole begins, over the best size: our guess.
pub const NEW_HOLE_SIZES: [f64; 5] = [0.5, 0.55, 0.6, 0.65, 0.7];
/// What taking off burrs grows the diameter by: equally likely. Common practice, no source.
pub const DEBURRING_GROWTH: [f64; 3] = [0.01, 0.02, 0.03];
/// What a burr costs that a pass leaves, in jnd: equally likely. Our guess.
pub const BURR_JND: [f64; 3] = [0.5, 1.25, 2.0];

/// The least growth that a reamer is led to beyond the rim's farthest point: enough to cut all around. Common practice,
/// no source.
pub const REAMING_GROWTH: f64 = 0.02;
/// A hole so much longer than wide is called oval: it costs half a per cent of acutance at the best size (computed).
pub const OVAL: f64 = 1.1;
/// Sizes that are known as well are known: 3 % off the best is 0.05 jnd (computed). A size that is stated without a doubt
/// has 3 %.
pub const NOTABLE_DOUBT: f64 = 0.031;
