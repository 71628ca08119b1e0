//! `foramen manual`.

use super::CommandLine;
use super::output::Output;
use crate::error::Error;
use crate::files;
use clap::{Command, CommandFactory};
use clap_mangen::Man;
use std::path::PathBuf;

/// The day of this version, as a manual's pages state it; it goes with the version in Cargo.toml.
const RELEASED: &str = "2026-11-27";

/// Writes the manual pages, one for the program and one for each command
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen manual --out ~/.local/share/man/man1\n  foramen manual --out man && man man/foramen-appraise.1"
)]
pub(super) struct Words {
    /// Folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "man")]
    out: PathBuf,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let pages: Vec<_> =
            pages()?.into_iter().map(|(name, page)| (self.out.join(name), page)).collect();
        files::write_folder(&self.out, &pages)?;
        output.say(&format!("  Written to {}: {} manual pages\n", self.out.display(), pages.len()))
    }
}

/// Every page with its file's name.
fn pages() -> Result<Vec<(String, Vec<u8>)>, Error> {
    let mut program = CommandLine::command().disable_help_subcommand(true);
    program.build();
    let commands: Vec<Command> = program.get_subcommands().cloned().collect();
    std::iter::once(program).chain(commands).map(page).collect()
}

fn page(command: Command) -> Result<(String, Vec<u8>), Error> {
    let name = command.get_display_name().unwrap_or(command.get_name()).to_owned();
    let page = Man::new(command.name(name.clone()))
        .manual("foramen")
        .title(&name)
        .date(RELEASED)
        .source(concat!("foramen ", env!("CARGO_PKG_VERSION")));
    let mut text = Vec::new();
    page.render(&mut text).map_err(|why| {
        Error::limit(format!("the page {name} cannot be made: {why}"), "report this as a fault")
    })?;
    Ok((page.get_filename(), text))
}
