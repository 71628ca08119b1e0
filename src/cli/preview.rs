//! `foramen preview`.

use super::output::{Output, Progress};
use super::words::{BenchWords, SceneWords};
use crate::camera::{Camera, Emulsion};
use crate::error::Error;
use crate::files::{self, Places};
use crate::geometry::{Outline, shapes};
use crate::picture::{Grain, Tone, film_pixels, perfect, seen};
use crate::raster::{self, Raster};
use crate::task::document;
use crate::task::preview::{self, Orientation, Prepared};
use crate::verdict::target::target;
use crate::watch::{Step, Watch};
use crate::words::{self, plates};
use clap::ValueEnum;
use std::path::PathBuf;

/// What a picture shows.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum ToneWord {
    /// The light on the film
    Light,
    /// A direct positive on the camera's emulsion
    Positive,
    /// The negative
    Negative,
}

/// How a picture is turned.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum OrientationWord {
    /// The right way round, as the scene
    Scene,
    /// As the film lies in the camera, looking from it out to the hole
    Camera,
    /// As a direct positive or a paper negative is held: left and right are changed
    Hand,
}

impl From<OrientationWord> for Orientation {
    fn from(word: OrientationWord) -> Orientation {
        match word {
            OrientationWord::Scene => Orientation::Scene,
            OrientationWord::Camera => Orientation::Camera,
            OrientationWord::Hand => Orientation::Hand,
        }
    }
}

/// Draws the picture that a hole takes of a scene
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen preview --hole \"0.34 mm\" --compare\n  foramen preview --hole hole.csv --camera camera.toml --scene chart"
)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    scene: SceneWords,
    /// Pixels along the film's longer side
    #[arg(long, value_name = "N", default_value_t = 1600, value_parser = clap::value_parser!(u16).range(16..=8192))]
    pixels: u16,
    /// Draw it beside the best disc's picture and a perfect image
    #[arg(long)]
    compare: bool,
    /// light (on the film), positive or negative
    #[arg(long, value_enum, default_value_t = ToneWord::Light, hide_possible_values = true)]
    tone: ToneWord,
    /// Way round: scene, camera or hand (mirrored)
    #[arg(long, value_enum, default_value_t = OrientationWord::Scene, hide_possible_values = true)]
    orientation: OrientationWord,
    /// Show the print as seen from its viewing distance
    #[arg(long, conflicts_with = "compare")]
    as_seen: bool,
    /// Picture to write
    #[arg(long, value_name = "FILE.png", default_value = "foramen-preview.png")]
    out: PathBuf,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let mut places = Places::writing([Some(self.out.as_path())]);
        places.read(self.scene.file());
        let (camera, hole) = self.bench.open(places)?;
        let (columns, rows) = film_pixels(&camera, usize::from(self.pixels));
        let pictures = if self.compare { 2 } else { 1 };
        let needed = preview::memory_bytes((columns, rows), pictures);
        let memory = self.bench.hole.memory()?;
        memory.allows(needed, |share| {
            let fitting = (f64::from(self.pixels) * share.sqrt()).floor();
            format!("draw it with --pixels {fitting}, or allow more with --memory")
        })?;
        let progress = Progress::of(2 + 2 * pictures);
        let hear = |step, done| progress.hear(step, done);
        let watch = Watch::new(&hear);
        // What cannot be drawn is refused before the scene is.
        let prepared = |outline: &Outline| Prepared::of(&camera, outline, [columns, rows], watch);
        let this = prepared(&hole.outline)?;
        watch.begins(Step::Scene)?;
        let image = self.scene.open(&camera, columns, rows, memory)?;
        let mut answer = this.picture(&camera, &image, watch)?;
        answer.orientation = self.orientation.into();
        let mut coarse = false;
        let file = if self.compare {
            let best_mm = target(&camera).diameter_mm;
            let best = prepared(&shapes::disc(best_mm)?)?.picture(&camera, &image, watch)?;
            watch.begins(Step::Files)?;
            let perfect = perfect(&camera, &image)?;
            let light = Raster { linear: std::mem::take(&mut answer.picture.linear) };
            let [this, best, perfect] = [light, best.picture, perfect]
                .map(|picture| self.toned(&camera, picture, answer.film_pixel_um / 1000.0));
            let turned = |picture: Raster| answer.orientation.of(picture);
            plates::pictures(
                &camera,
                &turned(this?),
                (&turned(best?), best_mm),
                Some(&turned(perfect?)),
                answer.orientation,
            )?
        } else {
            drop(image);
            watch.begins(Step::Files)?;
            let pixel_mm = answer.film_pixel_um / 1000.0;
            let light = Raster { linear: std::mem::take(&mut answer.picture.linear) };
            let mut picture = self.toned(&camera, light, pixel_mm)?;
            if self.as_seen {
                let print = seen(&picture, pixel_mm, &camera.print)?;
                coarse = print.film_is_coarser;
                picture = print.picture;
            }
            raster::png(&raster::display(&answer.orientation.of(picture))?)?
        };
        files::write(&self.out, &file)?;
        drop(progress);
        if coarse {
            output.remark(&format!(
                "{} Ask for more with --pixels.",
                words::preview::FILM_IS_COARSER
            ));
        }
        if self.json {
            return output.json(document::PREVIEW, &answer);
        }
        let text = words::preview::text(&answer);
        output.say(&format!("{text}  Written: {}\n", self.out.display()))
    }
}

impl Words {
    /// What the emulsion makes of the light, with its grain where the camera names one.
    fn toned(&self, camera: &Camera, light: Raster, pixel_mm: f64) -> Result<Raster, Error> {
        let Emulsion { gamma, densest, granularity, .. } = camera.emulsion;
        let tone = match self.tone {
            ToneWord::Light => return Ok(light),
            ToneWord::Positive => Tone::positive(0.0, densest, gamma)?,
            ToneWord::Negative => Tone::negative(0.0, densest, gamma)?,
        };
        let picture = tone.reflectance(light);
        Ok(match granularity {
            Some(granularity) => Grain::new(granularity)?.laid_on(picture, pixel_mm),
            None => picture,
        })
    }
}
