//! Where answers go: text and JSON to standard output, faults to standard error, progress to a terminal.

use super::remedy::remedy;
use crate::error::{Error, cut_to, printable, with_short_words};
use crate::record;
use crate::task::document::Document;
use crate::watch::Step;
use crate::words;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::io::{self, Write};
use std::ops::ControlFlow;
use std::path::Path;
use std::process::ExitCode;

/// The program's two streams.
pub(super) struct Output {
    text: Box<dyn Write>,
    faults: Box<dyn Write>,
}

impl Output {
    pub(super) fn standard() -> Output {
        Output { text: Box::new(io::stdout()), faults: Box::new(io::stderr()) }
    }

    /// Text for people. A reader that has gone away is a quiet end, not a fault.
    pub(super) fn say(&mut self, text: &str) -> Result<(), Error> {
        let written =
            self.text.write_all(legible(text).as_bytes()).and_then(|()| self.text.flush());
        match written {
            Err(why) if why.kind() != io::ErrorKind::BrokenPipe => {
                let wrong = format!("cannot be written: {why}");
                Err(Error::damaged(wrong, "check where it is sent").in_file("standard output"))
            }
            _ => Ok(()),
        }
    }

    /// One JSON document of a kind and nothing else.
    pub(super) fn json(
        &mut self,
        kind: &'static str,
        answer: &impl Serialize,
    ) -> Result<(), Error> {
        self.say(&json_text(&Document::of(kind, answer))?)
    }

    /// A remark beside the answer.
    pub(super) fn remark(&mut self, text: &str) {
        // Nobody is left to hear that standard error is closed.
        let _ = writeln!(self.faults, "{}", legible(text));
    }

    /// Says that a log will be waited for, where another program holds it just now.
    pub(super) fn wait_for(&mut self, log: &Path) {
        if record::is_held(log) {
            let file = printable(&log.display().to_string());
            self.remark(&format!("{file}: {}", words::log::HELD));
        }
    }

    /// What is wrong, and on a second line what to do.
    pub(super) fn fault(&mut self, fault: &Error) {
        let (said, remedy) = (printable(&fault.to_string()), printable(remedy(fault)));
        // What is wrong may take what the remedy leaves, and at least half.
        let rest = LONGEST_FAULT.saturating_sub(remedy.chars().count()).max(LONGEST_FAULT / 2);
        let said = cut_to(&said, rest);
        let remedy = cut_to(&remedy, LONGEST_FAULT - said.chars().count());
        self.remark(&format!("error: {said}\n  {remedy}"));
    }

    /// What the reader of the command line has to say: help and version, or what is wrong.
    pub(super) fn usage(&mut self, fault: &clap::Error) -> ExitCode {
        if fault.kind() == clap::error::ErrorKind::InvalidUtf8 {
            self.fault(&Error::not_understood(
                "a word of the call is not text in UTF-8",
                "give the file another name, and call it by that",
            ));
            return ExitCode::from(2);
        }
        let text = with_short_words(&legible(&fault.render().to_string()));
        if fault.use_stderr() {
            self.remark(text.trim_end());
            return ExitCode::from(2);
        }
        match self.say(&text) {
            Ok(()) => ExitCode::SUCCESS,
            Err(why) => {
                self.fault(&why);
                ExitCode::from(1)
            }
        }
    }
}

/// The longest fault, in letters: what is wrong, and what to do.
const LONGEST_FAULT: usize = 390;

/// Text of several lines without control characters.
fn legible(text: &str) -> String {
    text.split('\n').map(printable).collect::<Vec<_>>().join("\n")
}

/// A bar on the terminal that tells how far a long answer has come, and is gone when it is there.
/// Nothing where faults do not go to a terminal.
pub(super) struct Progress(ProgressBar);

impl Progress {
    pub(super) fn of(steps: usize) -> Progress {
        let bar = ProgressBar::new(steps as u64);
        // A style that cannot be read leaves the plain one.
        if let Ok(style) = ProgressStyle::with_template("  {bar:24} {elapsed:>3}  {msg}") {
            bar.set_style(style);
        }
        Progress(bar)
    }

    /// Something begins: what was before it, if there was anything, is done.
    pub(super) fn step(&self, what: &str) {
        if !self.0.message().is_empty() {
            self.0.inc(1);
        }
        self.0.set_message(what.to_owned());
    }

    /// Hears of steps and their shares; never stops the work.
    pub(super) fn hear(&self, step: Step, done: f64) -> ControlFlow<()> {
        if done == 0.0 {
            self.step(words::step::sentence(step));
        } else {
            self.0.tick();
        }
        ControlFlow::Continue(())
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

/// The JSON document of an answer.
pub(super) fn json_text(answer: &impl Serialize) -> Result<String, Error> {
    let text = serde_json::to_string_pretty(answer).map_err(|why| {
        Error::limit(format!("the answer cannot be written as JSON: {why}"), "leave out --json")
    })?;
    Ok(text + "\n")
}
