//! `foramen completions`.

use super::CommandLine;
use super::output::Output;
use crate::error::Error;
use clap::CommandFactory;
use clap_complete::{Shell, generate};

/// Prints a script with which a shell completes commands and options
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen completions bash > ~/.local/share/bash-completion/completions/foramen\n  foramen completions zsh > ~/.zfunc/_foramen      with ~/.zfunc in fpath\n  foramen completions fish > ~/.config/fish/completions/foramen.fish"
)]
pub(super) struct Words {
    /// Which shell: bash, zsh, fish, elvish or powershell
    #[arg(value_enum, value_name = "SHELL", hide_possible_values = true)]
    shell: Shell,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let mut script = Vec::new();
        generate(self.shell, &mut CommandLine::command(), "foramen", &mut script);
        output.say(&String::from_utf8_lossy(&script))
    }
}
