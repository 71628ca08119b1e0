//! `foramen log`.

use super::output::{Output, wrapped, write_file};
use crate::error::Error;
use crate::figure::{self, History, Measured};
use crate::quantity::{Quantity, write_length_within};
use crate::record::{self, Entry, Record};
use crate::task::log::{self, Answer};
use crate::words::verdict::hand;
use std::fmt::Write;
use std::path::PathBuf;
use std::time::SystemTime;

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
    /// Takes back the last line: a further line revokes it, and nothing is rewritten
    #[arg(long, conflicts_with_all = ["hole", "camera", "out"])]
    revoke: bool,
    /// Draw the diameter after each pass
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let record = record::read(&self.file)?;
        if self.revoke {
            return self.revoke(&record, output);
        }
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
            write_file(path, &plate(&answer)?)?;
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

impl Words {
    fn revoke(&self, record: &Record, output: &mut Output) -> Result<(), Error> {
        let Some(last) = record.entries.last() else {
            return Err(Error::limit("the log holds no entry to take back", "name another log"));
        };
        record::revoke_last(&self.file, SystemTime::now())?;
        let size = write_length_within(last.diameter_mm, last.diameter_uncertainty_mm);
        output.say(&format!(
            "Taken back: \"{}\" in {}, {size}, of {:.16}\n",
            last.hole,
            last.camera,
            last.utc().replace('T', " ")
        ))
    }
}

fn text(answer: &Answer) -> String {
    let mut text = wrapped("", &title(answer));
    text += "\n\n  Pass  When (UTC)        Diameter                 Loss  Advice\n";
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
    text + &wrapped("  Growth     ", &hand(&answer.growth)) + "\n"
}

/// One line of the table.
fn row(pass: usize, entry: &Entry) -> String {
    let loss = match entry.loss_jnd {
        Some(jnd) => format!("{jnd:.1} jnd"),
        None => format!("{:.1} %", 100.0 * entry.loss),
    };
    format!(
        "  {pass:>4}  {:.16}  {:<19}  {loss:>8}  {:.20}\n",
        entry.utc().replace('T', " "),
        write_length_within(entry.diameter_mm, entry.diameter_uncertainty_mm),
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
    figure::history(&History {
        measured: &measured,
        target_mm: last.map_or(0.0, |entry| entry.target_mm),
        band_mm: last.map_or([0.0; 2], |entry| [entry.band_low_mm, entry.band_high_mm]),
        title: &title(answer),
        caption: &format!(
            "Bars are the diameters' uncertainties (k = 2, about 95 %); best and good sizes are \
             those of the last entry. {}",
            hand(&answer.growth)
        ),
    })
}
