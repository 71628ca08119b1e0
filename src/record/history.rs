//! What a log tells of one hole, and of its maker's hands.

use super::entry::{NAMES, is_name};
use super::{Entry, Skipped};
use crate::error::{Error, Wanted};
use crate::quantity::Quantity;
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
            return Err(Error::not_there(
                "the log holds no entries",
                "appraise a hole into it first",
            ));
        }
        let all = self.entries.iter().collect();
        let (hole, entries) = chosen(all, "hole", Wanted::LogHole, hole, |entry| &entry.hole)?;
        let (camera, entries) =
            chosen(entries, "camera", Wanted::LogCamera, camera, |entry| &entry.camera)?;
        Ok(History { hole, camera, entries })
    }

    /// The widening passes of all holes, since the hands are the same: the steps from one entry of a
    /// hole to its next, whatever the camera, where the diameter changed. Left out are steps after the
    /// advice to take off a burr or to start over, which are not widened holes, and after the advice to
    /// stop those within the doubt of the sizes, which are holes measured again.
    pub fn passes(&self) -> Vec<Pass> {
        let mut last: HashMap<&str, &Entry> = HashMap::new();
        let steps = self.entries.iter().filter_map(|entry| {
            let before = last.insert(&entry.hole, entry)?;
            pass(before, entry.diameter_mm, entry.diameter_uncertainty_mm)
        });
        steps.collect()
    }

    /// The pass from the last entry of a hole to what it measures now, if that was one.
    pub fn pass_to(&self, hole: &str, diameter_mm: f64, uncertainty_mm: f64) -> Option<Pass> {
        pass(self.last_of(hole)?, diameter_mm, uncertainty_mm)
    }

    /// The last entry of a hole, whatever the camera.
    pub fn last_of(&self, hole: &str) -> Option<&Entry> {
        self.entries.iter().rev().find(|entry| entry.hole == hole)
    }

    /// The name that was given to a hole, without space around it.
    ///
    /// # Errors
    /// [`Error::Words`] for what can be no name in a log.
    pub fn name_given(name: &str) -> Result<String, Error> {
        if is_name(name) {
            return Ok(name.trim().to_owned());
        }
        Err(Error::words(name, "is not a usable name for a hole", NAMES))
    }

    /// The name under which a hole that was given none goes on in the log: "hole 1" in an empty one,
    /// else that of the only hole there is, if it was in the same camera and may have become this one.
    ///
    /// # Errors
    /// [`Error::Words`] when it may be another hole: the log holds several, or one in another camera,
    /// or one that was wider than this beyond doubt, or not half as wide.
    pub fn name_of_unnamed(
        &self,
        camera: &str,
        diameter_mm: f64,
        uncertainty_mm: f64,
    ) -> Result<String, Error> {
        let Some(first) = self.entries.first() else { return Ok("hole 1".into()) };
        let asked = |wrong: String| {
            Err(Error::undecided(
                format!("the log {wrong}, so this may be another hole"),
                "say under which name it goes on: one of the log's, or a new one",
                Vec::new(),
            )
            .wanting(Wanted::LogName))
        };
        let mut names: Vec<&str> = Vec::new();
        for entry in &self.entries {
            if !names.contains(&entry.hole.as_str()) {
                names.push(&entry.hole);
            }
        }
        if names.len() > 1 {
            return asked(format!("holds {}", listed(&names)));
        }
        if let Some(other) = self.entries.iter().find(|entry| entry.camera != camera) {
            return asked(format!("holds \"{}\" in {}", first.hole, other.camera));
        }
        let last = self.entries.last().unwrap_or(first);
        let step = Pass::between(last.size(), (diameter_mm, uncertainty_mm));
        if !step.is_believable() {
            let before = Quantity::Length.write(last.diameter_mm);
            let now = Quantity::Length.write(diameter_mm);
            return asked(format!("holds \"{}\" of {before}, and this is {now}", last.hole));
        }
        Ok(last.hole.clone())
    }
}

/// The step from an entry to what the hole measures after it, if that was a widening pass.
fn pass(before: &Entry, diameter_mm: f64, uncertainty_mm: f64) -> Option<Pass> {
    let step = Pass::between(before.size(), (diameter_mm, uncertainty_mm));
    let is_same = before.diameter_mm == diameter_mm
        || before.action == "stop"
            && (diameter_mm - before.diameter_mm).abs() <= step.uncertainty_mm;
    let is_widened = !is_same && !matches!(before.action.as_str(), "deburr" | "start-over");
    is_widened.then_some(step)
}

/// The name and the entries of the named hole or camera (`noun`), or of the only one there is.
fn chosen<'a>(
    entries: Vec<&'a Entry>,
    noun: &str,
    wanted: Wanted,
    said: Option<&str>,
    name: impl Fn(&Entry) -> &String,
) -> Result<(&'a str, Vec<&'a Entry>), Error> {
    let mut names: Vec<&'a str> = Vec::new();
    for entry in &entries {
        if !names.contains(&name(entry).as_str()) {
            names.push(name(entry));
        }
    }
    let name_of_one = match (said, &names[..]) {
        (None, [only]) => *only,
        (None, _) => {
            let wrong = format!("the log holds more than one {noun}: {}", listed(&names));
            let error = Error::undecided(wrong, format!("name one {noun} of them"), Vec::new());
            return Err(error.wanting(wanted));
        }
        (Some(said), names) => *names.iter().find(|name| **name == said).ok_or_else(|| {
            Error::words(
                said,
                format!("is not a {noun} of this log: it has {}", listed(names)),
                format!("name the {noun} as the log does"),
            )
        })?,
    };
    Ok((name_of_one, entries.into_iter().filter(|entry| *name(entry) == name_of_one).collect()))
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
