//! The main job in stages: the verdict first, then the image of a point, then the pictures, then the files.

use crate::camera::Camera;
use crate::error::{Candidate, Error, Kind, Wanted};
use crate::geometry::shapes;
use crate::hole::outline_file::{self, Form};
use crate::hole::{Hole, Scale, trace};
use crate::page::bench;
use crate::page::pool::Watcher;
use crate::page::received::Received;
use crate::picture::{Scene, View, film_pixels};
use crate::raster::{Raster, Transfer, decoded};
use crate::record::Record;
use crate::report::{Plates, Report};
use crate::task::appraise::Answer;
use crate::task::{expose, gauge, log, preview, psf};
use crate::verdict::advice::{Verdict, verdict};
use crate::verdict::growth::Growth;
use crate::verdict::setting::Reference;
use crate::words;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The longer side of the pictures, in pixels.
const LONGEST: usize = 1600;
const MIDDLE: [f64; 2] = [0.0, 0.0];

/// What is known first: enough for the verdict.
pub(super) struct Judged {
    pub(super) camera: Camera,
    pub(super) hole: Hole,
    pub(super) gauge: gauge::Answer,
    pub(super) reference: Reference,
    pub(super) verdict: Verdict,
}

/// The light of a point through this hole and through the best.
pub(super) struct Light {
    pub(super) own: psf::Answer,
    pub(super) best: psf::Answer,
}

/// A file to keep.
pub(super) struct File {
    pub(super) name: &'static str,
    pub(super) kind: &'static str,
    pub(super) bytes: Vec<u8>,
}

/// Goes on only while somebody waits.
fn wanted(watcher: &Watcher) -> Result<(), Error> {
    if watcher.stops() { Err(Error::stopped()) } else { Ok(()) }
}

/// The log that a form's hole belongs to, and the name it has there.
pub(super) fn growth(log: Option<&PathBuf>, name: &str, hole: &Hole) -> Result<Growth, Error> {
    let Some(path) = log.filter(|path| path.exists() && !name.is_empty()) else { return Ok(Growth::stated()) };
    let record = crate::files::log(path)?;
    let name = Record::name_given(name)?;
    let mm = hole.outline.equivalent_diameter_mm();
    Ok(log::growth(&record, &name, mm, hole.diameter_uncertainty_mm()))
}

/// The first stage.
pub(super) fn judge(form: &Received, log: Option<&PathBuf>, watcher: &Watcher) -> Result<Judged, Error> {
    let camera = bench::camera(form)?;
    let hole = bench::hole(form)?;
    wanted(watcher)?;
    let gauge = gauge::run(&hole, None)?;
    let growth = growth(log, form.text("name"), &hole)?;
    let reference = Reference::of(&camera);
    wanted(watcher)?;
    let known_mm = gauge.hole.equivalent_diameter_uncertainty_mm;
    let verdict = verdict(&camera, &reference, &hole.outline, known_mm, &growth)?;
    wanted(watcher)?;
    Ok(Judged { camera, hole, gauge, reference, verdict })
}

/// The second stage.
pub(super) fn light(judged: &Judged, watcher: &Watcher) -> Result<Light, Error> {
    let best = shapes::disc(judged.reference.target.diameter_mm)?;
    let of = |outline, pitch_mm| {
        psf::run(&psf::Request { camera: &judged.camera, outline, at_mm: MIDDLE, size: None, pitch_mm })
    };
    let own = of(&judged.hole.outline, None)?;
    wanted(watcher)?;
    let best = of(&best, Some(own.pitch_um / 1000.0))?;
    wanted(watcher)?;
    Ok(Light { own, best })
}

/// The third stage: everything that the command line answers.
pub(super) fn answer(judged: &Judged, light: Light, watcher: &Watcher) -> Result<Answer, Error> {
    let Judged { camera, hole, gauge, reference, verdict } = judged;
    let (columns, rows) = film_pixels(camera, LONGEST);
    let view = View::of(camera, None, columns, rows)?;
    let (wide, high) = view.scene_pixels();
    let scene = view.image(Scene::Landscape.drawn(wide, high)?)?;
    wanted(watcher)?;
    let best = shapes::disc(reference.target.diameter_mm)?;
    let picture = |outline, image: &Raster| preview::run(camera, outline, image, &|_| {});
    let own = picture(&hole.outline, &scene)?;
    wanted(watcher)?;
    let best_picture = picture(&best, &scene)?;
    wanted(watcher)?;
    Ok(Answer {
        camera: camera.name.clone(),
        exposure: expose::run(camera, hole)?,
        picture: own,
        best_picture,
        gauge: gauge.clone(),
        psf: light.own,
        best_psf: light.best,
        target: reference.target.clone(),
        verdict: verdict.clone(),
    })
}

