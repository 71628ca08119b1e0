//! `foramen prove`.

use super::output::Output;
use super::words::{CameraWords, HoleWords};
use crate::camera::Camera;
use crate::error::Error;
use crate::files::{self, Memory, Places};
use crate::geometry::Outline;
use crate::hole::{Scale, read_place};
use crate::proof::Scanner;
use crate::quantity::Quantity;
use crate::raster::Transfer;
use crate::record;
use crate::report;
use crate::task::{document, prove, prove_edge};
use crate::watch::Watch;
use crate::words;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Holds a picture of the chart against what the hole allows, and names what softened it
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen prove --camera box.toml --hole hole.csv --distance \"60 cm\" --picture scan.png --dpi 1200\n  foramen prove --hole \"0.34 mm\" --distance \"1 m\" --picture scan.tif --dpi 1200 --out proof.png"
)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    #[command(flatten)]
    camera: CameraWords,
    /// Scan of the picture of the chart
    #[arg(long, value_name = "FILE")]
    picture: PathBuf,
    /// Dots per inch of that scan [default: as the file states]
    #[arg(long, value_name = "DPI")]
    dpi: Option<String>,
    /// From the hole to the chart, as it was drawn for
    #[arg(long, value_name = "LENGTH")]
    distance: Option<String>,
    /// What the scanner blurs, as a standard deviation: "12 um"
    #[arg(long, value_name = "LENGTH")]
    scanner_blur: Option<String>,
    /// Or a scan of a sharp edge, same scanner and dpi: a razor blade's
    #[arg(long, value_name = "FILE", conflicts_with = "scanner_blur")]
    scanner_edge: Option<PathBuf>,
    /// One straight edge instead: "x,y px" in the picture; --at: on the film
    #[arg(long, value_name = "X,Y", conflicts_with_all = ["distance", "scanner_blur", "scanner_edge", "table", "out", "report", "log"])]
    edge: Option<String>,
    /// Add a line to this bench log
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Name of the hole in the log
    #[arg(long, value_name = "NAME", requires = "log")]
    name: Option<String>,
    /// Write the contrasts as a table
    #[arg(long, value_name = "FILE.csv")]
    table: Option<PathBuf>,
    /// Draw measured and predicted contrast at every place
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Write all of it as a page to read and print
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(mut self, output: &mut Output) -> Result<(), Error> {
        let at_mm = self.hole.take_film_place()?;
        let length = |words: &Option<String>| {
            words.as_deref().map(|words| Quantity::Length.read_positive(words)).transpose()
        };
        let (distance_mm, stated_mm) =
            (length(&self.distance)?, length(&self.scanner_blur)?.unwrap_or(0.0));
        let outputs = [&self.table, &self.out, &self.report].map(Option::as_deref);
        let mut places = Places::writing(outputs).and_log(self.log.as_deref());
        let camera = self.camera.open(&mut places)?;
        let pictures = [self.picture.clone()].into_iter().chain(self.scanner_edge.clone());
        places.read(self.hole.files().chain(pictures));
        places.check()?;
        // What is no log is found before the picture is measured.
        if let Some(log) = &self.log {
            output.wait_for(log);
            files::log_to_add_to(log)?;
        }
        let (hole, memory) = (self.hole.open()?, self.hole.memory()?);
        let picture = files::picture(&self.picture, Transfer::ByFile, memory)?;
        let in_picture = |why: Error| why.in_file(self.picture.display());
        let scale = match &self.dpi {
            Some(dpi) => Scale::read(&format!("{dpi} dpi"))?,
            None => Scale::of_resolution_stated(picture.resolution.as_ref()).map_err(in_picture)?,
        };
        let (hole, picture) = (hole.outline, picture.raster);
        if let Some(words) = &self.edge {
            let (edge_px, at_mm) = (read_place(words)?, at_mm.unwrap_or([0.0, 0.0]));
            let request = prove_edge::Request { camera, hole, picture, scale, edge_px, at_mm };
            let answer = prove_edge::run(&request, Watch::nobody()).map_err(in_picture)?;
            return if self.json {
                output.json(document::PROVE_EDGE, &answer)
            } else {
                output.say(&words::prove_edge::text(&answer))
            };
        }
        let Some(distance_mm) = distance_mm else {
            return Err(Error::not_understood(
                "the distance from the hole to the chart is missing",
                "give it with --distance, or measure a single edge with --edge",
            ));
        };
        let scanner = match &self.scanner_edge {
            Some(path) => scanner(path, &camera, &hole, distance_mm, &scale, memory)?,
            None => Scanner::stated(stated_mm),
        };
        let film_mm = [camera.film.width_mm, camera.film.height_mm];
        let request = prove::Request { camera, hole, distance_mm, picture, scale, scanner };
        let answer = prove::run(&request, Watch::nobody()).map_err(in_picture)?;
        let mut files = Vec::new();
        if let Some(path) = &self.table {
            files.push((path, words::prove::csv(&answer).into_bytes()));
        }
        if let Some(path) = &self.out {
            files.push((path, words::proof_plate::png(&answer, film_mm)?));
        }
        let now = SystemTime::now();
        if let Some(path) = &self.report {
            let name = self.name.as_deref().unwrap_or("The hole");
            let html = report::proof(&answer, name, &words::date(now), film_mm)?;
            files.push((path, html.into_bytes()));
        }
        let name = self.name.as_deref().unwrap_or("hole 1");
        files::write_together_and(&files, || {
            let proof = |log| record::append_proof(log, &answer.logged(name.into(), now));
            self.log.as_ref().map_or(Ok(()), |log| proof(log))
        })?;
        let mut text = words::prove::text(&answer);
        for path in [&self.out, &self.report].into_iter().flatten() {
            text += &format!("\n  Written to {}\n", path.display());
        }
        if let Some(log) = &self.log {
            text += &format!("  {}\n", words::log::proof_logged(&log.display().to_string(), name));
        }
        if self.json { output.json(document::PROVE, &answer) } else { output.say(&text) }
    }
}

/// How far the dots per inch that the edge's file states may be from the picture's, over them.
const AS_FINE: f64 = 0.01;

/// What the scanner blurs, by the scan of an edge, which must be as fine as the picture's.
fn scanner(
    path: &Path,
    camera: &Camera,
    hole: &Outline,
    distance_mm: f64,
    scale: &Scale,
    memory: Memory,
) -> Result<Scanner, Error> {
    let in_edge = |why: Error| why.in_file(path.display());
    let edge = files::picture(path, Transfer::ByFile, memory)?;
    if let Ok(own) = Scale::of_resolution_stated(edge.resolution.as_ref()) {
        let [own, picture] = [&own, scale].map(|scale| 25.4 / scale.mean_mm_per_px());
        if (own / picture).ln().abs() > AS_FINE {
            let wrong =
                format!("was scanned at {own:.0} dots per inch and the picture at {picture:.0}");
            return Err(in_edge(Error::damaged(wrong, "scan the edge as the picture was scanned")));
        }
    }
    prove::scanner(camera, hole, distance_mm, &edge.raster, scale).map_err(in_edge)
}
