//! `foramen figure`.

use super::output::{Output, Progress, json_text};
use super::words::{CameraWords, HoleWords};
use crate::diagram::{self, Diagram, Format, Size};
use crate::error::Error;
use crate::figure::{self, Bench, FIGURES, Figure};
use crate::files::{self, Places};
use crate::plate::Ground;
use crate::task::document::{Document, FIGURE};
use crate::words;
use clap::ValueEnum;
use clap::builder::PossibleValuesParser;
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
    after_help = "Examples:\n  foramen figure                                     lists them\n  foramen figure airy --size slide --dark\n  foramen figure --all --camera camera.toml --hole hole.csv"
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
        let kinds: &[&str] = &["svg", "png", "pdf", "json"];
        kinds.iter().map(|kind| format!("{}.{kind}", figure.name)).collect()
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
        let named = self.hole.named()?;
        let invented = match named {
            Some(_) => String::new(),
            None => format!("  {} Name yours with --hole.\n", words::figure::INVENTED),
        };
        let is_own = named.is_some();
        let hole = named.map_or_else(figure::invented_hole, |hole| Ok(hole.outline))?;
        let bench = Bench { camera, hole, named: is_own };
        let format = Format {
            size: match self.size {
                SizeWord::Page => Size::Page,
                SizeWord::Slide => Size::Slide,
                SizeWord::Phone => Size::Phone,
            },
            ground: if self.dark { Ground::Dark } else { Ground::Light },
        };
        let progress = Progress::of(figures.len());
        let mut names = Vec::new();
        for figure in figures {
            progress.step(figure.name);
            let frames = figure.draw(&bench)?;
            let files = match frames.as_slice() {
                [figure] => {
                    vec![
                        ("svg", figure.svg(format)?.into_bytes()),
                        ("png", figure.png(format)?),
                        ("pdf", figure.pdf(format)?),
                    ]
                }
                frames => vec![("png", Diagram::animated(frames, format, FRAME_S)?)],
            };
            let mut files: Vec<(String, Vec<u8>)> = files
                .into_iter()
                .map(|(kind, bytes)| (format!("{}.{kind}", figure.name), bytes))
                .collect();
            if let Some((index, numbers)) =
                diagram::data(figure.name, &frames).filter(|_| self.data)
            {
                let index = json_text(&Document::of(FIGURE, index))?;
                files.push((format!("{}.json", figure.name), index.into_bytes()));
                files.extend(numbers);
            }
            names.extend(files.iter().map(|(name, _)| name.clone()));
            let files: Vec<_> =
                files.into_iter().map(|(name, bytes)| (self.out.join(name), bytes)).collect();
            files::write_folder(&self.out, &files)?;
        }
        drop(progress);
        output.say(&format!(
            "{invented}  Written to {}: {}\n",
            self.out.display(),
            names.join(", ")
        ))
    }
}
