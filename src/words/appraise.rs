//! `appraise` in words: what to do, why, and the rows of its card.

use super::{Row, expose, terminal};
use crate::camera::Camera;
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::{Answer, Judged};
use crate::verdict::advice::{Action, GOOD_ENOUGH, Verdict};
use crate::verdict::reasons::{DARK, in_words, percent};

/// A cause in the camera that costs less is not worth a line.
const NOTABLE: f64 = 0.005;

/// What is said above the answer of a demonstration.
pub const INVENTED: &str = "The demonstration: this camera, this hole and its photo are invented.";

const CAUTION: &str = "Take care. Needles and sheet edges cut: wear eye protection. Old brass, tin \
                       and solder may contain lead: sand wet, and keep the dust off hands and \
                       food. Look through the hole at a lamp, never at the Sun. Local rules and \
                       trained people come first.";

/// What to do now, as a heading.
pub fn heading(verdict: &Verdict) -> String {
    if let Some(undecided) = &verdict.undecided {
        let [one, other] =
            [verdict.action, undecided.other].map(|action| action.in_words().to_uppercase());
        return format!("BETWEEN {one} AND {other}: measure again with a finer scale.");
    }
    match verdict.action {
        Action::Stop if verdict.corner.is_some_and(|corner| corner.open < DARK) => {
            "STOP: more work on this hole gains nothing; its plate is too thick for the corners."
        }
        Action::Stop if verdict.loss <= GOOD_ENOUGH => "STOP: this hole is good enough.",
        Action::Stop => "STOP: use it as it is; only a new hole would be better.",
        Action::Enlarge => "ENLARGE: one more careful pass, then measure again.",
        Action::Deburr if verdict.burrs == 0 => "CLEAN: remove the debris, then measure again.",
        Action::Deburr if verdict.burrs == 1 => "DEBURR: remove the burr, then measure again.",
        Action::Deburr => "DEBURR: remove the burrs, then measure again.",
        Action::StartOver => "START OVER: a new hole is better than more work on this one.",
    }
    .into()
}

/// What hands have to mind, where they are to do something.
pub fn caution(verdict: &Verdict) -> Option<&'static str> {
    let asks_for_work = verdict.action != Action::Stop || verdict.undecided.is_some();
    asks_for_work.then_some(CAUTION)
}

/// The card: the hole, the best one, what is lost and by what, and the exposure.
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
        ("Direction", verdict.lines.in_words()),
        ("Besides", besides(verdict)),
        ("Plate", corner(verdict)),
        ("Growth", growth(verdict)),
    ];
    rows.extend(
        optional.into_iter().filter_map(|(name, sentence)| Some(Row::new(name, sentence?))),
    );
    rows.push(Row::new("Exposure", expose::sentence(camera, &judged.exposure)));
    rows
}

/// What to bear in mind about the measurements and the light.
pub fn notes(answer: &Answer) -> impl Iterator<Item = &str> {
    answer.judged.gauge.warnings.iter().chain(&answer.psf.warnings).map(String::as_str)
}

/// The best hole of the camera, and the sizes that are good enough.
fn best(judged: &Judged) -> String {
    let length = |mm| Quantity::Length.write(mm);
    let band = judged.target.good_enough();
    format!(
        "{}; from {} to {} it loses at most {:.0} %",
        length(judged.target.diameter_mm),
        length(band.low_mm),
        length(band.high_mm),
        100.0 * band.loss
    )
}

fn sharpness(verdict: &Verdict) -> String {
    format!("{} lost: {}", percent(verdict.loss), in_words(verdict.loss))
}

/// What the loss would be if one thing were done, where that gains anything to speak of.
fn loss_if(verdict: &Verdict) -> Option<String> {
    let would = &verdict.counterfactuals;
    let to = |verb: &str, mm: f64| format!("{verb} to {}", Quantity::Length.write(mm));
    let done = [
        ("clean".to_owned(), would.without_debris),
        ("without burrs".to_owned(), would.without_burrs),
        (to("rounded", would.rounded_diameter_mm), would.rounded),
        (to("widened", would.widened_diameter_mm), would.widened),
    ];
    let gains: Vec<String> = done
        .into_iter()
        .filter(|(_, loss)| verdict.loss - loss > NOTABLE)
        .map(|(what, loss)| format!("{what}, {}", percent(loss)))
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
    let corner = verdict.corner.filter(|corner| (DARK..0.8).contains(&corner.open))?;
    Some(format!(
        "its thickness takes {} of the light and {} of the sharpness in the film's corners",
        percent(1.0 - corner.open),
        percent(corner.loss?)
    ))
}

/// What a pass adds, where a pass is advised or some are known.
fn growth(verdict: &Verdict) -> Option<String> {
    let growth = &verdict.next_pass.growth;
    (growth.passes > 0 || verdict.action == Action::Enlarge).then(|| growth.in_words())
}

/// The whole answer for a terminal.
pub fn text(camera: &Camera, answer: &Answer) -> String {
    let verdict = &answer.judged.verdict;
    let reason = |reason: &String| terminal::wrapped("  - ", reason) + "\n";
    let reasons: String = verdict.reasons.iter().map(reason).collect();
    let mut card = rows(camera, &answer.judged);
    card.extend(notes(answer).map(|note| Row::new("Note", note)));
    let card = terminal::rows(&card);
    let caution = caution(verdict)
        .map_or_else(String::new, |words| format!("\n{}\n", terminal::wrapped("  ", words)));
    format!("  {}\n\n{reasons}\n{card}{caution}", heading(verdict))
}
