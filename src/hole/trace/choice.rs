//! Which of the spots that stand out is the hole.
//!
//! The limits below are rules of thumb, tried on drawn and on real photos (common practice, no source).
//! Where they leave a doubt the answer is a question, not a number.

use super::openings::Opening;
use crate::error::{Candidate, Error, Wanted};
use crate::hole::median::median;
use crate::raster::Raster;

/// Narrower spots are scratches, graduation lines, letters: an oval of 5 : 1 has 0.38.
const LEAST_COMPACTNESS: f64 = 0.3;
/// Holes of a sheet are rounder than that: an oval of 2 : 1 has 0.8, a ring of metal 0.5.
pub(super) const LEAST_COMPACTNESS_IN_SHEET: f64 = 0.7;
/// A spot that stands out less than this share of the strongest is a shade of the plate.
const LEAST_STEP: f64 = 0.2;
/// But a glint this much smaller than a spot with a steep edge says nothing about that.
const GLINT: f64 = 0.15;
/// The edge of a spot is steep above this; that of a mere shade is not.
pub(super) const STEEP: f64 = 0.6;
/// Pixels across of the smallest hole that can be measured.
pub(super) const LEAST_DIAMETER: f64 = 5.0;
/// A second spot this wide against the first is a second hole.
const RIVAL: f64 = 0.7;
/// So is a smaller one of some size that stands out as much more strongly as it is narrower.
const LEAST_RIVAL: f64 = 12.0;
/// A spot this wide against a hole around it is more than a speck; so is a smaller one where what is
/// around it fills so much of the frame that it may be a loupe's field.
const SPECK: f64 = 0.4;
const SPECK_IN_FIELD: f64 = 0.03;
const FILLED: f64 = 0.75;
/// A step less than this share of another is weaker.
pub(super) const LIKE: f64 = 0.5;
/// What the frame cuts is the hole that was meant if it is this many times wider than what is whole.
const CUT: f64 = 3.0;
/// How far a place may lie from a hole that it means, in diameters of the hole.
const REACH: f64 = 1.5;
/// Parts of one hole, parted by a hair, make a form as compact as this together; two holes side by side
/// have no more than 0.67.
const ONE_FORM: f64 = 0.85;
/// The least distance between the middles of such parts, in their widths together: halves of a disc have
/// 0.3; a part of a part has less.
const BESIDE: f64 = 0.25;
/// The narrowest of such parts against the widest.
const PART: f64 = 0.3;
/// More candidates than these are no help to anyone.
const MOST_CANDIDATES: usize = 24;
/// So many spots of like size are a texture, a screen, or print.
const TEXTURE: usize = 60;

/// What is wrong, what to do, and what may be meant.
pub(super) struct Refusal {
    pub(super) wrong: String,
    pub(super) remedy: String,
    candidates: Vec<Candidate>,
}

pub(super) fn refusal(wrong: impl Into<String>, remedy: impl Into<String>) -> Refusal {
    Refusal { wrong: wrong.into(), remedy: remedy.into(), candidates: Vec::new() }
}

impl Refusal {
    /// With what may be meant instead.
    fn among(self, openings: &[&Opening]) -> Refusal {
        let candidates = openings.iter().take(MOST_CANDIDATES).map(|o| o.candidate()).collect();
        Refusal { candidates, ..self }
    }

    pub(super) fn error(self) -> Error {
        match self.candidates.len() {
            0 => Error::damaged(self.wrong, self.remedy),
            _ => Error::undecided(self.wrong, self.remedy, self.candidates)
                .wanting(Wanted::HolePlaceOrEvery),
        }
    }
}

const SAY_WHICH: &str = "say which one is meant by its place, or measure each of them";

/// The hole of a picture.
pub(super) struct Choice {
    pub(super) opening: Opening,
    /// Whether nothing else stands out.
    pub(super) alone: bool,
    /// Whether a place said that it is meant.
    pub(super) told: bool,
    /// What to bear in mind.
    pub(super) warnings: Vec<String>,
}

/// The one hole of a picture, or the one at a place.
///
/// # Errors
/// [`Undecided`](crate::Kind::Undecided) when more than one may be meant; [`Damaged`](crate::Kind::Damaged) when there is none, it is cut by
/// the frame or too small.
pub(super) fn the_hole(
    openings: &[Opening],
    at_px: Option<[f64; 2]>,
    picture: &Raster,
) -> Result<Choice, Error> {
    let shorter_side = picture.rows().min(picture.columns()) as f64;
    let chosen = match at_px {
        Some(place) => at_place(openings, place, picture),
        None => the_only(openings, shorter_side),
    };
    chosen.and_then(|choice| whole(choice, openings)).map_err(Refusal::error)
}

