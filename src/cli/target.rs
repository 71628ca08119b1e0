//! `foramen target`.

use super::output::{Output, wrapped};
use super::words::CameraWords;
use crate::error::Error;
use crate::quantity::{Quantity, significant};
use crate::task;
use crate::verdict::criterion::Criterion;
use crate::verdict::depth::Subject;
use crate::verdict::published::WHY_THEY_DIFFER;
use crate::verdict::stock::Kind;
use crate::verdict::target::{Fit, Target};
use crate::words::verdict::count;
use clap::ValueEnum;
use std::fmt::Write;

/// The diameter to aim for in this camera, and how far off still looks the same
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    camera: CameraWords,
    /// What is to be best
    #[arg(long, value_enum, default_value_t = CriterionWord::Eye)]
    criterion: CriterionWord,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

/// What is to be best.
#[derive(Clone, Copy, ValueEnum)]
enum CriterionWord {
    /// What an eye can tell of the print, over the sheet
    Eye,
    /// The MTF weighted as in IEEE 1858, over the sheet
    Acutance,
    /// The line pairs per mm at which the MTF falls to 20 %, mid film
    Resolution,
    /// The circle that holds 80 % of the light of a point, mid film
    Encircled,
    /// The peak of the image of a point, for the light in it, mid film
    Peak,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let camera = self.camera.open()?;
        let criterion = match self.criterion {
            CriterionWord::Eye => Criterion::Eye,
            CriterionWord::Acutance => Criterion::Acutance,
            CriterionWord::Resolution => Criterion::Resolution,
            CriterionWord::Encircled => Criterion::EncircledEnergy,
            CriterionWord::Peak => Criterion::Peak,
        };
        let target = task::target::run(&camera, criterion);
        if self.json {
            return output.json(&target);
        }
        output.say(&text(&camera.name, &target))
    }
}

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

/// A loss in jnd, or as a share where it is not judged in them.
fn lost(jnd: Option<f64>, share: f64) -> String {
    jnd.map_or_else(|| format!("{:.1} %", 100.0 * share), |jnd| format!("{jnd:.1} jnd"))
}

fn text(camera: &str, target: &Target) -> String {
    let done = target.good_enough();
    let within = match done.loss_jnd {
        Some(_) => "no eye can tell the difference".to_owned(),
        None => format!("it loses at most {:.0} %", 100.0 * done.loss),
    };
    let mut text = format!(
        "AIM FOR {}, f/{:.0}. From {} to {} {within}.\n\n",
        length(target.diameter_mm),
        target.f_number,
        length(done.low_mm),
        length(done.high_mm),
    );
    let forms = format!(
        "{} µm, {} thou, {} in a millimetre under the loupe; {} √(λz) in {camera}",
        significant(target.diameter_um, 3),
        significant(target.diameter_thou, 3),
        significant(target.diameters_per_mm, 3),
        significant(target.constant, 4),
    );
    for (mark, words) in [
        ("  That is    ", forms.as_str()),
        ("  Judged by  ", target.criterion),
        ("  Subject    ", &subject(&target.subject)),
    ] {
        text += &(wrapped(mark, words) + "\n");
    }
    text += "\n  Loss        from   count    exposure        to   count    exposure\n";
    for band in &target.band {
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "  {:>6}  {:>8}  {:>6}  {:>4.2} times  {:>8}  {:>6}  {:>4.2} times",
            lost(band.loss_jnd, band.loss),
            length(band.low_mm),
            count(band.low_per_mm),
            band.low_exposure_times,
            length(band.high_mm),
            count(band.high_per_mm),
            band.high_exposure_times,
        );
    }
    if target.band.iter().any(|band| band.loss_jnd.is_some()) {
        text += "  1 jnd: just noticeable; 3: visible side by side; 10: plainly softer. Counts are per mm\n";
    }
    text += "\n  The nearest tools, by nominal size from memory: measure yours\n";
    for kind in [Kind::SewingNeedle, Kind::MetricDrill, Kind::NumberDrill] {
        let fits: Vec<String> =
            target.tools.iter().filter(|fit| fit.tool.kind == kind).map(tool).collect();
        let _ = writeln!(text, "  {}", fits.join("; "));
    }
    text += "\n  Published constants c, d = c √(λz), and what they lose here\n";
    for rule in &target.published {
        let _ = writeln!(
            text,
            "  {:<13} {:.3} {:>9} {:>7}  {}",
            rule.author,
            rule.constant,
            length(rule.diameter_mm),
            lost(rule.loss_jnd, rule.loss),
            rule.optimum,
        );
    }
    text + &wrapped("  ", WHY_THEY_DIFFER) + "\n"
}

/// A tool and what its hole would lose.
fn tool(fit: &Fit) -> String {
    let size = match fit.tool.kind {
        // Its name is its size.
        Kind::MetricDrill => String::new(),
        _ => format!(" ({})", length(fit.tool.diameter_mm)),
    };
    format!("{}{size} loses {}", fit.tool.name, lost(fit.loss_jnd, fit.loss))
}

/// What becomes of the subject, and which others are as sharp.
fn subject(subject: &Subject) -> String {
    let depth = &subject.depth;
    let farthest = match depth.farthest_mm {
        f64::INFINITY => "infinity".into(),
        mm => length(mm),
    };
    let softer = format!("from {} to {farthest} no softer to the eye", length(depth.nearest_mm));
    if subject.distance_mm == f64::INFINITY {
        return format!("the horizon; {softer}");
    }
    let horizon = match depth.horizon_loss_jnd {
        loss if loss >= 0.5 => format!("{loss:.1} jnd softer"),
        loss if loss <= -0.5 => format!("{:.1} jnd sharper", -loss),
        _ => "as sharp".into(),
    };
    format!(
        "at {}, {} of its size on the film, a point's shadow {} wide; {softer}, the horizon {horizon}",
        length(subject.distance_mm),
        significant(subject.magnification, 3),
        length(subject.shadow_mm),
    )
}