/// The last stage: what can be kept.
pub(super) fn files(form: &Received, judged: &Judged, answer: &Answer, watcher: &Watcher) -> Result<Vec<File>, Error> {
    let Judged { camera, hole, .. } = judged;
    let best_mm = answer.target.diameter_mm;
    let outline = words::plates::outline(hole, &answer.gauge)?;
    wanted(watcher)?;
    let psf = words::plates::point_image(&answer.psf, &answer.best_psf, best_mm)?;
    wanted(watcher)?;
    let best = (&answer.best_picture.picture, best_mm);
    let picture = words::plates::pictures(camera, &answer.picture.picture, best, None)?;
    wanted(watcher)?;
    let plates = Plates { outline: outline.as_deref(), psf: &psf, picture: &picture };
    let report = Report { camera, hole: &hole.outline, answer, invented: false, plates }.html()?;
    let json = serde_json::to_string_pretty(answer)
        .map_err(|why| Error::limit(format!("the answer cannot be written as JSON: {why}"), "start again"))?;
    let text = |form| outline_file::text(&hole.outline, form).into_bytes();
    let file = |name, kind, bytes| File { name, kind, bytes };
    let mut files = vec![
        file("report.html", "text/html", report.into_bytes()),
        file("outline.csv", "text/csv", text(Form::Csv)),
        file("outline.svg", "image/svg+xml", text(Form::Svg)),
        file("camera.toml", "text/plain", bench::camera_text(form)?.into_bytes()),
        file("appraisal.json", "application/json", json.into_bytes()),
        file("psf.png", "image/png", psf),
        file("preview.png", "image/png", picture),
    ];
    files.extend(outline.map(|bytes| file("outline.png", "image/png", bytes)));
    Ok(files)
}

/// The line of the log for an answer, as it will be read back.
pub(super) fn entry(answer: &Answer, name: &str) -> Option<String> {
    let entry = log::entry(answer, name.to_owned(), SystemTime::now());
    serde_json::to_string(&entry).ok()
}

/// What there is to choose from in a photo, when it cannot be appraised as it came.
pub(super) struct Looked {
    pub(super) size_px: [usize; 2],
    pub(super) candidates: Vec<Candidate>,
    /// Millimetres to a pixel, and where that comes from, where the file states it or a rule was read.
    pub(super) scale: Option<(f64, String)>,
}

/// Looks at a photo, where the fault is one that pointing can settle.
pub(super) fn look(form: &Received, fault: &Error) -> Option<Looked> {
    let asks = matches!(fault.kind(), Kind::Undecided(_))
        || matches!(fault.wanted(), Some(Wanted::Scale | Wanted::HolePlace | Wanted::HolePlaceOrEvery))
        || matches!(fault.kind(), Kind::NotThere | Kind::Damaged);
    let file = form.file("photo").filter(|_| asks)?;
    let picture = decoded(&file.bytes, Transfer::ByFile).ok()?;
    let scale = Scale::of_resolution_stated(picture.resolution.as_ref()).ok();
    Some(Looked {
        size_px: [picture.raster.columns(), picture.raster.rows()],
        candidates: candidates(&picture.raster, &file.name),
        scale: scale.map(|scale| (scale.mean_mm_per_px(), scale.source)),
    })
}

fn candidates(raster: &Raster, name: &str) -> Vec<Candidate> {
    match trace(raster, None, Path::new(name)) {
        Ok(traced) => {
            let area: f64 = traced.loops_px.iter().map(|points| shoelace(points)).map(f64::abs).sum();
            vec![Candidate { place_px: traced.centroid_px, diameter_px: (4.0 * area / std::f64::consts::PI).sqrt() }]
        }
        Err(why) => match why.kind() {
            Kind::Undecided(candidates) => candidates.clone(),
            _ => Vec::new(),
        },
    }
}

/// The area of a loop, with the sign of its direction.
fn shoelace(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0
}
