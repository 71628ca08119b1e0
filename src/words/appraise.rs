//! `appraise` in words: what to do, why, and the rows of its card.

use super::verdict::{hand, heading, jnd, lines, loss, percent, reasons};
use super::{Row, expose, terminal};
use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::{Answer, Judged, Suited};
use crate::task::{gauge, psf};
use crate::verdict::decision::outlook::Action;
use crate::verdict::judgement::Verdict;
use crate::verdict::target::Target;
use crate::verdict::thresholds::{JND, NOTABLE_JND};
use serde::Serialize;

/// A cause in the camera that costs less is not worth a line.
const NOTABLE: f64 = 0.005;

/// Is the sentence above the answer of a demonstration.
pub const INVENTED: &str = "The demonstration: this camera, this hole and its photo are invented.";

const CAUTION: &str = "Take care. Needles and sheet edges cut: wear eye protection. Old brass, tin \
                       and solder may contain lead: sand wet, and keep the dust off hands and \
                       food. Look through the hole at a lamp, never at the Sun. Local rules and \
                       trained people come first.";

/// Says what hands have to mind, where they are to do something.
pub fn caution(verdict: &Verdict) -> Option<&'static str> {
    let asks_for_work = verdict.action != Action::Stop;
    asks_for_work.then_some(CAUTION)
}

/// Returns the card: the hole, the best one, what is lost and by what, and the exposure.
pub fn rows(camera: &Camera, judged: &Judged) -> Vec<Row> {
    let (hole, verdict) = (&judged.gauge.hole, &judged.verdict);
    let film = Quantity::Length.write(camera.distances.film_mm());
    let size =
        write_length_within(hole.equivalent_diameter_mm, hole.equivalent_diameter_uncertainty_mm);
    let mut rows = vec![
        Row::new("Camera", format!("{}, film at {film}", camera.name)),
        Row::new("This hole", size),
        Row::new("Best hole", best(judged)),
        Row::new("Sharpness", sharpness(verdict)),
    ];
    let optional = [
        ("Loss if", loss_if(verdict)),
        ("Direction", verdict.lines.as_ref().and_then(lines)),
        ("Besides", besides(verdict)),
        ("Plate", corner(verdict)),
        ("Your list", suited(&judged.suits_cameras)),
        ("Your hand", growth(verdict)),
    ];
    rows.extend(
        optional.into_iter().filter_map(|(name, sentence)| Some(Row::new(name, sentence?))),
    );
    rows.push(Row::new("Exposure", expose::sentence(camera, &judged.exposure)));
    rows
}

/// Says what to bear in mind about the measurements and the light.
pub fn notes(answer: &Answer) -> impl Iterator<Item = &str> {
    notes_of(&answer.judged, doubtful(&answer.psf))
}

/// What a maker should hear of the light: only what could be seen. A physicist finds all of it in `psf`.
fn doubtful(psf: &psf::Answer) -> &[String] {
    if psf.error.is_doubtful() { &psf.warnings } else { &[] }
}

fn notes_of<'a>(judged: &'a Judged, warnings: &'a [String]) -> impl Iterator<Item = &'a str> {
    // That the rim was not seen is among the reasons.
    let of_hole = judged.gauge.warnings.iter().filter(|_| judged.verdict.rim_seen);
    of_hole.chain(warnings).map(String::as_str)
}

/// The best hole of the camera, and the sizes that are good enough.
fn best(judged: &Judged) -> String {
    let length = |mm| Quantity::Length.write(mm);
    let band = judged.target.good_enough();
    format!(
        "{}; from {} to {} no eye can tell the difference",
        length(judged.target.diameter_mm),
        length(band.low_mm),
        length(band.high_mm)
    )
}

fn sharpness(verdict: &Verdict) -> String {
    match verdict.loss_jnd {
        lost if lost < JND[0] => format!("{} lost: {}", jnd(lost), loss(lost)),
        lost => format!("{} lost (just-noticeable differences): {}", jnd(lost), loss(lost)),
    }
}

/// What the loss would be if one thing were done, where that gains anything to speak of.
fn loss_if(verdict: &Verdict) -> Option<String> {
    if !verdict.rim_seen {
        return None;
    }
    let would = &verdict.counterfactuals_jnd;
    let to = |verb: &str, mm: f64| format!("{verb} to {}", Quantity::Length.write(mm));
    let done = [
        ("clean".to_owned(), would.without_debris),
        ("without burrs".to_owned(), would.without_burrs),
        (to("rounded", would.rounded_diameter_mm), would.rounded),
        (to("widened", would.widened_diameter_mm), would.widened),
    ];
    let gains: Vec<String> = done
        .into_iter()
        .filter(|(_, after)| verdict.loss_jnd - after > NOTABLE_JND)
        .map(|(what, after)| format!("{what}, {}", jnd(after)))
        .collect();
    (!gains.is_empty()).then(|| gains.join("; "))
}

