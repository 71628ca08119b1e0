//! Reading a log, and saying what in it cannot be read.

use super::entry::FORMAT;
use super::proof::KIND;
use super::{Entry, LONGEST, Proof, Record, Skipped};
use crate::error::{Error, cut_to, printable, with_short_words};

/// A file with more lines than this that are no entries is no log.
const MOST_SKIPPED: usize = 1000;

/// The beginning of every line that is written.
const BEGINNING: &[u8] = b"{\"format\":";
/// The mark that some editors put before a text in UTF-8.
const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

/// Reads a log.
///
/// Lines that are no entries stay in the file and are left out of the record, which names them. So are
/// entries of another format. Further keys of an entry are passed over, and a clock that ran backwards
/// is reported and otherwise does not matter.
///
/// # Errors
/// A fault for what is no bench log, and for more than 1000 lines that are no entries.
pub fn parse(bytes: &[u8]) -> Result<Record, Error> {
    let bytes = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes);
    let record = of_bytes(bytes);
    if record.entries.is_empty()
        && record.proofs.is_empty()
        && record.revoked == 0
        && !begins_as_a_log(bytes)
    {
        return Err(Error::damaged(
            "is not a bench log: its first line is not an entry",
            "name a log that foramen has written, an empty file or a new one",
        ));
    }
    if record.skipped.len() > MOST_SKIPPED {
        return Err(Error::damaged(
            format!("holds more than {MOST_SKIPPED} lines that are not entries"),
            "give a log that foramen has written",
        ));
    }
    Ok(record)
}

/// Whether the first line begins as those of a log do, or as much of it as a crash left of the only one.
fn begins_as_a_log(bytes: &[u8]) -> bool {
    let text = bytes.trim_ascii();
    text.starts_with(BEGINNING) || BEGINNING.starts_with(text)
}

/// The record of a log's bytes; it ends early once there are too many lines that are no entries.
pub(super) fn of_bytes(bytes: &[u8]) -> Record {
    let mut record = Record::default();
    // Whether each line that still holds is a proof: what a revocation takes back.
    let mut holds: Vec<bool> = Vec::new();
    for (index, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        let line_number = index + 1;
        match entry_of(line) {
            Ok(None) => {}
            Ok(Some(Line::Revocation)) if holds.is_empty() => {
                let reason = "takes back a line, and there is none before it".to_owned();
                record.skipped.push(Skipped { line: line_number, reason });
            }
            Ok(Some(Line::Revocation)) => {
                if holds.pop() == Some(true) {
                    record.proofs.pop();
                } else {
                    record.entries.pop();
                }
                record.revoked += 1;
            }
            Ok(Some(Line::Entry(entry))) => {
                if record.entries.last().is_some_and(|before| entry.time < before.time) {
                    record.backwards.push(line_number);
                }
                record.entries.push(*entry);
                holds.push(false);
            }
            Ok(Some(Line::Proof(proof))) => {
                record.proofs.push(*proof);
                holds.push(true);
            }
            Err(reason) => {
                record.skipped.push(Skipped { line: line_number, reason: legible(&reason) });
            }
        }
        if record.skipped.len() > MOST_SKIPPED {
            break;
        }
    }
    record.last_is_proof = holds.last() == Some(&true);
    record
}

/// What a line is.
enum Line {
    Entry(Box<Entry>),
    Proof(Box<Proof>),
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
        text if is_proof(text) => {
            let object = serde_json::from_str(text).map_err(|why| format!("is not JSON: {why}"))?;
            Proof::of_object(object).map(|proof| Some(Line::Proof(Box::new(proof))))
        }
        text => Entry::of_line(text).map(|entry| Some(Line::Entry(Box::new(entry)))),
    }
}

/// Whether a line says that it is a proof, in the format that is read.
fn is_proof(line: &str) -> bool {
    let object = serde_json::from_str::<serde_json::Value>(line).unwrap_or_default();
    let format = object.get("format").and_then(serde_json::Value::as_u64);
    format == Some(FORMAT) && object.get("kind").and_then(serde_json::Value::as_str) == Some(KIND)
}

/// A reason short enough to read, without control characters that it may have from the line.
fn legible(reason: &str) -> String {
    const LONGEST_REASON: usize = 160;
    cut_to(&with_short_words(&printable(reason)), LONGEST_REASON)
}

#[cfg(test)]
#[path = "read_tests.rs"]
mod tests;
