//! What a log tells of one hole, and of its maker's hands.

use super::entry::{NAMES, is_name};
use super::{Entry, Proof};
use crate::error::{Error, Wanted};
use crate::quantity::Quantity;
use crate::verdict::decision::hand::Pass;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// As many names are told at once.
const MOST_NAMES: usize = 8;

/// A log that was read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Record {
    /// Its entries, in the order of the file.
    pub entries: Vec<Entry>,
    /// What pictures of the chart proved, in the order of the file.
    pub proofs: Vec<Proof>,
    /// Whether the last line that holds is a proof, and not an entry.
    pub last_is_proof: bool,
    /// The lines that are no entries.
    pub skipped: Vec<Skipped>,
    /// The lines, counted from 1, whose time is before that of the entry above them.
    pub backwards: Vec<usize>,
    /// How many entries were taken back by a later line.
    pub revoked: usize,
}

/// A line that was left out, or that is odd.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Skipped {
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it, to be read after "line 7 ...".
    pub reason: String,
}

/// One hole in one camera.
#[derive(Debug, Clone, PartialEq)]
pub struct History<'a> {
    /// The hole's name.
    pub hole: &'a str,
    /// The camera's name.
    pub camera: &'a str,
    /// Its entries, in the order of the file: none for a hole that was only proved.
    pub entries: Vec<&'a Entry>,
    /// What pictures of the chart proved of it, in the order of the file.
    pub proofs: Vec<&'a Proof>,
}

