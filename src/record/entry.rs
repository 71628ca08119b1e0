//! One line of the log.

use super::time;
use crate::verdict::decision::outlook::Action;
use serde::{Deserialize, Serialize};
use std::time::SystemTime;

/// The format that is written, and the only one that is read.
pub(super) const FORMAT: u64 = 1;
/// The longest name of a hole or a camera, in letters.
const LONGEST_NAME: usize = 200;
/// What a name is, in words.
pub(super) const NAMES: &str = "a name has 1 to 200 printable characters";

/// What was found when a hole was appraised. The fields are the keys of the line, beside `format`,
/// which is 1; further keys are passed over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Entry {
    /// When, in UTC to the second: "2026-03-01T18:04:05Z" (`RFC3339`).
    #[serde(with = "time")]
    #[schemars(with = "String")]
    pub time: SystemTime,
    /// The maker's name for the hole.
    pub hole: String,
    /// The camera's name.
    pub camera: String,
    /// The hole's equivalent diameter, in mm.
    pub diameter_mm: f64,
    /// Its uncertainty, in mm, expanded (k = 2).
    pub diameter_uncertainty_mm: f64,
    /// The best diameter for the camera, in mm.
    pub target_mm: f64,
    /// The smallest diameter that is good enough, in mm.
    pub band_low_mm: f64,
    /// The largest diameter that is good enough, in mm.
    pub band_high_mm: f64,
    /// Loss against the best disc, as a share of its merit, 0..1. In entries without `loss_jnd` it is a share of an
    /// acutance, as it was reckoned then.
    pub loss: f64,
    /// The loss in just-noticeable differences; none in old entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loss_jnd: Option<f64>,
    /// What was advised: "stop", "enlarge", "ream", "deburr", "clean", "measure" or "start-over".
    pub action: String,
    /// What the next pass was advised to aim at, in mm; none where no pass was advised, and in old entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_aim_mm: Option<f64>,
    /// What the pass that led to this size aimed at, in mm: what was advised, unless the maker says otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aim_mm: Option<f64>,
    /// How many burrs there were; none where the rim was not seen, and in old entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub burrs: Option<usize>,
}

/// A line as it is written: its format first, so that a reader can tell at once.
#[derive(Serialize)]
struct Line<'a> {
    format: u64,
    #[serde(flatten)]
    entry: &'a Entry,
}

impl Entry {
    /// An action as the log writes it.
    pub fn word(action: Action) -> &'static str {
        match action {
            Action::Stop => "stop",
            Action::Enlarge => "enlarge",
            Action::Ream => "ream",
            Action::Deburr => "deburr",
            Action::Clean => "clean",
            Action::Measure => "measure",
            Action::StartOver => "start-over",
        }
    }

    /// The action as an answer says it.
    pub fn action_in_words(&self) -> String {
        self.action.replace('-', " ")
    }

    /// The diameter and its uncertainty (k = 2), in mm.
    pub(super) fn size(&self) -> (f64, f64) {
        (self.diameter_mm, self.diameter_uncertainty_mm)
    }

    /// When, as it is written: "2026-03-01T18:04:05Z".
    pub fn utc(&self) -> String {
        time::written(self.time)
    }

    /// The line of the log, its newline included, or what is wrong with the entry.
    pub(super) fn line(&self) -> Result<String, String> {
        self.check()?;
        let text = serde_json::to_string(&Line { format: FORMAT, entry: self });
        Ok(text.map_err(|why| format!("cannot be written as JSON: {why}"))? + "\n")
    }

    /// The line that takes back the last entry that still holds, its newline included.
    pub(super) fn revocation(now: SystemTime) -> String {
        format!(
            "{{\"format\":{FORMAT},\"time\":\"{}\",\"revokes\":\"last\"}}\n",
            time::written(now)
        )
    }

    /// Whether a line takes back the last entry.
    pub(super) fn is_revocation(line: &str) -> bool {
        serde_json::from_str::<serde_json::Value>(line).is_ok_and(|object| {
            object.get("format").and_then(serde_json::Value::as_u64) == Some(FORMAT)
                && object.get("revokes").and_then(serde_json::Value::as_str) == Some("last")
        })
    }

    /// Reads a line without its newline; otherwise says why it is no entry.
    pub(super) fn of_line(line: &str) -> Result<Entry, String> {
        let object: serde_json::Value =
            serde_json::from_str(line).map_err(|why| format!("is not JSON: {why}"))?;
        match object.get("format") {
            None => return Err("is not an entry: it has no format".into()),
            Some(format) if format.as_u64() != Some(FORMAT) => {
                return Err(format!("has an unknown format, {format}"));
            }
            Some(_) => {}
        }
        let entry = Entry::deserialize(object).map_err(|why| format!("is not an entry: {why}"))?;
        entry.check()?;
        Ok(entry)
    }

    /// What would make nonsense of a table, a chart or a terminal.
    fn check(&self) -> Result<(), String> {
        for (key, name) in
            [("hole", &self.hole), ("camera", &self.camera), ("action", &self.action)]
        {
            if !is_name(name) {
                return Err(format!("has no usable {key}: {NAMES}"));
            }
        }
        let lengths = [
            ("diameter_mm", self.diameter_mm),
            ("target_mm", self.target_mm),
            ("band_low_mm", self.band_low_mm),
            ("band_high_mm", self.band_high_mm),
        ];
        // A metre is beyond every pinhole; a nanometre is smaller than any.
        if let Some((key, value)) = lengths.iter().find(|(_, mm)| !(1e-6..=1e3).contains(mm)) {
            return Err(format!("has a {key} of {value}, which is out of range"));
        }
        if !(0.0..=1e3).contains(&self.diameter_uncertainty_mm) {
            let value = self.diameter_uncertainty_mm;
            return Err(format!("has a diameter_uncertainty_mm of {value}, which is out of range"));
        }
        for (key, aim) in [("next_aim_mm", self.next_aim_mm), ("aim_mm", self.aim_mm)] {
            if aim.is_some_and(|mm| !(1e-6..=1e3).contains(&mm)) {
                return Err(format!("has a {key} that no hole can have"));
            }
        }
        if self.loss_jnd.is_some_and(|jnd| !(0.0..=1e4).contains(&jnd)) {
            return Err("has a loss_jnd that is out of range".into());
        }
        if self.band_low_mm > self.band_high_mm {
            return Err("has a band whose low end is above its high end".into());
        }
        if !(0.0..=1.0).contains(&self.loss) {
            return Err(format!("has a loss of {}, which is not between 0 and 1", self.loss));
        }
        Ok(())
    }
}

/// Whether something can go by this name in a log.
pub(super) fn is_name(name: &str) -> bool {
    // Control characters could move a terminal's cursor or repaint it.
    !name.trim().is_empty()
        && name.chars().count() <= LONGEST_NAME
        && !name.chars().any(char::is_control)
}

#[cfg(test)]
#[path = "entry_tests.rs"]
pub(in crate::record) mod tests;
