//! `foramen card`.

use super::next::Next;
use super::open::open;
use super::output::Output;
use super::words::CameraWords;
use crate::error::Error;
use crate::files::{self, Places};
use crate::plate::A5_MM;
use crate::raster::{Page, pdf, png, rasterise};
use crate::words;
use std::path::PathBuf;

/// Pixels of a PNG to a CSS pixel, which is 1/96 inch: 300 dots to the inch.
const PNG_SCALE: f64 = 300.0 / 96.0;

/// Draws the bench card of a camera: one A5 page at true size to lie beside the loupe
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen card --camera camera.toml --out card.pdf\n  foramen card --camera camera.toml --out card.svg --open"
)]
pub(super) struct Words {
    #[command(flatten)]
    camera: CameraWords,
    /// Page to write: .pdf, .svg or .png
    #[arg(long, value_name = "FILE", default_value = "foramen-card.pdf")]
    out: PathBuf,
    /// Show it when it is written
    #[arg(long)]
    open: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let mut places = Places::writing([Some(self.out.as_path())]);
        let camera = self.camera.open(&mut places)?;
        places.check()?;
        let svg = words::bench_card::of(&camera)?;
        let ending = self.out.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        let bytes = match ending.as_deref() {
            Some("pdf") => pdf(&camera.name, &[Page { svg: &svg, paper_mm: A5_MM }])?,
            Some("svg") => svg.into_bytes(),
            Some("png") => png(&rasterise(&svg, PNG_SCALE)?)?,
            _ => {
                return Err(Error::words(
                    &self.out.display().to_string(),
                    "is not the name of a page to print",
                    "end it in .pdf, .svg or .png",
                ));
            }
        };
        files::write(&self.out, &bytes)?;
        let next = Next::of("target").and(&self.camera.again());
        output
            .say(&format!("  Written: {} (A5; print it at 100 %)\n{next}", self.out.display()))?;
        if self.open {
            open(&self.out.display().to_string());
        }
        Ok(())
    }
}
