//! What a log tells of one hole, and of its maker's hands.

use super::{Entry, Skipped};
use crate::error::Error;
use crate::verdict::growth::Pass;
use std::collections::HashMap;

/// As many names are told at once.
const MOST_NAMES: usize = 8;

/// A log that was read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Record {
    /// Its entries, in the order of the file.
    pub entries: Vec<Entry>,
    /// The lines that are no entries.
    pub skipped: Vec<Skipped>,
    /// The lines, counted from 1, whose time is before that of the entry above them.
    pub backwards: Vec<usize>,
}

/// One hole in one camera.
#[derive(Debug, Clone, PartialEq)]
pub struct History<'a> {
    /// The hole's name.
    pub hole: &'a str,
    /// The camera's name.
    pub camera: &'a str,
    /// Its entries, one at least, in the order of the file.
    pub entries: Vec<&'a Entry>,
}

impl Record {
    /// The history of one hole in one camera, in the order of the file. A name may be left out where
    /// the log holds only one.
    ///
    /// # Errors
    /// [`Error::Words`] for a name that the log does not hold, or one that is left out though the log
    /// holds several; [`Error::Limit`] for a log without entries.
    pub fn of(&self, hole: Option<&str>, camera: Option<&str>) -> Result<History<'_>, Error> {
        if self.entries.is_empty() {
            return Err(Error::limit("the log holds no entries", "appraise a hole into it first"));
        }
        let all = self.entries.iter().collect();
        let (hole, entries) = chosen(all, "hole", hole, |entry| &entry.hole)?;
        let (camera, entries) = chosen(entries, "camera", camera, |entry| &entry.camera)?;
        Ok(History { hole, camera, entries })
    }

    /// The widening passes of all holes, since the hands are the same: the steps from one entry of a
    /// hole to its next, whatever the camera, where the diameter changed. Left out are steps after the
    /// advice to take off a burr or to start over, which are not widened holes.
    pub fn passes(&self) -> Vec<Pass> {
        let mut last: HashMap<&str, &Entry> = HashMap::new();
        let steps = self.entries.iter().filter_map(|entry| {
            let before = last.insert(&entry.hole, entry)?;
            let widened = before.diameter_mm != entry.diameter_mm
                && !matches!(before.action.as_str(), "deburr" | "start-over");
            widened.then(|| Pass {
                from_mm: before.diameter_mm,
                to_mm: entry.diameter_mm,
                uncertainty_mm: before.diameter_uncertainty_mm.hypot(entry.diameter_uncertainty_mm),
            })
        });
        steps.collect()
    }
}

/// The name and the entries of the named hole or camera (`noun`), or of the only one there is.
fn chosen<'a>(
    entries: Vec<&'a Entry>,
    noun: &str,
    said: Option<&str>,
    name: impl Fn(&Entry) -> &String,
) -> Result<(&'a str, Vec<&'a Entry>), Error> {
    let mut names: Vec<&'a str> = Vec::new();
    for entry in &entries {
        if !names.contains(&name(entry).as_str()) {
            names.push(name(entry));
        }
    }
    let wanted = match (said, &names[..]) {
        (None, [only]) => *only,
        (None, _) => {
            return Err(Error::words(
                noun,
                format!("must be named, for there is {}", listed(&names)),
                format!("name one of them with --{noun}"),
            ));
        }
        (Some(said), names) => *names.iter().find(|name| **name == said).ok_or_else(|| {
            Error::words(
                said,
                format!("is no {noun} here: there is {}", listed(names)),
                format!("name the {noun} as the log does"),
            )
        })?,
    };
    Ok((wanted, entries.into_iter().filter(|entry| *name(entry) == wanted).collect()))
}

/// Some names in their order: "A", "B" and 3 more.
fn listed(names: &[&str]) -> String {
    let quoted: Vec<String> =
        names.iter().take(MOST_NAMES).map(|name| format!("\"{name}\"")).collect();
    match names.len().saturating_sub(MOST_NAMES) {
        0 => quoted.join(", "),
        more => format!("{} and {more} more", quoted.join(", ")),
    }
}

#[cfg(test)]
#[path = "history_tests.rs"]
mod tests;