/// Asks about a hole that is hardly one, for reasons.
pub(super) fn doubtful(choice: &Choice, openings: &[Opening], doubts: &[String]) -> Error {
    let others = compact(openings);
    let mut candidates = vec![&choice.opening];
    candidates.extend(others.into_iter().filter(|o| o.centre != choice.opening.centre));
    refusal(
        format!(
            "shows no plain hole; what stands out most, {}, is hardly one: {}",
            places(&[&choice.opening]),
            doubts.join(", and ")
        ),
        "cut out the part with the hole, or say where it is, by its place in pixels",
    )
    .among(&candidates)
    .error()
}

/// What stands out and is compact, strongly enough to be a hole and not a shade of the plate; largest
/// first.
pub(super) fn compact(openings: &[Opening]) -> Vec<&Opening> {
    let compact: Vec<&Opening> =
        openings.iter().filter(|o| o.compactness >= LEAST_COMPACTNESS).collect();
    let strongest = |least: f64| {
        compact.iter().filter(|o| o.diameter >= least).map(|o| o.step()).fold(0.0, f64::max)
    };
    // Dust may well shine more than a hole, but not ten times.
    let least = (LEAST_STEP * strongest(LEAST_DIAMETER)).max(LEAST_STEP / 2.0 * strongest(0.0));
    // The strongest of all that are as wide as each, and of those a little narrower.
    let (mut strongest, mut next) = (0.0f64, 0);
    let mut kept = Vec::new();
    for &opening in &compact {
        while next < compact.len() && compact[next].diameter >= GLINT * opening.diameter {
            strongest = strongest.max(compact[next].step());
            next += 1;
        }
        let is_steep = opening.steadiness >= STEEP && opening.diameter >= LEAST_RIVAL;
        if opening.step() >= least || is_steep && opening.step() >= LEAST_STEP * strongest {
            kept.push(opening);
        }
    }
    kept
}

/// Whether one opening is compact, large enough, and lies in another.
fn is_hole_in(inner: &Opening, outer: &Opening) -> bool {
    outer.surrounds(inner.centre)
        && inner.diameter < outer.diameter / 1.3
        && inner.diameter >= 2.0 * LEAST_DIAMETER
        && inner.compactness >= LEAST_COMPACTNESS_IN_SHEET
}

/// The opening that a ring is about, where it is one.
pub(super) fn heart<'a>(ring: &Opening, all: &[&'a Opening]) -> Option<&'a Opening> {
    let is_heart = |inner: &&&Opening| {
        inner.diameter >= LEAST_DIAMETER
            && ring.is_ring_about(inner)
            && inner.step() >= LIKE * ring.step()
            && inner.compactness >= LEAST_COMPACTNESS_IN_SHEET
    };
    all.iter().find(is_heart).copied()
}

