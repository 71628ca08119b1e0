//! `foramen expose`.

use super::output::Output;
use super::words::BenchWords;
use crate::error::Error;
use crate::task;
use crate::words;

/// The exposure time, from an exposure value or a meter's reading
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open()?;
        let exposure = task::expose::run(&camera, &hole)?;
        if self.json {
            return output.json(&exposure);
        }
        output.say(&words::expose::text(&camera, &exposure))
    }
}
