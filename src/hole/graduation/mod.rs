//! The scale from a rule in the picture: its lines found at any angle, and their pitch fitted.
//!
//! Along each direction that many edges share, the picture is cut into strips; a strip whose light has
//! evenly spaced lines of like strength crosses a rule. Every line of the longest such row is then
//! placed at full resolution, in several bands of its length, and one pitch is fitted to them all
//! together with what perspective does to it.

mod fit;
mod search;

use super::scale::Scale;
use super::uncertainty::expanded_from_half_width;
use crate::error::Error;
use crate::quantity::Quantity;
use crate::raster::Raster;
use fit::{Pitch, fitted};
use search::{Row, rows};

/// The picture is searched at no more than so many pixels.
const SEARCHED_PX: f64 = 1.5e6;
const GLANCED_PX: f64 = 0.4e6;
/// A rule's division holds within this share of itself. Common practice, no source.
const DIVISION_HALF_WIDTH: f64 = 0.002;
/// A pitch that changes over the rule by more is worth a word, and by more than the second spoils it.
const TILTED: f64 = 0.005;
const TOO_TILTED: f64 = 0.05;
/// Lines that scatter about the fit by more of their pitch are no graduation.
const UNEVEN: f64 = 0.03;
/// Lines closer than this are a screen or a file's pattern, in pixels: two pixels are the finest there is.
const LEAST_PITCH: f64 = 3.5;
/// The two edges of the lines give pitches that differ by less than this share, or it is no graduation.
const EDGES_DIFFER: f64 = 0.01;
/// Fewer lines than these may be anything that comes in a few: their evenness must be better.
const FEW: usize = 7;
const UNEVEN_FEW: f64 = 0.015;
/// How rules are divided: tenths to centimetres, and parts of an inch.
const DIVISIONS_MM: [f64; 14] = [
    0.1,
    0.2,
    0.25,
    0.5,
    1.0,
    2.0,
    5.0,
    10.0,
    25.4 / 64.0,
    25.4 / 32.0,
    25.4 / 16.0,
    25.4 / 10.0,
    25.4 / 8.0,
    25.4 / 4.0,
];
/// So many lines are a rule, whatever is said of it.
const PLAIN_RULE: usize = 12;
/// A rule and a scale that differ by less than this are read as one.
const CONTRADICTS: f64 = 0.01;
/// A row of lines this long against the longest contradicts it if its pitch is another.
const RIVAL: f64 = 0.7;

/// The scale of a picture from the lines of a rule in it, neighbours `spacing_mm` apart. Pixels are
/// taken as square.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when there is no row of at least four even lines, when two rows contradict each
/// other, or when perspective changes the pitch by more than 5 %.
pub(super) fn scale_of_graduation(picture: &Raster, spacing_mm: f64) -> Result<Scale, Error> {
    let found = rows_of(picture, SEARCHED_PX);
    let refuse = |wrong: String, remedy: &str| Error::damaged(wrong, remedy);
    let Some((row, pitch)) = best(picture, &found) else {
        return Err(refuse(
            "shows no graduation: no four lines or more lie evenly side by side".into(),
            "lay a rule beside the hole, sharp and evenly lit, or state the scale, as in \"412 px = 1 mm\"",
        ));
    };
    if let Some(other) = found.iter().find(|other| contradicts(other, row)) {
        return Err(refuse(
            format!(
                "shows lines {:.1} px apart and others {:.1} px apart, and nothing says which are meant",
                row.spacing(),
                other.spacing()
            ),
            "cut out the part with one rule, or state the scale, as in \"412 px = 1 mm\"",
        ));
    }
    let change = pitch.change_along.abs().max(pitch.change_across.abs());
    if change > TOO_TILTED {
        return Err(refuse(
            format!(
                "shows a rule whose lines draw together by {:.0} %: camera and rule are not parallel",
                100.0 * change
            ),
            "take the picture square on, rule and hole in one plane",
        ));
    }
    Ok(scale_of(&pitch, change, spacing_mm, has_coarser(&found, row)))
}

/// The even rows of lines in a picture, in its own pixels, those of most lines first.
fn rows_of(picture: &Raster, most_px: f64) -> Vec<Row> {
    let side = ((picture.rows() * picture.columns()) as f64 / most_px).sqrt().ceil().max(1.0);
    let own = |row: Row| Row {
        places: row.places.iter().map(|place| place * side).collect(),
        across: row.across * side,
        height: row.height * side,
        ..row
    };
    rows(&picture.reduced(side as usize)).into_iter().map(own).collect()
}