/// What costs even the best hole of this camera: what moves, and the plate's thickness, over the film as
/// the merit is taken.
fn besides(verdict: &Verdict) -> Option<String> {
    let ideal = &verdict.against_ideal;
    let costs = [("what moves", ideal.motion), ("the plate's thickness", ideal.thickness)];
    let said: Vec<String> = costs
        .into_iter()
        .filter(|(_, cost)| *cost > NOTABLE)
        .map(|(what, cost)| format!("{what} costs even the best hole {}", percent(cost)))
        .collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// What the plate's thickness does in the corners, where that can be seen.
fn corner(verdict: &Verdict) -> Option<String> {
    let corner = verdict.corner.filter(|corner| corner.open < 0.8)?;
    // The loss is of the light that comes: where next to none does, it says nothing.
    let Some(loss) = corner.loss.filter(|_| corner.open > 0.005) else {
        return Some(
            "no light gets past it to the film's corners: thinner metal would light them".into(),
        );
    };
    Some(format!(
        "its thickness takes {} of the light and {} of the sharpness in the film's corners; thinner metal takes less",
        percent(1.0 - corner.open),
        percent(loss)
    ))
}

/// The cameras of the maker's list that the hole suits better.
fn suited(cameras: &[Suited]) -> Option<String> {
    let said = |one: &Suited| {
        let film = Quantity::Length.write(one.film_distance_mm);
        format!("{}, film at {film}, where it loses {}", one.camera, jnd(one.loss_jnd))
    };
    let cameras: Vec<String> = cameras.iter().map(said).collect();
    (!cameras.is_empty()).then(|| format!("it suits {}", cameras.join("; ")))
}

/// What a pass adds, where a pass is advised or some are known.
fn growth(verdict: &Verdict) -> Option<String> {
    let growth = &verdict.next_pass.growth;
    (growth.passes > 0 || verdict.action == Action::Enlarge).then(|| hand(growth))
}

/// Lays the whole answer out for a terminal.
pub fn text(camera: &Camera, answer: &Answer) -> String {
    text_of(camera, &answer.judged, doubtful(&answer.psf))
}

/// Lays the first stage out for a terminal, with warnings of the light.
pub fn text_of(camera: &Camera, judged: &Judged, warnings: &[String]) -> String {
    let verdict = &judged.verdict;
    let reason = |reason: &String| terminal::wrapped("  - ", reason) + "\n";
    let reasons: String = reasons(verdict).iter().map(reason).collect();
    let mut card = rows(camera, judged);
    card.extend(notes_of(judged, warnings).map(|note| Row::new("Note", note)));
    if !judged.target.is_found {
        card.push(Row::new("Note", super::target::not_found(&judged.target)));
    }
    let card = terminal::rows(&card);
    let caution = caution(verdict)
        .map_or_else(String::new, |words| format!("\n{}\n", terminal::wrapped("  ", words)));
    format!("  {}\n\n{reasons}\n{card}{caution}", heading(verdict))
}

/// A verdict with its reasons in sentences.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub struct Told<'a> {
    #[serde(flatten)]
    verdict: &'a Verdict,
    reasons: Vec<String>,
}

impl Told<'_> {
    /// The verdict with its reasons.
    pub fn of(verdict: &Verdict) -> Told<'_> {
        Told { verdict, reasons: reasons(verdict) }
    }
}

/// The document of an appraisal: the keys of `gauge`, `psf`, `target`, `expose` and the verdict.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub struct Document<'a> {
    camera: &'a str,
    #[serde(flatten)]
    gauge: &'a gauge::Answer,
    #[serde(skip_serializing_if = "Option::is_none")]
    psf: Option<&'a psf::Answer>,
    target: &'a Target,
    exposure: &'a Exposure,
    verdict: Told<'a>,
    suits_cameras: &'a [Suited],
}

/// The document of a whole appraisal.
pub fn document(answer: &Answer) -> Document<'_> {
    Document { psf: Some(&answer.psf), ..document_of(&answer.judged) }
}

/// The document of the first stage.
pub fn document_of(judged: &Judged) -> Document<'_> {
    Document {
        camera: &judged.camera,
        gauge: &judged.gauge,
        psf: None,
        target: &judged.target,
        exposure: &judged.exposure,
        verdict: Told::of(&judged.verdict),
        suits_cameras: &judged.suits_cameras,
    }
}
