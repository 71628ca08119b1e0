//! `log`: the history of one hole in one camera, and what its maker's passes have taught.

use super::appraise;
use crate::error::Error;
use crate::record::{Entry, Proof, Record, Skipped};
use crate::verdict::decision::hand::{Hand, Pass};
use crate::verdict::decision::outlook::Action;
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
    /// How pictures of the chart scatter, of all holes in this camera; left out without two that tell their blur.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scatter: Option<Scatter>,
    /// How the maker's passes go, learnt from those on all holes of the log.
    pub growth: Hand,
    /// The lines of the log that are no entries.
    pub skipped: Vec<Skipped>,
    /// The lines, counted from 1, whose time is before that of the entry above them.
    pub backwards: Vec<usize>,
    /// How many entries were taken back.
    pub revoked: usize,
}

/// How much the blur of a maker's pictures differs from one to the next, beyond what each hole does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Scatter {
    /// How many pictures tell it.
    pub pictures: usize,
    /// The mean of their extra blur, as a standard deviation on the film.
    pub mean_blur_mm: f64,
    /// The standard deviation between pictures.
    pub between_mm: f64,
    /// The largest of them.
    pub most_mm: f64,
}

impl Scatter {
    fn of(blurs_mm: &[f64]) -> Option<Scatter> {
        let count = blurs_mm.len() as f64;
        if count < 2.0 {
            return None;
        }
        let mean = blurs_mm.iter().sum::<f64>() / count;
        let squares = blurs_mm.iter().map(|mm| (mm - mean).powi(2)).sum::<f64>();
        Some(Scatter {
            pictures: blurs_mm.len(),
            mean_blur_mm: mean,
            between_mm: (squares / (count - 1.0)).sqrt(),
            most_mm: blurs_mm.iter().copied().fold(0.0, f64::max),
        })
    }
}

/// Looks up a hole.
///
/// # Errors
/// As [`Record::of`].
pub fn run(request: &Request) -> Result<Answer, Error> {
    let record = &request.record;
    let history = record.of(request.hole.as_deref(), request.camera.as_deref())?;
    // Stand, wind and scanner are the camera's, whatever the hole.
    let in_camera = record.proofs.iter().filter(|proof| proof.camera == history.camera);
    let blurs_mm: Vec<f64> = in_camera.filter_map(|proof| proof.extra_blur_mm).collect();
    Ok(Answer {
        proofs: history.proofs.into_iter().cloned().collect(),
        scatter: Scatter::of(&blurs_mm),
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

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 10, 20 and 30 µm have the mean 20 and, between n - 1, the standard deviation 10.
    #[test]
    fn scatter_is_that_of_a_sample() {
        let scatter = Scatter::of(&[0.01, 0.02, 0.03]).unwrap();
        assert_eq!((scatter.pictures, scatter.most_mm), (3, 0.03));
        assert!((scatter.mean_blur_mm - 0.02).abs() < 1e-12);
        assert!((scatter.between_mm - 0.01).abs() < 1e-12);
        assert_eq!(Scatter::of(&[0.01]), None);
    }
}