/// The row of most lines that holds at full resolution.
fn best<'a>(picture: &Raster, found: &'a [Row]) -> Option<(&'a Row, Pitch)> {
    let is_sound = |p: &Pitch| {
        let uneven = if p.lines < FEW { UNEVEN_FEW } else { UNEVEN };
        p.scatter < uneven && p.px >= LEAST_PITCH && p.edges_differ < EDGES_DIFFER
    };
    found.iter().take(8).find_map(|row| Some((row, fitted(picture, row).filter(is_sound)?)))
}

/// What contradicts a stated scale: a rule in the picture whose lines are not `spacing_mm` apart by that
/// scale, or, where no spacing is told, not as any rule is divided.
pub(super) fn contradiction(
    picture: &Raster,
    scale: &Scale,
    spacing_mm: Option<f64>,
) -> Option<String> {
    // Of a picture of which nobody says that a rule lies in it, a quick look is enough.
    let found = rows_of(picture, if spacing_mm.is_some() { SEARCHED_PX } else { GLANCED_PX });
    let (row, pitch) = best(picture, &found)?;
    if spacing_mm.is_none() && (pitch.lines < PLAIN_RULE || row.height < 2.0 * pitch.px) {
        return None;
    }
    let pitch_mm = pitch.px * scale.mean_mm_per_px();
    let nearest =
        spacing_mm.into_iter().chain(DIVISIONS_MM.into_iter().filter(|_| spacing_mm.is_none()));
    let off = |spacing: &f64| (pitch_mm / spacing).ln().abs();
    let nearest = nearest.min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let change = pitch.change_along.abs().max(pitch.change_across.abs());
    let bearable = CONTRADICTS + scale.relative_uncertainty + 2.0 * relative(&pitch) + change;
    (off(&nearest) > bearable).then(|| {
        let [found, nearest] = [pitch_mm, nearest].map(|mm| Quantity::Length.write(mm));
        format!(
            "{} lines of a rule in the picture lie {found} apart by this scale, and not {nearest}: scale \
             and rule contradict each other.",
            pitch.lines
        )
    })
}

fn relative(pitch: &Pitch) -> f64 {
    pitch.uncertainty_px / pitch.px
}

/// Whether another row is about as long and has a pitch that is no whole multiple or part.
fn contradicts(other: &Row, row: &Row) -> bool {
    let long = other.places.len() as f64 >= RIVAL * row.places.len() as f64
        && other.height >= RIVAL * row.height;
    let ratio = (other.spacing() / row.spacing()).max(row.spacing() / other.spacing());
    long && (ratio - ratio.round()).abs() > 0.06 * ratio
}

/// Whether longer lines stand at every few of the row's.
fn has_coarser(found: &[Row], row: &Row) -> bool {
    found.iter().any(|other| other.spacing() > 1.5 * row.spacing())
}

fn scale_of(pitch: &Pitch, change: f64, spacing_mm: f64, has_coarser: bool) -> Scale {
    let spacing = Quantity::Length.write(spacing_mm);
    let mut warnings = Vec::new();
    if has_coarser {
        warnings.push(format!(
            "The rule has lines of several lengths: neighbours, {:.1} px apart, are taken as {spacing} \
             apart.",
            pitch.px
        ));
    }
    if change > TILTED {
        warnings.push(format!(
            "The rule's lines draw together by {:.1} %: the camera was tilted, and the hole's scale is \
             less certain.",
            100.0 * change
        ));
    }
    // The hole lies somewhere beside the rule: its scale is one of those along the rule, or beyond.
    let tilt = expanded_from_half_width(change);
    Scale {
        mm_per_px: [spacing_mm / pitch.px; 2],
        lines_px: pitch.segments_px.clone(),
        source: format!("{} graduation lines, {spacing} = {:.2} px", pitch.lines, pitch.px),
        relative_uncertainty: (2.0 * relative(pitch))
            .hypot(expanded_from_half_width(DIVISION_HALF_WIDTH))
            .hypot(expanded_from_half_width(0.5 * pitch.edges_differ))
            .hypot(if change > TILTED { tilt } else { 0.0 }),
        warnings,
    }
}

#[cfg(test)]
#[path = "graduation_tests.rs"]
mod tests;
