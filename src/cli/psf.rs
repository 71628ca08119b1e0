//! `foramen psf`.

use super::output::Output;
use super::words::BenchWords;
use crate::error::Error;
use crate::files;
use crate::geometry::shapes;
use crate::quantity::Quantity;
use crate::task::psf;
use crate::verdict::film_map;
use crate::verdict::target::target;
use crate::words::{self, plates};
use std::path::PathBuf;

/// The point-spread function, MTF and encircled energy of a hole in a camera
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// Samples a side
    #[arg(long, value_name = "N")]
    size: Option<usize>,
    /// Distance between samples on the film, as in "1 um"
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pitch: Option<String>,
    /// Writes the samples as float64, energy fraction per mm²
    #[arg(long, value_name = "FILE.npy")]
    samples: Option<PathBuf>,
    /// Draws the PSF beside that of the best disc
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Draws maps of sharpness, light and distance over the film
    #[arg(long, value_name = "FILE.png")]
    map: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(mut self, output: &mut Output) -> Result<(), Error> {
        let pitch_mm =
            self.pitch.as_deref().map(|words| Quantity::Length.read_positive(words)).transpose()?;
        let at_mm = self.bench.hole.take_film_place()?.unwrap_or([0.0, 0.0]);
        let (camera, hole) = self.bench.open()?;
        let request = psf::Request {
            camera: &camera,
            outline: &hole.outline,
            at_mm,
            size: self.size,
            pitch_mm,
        };
        let answer = psf::run(&request)?;
        if let Some(path) = &self.samples {
            files::write(path, &psf::npy(&answer.psf))?;
        }
        if let Some(path) = &self.out {
            let best_mm = target(&camera).diameter_mm;
            let best = shapes::disc(best_mm)?;
            let pitch_mm = Some(answer.pitch_um / 1000.0);
            let best = psf::run(&psf::Request {
                outline: &best,
                size: Some(answer.shape[0]),
                pitch_mm,
                ..request
            })?;
            files::write(path, &plates::point_image(&answer, &best, best_mm)?)?;
        }
        if let Some(path) = &self.map {
            let map = film_map::run(&camera, &hole.outline)?;
            files::write(path, &plates::film_maps(&camera, &map)?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&words::psf::text(&answer))
    }
}
