//! `foramen gauge`.

use super::output::Output;
use super::words::HoleWords;
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::hole::outline_file;
use crate::task::gauge;
use crate::words::{self, plates};
use std::path::PathBuf;

/// Measures a hole from a photo, an outline file, a count or a size, or every hole of a scan
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    /// Measures each opening of one picture, as a table
    #[arg(long, conflicts_with_all = ["at", "reading", "outline"])]
    every: bool,
    /// Also says what the size means in this camera (TOML), and ranks the holes of a sheet for it
    #[arg(long, value_name = "FILE")]
    camera: Option<PathBuf>,
    /// Writes the outline in mm, as a table (.csv) or a drawing (.svg)
    #[arg(long, value_name = "FILE")]
    outline: Option<PathBuf>,
    /// Writes the traced outline over the photo; with --every, all of them
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let camera = self.camera.as_deref().map(files::camera).transpose()?;
        if self.every {
            return self.every(camera.as_ref(), output);
        }
        let hole = self.hole.open()?;
        let answer = gauge::run(&hole, camera.as_ref())?;
        if let Some(path) = &self.outline {
            let form = outline_file::Form::of_name(&path.display().to_string())?;
            files::write(path, outline_file::text(&hole.outline, form).as_bytes())?;
        }
        if let Some(path) = &self.out {
            let plate = plates::outline(&hole, &answer)?.ok_or_else(|| {
                Error::words("--out", "has no photo to draw on", "give --hole a photo")
            })?;
            files::write(path, &plate)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!("{}{}", self.hole.invented(), words::gauge::text(&answer)))
    }

    fn every(&self, camera: Option<&Camera>, output: &mut Output) -> Result<(), Error> {
        let sheet = self.hole.open_sheet()?;
        let answer = gauge::run_every(&sheet, camera);
        if let Some(path) = &self.out {
            files::write(path, &plates::sheet(&sheet, &answer)?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!("{}{}", self.hole.invented(), words::sheet::text(&answer)))
    }
}
