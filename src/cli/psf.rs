//! `foramen psf`.

use super::output::Output;
use super::words::BenchWords;
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::geometry::{Outline, shapes};
use crate::plate::{FilmMaps, MapPanel, PointImage, PsfView, film_maps, point_image};
use crate::quantity::Quantity;
use crate::task::psf::{self, Answer};
use crate::verdict::film_map;
use crate::verdict::target::target;
use std::fmt::Write;
use std::path::PathBuf;

/// The point-spread function, MTF and encircled energy of a hole in a camera
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// Samples a side
    #[arg(long, value_name = "N")]
    size: Option<usize>,
    /// Distance between samples on the film, as in "1 um"
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pitch: Option<String>,
    /// Writes the samples as float64, energy fraction per mm²
    #[arg(long, value_name = "FILE.npy")]
    samples: Option<PathBuf>,
    /// Draws the PSF beside that of the best disc
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// Draws maps of sharpness, light and distance over the film
    #[arg(long, value_name = "FILE.png")]
    map: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(mut self, output: &mut Output) -> Result<(), Error> {
        let pitch_mm =
            self.pitch.as_deref().map(|words| Quantity::Length.read_positive(words)).transpose()?;
        let at_mm = self.bench.hole.take_film_place()?.unwrap_or([0.0, 0.0]);
        let (camera, hole) = self.bench.open()?;
        let request = psf::Request {
            camera: &camera,
            outline: &hole.outline,
            at_mm,
            size: self.size,
            pitch_mm,
        };
        let answer = psf::run(&request)?;
        if let Some(path) = &self.samples {
            files::write(path, &psf::npy(&answer.psf))?;
        }
        if let Some(path) = &self.out {
            let best_mm = target(&camera).diameter_mm;
            let best = shapes::disc(best_mm)?;
            let pitch_mm = Some(answer.pitch_um / 1000.0);
            let best = psf::run(&psf::Request {
                outline: &best,
                size: Some(answer.shape[0]),
                pitch_mm,
                ..request
            })?;
            files::write(path, &plate(&answer, &best, best_mm)?)?;
        }
        if let Some(path) = &self.map {
            files::write(path, &map(&camera, &hole.outline)?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&text(&answer))
    }
}

/// Maps over the film.
fn map(camera: &Camera, outline: &Outline) -> Result<Vec<u8>, Error> {
    let map = film_map::run(camera, outline)?;
    film_maps(&FilmMaps {
        panels: &[
            MapPanel {
                title: "Sharpness",
                values: &map.sharpness,
                write: |share| format!("{:.1} %", 100.0 * share),
            },
            MapPanel {
                title: "Light against the middle",
                values: &map.stops,
                write: |stops| {
                    // No minus before a rounded nought.
                    if stops.abs() < 0.05 { "0 stops".into() } else { format!("{stops:+.1} stops") }
                },
            },
            MapPanel {
                title: "Distance from the hole",
                values: &map.distance_mm,
                write: |mm| Quantity::Length.write(mm),
            },
        ],
        film_mm: [camera.film.width_mm, camera.film.height_mm],
        title: "What this hole does over the film",
        caption: "The sheet laid flat, looking from it out to the hole; its image stands upside down. \
                  Sharpness is what an eye sees in the print, as a share of a perfect image. Computed \
                  at each place from the hole as the ray there sees it.",
    })
}

/// The PSF beside that of the best disc.
pub(super) fn plate(this: &Answer, best: &Answer, best_mm: f64) -> Result<Vec<u8>, Error> {
    let [x, y] = this.place.at_mm.map(|mm| Quantity::Length.write(mm));
    let place = if this.place.at_mm == [0.0, 0.0] {
        "in the middle of the film".into()
    } else {
        format!("at ({x}, {y}) from the middle of the film, as it lies there")
    };
    let caption = format!(
        "Computed {place} from the hole's outline by the Fresnel diffraction integral, all wavelengths \
         added. Both maps share one scale."
    );
    let view = |answer, title| PsfView {
        density_per_mm2: answer,
        pitch_mm: this.pitch_um / 1000.0,
        title,
    };
    point_image(&PointImage {
        this: view(&this.psf.density, "This hole".to_owned()),
        best: view(
            &best.psf.density,
            format!("The best disc, {}", Quantity::Length.write(best_mm)),
        ),
        title: "What a point of light becomes on the film",
        caption: &caption,
    })
}

fn text(answer: &Answer) -> String {
    let mut text = format!("  f/{:.0}\n", answer.f_number);
    for circle in &answer.encircled_energy {
        let _ = writeln!(
            text,
            "  {:.0} % of the light falls in a circle of {}",
            100.0 * circle.fraction,
            Quantity::Length.write(circle.diameter_um / 1000.0)
        );
    }
    let _ = writeln!(
        text,
        "  Contrast falls to one half at {:.2} line pairs per mm on the film",
        answer.mtf50_lp_per_mm
    );
    let _ = writeln!(
        text,
        "  Grid: {} × {} samples of {}, holding {:.1} % of the light",
        answer.shape[0],
        answer.shape[1],
        Quantity::Length.write(answer.pitch_um / 1000.0),
        100.0 * answer.energy_fraction_on_grid
    );
    for warning in &answer.warnings {
        let _ = writeln!(text, "  Note: {warning}");
    }
    text
}
