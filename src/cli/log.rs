//! `foramen log`.

use super::output::Output;
use crate::error::Error;
use crate::files::{self, Places};
use crate::record;
use crate::task::{document, log};
use crate::words::terminal::wrapped;
use crate::words::{self, plates};
use std::path::PathBuf;
use std::time::SystemTime;

/// Tells the history of a hole in a bench log, and how much your passes widen
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen log bench.jsonl\n  foramen log bench.jsonl --hole \"brass 3\" --out history.png"
)]
pub(super) struct Words {
    /// Bench log
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which hole, by its name in the log, if there are several
    #[arg(long, value_name = "NAME")]
    hole: Option<String>,
    /// Which camera, by its name in the log, if the hole was in several
    #[arg(long, value_name = "NAME")]
    camera: Option<String>,
    /// Take back the last line: a further line revokes it, and nothing is rewritten
    #[arg(long, conflicts_with_all = ["hole", "camera", "out"])]
    revoke: bool,
    /// Draw the diameter after each pass
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let mut places = Places::writing([self.out.as_deref()]);
        places.read([self.file.clone()]);
        places.check()?;
        output.wait_for(&self.file);
        let record = files::log(&self.file)?;
        if self.revoke {
            let proof = record.proofs.last().filter(|_| record.last_is_proof);
            let entry = record.entries.last().map(words::log::taken_back);
            let Some(taken_back) = proof.map(words::log::proof_taken_back).or(entry) else {
                return Err(Error::not_there(
                    "the log holds no entry to take back",
                    "name another log",
                ));
            };
            record::revoke_last(&self.file, SystemTime::now())?;
            return output.say(&format!("{taken_back}\n"));
        }
        // In JSON they are in the document; told before what may go wrong for want of those lines.
        if !self.json {
            for skipped in words::log::skipped(&record.skipped) {
                output.remark(&wrapped("note: ", &skipped));
            }
            for line in &record.backwards {
                output.remark(&wrapped("note: ", &words::log::backwards(*line)));
            }
        }
        let request = log::Request { record, hole: self.hole, camera: self.camera };
        let answer = log::run(&request)?;
        if let Some(path) = &self.out {
            files::write(path, &plates::history(&answer)?)?;
        }
        if self.json {
            return output.json(document::LOG, &answer);
        }
        let mut text = words::log::text(&answer);
        if let Some(path) = &self.out {
            text += &format!("\n  Written to {}\n", path.display());
        }
        output.say(&text)
    }
}
