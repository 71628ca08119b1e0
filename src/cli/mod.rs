//! The command line: words to requests, answers to text or JSON. One file a command.

mod appraise;
mod ask;
mod camera;
mod card;
mod chart;
mod completions;
mod expose;
mod figure;
mod gauge;
mod log;
mod logging;
mod manual;
mod meter;
mod next;
mod open;
mod output;
mod preview;
mod prove;
mod psf;
mod remedy;
mod schema;
#[cfg(feature = "page")]
mod serve;
mod target;
mod words;

use crate::error::{Error, Kind};
use clap::{Parser, Subcommand};
use output::Output;
use std::ffi::OsString;
use std::process::ExitCode;

/// A diffraction bench for people who make pinholes by hand
#[derive(Parser)]
#[command(name = "foramen", version, max_term_width = 100)]
struct CommandLine {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Appraise(appraise::Words),
    Camera(camera::Words),
    Target(target::Words),
    Gauge(gauge::Words),
    Psf(psf::Words),
    Preview(preview::Words),
    Card(card::Words),
    Chart(chart::Words),
    Prove(prove::Words),
    Expose(expose::Words),
    Figure(figure::Words),
    Log(log::Words),
    #[cfg(feature = "page")]
    Serve(serve::Words),
    Schema(schema::Words),
    Completions(completions::Words),
    Manual(manual::Words),
}

/// Runs the program on the words of a command line, the program's own name first. 0: done; 1: the
/// work could not be done; 2: the call was wrong.
pub fn run(words: impl IntoIterator<Item = impl Into<OsString> + Clone>) -> ExitCode {
    let mut output = Output::standard();
    let_work_be_done_without_threads();
    let line = match CommandLine::try_parse_from(words) {
        Ok(line) => line,
        Err(fault) => return output.usage(&fault),
    };
    let done = match line.command {
        Command::Appraise(words) => words.run(&mut output),
        Command::Camera(words) => words.run(&mut output),
        Command::Target(words) => words.run(&mut output),
        Command::Gauge(words) => words.run(&mut output),
        Command::Psf(words) => words.run(&mut output),
        Command::Preview(words) => words.run(&mut output),
        Command::Card(words) => words.run(&mut output),
        Command::Chart(words) => words.run(&mut output),
        Command::Prove(words) => words.run(&mut output),
        Command::Expose(words) => words.run(&mut output),
        Command::Figure(words) => words.run(&mut output),
        Command::Log(words) => words.run(&mut output),
        #[cfg(feature = "page")]
        Command::Serve(words) => words.run(&mut output),
        Command::Schema(words) => words.run(&mut output),
        Command::Completions(words) => words.run(&mut output),
        Command::Manual(words) => words.run(&mut output),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            output.fault(&fault);
            ExitCode::from(if is_of_the_call(&fault) { 2 } else { 1 })
        }
    }
}

/// More threads than any work here can share, if somebody asks for them: to begin thousands takes minutes.
const MOST_THREADS: usize = 256;

/// Where the system gives no threads, all work is done on this one.
fn let_work_be_done_without_threads() {
    let asked = std::env::var("RAYON_NUM_THREADS").ok().and_then(|words| words.parse().ok());
    let shared = rayon::ThreadPoolBuilder::new();
    let shared = match asked {
        Some(MOST_THREADS..) => shared.num_threads(MOST_THREADS),
        _ => shared,
    };
    let shared = shared.build_global();
    if shared.is_err() {
        // A second fault means that threads are there already.
        let alone = rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread();
        let _ = alone.build_global();
    }
}

/// Whether the words of the call itself are wrong, and not a file or the work.
fn is_of_the_call(fault: &Error) -> bool {
    let is_said = matches!(fault.kind(), Kind::NotUnderstood)
        || matches!(fault.kind(), Kind::Undecided(_))
            && fault.wanted().is_some_and(remedy::is_name);
    is_said && fault.place().file.is_none()
}
