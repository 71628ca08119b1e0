//! `foramen target`.

use super::output::{Output, wrapped};
use super::words::CameraWords;
use crate::error::Error;
use crate::quantity::{Quantity, significant};
use crate::task;
use crate::verdict::depth::Subject;
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
    text + "\n" + &wrapped("  ", &subject(&target.subject)) + "\n"
}

/// What becomes of the subject, and which others are as sharp.
fn subject(subject: &Subject) -> String {
    let length = |mm| Quantity::Length.write(mm);
    let depth = &subject.depth;
    let farthest = match depth.farthest_mm {
        f64::INFINITY => "infinity".into(),
        mm => length(mm),
    };
    let percent = 100.0 * depth.loss;
    if subject.distance_mm == f64::INFINITY {
        return format!(
            "Made for the horizon; subjects from {} to {farthest} are at most {percent:.0} % softer \
             than it.",
            length(depth.nearest_mm)
        );
    }
    let horizon = 100.0 * depth.horizon_loss;
    let horizon = match horizon {
        loss if loss >= 0.5 => format!("{loss:.0} % softer"),
        loss if loss <= -0.5 => format!("{:.0} % sharper", -loss),
        _ => "as sharp".into(),
    };
    format!(
        "Made for a subject at {}, {} of its size on the film, where the hole's shadow makes {} of \
         a point. With this hole, subjects from {} to {farthest} are at most {percent:.0} % softer \
         than it; the horizon is {horizon}.",
        length(subject.distance_mm),
        significant(subject.magnification, 3),
        length(subject.shadow_mm),
        length(depth.nearest_mm),
    )
}
