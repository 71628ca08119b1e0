//! Which of the spots that stand out is the hole, and which are the holes of a sheet.
//!
//! The limits below are rules of thumb, tried on drawn photos (common practice, no source). Where they
//! leave a doubt the answer is a question, not a number.

use super::openings::Opening;
use crate::error::Error;
use crate::hole::median::median;
use std::path::Path;

/// Narrower spots are scratches, graduation lines, letters: an oval of 5 : 1 has 0.38.
const LEAST_COMPACTNESS: f64 = 0.3;
/// Holes of a sheet are rounder than that: an oval of 2 : 1 has 0.8, a ring of metal 0.5.
const LEAST_COMPACTNESS_IN_SHEET: f64 = 0.7;
/// A spot that stands out less than this share of the strongest is a shade of the plate.
const LEAST_STEP: f64 = 0.2;
/// Pixels across of the smallest hole that can be measured.
pub(super) const LEAST_DIAMETER: f64 = 5.0;
/// A second spot this wide against the first is a second hole.
const RIVAL: f64 = 0.7;
/// A spot this wide against a hole around it is more than a speck; so is a smaller one where what is
/// around it fills so much of the frame that it may be a loupe's field.
const SPECK: f64 = 0.4;
const SPECK_IN_FIELD: f64 = 0.03;
const FILLED: f64 = 0.75;
/// A step less than this share of another is weaker.
const LIKE: f64 = 0.5;
/// What the frame cuts is the hole that was meant if it is this many times wider than what is whole.
const CUT: f64 = 3.0;
/// How far a place may lie from a hole that it means, in diameters of the hole.
const REACH: f64 = 1.5;
/// Openings of a sheet differ less in width than this from the middle one.
const KIN: f64 = 3.0;

/// What is wrong, and what to do.
type Refusal = (String, String);

fn refusal(wrong: impl Into<String>, remedy: impl Into<String>) -> Refusal {
    (wrong.into(), remedy.into())
}

/// The one hole of a picture, or the one at a place.
///
/// # Errors
/// [`Error::File`] when there is none, it is cut by the frame or too small, or more than one may be
/// meant.
pub(super) fn the_hole(
    openings: &[Opening],
    at_px: Option<[f64; 2]>,
    shorter_side: f64,
    name: &Path,
) -> Result<Opening, Error> {
    let chosen = match at_px {
        Some(place) => at_place(openings, place),
        None => the_only(openings, shorter_side),
    };
    chosen.and_then(whole).map_err(|(wrong, remedy)| Error::file(name, wrong, remedy))
}

/// What stands out and is compact, strongly enough to be a hole and not a shade of the plate.
fn compact(openings: &[Opening]) -> Vec<&Opening> {
    let compact = || openings.iter().filter(|o| o.compactness >= LEAST_COMPACTNESS);
    let strongest = |least: f64| {
        compact().filter(|o| o.diameter >= least).map(Opening::step).fold(0.0, f64::max)
    };
    // Dust may well shine more than a hole, but not ten times.
    let least = (LEAST_STEP * strongest(LEAST_DIAMETER)).max(LEAST_STEP / 2.0 * strongest(0.0));
    compact().filter(|o| o.step() >= least).collect()
}

/// Whether one opening is compact, large enough, and lies in another.
fn is_hole_in(inner: &Opening, outer: &Opening) -> bool {
    outer.surrounds(inner.centre)
        && inner.diameter < outer.diameter / 1.3
        && inner.diameter >= 2.0 * LEAST_DIAMETER
        && inner.compactness >= LEAST_COMPACTNESS_IN_SHEET
}

