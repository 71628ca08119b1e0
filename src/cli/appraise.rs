//! `foramen appraise`: the main job.

use super::output::{Output, Progress, json_text};
use super::words::{BenchWords, SceneWords};
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::hole::Hole;
use crate::picture::film_pixels;
use crate::quantity::Quantity;
use crate::record::{self, Record};
use crate::report::{self, Report};
use crate::task::appraise::{self, Answer};
use crate::task::{log, share_out};
use crate::verdict::hand::Hand;
use crate::verdict::target::best_disc;
use crate::watch::{Step, Watch};
use crate::words::terminal::wrapped;
use crate::words::{self, plates};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The longer side of the previews, in pixels.
const LONGEST: usize = 1600;
/// Steps of an appraisal that the bar counts.
const STEPS: usize = 10;

/// Measures a hole, computes its light and picture, and says whether to stop or go on
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen appraise --demo\n  foramen appraise --hole photo.jpg --scale \"412 px = 1 mm\" --camera camera.toml"
)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    scene: SceneWords,
    /// Rank several holes instead: the openings of one scan, or every --hole
    #[arg(long, conflicts_with_all = ["log", "scene", "at"])]
    every: bool,
    /// Decide at once: no pictures, and nothing is written but the answer
    #[arg(long, conflicts_with_all = ["every", "log", "scene", "report", "out"])]
    quick: bool,
    /// Add a line to this bench log, and learn from the passes in it
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Name of the hole in the log
    #[arg(long, value_name = "NAME", requires = "log")]
    name: Option<String>,
    /// Size that the last pass aimed at, as in "0.27 mm" [default: as advised]
    #[arg(long, value_name = "LENGTH", requires = "log")]
    aim: Option<String>,
    /// Folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "foramen-appraisal")]
    out: PathBuf,
    /// Also write one HTML file to read, print and keep
    #[arg(long, value_name = "FILE.html", conflicts_with = "every")]
    report: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        if self.every {
            return self.compare(output);
        }
        if self.quick {
            return self.quick(output);
        }
        let (camera, others, hole) = self.open()?;
        let logging = self.log.as_deref().map(|path| self.logging(path, &camera, &hole));
        let logging = logging.transpose()?;
        let hand = logging.as_ref().map_or_else(Hand::unknown, |logging| logging.hand);
        let again = logging.as_ref().is_some_and(Logging::is_measured_again);
        let request = appraise::Request { camera, hole, hand, again, others };
        let (columns, rows) = film_pixels(&request.camera, LONGEST);
        let progress = Progress::of(STEPS);
        let hear = |step, done| progress.hear(step, done);
        let watch = Watch::new(&hear);
        watch.begins(Step::Scene)?;
        let scene = self.scene.open(&request.camera, columns, rows)?;
        let answer = appraise::run(&request, &scene, watch)?;
        watch.begins(Step::Files)?;
        // Everything is drawn before the first file is written.
        let plates = Plates::of(&request, &answer)?;
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
            output.json(&words::appraise::document(&answer))?;
        } else {
            let mut text = if self.bench.hole.demo {
                format!("{}\n\n", words::appraise::INVENTED)
            } else {
                String::new()
            };
            text += &words::appraise::text(&request.camera, &answer);
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

    /// The camera, the other cameras that are named, and the hole.
    fn open(&self) -> Result<(Camera, Vec<Camera>, Hole), Error> {
        let mut others = self.bench.camera.open_each()?;
        let camera = others.remove(0);
        Ok((camera, others, self.bench.hole.open()?))
    }

    fn compare(&self, output: &mut Output) -> Result<(), Error> {
        let cameras = self.bench.camera.open_each()?;
        let holes = self.bench.hole.open_each()?;
        if cameras.len() > 1 {
            let answer = share_out::run(&cameras, &holes)?;
            return match self.json {
                true => output.json(&answer),
                false => output.say(&words::comparison::shared_out(&answer)),
            };
        }
        let camera = self.bench.camera.open()?;
        let answer = appraise::compare(&camera, &holes, &Hand::unknown(), Watch::nobody())?;
        if self.json {
            return output.json(&words::comparison::document(&answer));
        }
        output.say(&format!("{}{}", self.bench.hole.invented(), words::comparison::text(&answer)))
    }

    fn quick(&self, output: &mut Output) -> Result<(), Error> {
        let (camera, others, hole) = self.open()?;
        let hand = Hand::unknown();
        let request = appraise::Request { camera, hole, hand, again: false, others };
        let judged = appraise::judge(&request, Watch::nobody())?;
        if self.json {
            return output.json(&words::appraise::document_of(&judged));
        }
        let invented = if self.bench.hole.demo {
            format!("{}\n\n", words::appraise::INVENTED)
        } else {
            String::new()
        };
        let text = words::appraise::text_of(&request.camera, &judged, &[]);
        output.say(&format!("{invented}{text}"))
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
            Some(name) => {
                record.name_given(name, (&camera.name, best_disc(camera).0), mm, known_mm)?
            }
            None => record.name_of_unnamed(&camera.name, mm, known_mm)?,
        };
        let told_mm = self.aim.as_deref().map(|words| Quantity::Length.read_positive(words));
        let told_mm = told_mm.transpose()?;
        let hand = log::hand(&record, &name, (mm, known_mm), told_mm);
        let aim_mm = told_mm.or_else(|| record.last_of(&name).and_then(|last| last.next_aim_mm));
        Ok(Logging { path, record, name, hand, aim_mm })
    }
}

/// The log that an appraisal goes into.
struct Logging<'a> {
    path: &'a Path,
    record: Record,
    name: String,
    hand: Hand,
    /// What the pass before this measurement aimed at.
    aim_mm: Option<f64>,
}

impl Logging<'_> {
    fn is_measured_again(&self) -> bool {
        self.record.is_measured_again(&self.name)
    }

    fn add(&self, answer: &Answer) -> Result<(), Error> {
        let name = self.name.clone();
        record::append(self.path, &log::entry(&answer.judged, name, self.aim_mm, SystemTime::now()))
    }

    fn in_words(&self) -> String {
        let before = self.record.entries.iter().filter(|entry| entry.hole == self.name).count();
        let file = self.path.display().to_string();
        format!("  {}\n", words::log::logged(&file, &self.name, before + 1))
    }

    fn remark(&self, output: &mut Output) {
        for skipped in &self.record.skipped {
            output.remark(&wrapped("note: ", &words::log::skipped(skipped)));
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
    fn of(request: &appraise::Request, answer: &Answer) -> Result<Plates, Error> {
        let appraise::Request { camera, hole, .. } = request;
        let best_mm = answer.judged.target.diameter_mm;
        let best = (&answer.pictures.best_picture.picture, best_mm);
        Ok(Plates {
            outline: plates::outline(hole, &answer.judged.gauge)?,
            psf: plates::point_image(&answer.psf, &answer.best_psf, best_mm)?,
            picture: plates::pictures(
                camera,
                &answer.pictures.picture.picture,
                best,
                None,
                answer.pictures.picture.orientation,
            )?,
        })
    }

    fn report(
        &self,
        request: &appraise::Request,
        answer: &Answer,
        invented: bool,
    ) -> Result<String, Error> {
        Report {
            camera: &request.camera,
            hole: &request.hole.outline,
            answer,
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
            ("appraisal.json", json_text(&words::appraise::document(answer))?.into_bytes()),
        ];
        Ok(outline.into_iter().chain(others).collect())
    }
}
