//! A line of the log for a picture of the chart: what it proved.

use super::entry::{FORMAT, NAMES, is_name};
use super::time;
use serde::{Deserialize, Serialize};
use std::time::SystemTime;

/// The word by which such a line is known.
pub(super) const KIND: &str = "proof";

/// What a picture of the chart proved. The fields are the keys of the line, beside `format`, which is 1, and `kind`, which
/// is "proof"; further keys are passed over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Proof {
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
    /// From the hole to the chart, in mm.
    pub distance_mm: f64,
    /// MTF50 in the middle of the picture, in line pairs per mm on the film; none where it was not measured.
    pub mtf50_lp_per_mm: Option<f64>,
    /// What the hole allows there.
    pub predicted_mtf50_lp_per_mm: Option<f64>,
    /// The standard deviation of what blurs besides the hole, taken alike in all directions, in mm; left out by earlier versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extra_blur_mm: Option<f64>,
    /// What was found: "as-sharp", "moved", "softened", "resized", "sharpened", "other-chart", "distance", "tilted", "bowed", "fogged".
    pub found: Vec<String>,
}

/// A line as it is written: its format and its kind first, so that a reader can tell at once.
#[derive(Serialize, schemars::JsonSchema)]
struct Line<'a> {
    format: u64,
    kind: &'a str,
    #[serde(flatten)]
    proof: &'a Proof,
}

impl Proof {
    /// MTF50 over what the hole allows, where both are known.
    pub fn share(&self) -> Option<f64> {
        Some(self.mtf50_lp_per_mm? / self.predicted_mtf50_lp_per_mm?)
    }

    /// The line of the log, its newline included, or what is wrong with the proof.
    pub(super) fn line(&self) -> Result<String, String> {
        self.check()?;
        let text = serde_json::to_string(&Line { format: FORMAT, kind: KIND, proof: self });
        Ok(text.map_err(|why| format!("cannot be written as JSON: {why}"))? + "\n")
    }

    /// Reads a line that says that it is a proof; otherwise says why it is none.
    pub(super) fn of_object(object: serde_json::Value) -> Result<Proof, String> {
        let proof = Proof::deserialize(object).map_err(|why| format!("is not a proof: {why}"))?;
        proof.check()?;
        Ok(proof)
    }

    /// What would make nonsense of a table or a terminal.
    fn check(&self) -> Result<(), String> {
        for (key, name) in [("hole", &self.hole), ("camera", &self.camera)] {
            if !is_name(name) {
                return Err(format!("has no usable {key}: {NAMES}"));
            }
        }
        if self.found.len() > 20 || !self.found.iter().all(|word| is_name(word)) {
            return Err("has findings that are not words".into());
        }
        let positive = [
            Some(self.diameter_mm),
            Some(self.distance_mm),
            self.mtf50_lp_per_mm,
            self.predicted_mtf50_lp_per_mm,
        ];
        if self.extra_blur_mm.is_some_and(|mm| !(0.0..=1e6).contains(&mm)) {
            return Err("has a blur that is out of range".into());
        }
        if positive.into_iter().flatten().any(|value| !(1e-6..=1e6).contains(&value)) {
            return Err("has a number that is out of range".into());
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::read::of_bytes;
    use super::*;

    fn proof() -> Proof {
        Proof {
            time: SystemTime::UNIX_EPOCH,
            hole: "brass 3".into(),
            camera: "Ash box".into(),
            diameter_mm: 0.27,
            distance_mm: 600.0,
            mtf50_lp_per_mm: Some(2.1),
            predicted_mtf50_lp_per_mm: Some(2.2),
            extra_blur_mm: Some(0.012),
            found: vec!["as-sharp".into()],
        }
    }

    #[test]
    fn a_proof_is_read_as_it_was_written_and_taken_back() {
        let line = proof().line().unwrap();
        assert!(line.starts_with("{\"format\":1,\"kind\":\"proof\",\"time\":"), "{line}");
        let record = of_bytes(line.as_bytes());
        assert_eq!((record.proofs.len(), record.entries.len(), record.skipped.len()), (1, 0, 0));
        assert_eq!(record.proofs[0], proof());
        let revoked = of_bytes(format!("{line}{{\"format\":1,\"revokes\":\"last\"}}\n").as_bytes());
        assert_eq!((revoked.proofs.len(), revoked.revoked, revoked.skipped.len()), (0, 1, 0));
    }

    #[test]
    fn what_is_no_proof_is_left_out_and_named() {
        let line = proof().line().unwrap();
        for (from, to) in [("600.0", "-1.0"), ("brass 3", ""), ("\"diameter_mm\":0.27,", "")] {
            let record = of_bytes(line.replace(from, to).as_bytes());
            assert_eq!((record.proofs.len(), record.skipped.len()), (0, 1), "{from}");
        }
    }
}
