//! `foramen camera`.

use super::ask::{Asked, asked};
use super::next::Next;
use super::output::Output;
use crate::camera::{Camera, TEMPLATES, no_curves};
use crate::error::Error;
use crate::files;
use clap::builder::PossibleValuesParser;
use std::path::PathBuf;

/// Writes a camera file to start from
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen camera                                    a box, with every key explained\n  foramen camera --like tube --out biscuit-tube.toml\n  foramen camera --ask --out mine.toml              asks for each measure in turn"
)]
pub(super) struct Words {
    /// File to write; an existing file is left alone
    #[arg(long, value_name = "FILE.toml", default_value = "camera.toml")]
    out: PathBuf,
    /// box, tube (bent paper), tin (paper) or wide (bent film)
    #[arg(
        long,
        value_name = "KIND",
        default_value = "box",
        hide_possible_values = true,
        value_parser = PossibleValuesParser::new(TEMPLATES.map(|template| template.word))
    )]
    like: String,
    /// Ask for your camera's measures, one after the other
    #[arg(long, conflicts_with = "like")]
    ask: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        if self.out.exists() {
            return Err(Error::damaged(
                "is there already, and may hold somebody's camera",
                "give another name with --out",
            )
            .in_file(self.out.display()));
        }
        let template = TEMPLATES.iter().find(|template| template.word == self.like);
        let text = match template.filter(|_| !self.ask) {
            Some(template) => template.text.to_owned(),
            None => text_of(&asked(output)?),
        };
        // What is written can be read.
        Camera::parse(&text, &self.out.display().to_string(), &no_curves)?;
        files::write(&self.out, text.as_bytes())?;
        let next = Next::of("target").with("--camera", &self.out.display().to_string());
        let hint = if self.ask { "" } else { "  Change its numbers to yours.\n" };
        output.say(&format!("  Written: {}\n{hint}{next}", self.out.display()))
    }
}

/// The camera file of what was answered.
fn text_of(camera: &Asked) -> String {
    let bent = match &camera.radius {
        Some(radius) => format!("shape = \"cylinder\"\nradius = {radius:?}\n"),
        None => String::new(),
    };
    format!(
        "name = {:?}\n\n[film]\ndistance = {:?}\nwidth = {:?}\nheight = {:?}\n{bent}\n[plate]\nthickness = {:?}\n\n\
         [light]\nilluminant = \"daylight\"\nmedium = {:?}\n\n[emulsion]\n{} = {}\n",
        camera.name,
        camera.distance,
        camera.width,
        camera.height,
        camera.thickness,
        camera.medium,
        if camera.is_paper() { "paper-speed" } else { "speed" },
        camera.speed,
    )
}
