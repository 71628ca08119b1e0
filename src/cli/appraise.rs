//! `foramen appraise`: the main job.

use super::output::{Output, Progress, folder, json_text, wrapped, write_file};
use super::words::{BenchWords, SceneWords};
use super::{expose, gauge, preview, psf};
use crate::camera::Camera;
use crate::error::Error;
use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::appraise::{self, Answer};
use crate::task::preview::film_pixels;
use crate::verdict::advice::{Action, in_words};
use std::fmt::Write;
use std::path::PathBuf;

/// The longer side of the previews, in pixels.
const LONGEST: usize = 1600;

/// Measures a hole, computes its light and its picture, and says whether to stop or to go on
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    scene: SceneWords,
    /// The folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "foramen-appraisal")]
    out: PathBuf,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open()?;
        let (columns, rows) = film_pixels(&camera, LONGEST);
        let progress = Progress::of(2 + appraise::STEPS);
        let watch = |step: &str| progress.step(step);
        watch("the scene");
        let scene = self.scene.open(&camera, columns, rows)?;
        let request =
            appraise::Request { camera: &camera, hole: &hole, scene: &scene, watch: &watch };
        let answer = appraise::run(&request)?;
        watch("the files");
        let best = (&answer.best_picture.picture, answer.target.diameter_mm);
        // Everything is drawn before the first file is written.
        let mut files = vec![
            ("psf.png", psf::plate(&answer.psf, &answer.best_psf, answer.target.diameter_mm)?),
            ("preview.png", preview::plate(&camera, &answer.picture.picture, best, None)?),
            ("appraisal.json", json_text(&answer)?.into_bytes()),
        ];
        if let Some(plate) = gauge::overlay(&hole, &answer.gauge)? {
            files.insert(0, ("outline.png", plate));
        }
        let place = folder(&self.out)?;
        for (name, bytes) in &files {
            write_file(&place.join(name), bytes)?;
        }
        drop(progress);
        if self.json {
            return output.json(&answer);
        }
        let names: Vec<&str> = files.iter().map(|file| file.0).collect();
        let text = self.text(&camera, &answer);
        output.say(&format!("{text}\n  Written to {}: {}\n", place.display(), names.join(", ")))
    }

    fn text(&self, camera: &Camera, answer: &Answer) -> String {
        let (hole, target) = (&answer.gauge.hole, &answer.target);
        let length = |mm| Quantity::Length.write(mm);
        let mut text = String::new();
        if self.bench.hole.demo {
            text += "The demonstration: this camera, this hole and its photo are invented.\n\n";
        }
        // Writing to a string cannot fail.
        let _ = writeln!(text, "  {}\n", heading(answer.verdict.action));
        for reason in &answer.verdict.reasons {
            let _ = writeln!(text, "{}", wrapped("  - ", reason));
        }
        let band = target.good_enough();
        let loss = 100.0 * answer.verdict.loss;
        let rows = [
            ("Camera", format!("{}, film at {}", camera.name, length(camera.distances.film_mm()))),
            (
                "This hole",
                write_length_within(
                    hole.equivalent_diameter_mm,
                    hole.equivalent_diameter_uncertainty_mm,
                ),
            ),
            (
                "Best hole",
                format!(
                    "{}   ({} to {} loses at most {:.0} %)",
                    length(target.diameter_mm),
                    length(band.low_mm),
                    length(band.high_mm),
                    100.0 * band.loss
                ),
            ),
            (
                "Sharpness",
                format!("{} % lost: {}", significant(loss, 2), in_words(answer.verdict.loss)),
            ),
            ("Exposure", expose::sentence(camera, &answer.exposure)),
        ];
        text.push('\n');
        for (name, value) in rows {
            let _ = writeln!(text, "{}", wrapped(&format!("  {name:<10} "), &value));
        }
        for warning in answer.gauge.warnings.iter().chain(&answer.psf.warnings) {
            let _ = writeln!(text, "{}", wrapped("  Note       ", warning));
        }
        if answer.verdict.action != Action::Stop {
            let _ = writeln!(text, "\n{CAUTION}");
        }
        text
    }
}

const CAUTION: &str = "  Take care: needles and sheet edges cut; sanding dust of old brass, tin or \
solder may hold\n  lead, so wet it and keep it off hands and food; wear eye protection; look at the \
hole against\n  a lamp, never the Sun. Local rules and trained people come first.";

fn heading(action: Action) -> &'static str {
    match action {
        Action::Stop => "STOP: this hole is good enough.",
        Action::Enlarge => "ENLARGE: one more careful pass, then measure again.",
        Action::Deburr => "DEBURR: take the burr off, then measure again.",
        Action::StartOver => "START OVER: a new hole will serve better than more work on this one.",
    }
}