fn the_only(openings: &[Opening], shorter_side: f64) -> Result<Choice, Refusal> {
    let found = compact(openings);
    if found.is_empty() {
        return Err(nothing(openings));
    }
    let largest = found[0].diameter;
    let alike = found.iter().filter(|o| o.diameter >= RIVAL * largest).count();
    if alike > TEXTURE {
        return Err(refusal(
            format!(
                "shows {alike} spots of like size: a texture, a screen, print, or a sheet of holes"
            ),
            SAY_WHICH,
        )
        .among(&found));
    }
    // The strongest and largest are enough to tell which is the hole; thousands of specks are not.
    let near: Vec<&Opening> = found.iter().take(TEXTURE).copied().collect();
    // A lit field around a plate's hole is not the hole: it holds one that stands out more.
    let is_field = |o: &Opening| {
        let of_its_kind = |i: &Opening| i.is_bright() == o.is_bright() && i.step() > o.step();
        found.iter().any(|i| of_its_kind(i) && is_hole_in(i, o))
    };
    let mut warnings = Vec::new();
    let mut holes: Vec<&Opening> = Vec::new();
    for o in near.iter().copied().filter(|o| !is_field(o)) {
        match heart(o, &found) {
            Some(inner) => warnings.push(format!(
                "A ring {:.0} px wide lies around the hole at {:.0},{:.0} px: it is taken for metal.",
                o.breadth(),
                inner.centre[0],
                inner.centre[1]
            )),
            None => holes.push(o),
        }
    }
    // What the frame cuts is passed over for a whole hole of like size, not for a speck.
    let largest_whole = holes.iter().filter(|o| !o.cut).map(|o| o.diameter).next();
    if let Some(whole) = largest_whole {
        holes.retain(|o| !o.cut || o.diameter > CUT * whole);
    }
    let Some(first) = holes.first().copied() else { return Err(nothing(openings)) };
    let strength = |o: &Opening| o.step() * o.diameter;
    let rivals: Vec<&Opening> = holes
        .iter()
        .filter(|o| {
            let as_strong = strength(o) >= RIVAL * strength(first) && o.diameter >= LEAST_RIVAL;
            o.diameter >= RIVAL * first.diameter || as_strong && !first.surrounds(o.centre)
        })
        .copied()
        .collect();
    if let Some(parts) = parts_of_one(first, &holes) {
        return Err(refusal(
            format!("shows a hole with a hair or a scratch across it: its parts lie {}", places(&parts)),
            "blow the hole clean and take the picture again, or say which part is meant, by its place in pixels",
        )
        .among(&parts));
    }
    // Dark in a bright round field, or a speck in the hole? The picture alone cannot say.
    let largest_speck = if first.diameter > FILLED * shorter_side { SPECK_IN_FIELD } else { SPECK };
    let other = holes.iter().find(|i| {
        i.is_bright() != first.is_bright()
            && i.step() > LIKE * first.step()
            && is_hole_in(i, first)
            && i.diameter > largest_speck * first.diameter
    });
    if let Some(other) = other {
        let inside: Vec<&Opening> =
            holes.iter().filter(|i| is_hole_in(i, first)).copied().collect();
        return Err(refusal(
            format!(
                "shows a hole in a lit field, or a hole with a speck in it, {}",
                places(&[first, other])
            ),
            SAY_WHICH,
        )
        .among(&[vec![first], inside].concat()));
    }
    if rivals.len() > 1 && first.diameter >= LEAST_DIAMETER {
        return Err(refusal(
            format!("shows {} holes of like size, {}", rivals.len(), places(&rivals)),
            SAY_WHICH,
        )
        .among(&rivals));
    }
    let beside = |o: &&Opening| !first.surrounds(o.centre) && !o.surrounds(first.centre);
    let alone = !found.iter().copied().filter(beside).any(|o| {
        o.diameter >= LEAST_DIAMETER.max(0.05 * first.diameter)
            && o.step() >= LEAST_STEP * first.step()
    });
    warnings
        .retain(|said| said.contains(&format!("{:.0},{:.0} px", first.centre[0], first.centre[1])));
    Ok(Choice { opening: first.clone(), alone, told: false, warnings })
}

/// Why nothing in a picture is a hole.
fn nothing(openings: &[Opening]) -> Refusal {
    match openings.first() {
        None => refusal(
            "shows no hole: nothing stands out",
            "light the hole from behind, and expose so that it is bright but not white",
        ),
        Some(first) => refusal(
            format!(
                "shows no hole: only thin streaks stand out, the largest {:.0} px long at {:.0},{:.0} px",
                2.0 * first.breadth().max(first.diameter) - first.diameter,
                first.centre[0],
                first.centre[1]
            ),
            "cut out the part with the hole, and clean the plate",
        ),
    }
}

