//! `foramen preview`.

use super::output::{Output, write_file};
use super::words::{BenchWords, SceneWords};
use crate::error::Error;
use crate::quantity::Quantity;
use crate::raster;
use crate::task::preview::{self, film_pixels};
use std::path::PathBuf;

/// The picture that a hole takes of a scene
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    scene: SceneWords,
    /// Pixels along the film's longer side
    #[arg(long, value_name = "N", default_value_t = 1600, value_parser = clap::value_parser!(u16).range(16..=8192))]
    pixels: u16,
    /// The picture to write
    #[arg(long, value_name = "FILE.png", default_value = "foramen-preview.png")]
    out: PathBuf,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open()?;
        let (columns, rows) = film_pixels(&camera, usize::from(self.pixels));
        let scene = self.scene.open(columns, rows)?;
        let answer = preview::run(&camera, &hole.outline, &scene)?;
        write_file(&self.out, &raster::png(&raster::display(&answer.picture)?)?)?;
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!(
            "  {} × {} pixels of {} on the film, {:.0}° across\n  Written: {}\n",
            answer.columns,
            answer.rows,
            Quantity::Length.write(answer.film_pixel_um / 1000.0),
            answer.angle_of_view_deg,
            self.out.display()
        ))
    }
}
