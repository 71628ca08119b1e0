//! `foramen camera`.

use super::output::Output;
use crate::camera::DEMONSTRATION;
use crate::error::Error;
use crate::files;
use std::path::PathBuf;

/// Writes a camera file to start from, with every key explained
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  foramen camera\n  foramen camera --out cedar-box.toml")]
pub(super) struct Words {
    /// File to write; an existing file is left alone
    #[arg(long, value_name = "FILE.toml", default_value = "camera.toml")]
    out: PathBuf,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        if self.out.exists() {
            return Err(Error::damaged(
                "is there already, and may hold somebody's camera",
                "give another name with --out",
            )
            .in_file(self.out.display()));
        }
        files::write(&self.out, DEMONSTRATION.as_bytes())?;
        output.say(&format!(
            "  Written: {}\n  Change its numbers, and give it with --camera.\n",
            self.out.display()
        ))
    }
}
