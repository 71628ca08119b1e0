//! `foramen prove`.

use super::output::Output;
use super::words::{CameraWords, HoleWords};
use crate::error::Error;
use crate::files;
use crate::hole::Scale;
use crate::quantity::Quantity;
use crate::raster::Transfer;
use crate::task::prove;
use crate::words;
use std::path::PathBuf;

/// Holds a picture of the chart against what the hole allows, and names what softened it
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen prove --camera camera.toml --hole hole.csv --distance \"60 cm\" --picture scan.png --dpi 1200\n  foramen prove --hole \"0.34 mm\" --distance \"1 m\" --picture scan.tif --dpi 1200 --out proof.png"
)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    #[command(flatten)]
    camera: CameraWords,
    /// Scan of the picture of the chart
    #[arg(long, value_name = "FILE")]
    picture: PathBuf,
    /// Resolution of that scan, in dots per inch [default: as the file states]
    #[arg(long, value_name = "DPI")]
    dpi: Option<String>,
    /// From the hole to the chart, as it was drawn for
    #[arg(long, value_name = "LENGTH")]
    distance: String,
    /// What the scanner blurs, as a standard deviation: "12 um"
    #[arg(long, value_name = "LENGTH")]
    scanner_blur: Option<String>,
    /// Write the contrasts as a table
    #[arg(long, value_name = "FILE.csv")]
    table: Option<PathBuf>,
    /// Draw measured and predicted contrast at every place
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let distance_mm = Quantity::Length.read_positive(&self.distance)?;
        let scanner_mm = self.scanner_blur.as_deref().map(|words| Quantity::Length.read_positive(words)).transpose()?;
        let (camera, hole) = (self.camera.open()?, self.hole.open()?);
        let picture = files::picture(&self.picture, Transfer::ByFile)?;
        let scale = match &self.dpi {
            Some(dpi) => Scale::read(&format!("{dpi} dpi"))?,
            None => Scale::of_resolution_stated(picture.resolution.as_ref())
                .map_err(|why| why.in_file(self.picture.display()))?,
        };
        let request = prove::Request {
            camera: &camera,
            hole: &hole.outline,
            distance_mm,
            picture: &picture.raster,
            scale: &scale,
            scanner_mm: scanner_mm.unwrap_or(0.0),
        };
        let answer = prove::run(&request).map_err(|why| why.in_file(self.picture.display()))?;
        if let Some(path) = &self.table {
            files::write(path, words::prove::csv(&answer).as_bytes())?;
        }
        if let Some(path) = &self.out {
            files::write(path, &words::proof_plate::png(&answer, [camera.film.width_mm, camera.film.height_mm])?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        let mut text = words::prove::text(&answer);
        if let Some(path) = &self.out {
            text += &format!("\n  Written to {}\n", path.display());
        }
        output.say(&text)
    }
}