fn the_only(openings: &[Opening], shorter_side: f64) -> Result<Opening, Refusal> {
    let found = compact(openings);
    // A lit field around a plate's hole is not the hole: it holds one that stands out more.
    let is_field = |o: &Opening| {
        let of_its_kind = |i: &Opening| i.is_bright() == o.is_bright() && i.step() > o.step();
        found.iter().any(|i| of_its_kind(i) && is_hole_in(i, o))
    };
    let mut holes: Vec<&Opening> = found.iter().filter(|o| !is_field(o)).copied().collect();
    // What the frame cuts is passed over for a whole hole of like size, not for a speck.
    let largest_whole = holes.iter().filter(|o| !o.cut).map(|o| o.diameter).next();
    if let Some(whole) = largest_whole {
        holes.retain(|o| !o.cut || o.diameter > CUT * whole);
    }
    let Some(first) = holes.first().copied() else {
        return Err(if openings.is_empty() {
            refusal(
                "shows no hole: nothing stands out",
                "light the hole from behind, and expose so that it is bright but not white",
            )
        } else {
            refusal(
                "shows no hole: only thin streaks stand out",
                "cut out the part with the hole, and clean the plate",
            )
        });
    };
    let rivals: Vec<&Opening> =
        holes.iter().filter(|o| o.diameter >= RIVAL * first.diameter).copied().collect();
    // Dark in a bright round field, or a speck in the hole? The picture alone cannot say.
    let largest_speck = if first.diameter > FILLED * shorter_side { SPECK_IN_FIELD } else { SPECK };
    let other = holes.iter().find(|i| {
        i.is_bright() != first.is_bright()
            && i.step() > LIKE * first.step()
            && is_hole_in(i, first)
            && i.diameter > largest_speck * first.diameter
    });
    if let Some(other) = other {
        return Err(refusal(
            format!(
                "shows a hole in a lit field, or a hole with a speck in it, {}",
                places(&[first, other])
            ),
            "say which one with --at \"x,y px\"",
        ));
    }
    if rivals.len() > 1 && first.diameter >= LEAST_DIAMETER {
        return Err(refusal(
            format!("shows {} holes of like size, {}", rivals.len(), places(&rivals)),
            "say which one with --at \"x,y px\", or measure each with gauge --every",
        ));
    }
    Ok(first.clone())
}

/// The smallest that holds the place and stands out like the strongest there; where none does, the
/// nearest.
fn at_place(openings: &[Opening], [x, y]: [f64; 2]) -> Result<Opening, Refusal> {
    let distance = |o: &Opening| (o.centre[0] - x).hypot(o.centre[1] - y);
    let found = || {
        let fit = |o: &&Opening| o.compactness >= LEAST_COMPACTNESS && o.diameter >= LEAST_DIAMETER;
        openings.iter().filter(fit)
    };
    let holding = || found().filter(|o| distance(o) < 0.5 * o.diameter);
    let strongest = holding().map(Opening::step).fold(0.0, f64::max);
    let smallest = holding()
        .filter(|o| o.step() >= LIKE * strongest)
        .min_by(|a, b| a.diameter.total_cmp(&b.diameter));
    let nearest = || {
        let near = found().filter(|o| distance(o) < REACH * o.diameter);
        near.min_by(|a, b| distance(a).total_cmp(&distance(b)))
    };
    smallest.or_else(nearest).cloned().ok_or_else(|| {
        let largest: Vec<&Opening> = compact(openings).into_iter().take(8).collect();
        refusal(
            format!("shows no hole at {x:.0},{y:.0} px"),
            if largest.is_empty() {
                "nothing in the picture stands out; pixels count from its upper left corner".into()
            } else {
                format!("what stands out: {}", places(&largest))
            },
        )
    })
}

/// Refuses what the frame cuts and what is too small.
fn whole(opening: Opening) -> Result<Opening, Refusal> {
    if opening.diameter < LEAST_DIAMETER {
        return Err(refusal(
            format!("shows a hole of about {:.0} pixels across", opening.diameter),
            "come nearer or use a finer scan: five pixels are the least, a hundred are good",
        ));
    }
    if opening.cut {
        return Err(refusal(
            format!("shows a hole that the frame cuts, {}", places(&[&opening])),
            "take the picture with the whole hole and some metal around it, or say which hole is \
             meant with --at \"x,y px\"",
        ));
    }
    Ok(opening)
}

/// Where openings lie and how large they are, at most eight.
fn places(openings: &[&Opening]) -> String {
    let shown = openings
        .iter()
        .take(8)
        .map(|o| format!("{:.0},{:.0} px ({:.0} px wide)", o.centre[0], o.centre[1], o.diameter));
    let more = openings.len().saturating_sub(8);
    let list = shown.collect::<Vec<_>>().join("; ");
    if more > 0 { format!("at {list}; and {more} more") } else { format!("at {list}") }
}

