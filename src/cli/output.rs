//! Where answers go: text and JSON to standard output, faults to standard error, files in one piece.

use crate::error::Error;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
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
        let written = self.text.write_all(text.as_bytes()).and_then(|()| self.text.flush());
        match written {
            Err(why) if why.kind() != io::ErrorKind::BrokenPipe => Err(Error::file(
                Path::new("standard output"),
                format!("cannot be written: {why}"),
                "check where it is sent",
            )),
            _ => Ok(()),
        }
    }

    /// One JSON document and nothing else.
    pub(super) fn json(&mut self, answer: &impl Serialize) -> Result<(), Error> {
        self.say(&json_text(answer)?)
    }

    /// A remark beside the answer.
    pub(super) fn remark(&mut self, text: &str) {
        // Nobody is left to hear that standard error is closed.
        let _ = writeln!(self.faults, "{text}");
    }

    /// What is wrong, and on a second line what to do.
    pub(super) fn fault(&mut self, fault: &Error) {
        self.remark(&format!("error: {fault}\n  {}", fault.remedy()));
    }

    /// What the reader of the command line has to say: help and version, or what is wrong.
    pub(super) fn usage(&mut self, fault: &clap::Error) -> ExitCode {
        let text = fault.render().to_string();
        if fault.use_stderr() {
            self.remark(text.trim_end());
            return ExitCode::from(2);
        }
        match self.say(&text) {
            Ok(()) => ExitCode::SUCCESS,
            Err(_) => ExitCode::from(1),
        }
    }
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

    /// A step begins: the one before it, if there was one, is done.
    pub(super) fn step(&self, what: &str) {
        if !self.0.message().is_empty() {
            self.0.inc(1);
        }
        self.0.set_message(what.to_owned());
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

/// Writes a file beside its place and renames it: what was there before is replaced only by a
/// finished file, and nothing half-written is left.
pub(super) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let failed = |why: io::Error| {
        Error::file(
            path,
            format!("cannot be written: {why}"),
            "check that its folder exists, can be written and has room",
        )
    };
    let folder = match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(Error::file(path, "is a folder, not a file to write", "name a file"));
    }
    let mut beside = tempfile::NamedTempFile::new_in(folder).map_err(failed)?;
    beside.write_all(bytes).map_err(failed)?;
    readable_by_all(beside.path()).map_err(failed)?;
    beside.persist(path).map_err(|why| failed(why.error))?;
    Ok(())
}

/// A temporary file is private; a finished one is an ordinary file.
#[cfg(unix)]
fn readable_by_all(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Makes a folder, and says when that is not possible.
pub(super) fn folder(path: &Path) -> Result<PathBuf, Error> {
    std::fs::create_dir_all(path).map_err(|why| {
        Error::file(
            path,
            format!("the folder cannot be made: {why}"),
            "give another place with --out",
        )
    })?;
    Ok(path.into())
}
