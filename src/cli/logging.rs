//! The log that an appraisal goes into: which hole it is, what was aimed at, the new line.

use super::output::Output;
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::hole::Hole;
use crate::quantity::Quantity;
use crate::record::{self, Record};
use crate::task::appraise::Answer;
use crate::task::log;
use crate::verdict::decision::hand::Hand;
use crate::verdict::target::best_disc;
use crate::words;
use crate::words::terminal::wrapped;
use clap::Args;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Which log, and which hole of it.
#[derive(Args)]
pub(super) struct LogWords {
    /// Add a line to this bench log, and learn from the passes in it
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Name of the hole in the log
    #[arg(long, value_name = "NAME", requires = "log")]
    name: Option<String>,
    /// Size that the last pass aimed at, as in "0.27 mm" [default: as advised]
    #[arg(long, value_name = "LENGTH", requires = "log")]
    aim: Option<String>,
}

impl LogWords {
    /// The file, where one is named.
    pub(super) fn path(&self) -> Option<&Path> {
        self.log.as_deref()
    }

    /// Says so while another writer keeps the log.
    pub(super) fn wait(&self, output: &mut Output) {
        self.log.iter().for_each(|log| output.wait_for(log));
    }

    /// What is in the log, where one is named; what is no log is refused.
    pub(super) fn record(&self) -> Result<Option<Record>, Error> {
        self.path().map(files::log_to_add_to).transpose()
    }

    /// The log with its record, where one is named, and which of its holes this is.
    pub(super) fn open(
        &self,
        record: Option<Record>,
        camera: &Camera,
        hole: &Hole,
    ) -> Result<Option<Logging<'_>>, Error> {
        let Some((path, record)) = self.path().zip(record) else { return Ok(None) };
        let (mm, known_mm) =
            (hole.outline.equivalent_diameter_mm(), hole.diameter_uncertainty_mm());
        let name = match &self.name {
            Some(name) => {
                record.name_given(name, (&camera.name, best_disc(camera).0), mm, known_mm)?
            }
            None => record.name_of_unnamed(&camera.name, mm, known_mm)?,
        };
        let told_mm = self.aim.as_deref().map(|words| Quantity::Length.read_positive(words));
        let told_mm = told_mm.transpose()?;
        let hand = log::hand(&record, &name, (mm, known_mm), told_mm);
        let aim_mm = told_mm.or_else(|| record.last_of(&name).and_then(|last| last.next_aim_mm));
        Ok(Some(Logging { path, record, name, hand, aim_mm }))
    }
}

/// The log that an appraisal goes into.
pub(super) struct Logging<'a> {
    pub(super) path: &'a Path,
    record: Record,
    pub(super) name: String,
    pub(super) hand: Hand,
    /// What the pass before this measurement aimed at.
    aim_mm: Option<f64>,
}

impl Logging<'_> {
    pub(super) fn is_measured_again(&self) -> bool {
        self.record.is_measured_again(&self.name)
    }

    pub(super) fn add(&self, answer: &Answer) -> Result<(), Error> {
        let name = self.name.clone();
        record::append(self.path, &log::entry(&answer.judged, name, self.aim_mm, SystemTime::now()))
    }

    pub(super) fn in_words(&self) -> String {
        let file = self.path.display().to_string();
        format!("  {}\n", words::log::logged(&file, &self.name, self.number()))
    }

    /// The hole and which of its measurements this is: "brass 3 2".
    pub(super) fn pass(&self) -> String {
        format!("{} {}", self.name, self.number())
    }

    fn number(&self) -> usize {
        self.record.entries.iter().filter(|entry| entry.hole == self.name).count() + 1
    }

    pub(super) fn remark(&self, output: &mut Output) {
        for skipped in words::log::skipped(&self.record.skipped) {
            output.remark(&wrapped("note: ", &skipped));
        }
    }
}
