//! Reading a log, and saying what in it cannot be read.

use super::{Entry, LONGEST, Record};
use crate::error::Error;
use serde::Serialize;

/// A file with more lines than this that are no entries is no log.
const MOST_SKIPPED: usize = 1000;

/// A line that was left out, or that is odd.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Skipped {
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it, to be read after "line 7 ...".
    pub reason: String,
}

/// Reads a log.
///
/// Lines that are no entries stay in the file and are left out of the record, which names them. So are
/// entries of another format. Further keys of an entry are passed over, and a clock that ran backwards
/// is reported and otherwise does not matter.
///
/// # Errors
/// A fault for more than 1000 lines that are no entries.
pub fn parse(bytes: &[u8]) -> Result<Record, Error> {
    let record = of_bytes(bytes);
    if record.skipped.len() > MOST_SKIPPED {
        return Err(Error::damaged(
            format!("holds more than {MOST_SKIPPED} lines that are not entries"),
            "give a log that foramen has written",
        ));
    }
    Ok(record)
}

/// The record of a log's bytes; it ends early once there are too many lines that are no entries.
pub(super) fn of_bytes(bytes: &[u8]) -> Record {
    let mut record = Record::default();
    for (index, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        let line_number = index + 1;
        match entry_of(line) {
            Ok(None) => {}
            Ok(Some(Line::Revocation)) if record.entries.is_empty() => {
                let reason = "takes back a line, and there is none before it".to_owned();
                record.skipped.push(Skipped { line: line_number, reason });
            }
            Ok(Some(Line::Revocation)) => {
                record.entries.pop();
                record.revoked += 1;
            }
            Ok(Some(Line::Entry(entry))) => {
                if record.entries.last().is_some_and(|before| entry.time < before.time) {
                    record.backwards.push(line_number);
                }
                record.entries.push(*entry);
            }
            Err(reason) => {
                record.skipped.push(Skipped { line: line_number, reason: legible(&reason) });
            }
        }
        if record.skipped.len() > MOST_SKIPPED {
            break;
        }
    }
    record
}

/// What a line is.
enum Line {
    Entry(Box<Entry>),
    /// Takes back the last entry that still holds.
    Revocation,
}

/// What is in a line; nothing in an empty one.
fn entry_of(line: &[u8]) -> Result<Option<Line>, String> {
    if line.len() > LONGEST {
        return Err(format!("is {} bytes long: no entry is longer than {LONGEST}", line.len()));
    }
    let text = std::str::from_utf8(line).map_err(|_| "is not text in UTF-8".to_owned())?;
    match text.trim() {
        "" => Ok(None),
        text if Entry::is_revocation(text) => Ok(Some(Line::Revocation)),
        text => Entry::of_line(text).map(|entry| Some(Line::Entry(Box::new(entry)))),
    }
}

/// A reason short enough to read, without control characters that it may have from the line.
fn legible(reason: &str) -> String {
    const LONGEST_REASON: usize = 160;
    let letters = reason.chars().map(|letter| if letter.is_control() { '?' } else { letter });
    letters.take(LONGEST_REASON).collect()
}

#[cfg(test)]
#[path = "read_tests.rs"]
mod tests;
