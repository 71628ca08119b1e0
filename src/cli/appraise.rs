//! `foramen appraise`: the main job.

use super::logging::{LogWords, Logging};
use super::next::{Next, quoted};
use super::open::open;
use super::output::{Output, Progress, json_text};
use super::words::{BenchWords, SceneWords};
use crate::error::Error;
use crate::files::{self, Places};
use crate::picture::film_pixels;
use crate::report::{self, Report};
use crate::task::appraise::{self, Answer};
use crate::task::document::{Document, SHARED_OUT};
use crate::task::{preview, share_out};
use crate::verdict::decision::hand::Hand;
use crate::watch::{Step, Watch};
use crate::words::{self, document, plates};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The longer side of the previews, in pixels.
const LONGEST: usize = 1600;
/// The files of an appraisal's folder.
const NAMES: [&str; 4] = [OUTLINE, PSF, PREVIEW, ANSWER];
const OUTLINE: &str = "outline.png";
const PSF: &str = "psf.png";
const PREVIEW: &str = "preview.png";
const ANSWER: &str = "appraisal.json";
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
    #[command(flatten)]
    log: LogWords,
    /// Folder; with --log, one in it for each pass
    #[arg(long, value_name = "FOLDER", default_value = "foramen-appraisal")]
    out: PathBuf,
    /// Also write one HTML file; into a folder, named by hole and date
    #[arg(long, value_name = "FILE.html", conflicts_with = "every")]
    report: Option<PathBuf>,
    /// Show the report, or else the picture, when it is written
    #[arg(long, conflicts_with_all = ["every", "quick"])]
    open: bool,
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
        let mut places =
            self.places(&self.out, self.report.as_deref().filter(|path| !is_folder(path)));
        places.read(self.scene.file());
        self.log.wait(output);
        // What is no log is found before the photo is measured.
        let record = self.log.record()?;
        let (camera, others, hole) = self.bench.open_with_others(places)?;
        let logging = self.log.open(record, &camera, &hole)?;
        let named = Named {
            hole: logging.as_ref().map_or_else(|| self.bench.hole.name(), |log| log.name.clone()),
            date: words::date(SystemTime::now()),
        };
        let place = match &logging {
            Some(logging) => self.out.join(files::name_of(&logging.pass())),
            None => self.out.clone(),
        };
        let report_path = self.report.as_ref().map(|path| report_path(path, &named, &camera.name));
        // Names that follow from the hole are known only now.
        self.places(&place, report_path.as_deref()).check()?;
        let hand = logging.as_ref().map_or_else(Hand::unknown, |logging| logging.hand);
        let again = logging.as_ref().is_some_and(Logging::is_measured_again);
        let request = appraise::Request { camera, hole, hand, again, others };
        let (columns, rows) = film_pixels(&request.camera, LONGEST);
        let memory = self.bench.hole.memory()?;
        memory.allows(preview::memory_bytes((columns, rows), 2), |_| {
            "decide without pictures with --quick, or allow more with --memory".into()
        })?;
        let progress = Progress::of(STEPS);
        let hear = |step, done| progress.hear(step, done);
        let watch = Watch::new(&hear);
        let scene = || {
            watch.begins(Step::Scene)?;
            self.scene.open(&request.camera, columns, rows, memory)
        };
        let answer = appraise::run(&request, scene, watch)?;
        watch.begins(Step::Files)?;
        // Everything is drawn before the first file is written.
        let plates = Plates::of(&request, &answer)?;
        let report = match &report_path {
            Some(path) => {
                let html = plates.report(&request, &answer, self.bench.hole.demo, &named)?;
                Some((path.clone(), html.into_bytes()))
            }
            None => None,
        };
        let (names, mut files): (Vec<_>, Vec<_>) = plates
            .files(&answer)?
            .into_iter()
            .map(|(name, bytes)| (name, (place.join(name), bytes)))
            .unzip();
        files.extend(report);
        drop(progress);
        self.log.wait(output);
        // Both or neither; what ends the program between them leaves the files, and the same call makes both.
        let written = files::write_folder_and(&place, &files, || {
            logging.as_ref().map_or(Ok(()), |logging| logging.add(&answer))
        });
        if self.json {
            output.json(document::APPRAISE, &words::appraise::document(&answer))?;
        } else {
            let mut text = if self.bench.hole.demo {
                format!("{}\n\n", words::appraise::INVENTED)
            } else {
                String::new()
            };
            text += &words::appraise::text(&request.camera, &answer);
            logging.iter().for_each(|logging| logging.remark(output));
            if written.is_ok() {
                text += &format!("\n  Written to {}: {}\n", place.display(), names.join(", "));
                if let Some(path) = &report_path {
                    text += &format!("  The report: {}\n", path.display());
                }
                text += &logging.as_ref().map_or_else(String::new, Logging::in_words);
                text += &self.next(logging.as_ref()).to_string();
            }
            output.say(&text)?;
        }
        if self.open && written.is_ok() {
            let shown = report_path.unwrap_or_else(|| place.join(PREVIEW));
            open(&shown.display().to_string());
        }
        written
    }

    /// What will be written: the plates into a folder, and the report.
    fn places(&self, folder: &Path, report: Option<&Path>) -> Places {
        Places::writing([report]).and_folder(folder, &NAMES).and_log(self.log.path())
    }

    /// What to type next: the hole's history, or the same with a log that learns.
    fn next(&self, logging: Option<&Logging>) -> Next {
        match logging {
            Some(logging) => Next::of("log")
                .and(&[quoted(&logging.path.display().to_string())])
                .with("--hole", &logging.name),
            None => Next::of("preview")
                .and(&self.bench.hole.again())
                .and(&self.bench.camera.again())
                .and(&["--compare".into()]),
        }
    }

    fn compare(&self, output: &mut Output) -> Result<(), Error> {
        let cameras = self.bench.camera.open_each(&mut Places::default())?;
        let holes = self.bench.hole.open_each()?;
        if cameras.len() > 1 {
            let request = share_out::Request { cameras, holes };
            let answer = share_out::run(&request, Watch::nobody())?;
            return match self.json {
                true => output.json(SHARED_OUT, &answer),
                false => output.say(&words::comparison::shared_out(&answer)),
            };
        }
        let camera = self.bench.camera.open(&mut Places::default())?;
        let answer = appraise::compare(&camera, &holes, &Hand::unknown(), Watch::nobody())?;
        if self.json {
            return output.json(document::COMPARISON, &words::comparison::document(&answer));
        }
        output.say(&format!("{}{}", self.bench.hole.invented(), words::comparison::text(&answer)))
    }

    fn quick(&self, output: &mut Output) -> Result<(), Error> {
        let (camera, others, hole) = self.bench.open_with_others(Places::default())?;
        let hand = Hand::unknown();
        let request = appraise::Request { camera, hole, hand, again: false, others };
        let judged = appraise::judge(&request, Watch::nobody())?;
        if self.json {
            return output.json(document::APPRAISE, &words::appraise::document_of(&judged));
        }
        let invented = if self.bench.hole.demo {
            format!("{}\n\n", words::appraise::INVENTED)
        } else {
            String::new()
        };
        let text = words::appraise::text_of(&request.camera, &judged, &[]);
        output.say(&format!("{invented}{text}"))
    }
}