/// The parts of a hole that a hair or a scratch divides: of one kind, and more compact together than each
/// by itself.
fn parts_of_one<'a>(first: &'a Opening, holes: &[&'a Opening]) -> Option<Vec<&'a Opening>> {
    let is_other = |o: &&&Opening| {
        o.is_bright() == first.is_bright()
            && o.centre != first.centre
            && o.diameter >= PART * first.diameter
            && o.step() >= LIKE * first.step()
            && !first.cut
            && !o.cut
    };
    let is_beside = |o: &Opening| {
        let apart = (o.centre[0] - first.centre[0]).hypot(o.centre[1] - first.centre[1]);
        apart > BESIDE * (o.diameter + first.diameter)
    };
    let other = holes.iter().filter(is_other).filter(|o| is_beside(o)).find(|o| {
        let together = compactness_of(&[first, o]);
        together > ONE_FORM && together > first.compactness && together > o.compactness
    })?;
    Some(vec![first, other])
}

/// The compactness of several openings as one spot: second moments add, each moved to the common middle.
fn compactness_of(parts: &[&Opening]) -> f64 {
    let area: f64 = parts.iter().map(|o| o.area()).sum();
    let middle = [0, 1]
        .map(|axis: usize| parts.iter().map(|o| o.area() * o.centre[axis]).sum::<f64>() / area);
    let moment: f64 = parts
        .iter()
        .map(|o| {
            let off = (o.centre[0] - middle[0]).powi(2) + (o.centre[1] - middle[1]).powi(2);
            o.area() * (o.area() / (std::f64::consts::TAU * o.compactness) + off)
        })
        .sum();
    area * area / (std::f64::consts::TAU * moment)
}

/// The smallest that holds the place and stands out like the strongest there; where none does, the
/// nearest.
fn at_place(openings: &[Opening], [x, y]: [f64; 2], picture: &Raster) -> Result<Choice, Refusal> {
    let distance = |o: &Opening| (o.centre[0] - x).hypot(o.centre[1] - y);
    let fit = |o: &&Opening| o.compactness >= LEAST_COMPACTNESS && o.diameter >= LEAST_DIAMETER;
    let found: Vec<&Opening> = openings.iter().filter(fit).collect();
    let light = light_at(picture, [x, y]);
    // A place in the hole of a ring lies within the ring's bounds, but is not lit as the ring is.
    let holding: Vec<&Opening> = found
        .iter()
        .filter(|o| match light {
            Some(light) => o.holds([x, y], light),
            None => false,
        })
        .filter(|o| distance(o) < o.breadth())
        .copied()
        .collect();
    let smallest = |of: &[&Opening]| -> Option<Opening> {
        let strongest = of.iter().map(|o| o.step()).fold(0.0, f64::max);
        of.iter()
            .filter(|o| o.step() >= LIKE * strongest)
            .min_by(|a, b| a.breadth().total_cmp(&b.breadth()))
            .map(|o| (*o).clone())
    };
    let around = || {
        let around: Vec<&Opening> =
            found.iter().filter(|o| distance(o) < 0.5 * o.diameter).copied().collect();
        smallest(&around)
    };
    let nearest = || {
        let near = found.iter().filter(|o| distance(o) < REACH * o.diameter);
        near.min_by(|a, b| distance(a).total_cmp(&distance(b))).map(|o| (*o).clone())
    };
    match smallest(&holding).or_else(around).or_else(nearest) {
        Some(opening) => {
            // A place on the metal of a ring means the hole in it.
            let opening = heart(&opening, &found).cloned().unwrap_or(opening);
            let is_part = parts_of_one(&opening, &found).is_some();
            let said =
                "A hair or a scratch divides the hole: only the part at the place was measured.";
            let warnings = if is_part { vec![said.to_owned()] } else { Vec::new() };
            Ok(Choice { opening, alone: false, told: true, warnings })
        }
        None => {
            let largest: Vec<&Opening> = compact(openings).into_iter().take(8).collect();
            Err(refusal(
                format!("shows no hole at {x:.0},{y:.0} px"),
                if largest.is_empty() {
                    "nothing in the picture stands out; pixels count from its upper left corner"
                        .into()
                } else {
                    format!("what stands out: {}", places(&largest))
                },
            )
            .among(&compact(openings)))
        }
    }
}

/// The light at a place, of the pixels around it that a speck of noise does not decide.
fn light_at(picture: &Raster, [x, y]: [f64; 2]) -> Option<f64> {
    let near = (-1..=1).flat_map(|i| (-1..=1).map(move |j| [f64::from(i), f64::from(j)]));
    let seen: Vec<f64> = near.filter_map(|[i, j]| picture.lightness_at([x + i, y + j])).collect();
    (!seen.is_empty()).then(|| median(seen))
}

/// Refuses what the frame cuts and what is too small.
fn whole(choice: Choice, openings: &[Opening]) -> Result<Choice, Refusal> {
    let opening = &choice.opening;
    if opening.diameter < LEAST_DIAMETER {
        return Err(refusal(
            format!("shows a hole of about {:.0} pixels across", opening.diameter),
            "come nearer or use a finer scan: five pixels are the least, a hundred are good",
        ));
    }
    if opening.cut {
        let whole: Vec<&Opening> = compact(openings).into_iter().filter(|o| !o.cut).collect();
        return Err(refusal(
            format!("shows a hole that the frame cuts, {}", places(&[opening])),
            "take the picture with the whole hole and some metal around it, or say which hole is \
             meant, by its place in pixels",
        )
        .among(&whole));
    }
    Ok(choice)
}

/// Where openings lie and how large they are, at most eight.
pub(super) fn places(openings: &[&Opening]) -> String {
    let shown = openings
        .iter()
        .take(8)
        .map(|o| format!("{:.0},{:.0} px ({:.0} px wide)", o.centre[0], o.centre[1], o.diameter));
    let more = openings.len().saturating_sub(8);
    let list = shown.collect::<Vec<_>>().join("; ");
    if more > 0 { format!("at {list}; and {more} more") } else { format!("at {list}") }
}
