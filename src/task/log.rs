//! `log`: the history of one hole in one camera, and what its maker's passes have taught.

use super::appraise;
use crate::error::Error;
use crate::record::{Entry, Proof, Record, Skipped};
use crate::verdict::hand::{Hand, Pass};
use crate::verdict::outlook::Action;
use serde::Serialize;
use std::time::SystemTime;

/// What to look up.
#[derive(Debug, Clone, Default)]
pub struct Request {
    /// The bench log.
    pub record: Record,
    /// The name of the hole; none where the log holds only one.
    pub hole: Option<String>,
    /// The name of the camera; none where the hole was in only one.
    pub camera: Option<String>,
}

/// What the log tells.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The hole's name.
    pub hole: String,
    /// The camera's name.
    pub camera: String,
    /// The entries of this hole in this camera, in the order of the file: the keys of the log.
    pub history: Vec<Entry>,
    /// What pictures of the chart proved of this hole in this camera; left out without any.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub proofs: Vec<Proof>,
    /// How the maker's passes go, learnt from those on all holes of the log.
    pub growth: Hand,
    /// The lines of the log that are no entries.
    pub skipped: Vec<Skipped>,
    /// The lines, counted from 1, whose time is before that of the entry above them.
    pub backwards: Vec<usize>,
    /// How many entries were taken back.
    pub revoked: usize,
}

/// Looks up a hole.
///
/// # Errors
/// As [`Record::of`].
pub fn run(request: &Request) -> Result<Answer, Error> {
    let record = &request.record;
    let history = record.of(request.hole.as_deref(), request.camera.as_deref())?;
    let is_of_it = |proof: &&Proof| proof.hole == history.hole && proof.camera == history.camera;
    Ok(Answer {
        proofs: record.proofs.iter().filter(is_of_it).cloned().collect(),
        hole: history.hole.into(),
        camera: history.camera.into(),
        history: history.entries.into_iter().cloned().collect(),
        growth: Hand::learnt(&record.passes()),
        skipped: record.skipped.clone(),
        backwards: record.backwards.clone(),
        revoked: record.revoked,
    })
}

/// What the passes on record teach, with the one that made the hole of this name what it measures now
/// (the equivalent diameter and its uncertainty, k = 2, in mm), which aimed at `aim_mm` if that is not what was advised.
pub fn hand(
    record: &Record,
    hole: &str,
    (diameter_mm, uncertainty_mm): (f64, f64),
    aim_mm: Option<f64>,
) -> Hand {
    let mut passes = record.passes();
    let last = record.pass_to(hole, diameter_mm, uncertainty_mm);
    passes.extend(last.map(|pass| Pass { aim_mm: aim_mm.or(pass.aim_mm), ..pass }));
    Hand::learnt(&passes)
}

/// The line of the log for an appraisal of the hole of this name; `aim_mm` is what the pass before it aimed at.
pub fn entry(
    judged: &appraise::Judged,
    hole: String,
    aim_mm: Option<f64>,
    time: SystemTime,
) -> Entry {
    let band = judged.target.good_enough();
    let sizes = &judged.gauge.hole;
    Entry {
        time,
        hole,
        camera: judged.camera.clone(),
        diameter_mm: sizes.equivalent_diameter_mm,
        diameter_uncertainty_mm: sizes.equivalent_diameter_uncertainty_mm,
        target_mm: judged.target.diameter_mm,
        band_low_mm: band.low_mm,
        band_high_mm: band.high_mm,
        loss: judged.verdict.loss,
        loss_jnd: Some(judged.verdict.loss_jnd),
        action: Entry::word(judged.verdict.action).into(),
        next_aim_mm: (judged.verdict.action == Action::Enlarge)
            .then_some(judged.verdict.next_pass.aim_mm),
        aim_mm,
        burrs: judged.verdict.burrs,
    }
}
