//! Which of the spots that stand out are the holes of a sheet.

use super::choice::{
    LEAST_COMPACTNESS_IN_SHEET, LEAST_DIAMETER, LIKE, Refusal, STEEP, compact, heart, places,
    refusal,
};
use super::openings::Opening;
use crate::hole::median::median;

/// Openings of a sheet differ less in width than this from the middle one.
const KIN: f64 = 3.0;
/// The compactness of a hole that is lit otherwise than the rest: an oval of 1.7 : 1 has it.
const ROUND: f64 = 0.88;
/// What holds so many openings of the other kind, each of this share of its width at least, is their
/// ground; only the largest of all spots are looked at for that.
const SEVERAL: usize = 3;
const HELD: f64 = 0.05;
const LARGEST: usize = 50;
/// More holes than these on one sheet are something else.
const MOST_HOLES: usize = 5000;

/// The openings of a sheet in the order one reads, and what was left out of them.
///
/// Letters, dust and fields of light are told from holes by their form, by their light (all holes of
/// a sheet are lit alike) and by their size against the others. What is lit the other way round, dark
/// in a bright ground among bright holes, is taken when it is as large, as strong, and rounder. A ring
/// and its hole are one.
///
/// # Errors
/// A [`Refusal`] when there is none, or more than a sheet holds.
pub(super) fn every_hole(openings: &[Opening]) -> Result<(Vec<Opening>, Vec<String>), Refusal> {
    let measurable: Vec<&Opening> = compact(openings)
        .into_iter()
        .filter(|o| o.compactness >= LEAST_COMPACTNESS_IN_SHEET && o.diameter >= LEAST_DIAMETER)
        .collect();
    // A sheet of paper with discs on it, a lit field with holes in it: what holds several is their ground.
    let is_ground = |ground: &Opening| {
        let held = measurable.iter().filter(|o| {
            o.is_bright() != ground.is_bright()
                && o.diameter >= HELD * ground.diameter
                && o.diameter >= 2.0 * LEAST_DIAMETER
                && o.compactness >= ROUND
                && o.step() >= LIKE * ground.step()
                && ground.surrounds(o.centre)
                && o.diameter < 0.5 * ground.diameter
        });
        held.take(SEVERAL).count() == SEVERAL
    };
    let measurable: Vec<&Opening> = measurable
        .iter()
        .enumerate()
        .filter(|(i, o)| *i >= LARGEST || !is_ground(o))
        .map(|(_, o)| *o)
        .collect();
    let weight = |bright: bool| -> f64 {
        let alike = measurable.iter().filter(|o| o.is_bright() == bright && !o.cut);
        alike.map(|o| o.step() * o.diameter).sum()
    };
    let bright = weight(true) >= weight(false);
    let (alike, others): (Vec<&Opening>, Vec<&Opening>) =
        measurable.iter().copied().partition(|o| o.is_bright() == bright);
    let Some(middle) = middle_diameter(&alike) else {
        return Err(refusal(
            "shows no hole as those of a sheet are: round, whole, and five pixels wide or more",
            "light the holes from behind, and scan finer",
        ));
    };
    let kin = |o: &&Opening| (middle / KIN..=middle * KIN).contains(&o.diameter);
    let (cut, mut found): (Vec<Opening>, Vec<Opening>) =
        alike.iter().copied().filter(kin).cloned().partition(|o| o.cut);
    if found.len() > MOST_HOLES {
        return Err(refusal(
            format!(
                "shows {} spots of like size: a texture or noise, not a sheet of holes",
                found.len()
            ),
            "cut out the part with the holes, at most 5000 of them",
        ));
    }
    let reversed = reversed(&found, &others, middle);
    // A ring of the one kind about a hole of the other is the land of that hole.
    found.retain(|ring| heart(ring, &reversed.iter().collect::<Vec<_>>()).is_none());
    let mut said = Vec::new();
    if !reversed.is_empty() {
        let (these, those) = if bright { ("darker", "lighter") } else { ("lighter", "darker") };
        said.push(format!(
            "{} of the holes {} {these} than the ground, the others {those}.",
            reversed.len(),
            if reversed.len() == 1 { "is" } else { "are" }
        ));
    }
    found.extend(reversed);
    in_reading_order(&mut found);
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

/// Holes lit the other way round: as large and strong as the rest, rounder, steep, and not a speck in one
/// of them nor the metal around some.
fn reversed(found: &[Opening], others: &[&Opening], middle: f64) -> Vec<Opening> {
    let step = median(found.iter().map(Opening::step));
    let is_hole = |o: &&Opening| {
        !o.cut
            && o.compactness >= ROUND
            && o.steadiness >= STEEP
            && o.step() >= LIKE * step
            && (middle / 2.0..=middle * 2.0).contains(&o.diameter)
    };
    let apart = |o: &&Opening| {
        found.iter().all(|hole| {
            let is_land = hole.is_ring_about(o);
            is_land || !hole.surrounds(o.centre) && !o.surrounds(hole.centre)
        })
    };
    others.iter().copied().filter(is_hole).filter(apart).cloned().collect()
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
