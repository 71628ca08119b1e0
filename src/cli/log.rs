//! `foramen log`.

use super::output::{Output, wrapped};
use crate::error::Error;
use crate::files;
use crate::plate::{self, History, Measured};
use crate::quantity::{Quantity, write_length_within};
use crate::record::Entry;
use crate::task::log::{self, Answer};
use std::fmt::Write;
use std::path::PathBuf;

/// The history of a hole in a bench log: its size after each pass, and how much your passes widen
#[derive(clap::Args)]
pub(super) struct Words {
    /// The bench log
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which hole, by its name in the log, if there are several
    #[arg(long, value_name = "NAME")]
    hole: Option<String>,
    /// Which camera, by its name in the log, if the hole was in several
    #[arg(long, value_name = "NAME")]
    camera: Option<String>,
    /// Draw the diameter after each pass
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let record = files::log(&self.file)?;
        // In JSON they are in the document; told before what may go wrong for want of those lines.
        if !self.json {
            for skipped in &record.skipped {
                let line = format!("line {} left out: it {}", skipped.line, skipped.reason);
                output.remark(&wrapped("note: ", &line));
            }
            for line in &record.backwards {
                output.remark(&format!("note: line {line}: the clock ran backwards before it"));
            }
        }
        let request = log::Request {
            record: &record,
            hole: self.hole.as_deref(),
            camera: self.camera.as_deref(),
        };
        let answer = log::run(&request)?;
        if let Some(path) = &self.out {
            files::write(path, &plate(&answer)?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        let mut text = text(&answer);
        if let Some(path) = &self.out {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "\n  Written to {}", path.display());
        }
        output.say(&text)
    }
}

fn text(answer: &Answer) -> String {
    let mut text = wrapped("", &title(answer));
    text += "\n\n  Pass  When (UTC)        Diameter             Loss    Advice\n";
    for (index, entry) in answer.history.iter().enumerate() {
        text += &row(index + 1, entry);
    }
    if let Some(last) = answer.history.last() {
        let length = |mm| Quantity::Length.write(mm);
        let best = format!(
            "{}   ({} to {} is good enough)",
            length(last.target_mm),
            length(last.band_low_mm),
            length(last.band_high_mm)
        );
        // Writing to a string cannot fail.
        let _ = writeln!(text, "\n{}", wrapped("  Best hole  ", &best));
    }
    text + &wrapped("  Growth     ", &answer.growth.in_words()) + "\n"
}

/// One line of the table.
fn row(pass: usize, entry: &Entry) -> String {
    let decimals = usize::from(entry.loss < 0.095);
    format!(
        "  {pass:>4}  {:.16}  {:<19}  {:>4.decimals$} %  {:.20}\n",
        entry.utc().replace('T', " "),
        write_length_within(entry.diameter_mm, entry.diameter_uncertainty_mm),
        100.0 * entry.loss,
        entry.action
    )
}

fn title(answer: &Answer) -> String {
    format!("Hole \"{}\" in {}", answer.hole, answer.camera)
}

fn plate(answer: &Answer) -> Result<Vec<u8>, Error> {
    let measured: Vec<Measured> = answer
        .history
        .iter()
        .map(|entry| Measured {
            diameter_mm: entry.diameter_mm,
            uncertainty_mm: entry.diameter_uncertainty_mm,
        })
        .collect();
    let last = answer.history.last();
    plate::history(&History {
        measured: &measured,
        target_mm: last.map_or(0.0, |entry| entry.target_mm),
        band_mm: last.map_or([0.0; 2], |entry| [entry.band_low_mm, entry.band_high_mm]),
        title: &title(answer),
        caption: &format!(
            "Bars are the diameters' uncertainties (k = 2, about 95 %); best and good sizes are \
             those of the last entry. {}",
            answer.growth.in_words()
        ),
    })
}
