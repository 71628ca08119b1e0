//! `foramen appraise`: the main job.

use super::comparison;
use super::output::{Output, Progress, json_text, wrapped};
use super::words::{BenchWords, SceneWords};
use super::{expose, gauge, preview, psf};
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::hole::Hole;
use crate::picture::film_pixels;
use crate::quantity::{Quantity, write_length_within};
use crate::record::{self, Record};
use crate::report::{self, Report};
use crate::task::appraise::{self, Answer};
use crate::task::log;
use crate::verdict::advice::{Action, GOOD_ENOUGH, Verdict};
use crate::verdict::growth::Growth;
use crate::verdict::reasons::{DARK, in_words, percent};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The longer side of the previews, in pixels.
const LONGEST: usize = 1600;
/// A cause in the camera that costs less is not worth a line.
const NOTABLE: f64 = 0.005;

/// Measures a hole, computes its light and its picture, and says whether to stop or to go on
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    scene: SceneWords,
    /// Ranks several holes instead, with advice for each: the openings of one scan, or every --hole
    #[arg(long, conflicts_with_all = ["log", "scene", "at"])]
    every: bool,
    /// Adds a line to this bench log, and judges the next pass by the passes in it
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// What the hole is called in the log
    #[arg(long, value_name = "NAME", requires = "log")]
    name: Option<String>,
    /// The folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "foramen-appraisal")]
    out: PathBuf,
    /// Writes everything as one HTML file to read, to print and to keep
    #[arg(long, value_name = "FILE.html", conflicts_with = "every")]
    report: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        if self.every {
            return self.compare(output);
        }
        let (camera, hole) = self.bench.open()?;
        let logging = self.log.as_deref().map(|path| self.logging(path, &camera, &hole));
        let logging = logging.transpose()?;
        let (columns, rows) = film_pixels(&camera, LONGEST);
        let progress = Progress::of(2 + appraise::STEPS);
        let watch = |step: &str| progress.step(step);
        watch("the scene");
        let scene = self.scene.open(&camera, columns, rows)?;
        let growth = logging.as_ref().map_or_else(Growth::stated, |logging| logging.growth);
        let request = appraise::Request {
            camera: &camera,
            hole: &hole,
            scene: &scene,
            growth,
            watch: &watch,
        };
        let answer = appraise::run(&request)?;
        watch("the files");
        // Everything is drawn before the first file is written.
        let plates = Plates::of(&camera, &hole, &answer)?;
        let report = match &self.report {
            Some(path) => Some((path, plates.report(&request, &answer, self.bench.hole.demo)?)),
            None => None,
        };
        let files = plates.files(&answer)?;
        let place = files::folder(&self.out)?;
        for (name, bytes) in &files {
            files::write(&place.join(name), bytes)?;
        }
        if let Some((path, html)) = &report {
            files::write(path, html.as_bytes())?;
        }
        drop(progress);
        let logged = logging.as_ref().map(|logging| logging.add(&answer));
        if self.json {
            output.json(&answer)?;
        } else {
            let mut text = self.text(&camera, &answer);
            let names: Vec<&str> = files.iter().map(|file| file.0).collect();
            text += &format!("\n  Written to {}: {}\n", place.display(), names.join(", "));
            if let Some((path, _)) = &report {
                text += &format!("  The report: {}\n", path.display());
            }
            if let (Some(logging), Some(Ok(()))) = (&logging, &logged) {
                text += &logging.in_words();
            }
            logging.iter().for_each(|logging| logging.remark(output));
            output.say(&text)?;
        }
        logged.unwrap_or(Ok(()))
    }

    fn compare(&self, output: &mut Output) -> Result<(), Error> {
        let camera = self.bench.camera.open()?;
        let holes = self.bench.hole.open_each()?;
        let answer = appraise::compare(&camera, &holes, &Growth::stated());
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!("{}{}", self.bench.hole.invented(), comparison::text(&answer)))
    }

    fn logging<'a>(
        &'a self,
        path: &'a Path,
        camera: &Camera,
        hole: &Hole,
    ) -> Result<Logging<'a>, Error> {
        let record = if path.exists() { files::log(path)? } else { Record::default() };
        let (mm, known_mm) =
            (hole.outline.equivalent_diameter_mm(), hole.diameter_uncertainty_mm());
        let name = match &self.name {
            Some(name) => Record::name_given(name)?,
            None => record.name_of_unnamed(&camera.name, mm, known_mm)?,
        };
        let growth = log::growth(&record, &name, mm, known_mm);
        Ok(Logging { path, record, name, growth })
    }

    fn text(&self, camera: &Camera, answer: &Answer) -> String {
        let (hole, verdict) = (&answer.gauge.hole, &answer.verdict);
        let mut text = String::new();
        if self.bench.hole.demo {
            text += "The demonstration: this camera, this hole and its photo are invented.\n\n";
        }
        // Writing to a string cannot fail.
        let _ = writeln!(text, "  {}\n", heading(verdict));
        for reason in &verdict.reasons {
            let _ = writeln!(text, "{}", wrapped("  - ", reason));
        }
        let size = write_length_within(
            hole.equivalent_diameter_mm,
            hole.equivalent_diameter_uncertainty_mm,
        );
        let film = Quantity::Length.write(camera.distances.film_mm());
        let mut rows = vec![
            ("Camera", format!("{}, film at {film}", camera.name)),
            ("This hole", size),
            ("Best hole", best_in_words(answer)),
            ("Sharpness", sharpness_in_words(verdict)),
        ];
        rows.extend(if_in_words(verdict).map(|words| ("Loss if", words)));
        rows.extend(verdict.lines.in_words().map(|words| ("Direction", words)));
        rows.extend(camera_in_words(verdict).map(|words| ("Besides", words)));
        rows.extend(corner_in_words(verdict).map(|words| ("Plate", words)));
        if verdict.next_pass.growth.passes > 0 || verdict.action == Action::Enlarge {
            rows.push(("Growth", verdict.next_pass.growth.in_words()));
        }
        rows.push(("Exposure", expose::sentence(camera, &answer.exposure)));
        text.push('\n');
        for (name, value) in rows {
            let _ = writeln!(text, "{}", wrapped(&format!("  {name:<10} "), &value));
        }
        for warning in answer.gauge.warnings.iter().chain(&answer.psf.warnings) {
            let _ = writeln!(text, "{}", wrapped("  Note       ", warning));
        }
        if asks_for_work(verdict) {
            let _ = writeln!(text, "\n{}", wrapped("  ", CAUTION));
        }
        text
    }
}