/// What an appraisal is known by.
struct Named {
    hole: String,
    date: String,
}

fn is_folder(said: &Path) -> bool {
    said.is_dir() || said.as_os_str().to_string_lossy().ends_with(['/', '\\'])
}

/// Where the report goes: into a folder under its own name.
fn report_path(said: &Path, named: &Named, camera: &str) -> PathBuf {
    if !is_folder(said) {
        return said.to_path_buf();
    }
    let name = files::name_of(&format!("{} {camera} {}", named.hole, named.date));
    said.join(format!("{name}.html"))
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
        let own = &answer.pictures.picture;
        let picture = || plates::pictures(camera, &own.picture, best, None, own.orientation);
        let outline = || plates::outline(hole, &answer.judged.gauge);
        let psf = || plates::point_image(&answer.psf, &answer.best_psf, best_mm);
        let (picture, (outline, psf)) = rayon::join(picture, || rayon::join(outline, psf));
        Ok(Plates { outline: outline?, psf: psf?, picture: picture? })
    }

    fn report(
        &self,
        request: &appraise::Request,
        answer: &Answer,
        invented: bool,
        named: &Named,
    ) -> Result<String, Error> {
        Report {
            name: &named.hole,
            date: &named.date,
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
        let outline = self.outline.map(|plate| (OUTLINE, plate));
        let document = Document::of(document::APPRAISE, words::appraise::document(answer));
        let others = [
            (PSF, self.psf),
            (PREVIEW, self.picture),
            (ANSWER, json_text(&document)?.into_bytes()),
        ];
        Ok(outline.into_iter().chain(others).collect())
    }
}
