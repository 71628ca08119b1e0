//! `target` in words: the diameter to aim for, how far off still looks the same, and what others say.

use super::verdict::count;
use super::{Column, Row, Table, terminal};
use crate::camera::{Assumed, Camera};
use crate::quantity::{Quantity, jnd, significant};
use crate::task::target::{Answer, View};
use crate::verdict::target::depth::Subject;
use crate::verdict::target::trade::{Kind, WHY_THEY_DIFFER};
use crate::verdict::target::{Band, ByWeight, EyeWeights, Fit, Rule, Target};

/// What the unit of a loss means.
pub const KEY: &str = "1 jnd: just noticeable; 3: visible side by side; 10: plainly softer.";

const TOOLS: &str = "The nearest tools (nominal sizes, from memory: measure yours)";

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

/// A loss in jnd, or as a share where it is not judged in them.
fn lost(jnd: Option<f64>, share: f64) -> String {
    jnd.map_or_else(|| format!("{:.1} %", 100.0 * share), |jnd| format!("{jnd:.1} jnd"))
}

/// Says what to aim for, as a heading.
pub fn heading(target: &Target) -> String {
    if !target.is_found {
        return not_found(target);
    }
    let done = target.good_enough();
    let within = match done.loss_jnd {
        Some(_) => "no eye can tell the difference".to_owned(),
        None => format!("it loses at most {:.0} %", 100.0 * done.loss),
    };
    format!(
        "AIM FOR {}, f/{:.0}. From {} to {} {within}.",
        length(target.diameter_mm),
        target.f_number,
        length(done.low_mm),
        length(done.high_mm),
    )
}

/// Says that no hole is any good.
pub fn not_found(target: &Target) -> String {
    format!(
        "NO HOLE IS GOOD IN THIS CAMERA: the wider the sharper, beyond {}, where it is not a pinhole any more. The metal's \
         thickness, what moves or the angle of the film spoils every smaller one: change that first.",
        length(target.diameter_mm)
    )
}

/// Returns the diameter in other units, by what it is judged, and what it rests on.
pub fn rows(camera: &Camera, answer: &Answer) -> Vec<Row> {
    let target = &answer.target;
    let forms = format!(
        "{} µm, {} thou, {} in a millimetre under the loupe; {} √(λz) in {}",
        significant(target.diameter_um, 3),
        significant(target.diameter_thou, 3),
        significant(target.diameters_per_mm, 3),
        significant(target.constant, 4),
        answer.camera,
    );
    let light = format!("{:.0} nm on average", answer.wavelength_nm);
    let rows = [
        Row::new("That is", forms),
        Row::new("Judged by", target.criterion),
        Row::new("Light", light),
        Row::new("View", view(&answer.view)),
        Row::new("Subject", subject(&target.subject)),
    ];
    let eyes = answer.eye_weights.as_ref().map(|weights| Row::new("Other eyes", eyes(weights)));
    let assumed = assumed(camera).map(|assumed| Row::new("Assumed", assumed));
    rows.into_iter()
        .chain(eyes)
        .chain(assumed)
        .chain([Row::new("Not sought", NOT_SOUGHT)])
        .collect()
}

/// What the best size is not for.
const NOT_SOUGHT: &str =
    "the best zone plate or sieve; appraise one by its words: it is compared with this hole";

fn view(view: &View) -> String {
    format!(
        "{:.0}° across the width, {:.0}° across the height, {:.0}° from corner to corner",
        view.width_deg, view.height_deg, view.diagonal_deg
    )
}

/// What hangs on which published weight of the eye is believed.
fn eyes(found: &EyeWeights) -> String {
    let by = |one: &ByWeight| format!("{} by {}", length(one.diameter_mm), one.weight);
    let sizes: Vec<String> = found.weights.iter().map(by).collect();
    format!(
        "the best size by three published weights of the eye is {}; the worst of them loses {} here",
        sizes.join(", "),
        jnd(found.most_loss_jnd)
    )
}

