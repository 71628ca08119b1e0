//! `foramen gauge`.

use super::next::Next;
use super::output::Output;
use super::words::HoleWords;
use crate::camera::Camera;
use crate::error::{Error, Kind};
use crate::files::{self, Places};
use crate::hole::outline_file;
use crate::plate;
use crate::task::{document, gauge};
use crate::watch::Watch;
use crate::words::{self, plates};
use std::path::PathBuf;

/// Measures a hole from a photo, outline, count or size, or every hole of a scan
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen gauge --hole photo.jpg --scale \"412 px = 1 mm\" --out traced.png\n  foramen gauge --hole scan.tif --scale \"2400 dpi\" --every --camera camera.toml"
)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    /// Measure every opening of one picture, as a table
    #[arg(long, conflicts_with_all = ["at", "reading", "outline"])]
    every: bool,
    /// Also say what the size costs in this camera; rank the holes of a scan
    #[arg(long, value_name = "FILE")]
    camera: Option<PathBuf>,
    /// Write the outline in mm, as a table (.csv) or a drawing (.svg)
    #[arg(long, value_name = "FILE")]
    outline: Option<PathBuf>,
    /// With --every: write the holes as a table (.csv), a line each
    #[arg(long, value_name = "FILE.csv", requires = "every")]
    table: Option<PathBuf>,
    /// Draw the traced outline over the photo; with --every, all of them
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let mut places =
            Places::writing([&self.outline, &self.table, &self.out].map(Option::as_deref));
        places.read(self.hole.files());
        let camera = match &self.camera {
            Some(path) => {
                let (camera, read) = files::camera(path)?;
                places.read(read);
                Some(camera)
            }
            None => None,
        };
        places.check()?;
        if self.every {
            return self.every(camera.as_ref(), output);
        }
        let form_of = |path: &PathBuf| outline_file::Form::of_name(&path.display().to_string());
        let form = self.outline.as_ref().map(form_of).transpose()?;
        let hole = self.hole.open().inspect_err(|fault| self.draw_candidates(fault, output))?;
        let request = gauge::Request { hole, camera };
        let answer = gauge::run(&request, Watch::nobody())?;
        let hole = &request.hole;
        let mut files = Vec::new();
        if let (Some(path), Some(form)) = (&self.outline, form) {
            files.push((path, outline_file::text(&hole.outline, form).into_bytes()));
        }
        if let Some(path) = &self.out {
            let plate = plates::outline(hole, &answer)?.ok_or_else(|| {
                Error::words("--out", "needs a photo to draw on", "give --hole a photo")
            })?;
            files.push((path, plate));
        }
        files::write_together(&files)?;
        if self.json {
            return output.json(document::GAUGE, &answer);
        }
        let next = Next::of("appraise").and(&self.hole.again());
        let next = match &self.camera {
            Some(path) => next.with("--camera", &path.display().to_string()),
            None => next,
        };
        output.say(&format!("{}{}\n{next}", self.hole.invented(), words::gauge::text(&answer)))
    }

    /// Draws what may be meant, where that is the fault and a picture is wanted. Whatever goes wrong with the
    /// drawing is a remark: the fault itself is what counts.
    fn draw_candidates(&self, fault: &Error, output: &mut Output) {
        let (Kind::Undecided(candidates), Some(path)) = (fault.kind(), &self.out) else { return };
        let plate = self.hole.photo().and_then(|photo| plate::candidates(&photo, candidates));
        match plate.and_then(|plate| files::write(path, &plate)) {
            Ok(()) => {
                output.remark(&format!("{} shows what stands out, numbered.", path.display()));
            }
            Err(why) => output.remark(&format!("{why}")),
        }
    }

    fn every(&self, camera: Option<&Camera>, output: &mut Output) -> Result<(), Error> {
        let sheet =
            self.hole.open_sheet().inspect_err(|fault| self.draw_candidates(fault, output))?;
        let answer = gauge::run_every(&sheet, camera, Watch::nobody())?;
        let mut files = Vec::new();
        if let Some(path) = &self.table {
            files.push((path, words::sheet::csv(&answer).into_bytes()));
        }
        if let Some(path) = &self.out {
            files.push((path, plates::sheet(&sheet, &answer)?));
        }
        files::write_together(&files)?;
        if self.json {
            return output.json(document::SHEET, &answer);
        }
        output.say(&format!("{}{}", self.hole.invented(), words::sheet::text(&answer)))
    }
}