/// The log that an appraisal goes into.
struct Logging<'a> {
    path: &'a Path,
    record: Record,
    name: String,
    growth: Growth,
}

impl Logging<'_> {
    fn add(&self, answer: &Answer) -> Result<(), Error> {
        record::append(self.path, &log::entry(answer, self.name.clone(), SystemTime::now()))
    }

    fn in_words(&self) -> String {
        let before = self.record.entries.iter().filter(|entry| entry.hole == self.name).count();
        format!("  Logged in {} as \"{}\", entry {}\n", self.path.display(), self.name, before + 1)
    }

    fn remark(&self, output: &mut Output) {
        for skipped in &self.record.skipped {
            let line = format!("line {} of the log left out: it {}", skipped.line, skipped.reason);
            output.remark(&wrapped("note: ", &line));
        }
    }
}

/// What is drawn, as the bytes of PNG files.
struct Plates {
    outline: Option<Vec<u8>>,
    psf: Vec<u8>,
    picture: Vec<u8>,
}

impl Plates {
    fn of(camera: &Camera, hole: &Hole, answer: &Answer) -> Result<Plates, Error> {
        let best_mm = answer.target.diameter_mm;
        let best = (&answer.best_picture.picture, best_mm);
        Ok(Plates {
            outline: gauge::overlay(hole, &answer.gauge)?,
            psf: psf::plate(&answer.psf, &answer.best_psf, best_mm)?,
            picture: preview::plate(camera, &answer.picture.picture, best, None)?,
        })
    }

    fn report(
        &self,
        request: &appraise::Request,
        answer: &Answer,
        invented: bool,
    ) -> Result<String, Error> {
        let verdict = &answer.verdict;
        Report {
            camera: request.camera,
            hole: &request.hole.outline,
            answer,
            heading: &heading(verdict),
            caution: if asks_for_work(verdict) { CAUTION } else { "" },
            invented,
            plates: report::Plates {
                outline: self.outline.as_deref(),
                psf: &self.psf,
                picture: &self.picture,
            },
        }
        .html()
    }