/// What the camera file does not say of what decides the size, and what was assumed instead.
fn assumed(camera: &Camera) -> Option<String> {
    let said: Vec<String> =
        camera.assumed.iter().filter_map(|what| assumption(camera, *what)).collect();
    (!said.is_empty())
        .then(|| format!("{}: the camera file does not say otherwise", said.join("; ")))
}

fn assumption(camera: &Camera, what: Assumed) -> Option<String> {
    Some(match what {
        Assumed::Light => format!("light of a single wavelength, {:.0} nm", camera.light.mean_nm()),
        Assumed::Illuminant => "daylight".into(),
        Assumed::Medium => "a panchromatic medium".into(),
        Assumed::Plate => "metal without thickness".into(),
        Assumed::Enlargement => "a contact print".into(),
        Assumed::ViewingDistance => {
            format!("a print seen from {}", length(camera.print.viewing_distance_mm))
        }
        // These decide the time alone.
        Assumed::Speed | Assumed::Reciprocity => return None,
    })
}

/// Returns the sizes that lose as much, and their exposures.
pub fn bands(target: &Target) -> Table {
    let cells = |band: &Band| {
        vec![
            lost(band.loss_jnd, band.loss),
            length(band.low_mm),
            count(band.low_mm),
            format!("{:.2} times", band.low_exposure_times),
            length(band.high_mm),
            count(band.high_mm),
            format!("{:.2} times", band.high_exposure_times),
        ]
    };
    Table {
        columns: ["Loss", "from", "count", "exposure", "to", "count", "exposure"]
            .map(Column::numbers)
            .to_vec(),
        rows: target.band.iter().map(cells).collect(),
    }
}

/// Returns the nearest tools, a line for each kind.
pub fn tools(target: &Target) -> Vec<String> {
    let line = |kind| {
        let fits = target.tools.iter().filter(|fit| fit.tool.kind == kind);
        fits.map(tool).collect::<Vec<_>>().join("; ")
    };
    [Kind::SewingNeedle, Kind::MetricDrill, Kind::NumberDrill].map(line).to_vec()
}

/// A tool and what its hole would lose.
fn tool(fit: &Fit) -> String {
    let size = match fit.tool.kind {
        // Its name is its size.
        Kind::MetricDrill => String::new(),
        _ => format!(" ({})", length(fit.tool.diameter_mm)),
    };
    let lost = match fit.loss_jnd {
        Some(jnd) if jnd < 0.05 => "nothing".into(),
        jnd => lost(jnd, fit.loss),
    };
    format!("{}{size} loses {lost}", fit.tool.name)
}

/// Says what others have published, and what a hole of theirs loses here.
pub fn published(target: &Target) -> Table {
    let cells = |rule: &Rule| {
        vec![
            rule.author.to_owned(),
            format!("{:.3}", rule.constant),
            length(rule.diameter_mm),
            lost(rule.loss_jnd, rule.loss),
            rule.optimum.to_owned(),
        ]
    };
    Table {
        columns: vec![
            Column::words("Published"),
            Column::numbers("c"),
            Column::numbers("d = c √(λz)"),
            Column::numbers("loss"),
            Column::words("why it is best"),
        ],
        rows: target.published.iter().map(cells).collect(),
    }
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

/// Lays the whole answer out for a terminal.
pub fn text(camera: &Camera, answer: &Answer) -> String {
    let target = &answer.target;
    let in_jnd = target.band.iter().any(|band| band.loss_jnd.is_some());
    let key = if in_jnd { format!("{}\n", terminal::wrapped("  ", KEY)) } else { String::new() };
    let tools: String = tools(target).iter().map(|line| format!("  {line}\n")).collect();
    format!(
        "{}\n\n{}\n{}\n  {TOOLS}\n{tools}\n{}{}\n",
        terminal::wrapped("", &heading(target)),
        terminal::rows(&rows(camera, answer)),
        terminal::table(&bands(target)) + &key,
        terminal::table(&published(target)),
        terminal::wrapped("  ", WHY_THEY_DIFFER),
    )
}
