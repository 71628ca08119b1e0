//! What the file says of the emulsion.

use super::source::Source;
use super::{Anything, Number, Words};
use crate::camera::description::Emulsion;
use crate::camera::meter::Reciprocity;
use crate::error::Error;
use serde::Deserialize;

const DEFAULT_SPEED_ISO: f64 = 100.0;
/// A paper of middle grade (common practice, no source).
const DEFAULT_GAMMA: f64 = 1.5;
const DEFAULT_DENSEST: f64 = 2.0;

/// From the speed of a paper (`ISO2720`, ISO 6846: 1000 over the exposure in lux s that gives it a density of 0.6
/// above its base) to the speed that a meter is set to, so that the mean of a scene takes that density:
/// meters let the mean fall on the film with 0.65 K/S lux s, K = 12.5 (`ISO2720`).
const METER_SPEED_OF_PAPER: f64 = 0.65 * 12.5 / 1000.0;

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct EmulsionTable {
    pub(super) speed: Option<Number>,
    pub(super) paper_speed: Option<Number>,
    pub(super) reciprocity: Option<Anything>,
    onset: Option<Words>,
    blur: Option<Words>,
    gamma: Option<Number>,
    densest: Option<Number>,
    granularity: Option<Number>,
}

impl Source<'_> {
    pub(super) fn emulsion(&self, table: &EmulsionTable) -> Result<Emulsion, Error> {
        let speed_iso = match (&table.speed, &table.paper_speed) {
            (Some(_), Some(paper)) => {
                return Err(self.fault(
                    paper.span().start,
                    "emulsion.speed and emulsion.paper-speed contradict each other",
                    "give one: the ISO speed of a film, or the ISO 6846 speed of a paper",
                ));
            }
            (Some(speed), None) => self.number("emulsion.speed", speed, 0.001..=1e6)?,
            (None, Some(paper)) => {
                METER_SPEED_OF_PAPER * self.number("emulsion.paper-speed", paper, 1.0..=1e5)?
            }
            (None, None) => DEFAULT_SPEED_ISO,
        };
        let blur_mm = match &table.blur {
            Some(words) => self.length("emulsion.blur", words, 1e-5..=1.0)?,
            None => 0.0,
        };
        let number = |key: &str, number: &Option<Number>, range, without| match number {
            Some(number) => self.number(key, number, range),
            None => Ok(without),
        };
        Ok(Emulsion {
            is_paper: table.paper_speed.is_some(),
            speed_iso,
            reciprocity: self.reciprocity(table)?,
            blur_mm,
            gamma: number("emulsion.gamma", &table.gamma, 0.1..=20.0, DEFAULT_GAMMA)?,
            densest: number("emulsion.densest", &table.densest, 0.2..=6.0, DEFAULT_DENSEST)?,
            granularity: match &table.granularity {
                Some(grain) => Some(self.number("emulsion.granularity", grain, 0.1..=200.0)?),
                None => None,
            },
        })
    }

    fn reciprocity(&self, table: &EmulsionTable) -> Result<Option<Reciprocity>, Error> {
        let Some(stated) = &table.reciprocity else {
            return match &table.onset {
                None => Ok(None),
                Some(onset) => Err(self.fault(
                    onset.span().start,
                    "emulsion.onset needs emulsion.reciprocity",
                    "give the exponent too, as in reciprocity = 1.3",
                )),
            };
        };
        let at = stated.span().start;
        let exponent = match stated.get_ref() {
            toml::Value::Float(exponent) => *exponent,
            toml::Value::Integer(exponent) => *exponent as f64,
            toml::Value::Array(rows) => {
                return match &table.onset {
                    None => self.times(at, rows).map(Some),
                    Some(onset) => Err(self.fault(
                        onset.span().start,
                        "emulsion.onset contradicts the table of times",
                        "remove it: the table's first row is where the failure begins",
                    )),
                };
            }
            _ => {
                return Err(self.fault(
                    at,
                    "emulsion.reciprocity is neither an exponent nor a table of times",
                    "write 1.3, or [[\"1 s\", \"1 s\"], [\"10 s\", \"25 s\"]]",
                ));
            }
        };
        let exponent =
            self.within(at, "emulsion.reciprocity", exponent, 1.0..=3.0, |v| format!("{v}"))?;
        let onset_s = match &table.onset {
            Some(onset) => self.time("emulsion.onset", onset)?,
            None => 1.0,
        };
        Ok(Some(Reciprocity::Power { exponent, onset_s }))
    }

    /// Rows of metered and needed times.
    fn times(&self, at: usize, rows: &[toml::Value]) -> Result<Reciprocity, Error> {
        let wrong = |what: &str| {
            self.fault(
                at,
                &format!("emulsion.reciprocity: {what}"),
                "write at least two rows of metered and needed time, both rising, the second never \
                 shorter: [[\"1 s\", \"1 s\"], [\"10 s\", \"25 s\"]]",
            )
        };
        let mut times: Vec<(f64, f64)> = Vec::with_capacity(rows.len());
        for row in rows {
            let pair: Option<Vec<&str>> =
                row.as_array().and_then(|pair| pair.iter().map(toml::Value::as_str).collect());
            let Some([metered, needed]) = pair.as_deref() else {
                return Err(wrong("a row is not a pair of times"));
            };
            times.push((
                self.time_of(at, "emulsion.reciprocity", metered)?,
                self.time_of(at, "emulsion.reciprocity", needed)?,
            ));
        }
        if times.len() < 2 {
            return Err(wrong("the table has fewer than two rows"));
        }
        let rising = times.windows(2).all(|two| two[1].0 > two[0].0 && two[1].1 > two[0].1);
        if !rising || times.iter().any(|row| row.1 < row.0) {
            return Err(wrong("the times do not rise, or one shortens the exposure"));
        }
        Ok(Reciprocity::Table(times))
    }
}
