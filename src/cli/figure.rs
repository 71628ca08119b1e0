//! `foramen figure`.

use super::output::{Output, Progress, json_text};
use super::words::{CameraWords, HoleWords};
use crate::camera::Camera;
use crate::diagram::{self, Diagram, Format, Size};
use crate::error::Error;
use crate::figure::{self, Bench, FIGURES, Figure};
use crate::files::{self, Places};
use crate::geometry::{Outline, shapes};
use crate::plate::Ground;
use crate::quantity::Quantity;
use crate::raster::{animation, gif};
use crate::task::document::{Document, FIGURE};
use crate::wave::{Distances, Light};
use crate::words;
use clap::ValueEnum;
use clap::builder::PossibleValuesParser;
use rayon::prelude::*;
use std::path::PathBuf;

/// How long a frame of a moving figure is shown, in s.
const FRAME_S: f64 = 0.3;

/// Where a figure is shown.
#[derive(Clone, Copy, ValueEnum)]
enum SizeWord {
    /// In a text: 1600 pixels wide
    Page,
    /// Before a class: 1920 x 1080 pixels
    Slide,
    /// In the hand: 1080 pixels wide, large letters
    Phone,
}

/// Draws teaching figures, by name or all of them, for this camera and this hole
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen figure                                     lists them\n  foramen figure airy --diameter \"0.1 mm\" --wavelength \"450 nm\" --size slide\n  foramen figure --all --camera camera.toml --hole hole.csv"
)]
pub(super) struct Words {
    /// Which figure; without a name they are listed
    #[arg(value_name = "NAME", hide_possible_values = true, value_parser = PossibleValuesParser::new(FIGURES.iter().map(|l| l.name)))]
    name: Option<String>,
    /// Draw every figure
    #[arg(long, conflicts_with = "name")]
    all: bool,
    #[command(flatten)]
    hole: HoleWords,
    #[command(flatten)]
    camera: CameraWords,
    /// A perfect disc of this diameter as the hole
    #[arg(long, value_name = "LENGTH", conflicts_with_all = ["hole", "demo"])]
    diameter: Option<String>,
    /// Light of one wavelength, as in "550 nm"
    #[arg(long, value_name = "LENGTH")]
    wavelength: Option<String>,
    /// From the hole to the film
    #[arg(long, value_name = "LENGTH")]
    film: Option<String>,
    /// From the hole to the subject
    #[arg(long, value_name = "LENGTH")]
    subject: Option<String>,
    /// Where it will be shown: page, slide or phone
    #[arg(long, value_enum, default_value_t = SizeWord::Page, hide_possible_values = true)]
    size: SizeWord,
    /// Draw on a dark ground
    #[arg(long)]
    dark: bool,
    /// Also write all numbers that are drawn: CSV, NPY and an index in JSON
    #[arg(long)]
    data: bool,
    /// Folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "foramen-figures")]
    out: PathBuf,
}

impl Words {
    /// The names of the files that a figure may have.
    fn names(&self, figure: &Figure) -> Vec<String> {
        let kinds: &[&str] = if figure.is_moving() {
            &[".png", ".gif", "-still.svg", "-still.png", "-still.pdf", ".json"]
        } else {
            &[".svg", ".png", ".pdf", ".json"]
        };
        kinds.iter().map(|kind| format!("{}{kind}", figure.name)).collect()
    }

