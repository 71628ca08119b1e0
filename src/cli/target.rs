//! `foramen target`.

use super::output::Output;
use super::words::CameraWords;
use crate::error::Error;
use crate::quantity::Quantity;
use crate::task;
use crate::verdict::target::Target;
use std::fmt::Write;

/// The diameter to aim for in this camera, and how far off still looks the same
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    camera: CameraWords,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let camera = self.camera.open()?;
        let target = task::target::run(&camera);
        if self.json {
            return output.json(&target);
        }
        output.say(&text(&camera.name, &target))
    }
}

fn text(camera: &str, target: &Target) -> String {
    let length = |mm| Quantity::Length.write(mm);
    let mut text = format!(
        "{camera}\n\n  Aim for {}   f/{:.0}   {:.1} diameters per mm under the loupe\n\n",
        length(target.diameter_mm),
        target.f_number,
        1.0 / target.diameter_mm
    );
    for band in &target.band {
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "  {:>9} to {:<9} loses at most {:.0} % of the sharpness",
            length(band.low_mm),
            length(band.high_mm),
            100.0 * band.loss
        );
    }
    let _ = write!(
        text,
        "\n  Judged by {}.\n  d = {:.3} √(λz) at the light's mean wavelength.\n",
        target.criterion, target.constant
    );
    text
}
