//! `foramen psf`.

use super::next::Next;
use super::output::Output;
use super::words::BenchWords;
use crate::error::Error;
use crate::files::{self, Places};
use crate::geometry::shapes;
use crate::quantity::Quantity;
use crate::task::psf_stack::{self, Members};
use crate::task::{document, psf, psf_memory};
use crate::verdict::merit::film_map;
use crate::verdict::target::target;
use crate::watch::Watch;
use crate::words::{self, plates};
use std::path::PathBuf;

/// Computes the point-spread function (PSF), MTF and encircled energy of a hole
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen psf --hole \"0.34 mm\" --out psf.png\n  foramen psf --hole hole.csv --at \"12 mm, -5 mm\"     at a place on the film, from its middle"
)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// Samples along each side of the grid [default: 256]
    #[arg(long, value_name = "N")]
    size: Option<usize>,
    /// Distance between samples on the film, as in "1 um" [default: to fit]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pitch: Option<String>,
    /// Write the samples as float64: fraction of the energy per mm²
    #[arg(long, value_name = "FILE.npy")]
    samples: Option<PathBuf>,
    /// A stack instead, over distance or wavelength: "60 mm to 200 mm"
    #[arg(long, value_name = "RANGE", requires = "samples", conflicts_with_all = ["at", "otf", "field", "out", "map"])]
    stack: Option<String>,
    /// Members of the stack
    #[arg(long, value_name = "N", default_value_t = 16, requires = "stack")]
    count: usize,
    /// Write the complex OTF and its axes (complex128)
    #[arg(long, value_name = "FILE.npy")]
    otf: Option<PathBuf>,
    /// Write the complex field of each wavelength (complex128)
    #[arg(long, value_name = "FILE.npy")]
    field: Option<PathBuf>,
    /// Draw the PSF beside that of the best disc
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Draw maps of sharpness, light and distance over the film
    #[arg(long, value_name = "FILE.png")]
    map: Option<PathBuf>,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

/// What to do besides asking for less.
const MORE: &str = "allow more with --memory";

/// Samples a side that fit into a share of the memory that so many need.
fn smaller(size: Option<usize>, share: f64) -> usize {
    (size.unwrap_or(psf::DEFAULT_SIZE) as f64 * share.sqrt()).max(1.0) as usize
}

impl Words {
    pub(super) fn run(mut self, output: &mut Output) -> Result<(), Error> {
        let pitch_mm =
            self.pitch.as_deref().map(|words| Quantity::Length.read_positive(words)).transpose()?;
        let at_mm = self.bench.hole.take_film_place()?.unwrap_or([0.0, 0.0]);
        let written = [&self.samples, &self.otf, &self.field, &self.out, &self.map];
        let places = Places::writing(written.map(Option::as_deref));
        let memory = self.bench.hole.memory()?;
        let (camera, hole) = self.bench.open(places)?;
        if let (Some(range), Some(path)) = (&self.stack, &self.samples) {
            let members = Members::read(range, self.count)?;
            let (outline, size) = (hole.outline, self.size);
            let request = psf_stack::Request { camera, outline, members, size, pitch_mm };
            memory.allows(psf_memory::of_stack(&request)?, |share| {
                format!("ask for --size {} or fewer members, or {MORE}", smaller(size, share))
            })?;
            let answer = psf_stack::run(&request, Watch::nobody())?;
            files::write(path, &psf_stack::samples_npy(&answer))?;
            return match self.json {
                true => output.json(document::STACK, &answer),
                false => output.say(&words::psf::stack(&answer, &path.display().to_string())),
            };
        }
        let (outline, size) = (hole.outline, self.size);
        let request = psf::Request { camera, outline, at_mm, size, pitch_mm };
        let files = psf_memory::Files {
            samples: self.samples.is_some(),
            fields: self.field.is_some(),
            drawing: self.out.is_some(),
        };
        memory.allows(psf_memory::of_psf(&request, files)?, |share| {
            format!("ask for --size {}, or {MORE}", smaller(size, share))
        })?;
        let answer = psf::run(&request, Watch::nobody())?;
        let mut files = Vec::new();
        if let Some(path) = &self.samples {
            files.push((path, psf::samples_npy(&answer.psf)));
        }
        if let Some(path) = &self.otf {
            files.push((path, psf::otf_npy(&request, Watch::nobody())?));
        }
        if let Some(path) = &self.field {
            files.push((path, psf::field_npy(&request, &answer, Watch::nobody())?));
        }
        if let Some(path) = &self.out {
            let best_mm = target(&request.camera).diameter_mm;
            let of_best = psf::Request {
                outline: shapes::disc(best_mm)?,
                size: Some(answer.shape[0]),
                pitch_mm: Some(answer.pitch_um / 1000.0),
                ..request.clone()
            };
            let best = psf::run(&of_best, Watch::nobody())?;
            files.push((path, plates::point_image(&answer, &best, best_mm)?));
        }
        if let Some(path) = &self.map {
            let map = film_map::run(&request.camera, &request.outline, Watch::nobody())?;
            files.push((path, plates::film_maps(&request.camera, &map)?));
        }
        files::write_together(&files)?;
        if self.json {
            return output.json(document::PSF, &answer);
        }
        let next =
            Next::of("preview").and(&self.bench.hole.again()).and(&self.bench.camera.again());
        output.say(&format!("{}\n{next}", words::psf::text(&answer)))
    }
}
