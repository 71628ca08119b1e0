//! `foramen expose`.

use super::output::Output;
use super::words::BenchWords;
use crate::error::Error;
use crate::files::Places;
use crate::task::{self, document};
use crate::words;

/// Computes the exposure time from an exposure value or a meter's reading
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen expose --hole \"0.34 mm\" --ev 12\n  foramen expose --hole \"0.34 mm\" --metered \"1/60 s\" --at-f 16 --camera camera.toml"
)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open(Places::default())?;
        let exposure = task::expose::run(&camera, &hole)?;
        if self.json {
            return output.json(document::EXPOSE, &exposure);
        }
        output.say(&words::expose::text(&camera, &exposure))
    }
}