    /// The camera and the hole with what was said of them in single words.
    fn bench(&self, camera: Camera, hole: Option<Outline>) -> Result<Bench, Error> {
        let read = |quantity: Quantity, words: &Option<String>| {
            words.as_deref().map(|words| quantity.read_positive(words)).transpose()
        };
        let diameter_mm = read(Quantity::Length, &self.diameter)?;
        let hole = match diameter_mm {
            Some(diameter_mm) => Some(shapes::disc(diameter_mm)?),
            None => hole,
        };
        let mut camera = camera;
        if let Some(nm) = read(Quantity::Wavelength, &self.wavelength)? {
            camera = Camera { light: Light::single(nm)?, in_colour: false, ..camera };
        }
        let film_mm = read(Quantity::Length, &self.film)?;
        let subject_mm = read(Quantity::Length, &self.subject)?;
        if film_mm.is_some() || subject_mm.is_some() {
            let now = camera.distances;
            let subject_mm = subject_mm.unwrap_or(now.subject_mm());
            camera.distances = Distances::new(subject_mm, film_mm.unwrap_or(now.film_mm()))?;
        }
        let named = hole.is_some();
        let hole = hole.map_or_else(figure::invented_hole, Ok)?;
        Ok(Bench { camera, hole, named, diameter_mm })
    }

    /// A figure's files: their names and their bytes.
    fn files(
        figure: &Figure,
        frames: &[Diagram],
        format: Format,
    ) -> Result<Vec<(String, Vec<u8>)>, Error> {
        let still = |diagram: &Diagram, name: &str| -> Result<Vec<(String, Vec<u8>)>, Error> {
            let (png, pdf) = rayon::join(|| diagram.png(format), || diagram.pdf(format));
            Ok(vec![
                (format!("{name}.svg"), diagram.svg(format)?.into_bytes()),
                (format!("{name}.png"), png?),
                (format!("{name}.pdf"), pdf?),
            ])
        };
        let name = figure.name;
        if let [only] = frames {
            return still(only, name);
        }
        let drawn = Diagram::frames(frames, format)?;
        let (png, gif) = rayon::join(|| animation(&drawn, FRAME_S), || gif(&drawn, FRAME_S));
        let mut files = vec![(format!("{name}.png"), png?), (format!("{name}.gif"), gif?)];
        // For paper, and for those who want nothing to move.
        files.extend(still(&frames[frames.len() / 2], &format!("{name}-still"))?);
        Ok(files)
    }

    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let figures: Vec<&Figure> = FIGURES
            .iter()
            .filter(|figure| self.all || self.name.as_deref() == Some(figure.name))
            .collect();
        if figures.is_empty() {
            return output
                .say(&format!("{}\nName one, or draw them with --all.\n", words::figure::text()));
        }
        let names: Vec<String> = figures.iter().flat_map(|figure| self.names(figure)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut places = Places::default().and_folder(&self.out, &names);
        let camera = self.camera.open(&mut places)?;
        places.read(self.hole.files());
        places.check()?;
        let hole = self.hole.named()?.map(|hole| hole.outline);
        let bench = self.bench(camera, hole)?;
        let invented = if bench.named {
            String::new()
        } else {
            format!("  {} Name yours with --hole.\n", words::figure::INVENTED)
        };
        let format = Format {
            size: match self.size {
                SizeWord::Page => Size::Page,
                SizeWord::Slide => Size::Slide,
                SizeWord::Phone => Size::Phone,
            },
            ground: if self.dark { Ground::Dark } else { Ground::Light },
        };
        let progress = Progress::of(figures.len());
        let drawn = |figure: &&Figure| {
            progress.step(figure.name);
            let frames = figure.draw(&bench)?;
            let mut files = Words::files(figure, &frames, format)?;
            let data = if self.data { diagram::data(figure.name, &frames) } else { None };
            if let Some((index, numbers)) = data {
                let index = json_text(&Document::of(FIGURE, index))?;
                files.push((format!("{}.json", figure.name), index.into_bytes()));
                files.extend(numbers);
            }
            Ok(files)
        };
        let drawn = figures.par_iter().map(drawn).collect::<Result<Vec<_>, Error>>()?;
        drop(progress);
        let mut names = Vec::new();
        for files in drawn {
            names.extend(files.iter().map(|(name, _)| name.clone()));
            let files: Vec<_> =
                files.into_iter().map(|(name, bytes)| (self.out.join(name), bytes)).collect();
            files::write_folder(&self.out, &files)?;
        }
        output.say(&format!(
            "{invented}  Written to {}: {}\n",
            self.out.display(),
            names.join(", ")
        ))
    }
}