    /// The files of an appraisal's folder.
    fn files(self, answer: &Answer) -> Result<Vec<(&'static str, Vec<u8>)>, Error> {
        let outline = self.outline.map(|plate| ("outline.png", plate));
        let others = [
            ("psf.png", self.psf),
            ("preview.png", self.picture),
            ("appraisal.json", json_text(answer)?.into_bytes()),
        ];
        Ok(outline.into_iter().chain(others).collect())
    }
}

fn best_in_words(answer: &Answer) -> String {
    let length = |mm| Quantity::Length.write(mm);
    let band = answer.target.good_enough();
    format!(
        "{}   ({} to {} loses at most {:.0} %)",
        length(answer.target.diameter_mm),
        length(band.low_mm),
        length(band.high_mm),
        100.0 * band.loss
    )
}

fn sharpness_in_words(verdict: &Verdict) -> String {
    format!("{} lost: {}", percent(verdict.loss), in_words(verdict.loss))
}

/// What the loss would be if one thing were done, where that gains anything to speak of.
fn if_in_words(verdict: &Verdict) -> Option<String> {
    let would = &verdict.counterfactuals;
    let to = |verb: &str, mm: f64| format!("{verb} to {}", Quantity::Length.write(mm));
    let done = [
        ("clean".to_owned(), would.without_debris),
        ("without burrs".to_owned(), would.without_burrs),
        (to("rounded", would.rounded_diameter_mm), would.rounded),
        (to("widened", would.widened_diameter_mm), would.widened),
    ];
    let gains: Vec<String> = done
        .into_iter()
        .filter(|(_, loss)| verdict.loss - loss > NOTABLE)
        .map(|(what, loss)| format!("{what}, {}", percent(loss)))
        .collect();
    (!gains.is_empty()).then(|| gains.join("; "))
}

/// What no hole can help: what moves, and the plate's thickness in the middle of the film or all over
/// it, as the merit is taken.
fn camera_in_words(verdict: &Verdict) -> Option<String> {
    let ideal = &verdict.against_ideal;
    let costs = [("what moves", ideal.motion), ("the plate's thickness", ideal.thickness)];
    let said: Vec<String> = costs
        .into_iter()
        .filter(|(_, cost)| *cost > NOTABLE)
        .map(|(what, cost)| format!("{what} costs even the best hole {}", percent(cost)))
        .collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// What the plate's thickness does in the corners, where that is to be seen.
fn corner_in_words(verdict: &Verdict) -> Option<String> {
    let corner = verdict.corner.filter(|corner| (DARK..0.8).contains(&corner.open))?;
    Some(format!(
        "its thickness takes {} of the light and {} of the sharpness in the film's corners",
        percent(1.0 - corner.open),
        percent(corner.loss?)
    ))
}

const CAUTION: &str = "Take care: needles and sheet edges cut; old brass, tin and solder may hold lead, so sand \
                       wet and keep the dust off hands and food; wear eye protection; look at the hole \
                       against a lamp, never the Sun. Local rules and trained people come first.";

/// Whether hands are to do something.
fn asks_for_work(verdict: &Verdict) -> bool {
    verdict.action != Action::Stop || verdict.undecided.is_some()
}

fn heading(verdict: &Verdict) -> String {
    if let Some(undecided) = &verdict.undecided {
        let [one, other] =
            [verdict.action, undecided.other].map(|action| action.in_words().to_uppercase());
        return format!("BETWEEN {one} AND {other}: measure again with a finer scale.");
    }
    match verdict.action {
        Action::Stop if verdict.corner.is_some_and(|corner| corner.open < DARK) => {
            "STOP: more work on this hole gains nothing; its plate is too thick for the corners."
        }
        Action::Stop if verdict.loss <= GOOD_ENOUGH => "STOP: this hole is good enough.",
        Action::Stop => "STOP: it may be used as it is, and only a new hole would be better.",
        Action::Enlarge => "ENLARGE: one more careful pass, then measure again.",
        Action::Deburr if verdict.burrs == 0 => "CLEAN: take out what lies in it, measure again.",
        Action::Deburr if verdict.burrs == 1 => "DEBURR: take the burr off, then measure again.",
        Action::Deburr => "DEBURR: take the burrs off, then measure again.",
        Action::StartOver => "START OVER: a new hole will serve better than more work on this one.",
    }
    .into()
}
