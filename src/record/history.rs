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

impl Record {
    /// The entries of one hole in one camera, in the order of the file. A name may be left out where
    /// the log holds only one.
    ///
    /// # Errors
    /// [`Error::Words`] for a name that the log does not hold, or one that is left out though the log
    /// holds several; [`Error::Limit`] for a log without entries.
    pub fn of(&self, hole: Option<&str>, camera: Option<&str>) -> Result<Vec<&Entry>, Error> {
        if self.entries.is_empty() {
            return Err(Error::limit("the log holds no entries", "appraise a hole into it first"));
        }
        let all = self.entries.iter().collect();
        let of_hole = chosen(all, "hole", hole, |entry| &entry.hole)?;
        chosen(of_hole, "camera", camera, |entry| &entry.camera)
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

/// The entries of the named hole or camera (`noun`), or of the only one there is.
fn chosen<'a>(
    entries: Vec<&'a Entry>,
    noun: &str,
    said: Option<&str>,
    name: impl Fn(&Entry) -> &String,
) -> Result<Vec<&'a Entry>, Error> {
    let mut names: Vec<&str> = Vec::new();
    for entry in &entries {
        if !names.contains(&name(entry).as_str()) {
            names.push(name(entry));
        }
    }
    let wanted = match said {
        Some(said) if names.contains(&said) => said.to_owned(),
        Some(said) => {
            return Err(Error::words(
                said,
                format!("is no {noun} here: there is {}", listed(&names)),
                format!("name the {noun} as the log does"),
            ));
        }
        None if names.len() == 1 => names[0].to_owned(),
        None => {
            return Err(Error::words(
                noun,
                format!("must be named, for there is {}", listed(&names)),
                format!("name one of them, as in --{noun} \"{}\"", names[0]),
            ));
        }
    };
    Ok(entries.into_iter().filter(|entry| *name(entry) == wanted).collect())
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
