//! `foramen figure`.

use super::output::{Output, Progress, folder, write_file};
use super::words::{CameraWords, HoleWords};
use crate::error::Error;
use crate::figure::Ground;
use crate::figure::diagram::{Diagram, Format, Size};
use crate::lesson::{self, Bench, LESSONS, Lesson};
use clap::ValueEnum;
use clap::builder::PossibleValuesParser;
use std::path::PathBuf;

/// How long a frame of a moving figure is shown, in s.
const FRAME_S: f64 = 0.3;

const INVENTED: &str =
    "  The hole is an invented one with a coarse burr; name yours with --hole.\n";

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

/// Teaching figures, by name or all of them, for this camera and this hole
#[derive(clap::Args)]
pub(super) struct Words {
    /// Which figure; without a name and without --all they are listed
    #[arg(value_name = "NAME", value_parser = PossibleValuesParser::new(LESSONS.iter().map(|l| l.name)))]
    name: Option<String>,
    /// Every figure
    #[arg(long, conflicts_with = "name")]
    all: bool,
    #[command(flatten)]
    camera: CameraWords,
    #[command(flatten)]
    hole: HoleWords,
    /// Where it will be shown
    #[arg(long, value_enum, default_value_t = SizeWord::Page)]
    size: SizeWord,
    /// Drawn on dark ground
    #[arg(long)]
    dark: bool,
    /// Writes the numbers of its curves beside each figure, as CSV
    #[arg(long)]
    data: bool,
    /// The folder to write into
    #[arg(long, value_name = "FOLDER", default_value = "foramen-figures")]
    out: PathBuf,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let lessons: Vec<&Lesson> = LESSONS
            .iter()
            .filter(|lesson| self.all || self.name.as_deref() == Some(lesson.name))
            .collect();
        if lessons.is_empty() {
            return output.say(&list());
        }
        let named = self.hole.named()?;
        let invented = if named.is_some() { "" } else { INVENTED };
        let is_own = named.is_some();
        let hole = named.map_or_else(lesson::invented_hole, |hole| Ok(hole.outline))?;
        let bench = Bench { camera: self.camera.open()?, hole, named: is_own };
        let format = Format {
            size: match self.size {
                SizeWord::Page => Size::Page,
                SizeWord::Slide => Size::Slide,
                SizeWord::Phone => Size::Phone,
            },
            ground: if self.dark { Ground::Dark } else { Ground::Light },
        };
        let place = folder(&self.out)?;
        let progress = Progress::of(lessons.len());
        let mut names = Vec::new();
        for lesson in lessons {
            progress.step(lesson.name);
            let frames = lesson.draw(&bench)?;
            let mut files = match frames.as_slice() {
                [figure] => {
                    vec![("svg", figure.svg(format)?.into_bytes()), ("png", figure.png(format)?)]
                }
                frames => vec![("png", Diagram::animated(frames, format, FRAME_S)?)],
            };
            // The curves of a moving figure stay; only its mark moves.
            if let (true, Some(figure)) = (self.data, frames.first()) {
                files.push(("csv", figure.csv().into_bytes()));
            }
            for (kind, bytes) in files {
                let name = format!("{}.{kind}", lesson.name);
                write_file(&place.join(&name), &bytes)?;
                names.push(name);
            }
        }
        drop(progress);
        output.say(&format!("{invented}  Written to {}: {}\n", place.display(), names.join(", ")))
    }
}

fn list() -> String {
    let lines = LESSONS.iter().map(|lesson| format!("  {:<14} {}\n", lesson.name, lesson.about));
    let lines: String = lines.collect();
    format!("Figures:\n\n{lines}\nName one, or draw them with --all.\n")
}