impl Record {
    /// The history of one hole in one camera, in the order of the file. A name may be left out where
    /// the log holds only one.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) for a name that the log does not hold, or one that is left out though the log
    /// holds several; [`BeyondLimit`](crate::Kind::BeyondLimit) for a log without entries.
    pub fn of(&self, hole: Option<&str>, camera: Option<&str>) -> Result<History<'_>, Error> {
        let names: Vec<(&str, &str)> = self.names().collect();
        if names.is_empty() {
            return Err(Error::not_there(
                "the log holds no entries",
                "appraise a hole into it first",
            ));
        }
        let hole = chosen(names.iter().map(|name| name.0), "hole", Wanted::LogHole, hole)?;
        let cameras = names.iter().filter(|name| name.0 == hole).map(|name| name.1);
        let camera = chosen(cameras, "camera", Wanted::LogCamera, camera)?;
        let is_it = |name: (&str, &str)| name == (hole, camera);
        Ok(History {
            hole,
            camera,
            entries: self.entries.iter().filter(|one| is_it((&one.hole, &one.camera))).collect(),
            proofs: self.proofs.iter().filter(|one| is_it((&one.hole, &one.camera))).collect(),
        })
    }

    /// Hole and camera of each line that holds, entries first.
    pub fn names(&self) -> impl Iterator<Item = (&str, &str)> {
        let entries = self.entries.iter().map(|entry| (entry.hole.as_str(), entry.camera.as_str()));
        let proofs = self.proofs.iter().map(|proof| (proof.hole.as_str(), proof.camera.as_str()));
        entries.chain(proofs)
    }

    /// The widening passes of all holes, since the hands are the same: the steps from one entry of a
    /// hole to its next, whatever the camera, where the diameter changed. Left out are steps after the
    /// advice to take off a burr or to start over, which are not widened holes, and after the advice to
    /// stop those within the doubt of the sizes, which are holes measured again.
    pub fn passes(&self) -> Vec<Pass> {
        let mut last: HashMap<&str, &Entry> = HashMap::new();
        let steps = self.entries.iter().filter_map(|entry| {
            let before = last.insert(&entry.hole, entry)?;
            let step = pass(before, entry.diameter_mm, entry.diameter_uncertainty_mm)?;
            let burred = before.burrs.zip(entry.burrs).map(|(then, now)| now > then);
            Some(Pass { aim_mm: entry.aim_mm.or(before.next_aim_mm), burred, ..step })
        });
        steps.collect()
    }

    /// The pass from the last entry of a hole to what it measures now, if that was one.
    pub fn pass_to(&self, hole: &str, diameter_mm: f64, uncertainty_mm: f64) -> Option<Pass> {
        let before = self.last_of(hole)?;
        let step = pass(before, diameter_mm, uncertainty_mm)?;
        Some(Pass { aim_mm: before.next_aim_mm, ..step })
    }

    /// The last entry of a hole, whatever the camera.
    pub fn last_of(&self, hole: &str) -> Option<&Entry> {
        self.entries.iter().rev().find(|entry| entry.hole == hole)
    }

    /// Returns the name that was given to a hole, without space around it, if the log's hole of that name can have become this
    /// one.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) for what can be no name in a log; for a hole that was wider beyond the doubt of both sizes, since
    /// metal does not grow back; and for a camera of the log's name whose best hole is another.
    pub fn name_given(
        &self,
        name: &str,
        camera: (&str, f64),
        diameter_mm: f64,
        uncertainty_mm: f64,
    ) -> Result<String, Error> {
        if !is_name(name) {
            return Err(Error::words(name, "is not a usable name for a hole", NAMES));
        }
        let name = name.trim();
        let length = |mm| Quantity::Length.write(mm);
        let Some(last) = self.last_of(name) else { return Ok(name.to_owned()) };
        let step = Pass::between(last.size(), (diameter_mm, uncertainty_mm));
        if !step.is_believable() {
            return Err(Error::words(
                name,
                format!(
                    "was {} wide in the log and this hole is {}: a hole cannot shrink, so it is another one",
                    length(last.diameter_mm),
                    length(diameter_mm)
                ),
                "give this hole a name of its own, or measure it again",
            ));
        }
        let (camera, target_mm) = camera;
        let before = self.entries.iter().rev().find(|one| one.hole == name && one.camera == camera);
        // A better reckoning moves the best size by a few per cent; other numbers by more.
        if let Some(other) = before.filter(|one| (one.target_mm / target_mm).ln().abs() > 0.15) {
            return Err(Error::words(
                camera,
                format!(
                    "had a best hole of {} in the log and has one of {} now: the camera's numbers have changed",
                    length(other.target_mm),
                    length(target_mm)
                ),
                "give the changed camera another name in its file, or start another log",
            ));
        }
        Ok(name.to_owned())
    }

    /// Tells whether the last advice for a hole was to measure it again.
    pub fn is_measured_again(&self, hole: &str) -> bool {
        self.last_of(hole).is_some_and(|last| last.action == "measure")
    }

    /// The name under which a hole that was given none goes on in the log: "hole 1" in an empty one,
    /// else that of the only hole there is, if it was in the same camera and may have become this one.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) when it may be another hole: the log holds several, or one in another camera,
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
        let names = distinct(self.entries.iter().map(|entry| entry.hole.as_str()));
        if names.len() > 1 {
            return asked(format!("holds {}", listed(&names)));
        }
        if let Some(other) = self.entries.iter().find(|entry| entry.camera != camera) {
            return asked(format!("holds \"{}\" in {}", first.hole, other.camera));
        }
        let last = self.entries.last().unwrap_or(first);
        let step = Pass::between(last.size(), (diameter_mm, uncertainty_mm));
        if !step.is_believable() || diameter_mm > 2.0 * last.diameter_mm {
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
    let is_widened = !is_same
        && !matches!(
            before.action.as_str(),
            "deburr" | "ream" | "clean" | "measure" | "start-over"
        );
    is_widened.then_some(step)
}

/// The named hole or camera (`noun`), or the only one there is.
fn chosen<'a>(
    names: impl Iterator<Item = &'a str>,
    noun: &str,
    wanted: Wanted,
    said: Option<&str>,
) -> Result<&'a str, Error> {
    let names = distinct(names);
    match (said, &names[..]) {
        (None, [only]) => Ok(*only),
        (None, _) => {
            let wrong = format!("the log holds more than one {noun}: {}", listed(&names));
            let error = Error::undecided(wrong, format!("name one {noun} of them"), Vec::new());
            Err(error.wanting(wanted))
        }
        (Some(said), names) => names.iter().find(|name| **name == said).copied().ok_or_else(|| {
            Error::words(
                said,
                format!("is not a {noun} of this log: it has {}", listed(names)),
                format!("name the {noun} as the log does"),
            )
        }),
    }
}

/// Each name once, in the order in which they first come.
fn distinct<'a>(names: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut seen = HashSet::new();
    names.filter(|name| seen.insert(*name)).collect()
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
