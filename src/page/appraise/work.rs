//! The parts of the main job that the page adds: what a form asks for, the files to keep, a look at a photo.

use crate::camera::Camera;
use crate::error::{Candidate, Error, Kind, Wanted};
use crate::hole::outline_file::{self, Form};
use crate::hole::{Hole, Scale, Traced, trace, trace_every};
use crate::page::bench;
use crate::page::received::Received;
use crate::picture::{Scene, View, film_pixels};
use crate::raster::{Raster, Transfer, decoded, memory_bytes};
use crate::report::{Plates, Report};
use crate::task;
use crate::task::appraise::{Answer, Judged, Request};
use crate::task::document::Document;
use crate::verdict::decision::hand::Hand;
use crate::verdict::target::best_disc;
use crate::watch::{Step, Watch};
use crate::words::{self, document::APPRAISE};
use std::f64::consts::PI;
use std::path::PathBuf;
use std::time::SystemTime;

/// A photo that takes longer to look at than anybody would wait for: two of a phone, in bytes of memory.
const LARGE: f64 = 24e6 * 21.0;
/// The longer side of the pictures, in pixels.
const LONGEST: usize = 1600;
/// A file to keep.
pub(super) struct File {
    pub(super) name: &'static str,
    pub(super) kind: &'static str,
    pub(super) bytes: Vec<u8>,
}

/// Whether a form brings a photo that will take long.
pub(super) fn is_large(form: &Received) -> bool {
    form.file("photo")
        .is_some_and(|photo| memory_bytes(&photo.bytes).is_some_and(|bytes| bytes > LARGE))
}

/// What a form asks for. The passes in the log, where there is one, tell how this maker's passes go.
pub(super) fn request(form: &Received, log: Option<&PathBuf>) -> Result<Request, Error> {
    let camera = bench::camera(form)?;
    let hole = bench::hole(form)?;
    let hand = hand(log, form.text("name"), &camera, &hole)?;
    Ok(Request { camera, hole, hand, again: false, others: Vec::new() })
}

fn hand(log: Option<&PathBuf>, name: &str, camera: &Camera, hole: &Hole) -> Result<Hand, Error> {
    let Some(path) = log.filter(|_| !name.is_empty()) else {
        return Ok(Hand::unknown());
    };
    let record = crate::files::log_to_add_to(path)?;
    let (mm, known_mm) = (hole.outline.equivalent_diameter_mm(), hole.diameter_uncertainty_mm());
    let best = (camera.name.as_str(), best_disc(camera).0);
    let name = record.name_given(name, best, mm, known_mm).map_err(|why| why.in_field("name"))?;
    Ok(task::log::hand(&record, &name, (mm, known_mm), None))
}

/// The built-in scene on the film of a camera.
pub(super) fn scene(camera: &Camera, watch: Watch) -> Result<Raster, Error> {
    watch.begins(Step::Scene)?;
    let (columns, rows) = film_pixels(camera, LONGEST);
    let view = View::of(camera, None, columns, rows)?;
    view.image_of(Scene::Landscape)
}

/// What can be kept.
pub(super) fn files(
    form: &Received,
    request: &Request,
    answer: &Answer,
    watch: Watch,
) -> Result<Vec<File>, Error> {
    let Request { camera, hole, .. } = request;
    let best_mm = answer.judged.target.diameter_mm;
    watch.is_at(Step::Files, 0.0)?;
    let outline = words::plates::outline(hole, &answer.judged.gauge)?;
    watch.is_at(Step::Files, 0.2)?;
    let psf = words::plates::point_image(&answer.psf, &answer.best_psf, best_mm)?;
    watch.is_at(Step::Files, 0.4)?;
    let best = (&answer.pictures.best_picture.picture, best_mm);
    let picture = words::plates::pictures(
        camera,
        &answer.pictures.picture.picture,
        best,
        None,
        answer.pictures.picture.orientation,
    )?;
    watch.is_at(Step::Files, 0.6)?;
    let invented = form.said("invented").is_some();
    let plates = Plates { outline: outline.as_deref(), psf: &psf, picture: &picture };
    let name = match (form.file("photo"), form.said("size")) {
        _ if invented => "the invented hole",
        (Some(file), _) => &file.name,
        (None, size) => size.unwrap_or("a hole"),
    };
    let date = &words::date(SystemTime::now());
    let report =
        Report { name, date, camera, hole: &hole.outline, answer, invented, plates }.html()?;
    let json =
        serde_json::to_string_pretty(&Document::of(APPRAISE, words::appraise::document(answer)))
            .map_err(|why| {
                Error::limit(format!("the answer cannot be written as JSON: {why}"), "start again")
            })?;
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
pub(super) fn entry(judged: &Judged, name: &str) -> Option<String> {
    let entry = task::log::entry(judged, name.to_owned(), None, SystemTime::now());
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
        || matches!(
            fault.wanted(),
            Some(Wanted::Scale | Wanted::HolePlace | Wanted::HolePlaceOrEvery)
        )
        || matches!(fault.kind(), Kind::NotThere | Kind::Damaged);
    let file = form.file("photo").filter(|_| asks)?;
    let picture = decoded(&file.bytes, Transfer::ByFile).ok()?;
    let scale = Scale::of_resolution_stated(picture.resolution.as_ref()).ok();
    Some(Looked {
        size_px: [picture.raster.columns(), picture.raster.rows()],
        candidates: candidates(&picture.raster),
        scale: scale.map(|scale| (scale.mean_mm_per_px(), scale.source)),
    })
}

/// The one hole, or all that could be meant.
fn candidates(raster: &Raster) -> Vec<Candidate> {
    let of = |traced: &Traced| {
        let area: f64 = traced.loops_px.iter().map(|points| shoelace(points).abs()).sum();
        Candidate { place_px: traced.centroid_px, diameter_px: (4.0 * area / PI).sqrt() }
    };
    match trace(raster, None) {
        Ok(traced) => vec![of(&traced)],
        Err(why) => match why.kind() {
            Kind::Undecided(candidates) if !candidates.is_empty() => candidates.clone(),
            _ => trace_every(raster).map_or_else(
                |_| Vec::new(),
                |sheet| {
                    sheet.holes.iter().filter_map(|(_, hole)| hole.as_ref().ok().map(of)).collect()
                },
            ),
        },
    }
}

/// The area of a loop, with the sign of its direction.
fn shoelace(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0
}
