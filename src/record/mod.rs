//! The bench log: what was found each time a hole was appraised, one line a time.
//!
//! - [`Entry`]: one line of the log, and its keys.
//! - [`Proof`]: a line for a picture of the chart.
//! - [`append()`], [`revoke_last()`]: add a line, or take the last one back by a further line, so that no
//!   crash, full disk or second writer harms what is there.
//! - [`parse`]: a log as a [`Record`], with what had to be left out.
//! - [`Record::of`]: the history of one hole in one camera; [`Record::passes`]: what the maker's hands
//!   did, over all holes.
//!
//! A log is a text file in UTF-8, one JSON object a line (JSON Lines). Lines are only ever added. The
//! order of the lines is the order of the work, whatever their clocks say.

mod append;
mod entry;
mod history;
mod locking;
mod proof;
mod read;
mod time;

pub use append::{append, append_proof, revoke_last};
pub use entry::Entry;
pub use history::{History, Record, Skipped};
pub(crate) use locking::{held, is_held};
pub use proof::Proof;
pub use read::parse;

/// The largest log, in bytes: some 200 000 entries.
pub const LARGEST: u64 = 64 << 20;
/// The longest line, in bytes: an entry has some 300, with the longest names under 4000.
const LONGEST: usize = 16 << 10;
