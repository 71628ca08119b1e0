//! `foramen chart`.

use super::output::Output;
use super::words::CameraWords;
use crate::error::Error;
use crate::files::{self, Places};
use crate::quantity::Quantity;
use crate::task::{chart, document};
use crate::words;
use clap::ValueEnum;
use std::ffi::OsStr;
use std::path::PathBuf;

/// What the chart is printed on.
#[derive(Clone, Copy, ValueEnum)]
enum Paper {
    A4,
    Letter,
    /// One sheet of the chart's own size, for a print shop
    Whole,
}

/// Draws a chart to print at true size; a picture of it proves what the camera draws
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen chart --camera camera.toml --distance \"60 cm\" --out chart.pdf\n  foramen chart --distance \"1 m\" --paper whole --out chart.svg"
)]
pub(super) struct Words {
    #[command(flatten)]
    camera: CameraWords,
    /// From the hole to the chart: the nearer, the smaller the chart
    #[arg(long, value_name = "LENGTH")]
    distance: String,
    /// Paper: a4, letter, or whole (one large sheet)
    #[arg(long, value_enum, value_name = "PAPER", default_value_t = Paper::A4, hide_possible_values = true)]
    paper: Paper,
    /// File to write, .pdf or (one large sheet) .svg
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let distance_mm = Quantity::Length.read_positive(&self.distance)?;
        let mut places = Places::writing([self.out.as_deref()]);
        let camera = self.camera.open(&mut places)?;
        places.check()?;
        let answer = chart::run(&camera, distance_mm)?;
        if let Some(path) = &self.out {
            let title = words::chart::title(&answer);
            let drawing = words::chart::drawing(&answer, &title);
            let ending = path.extension().map(OsStr::to_ascii_lowercase);
            let bytes = match (ending.as_ref().and_then(|ending| ending.to_str()), self.paper) {
                (Some("svg"), _) => drawing.svg().into_bytes(),
                (Some("pdf"), Paper::Whole) => drawing.one_page()?,
                (Some("pdf"), Paper::A4) => words::chart::tiled(&answer, words::chart::A4_MM)?,
                (Some("pdf"), Paper::Letter) => {
                    words::chart::tiled(&answer, words::chart::LETTER_MM)?
                }
                _ => {
                    return Err(Error::words(
                        &path.display().to_string(),
                        "is not the name of a chart",
                        "end it in .pdf, or in .svg for one large sheet",
                    ));
                }
            };
            files::write(path, &bytes)?;
        }
        if self.json {
            return output.json(document::CHART, &answer);
        }
        let mut text = words::chart::text(&answer);
        if let Some(path) = &self.out {
            text += &format!("\n  Written to {}\n", path.display());
        }
        output.say(&text)
    }
}