/// The openings of a sheet in the order one reads, and what was left out of them.
///
/// Letters, dust and fields of light are told from holes by their form, by their light (all holes of
/// a sheet are lit alike) and by their size against the others.
///
/// # Errors
/// [`Error::File`] when there is none.
pub(super) fn every_hole(
    openings: &[Opening],
    name: &Path,
) -> Result<(Vec<Opening>, Vec<String>), Error> {
    let measurable: Vec<&Opening> = compact(openings)
        .into_iter()
        .filter(|o| o.compactness >= LEAST_COMPACTNESS_IN_SHEET && o.diameter >= LEAST_DIAMETER)
        .collect();
    let weight = |bright: bool| -> f64 {
        let alike = measurable.iter().filter(|o| o.is_bright() == bright && !o.cut);
        alike.map(|o| o.step() * o.diameter).sum()
    };
    let bright = weight(true) >= weight(false);
    let alike: Vec<&Opening> =
        measurable.iter().filter(|o| o.is_bright() == bright).copied().collect();
    let Some(middle) = middle_diameter(&alike) else {
        let (wrong, remedy) = the_only(openings, f64::INFINITY)
            .err()
            .unwrap_or_else(|| refusal("shows no holes", "light them from behind, and scan finer"));
        return Err(Error::file(name, wrong, remedy));
    };
    let kin = |o: &&&Opening| (middle / KIN..=middle * KIN).contains(&o.diameter);
    let (cut, mut found): (Vec<Opening>, Vec<Opening>) =
        alike.iter().filter(kin).map(|o| (*o).clone()).partition(|o| o.cut);
    in_reading_order(&mut found);
    let mut said = Vec::new();
    let smaller = alike.iter().filter(|o| o.diameter < middle / KIN).count();
    if smaller > 0 {
        said.push(format!(
            "{smaller} spots less than a third as wide as the middle hole were left out: dust or letters."
        ));
    }
    if !cut.is_empty() {
        let cut: Vec<&Opening> = cut.iter().collect();
        said.push(format!("The frame cuts {} holes, left out: {}.", cut.len(), places(&cut)));
    }
    Ok((found, said))
}

/// The diameter that halves the sum of all areas, so that much dust does not outvote few holes.
fn middle_diameter(openings: &[&Opening]) -> Option<f64> {
    let mut diameters: Vec<f64> = openings.iter().filter(|o| !o.cut).map(|o| o.diameter).collect();
    diameters.sort_by(f64::total_cmp);
    let all: f64 = diameters.iter().sum();
    let mut sum = 0.0;
    diameters.into_iter().find(|d| {
        sum += d;
        sum >= 0.5 * all
    })
}

/// Row by row, left to right: a hole is in the row of the one above all others left if it lies lower by
/// no more than half of what holes are apart.
fn in_reading_order(openings: &mut [Opening]) {
    openings.sort_by(|a, b| a.centre[1].total_cmp(&b.centre[1]));
    let apart = 0.5 * usual_distance(openings);
    let mut start = 0;
    while start < openings.len() {
        let lowest = openings[start].centre[1] + apart.max(openings[start].diameter);
        let end = start + openings[start..].iter().take_while(|o| o.centre[1] <= lowest).count();
        openings[start..end].sort_by(|a, b| a.centre[0].total_cmp(&b.centre[0]));
        start = end.max(start + 1);
    }
}

/// The middle value of the distance of each to the nearest other; 0 of fewer than two.
fn usual_distance(openings: &[Opening]) -> f64 {
    let distance =
        |a: &Opening, b: &Opening| (a.centre[0] - b.centre[0]).hypot(a.centre[1] - b.centre[1]);
    let nearest = |(i, a): (usize, &Opening)| {
        let others = openings.iter().enumerate().filter(|(j, _)| i != *j);
        others.map(|(_, b)| distance(a, b)).min_by(f64::total_cmp)
    };
    median(openings.iter().enumerate().filter_map(nearest))
}
