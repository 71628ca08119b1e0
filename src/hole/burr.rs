//! Burrs and nicks: what stands into the opening or into the metal, and the outline without burrs.

use super::departure::{Departure, Rim, Side};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::{Outline, Point, signed_area};
use serde::Serialize;

/// A departure from the smooth rim: a burr (inward), or a nick or tear (outward).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Burr {
    /// "inward", into the opening, or "outward", into the metal.
    pub side: Side,
    /// The direction of its tip from the centre of the smooth rim, in degrees anticlockwise from
    /// +x, y up, 0..360.
    pub angle_deg: f64,
    /// The same direction as on the face of a clock, twelve at the top, in words to the half hour.
    pub clock: &'static str,
    /// Its tip, in mm, in the frame of the outline: x right, y up.
    pub tip_mm: Point,
    /// The distance from the smooth rim to the tip, towards the centre or away from it, in mm.
    pub depth_mm: f64,
    /// The expanded uncertainty (k = 2) of the depth: a half-width, in mm. Most of it is what blur may
    /// have taken off a sharp tip.
    pub depth_uncertainty_mm: f64,
    /// The width at half the depth, straight across, in mm.
    pub width_mm: f64,
    /// The area between the smooth rim and the rim, in mm².
    pub area_mm2: f64,
}

impl Burr {
    fn of(rim: &Rim<'_>, departure: &Departure, known: &SizeUncertainty) -> Burr {
        let angle_deg = rim.tip_angle(departure).to_degrees().rem_euclid(360.0);
        Burr {
            side: departure.side,
            angle_deg,
            clock: clock(angle_deg),
            tip_mm: rim.tip(departure),
            depth_mm: departure.depth,
            depth_uncertainty_mm: known
                .of_depth(departure.depth)
                .hypot(2.0 * rim.form.uncertainty_mm())
                .hypot(known.of_shortening(departure.depth, rim.width_mm(departure))),
            width_mm: rim.width_mm(departure),
            area_mm2: rim.area_mm2(departure),
        }
    }
}

/// The burrs and nicks of the largest opening, deepest first, of an outline that is exact: the
/// uncertainty of a depth is that of the smooth rim alone.
///
/// A burr is an inward departure from the smooth rim that is deeper than 3 % of the mean radius
/// (more on a rough rim: five times its roughness) and than its own uncertainty, narrower than a sixth of
/// the rim at half its depth (or a quarter of the mean radius across, however deep), and hollow: its tip lies inside the convex hull by a third of its depth at least, as the
/// tip of a flat or of the side of a slit does not. A nick is the same outwards; what makes it more
/// than a corner is that the rim beside it lies inside the convex hull, by a tenth of its depth.
/// Directions are seen from the centre of the smooth rim. Islands of metal are neither.
pub fn burrs(outline: &Outline) -> Vec<Burr> {
    let rim = Rim::of(outline);
    described(&rim, &rim.departures(), &SizeUncertainty::default())
}

pub(super) fn described(
    rim: &Rim<'_>,
    departures: &[Departure],
    known: &SizeUncertainty,
) -> Vec<Burr> {
    departures.iter().map(|departure| Burr::of(rim, departure, known)).collect()
}

/// The departures that are deeper than their uncertainty and than the blur, which is the least that a
/// picture resolves.
pub(super) fn significant(rim: &Rim<'_>, known: &SizeUncertainty) -> Vec<Departure> {
    let mut found = rim.departures();
    found.retain(|departure| {
        let burr = Burr::of(rim, departure, known);
        burr.depth_mm > burr.depth_uncertainty_mm.max(known.blur_mm)
    });
    found
}

/// A direction in degrees anticlockwise from the right as the hour of a clock, twelve at the top.
fn clock(angle_deg: f64) -> &'static str {
    const HALF_HOURS: [&str; 24] = [
        "twelve o'clock",
        "half past twelve",
        "one o'clock",
        "half past one",
        "two o'clock",
        "half past two",
        "three o'clock",
        "half past three",
        "four o'clock",
        "half past four",
        "five o'clock",
        "half past five",
        "six o'clock",
        "half past six",
        "seven o'clock",
        "half past seven",
        "eight o'clock",
        "half past eight",
        "nine o'clock",
        "half past nine",
        "ten o'clock",
        "half past ten",
        "eleven o'clock",
        "half past eleven",
    ];
    let half_hours = ((90.0 - angle_deg) / 15.0).round().rem_euclid(24.0);
    HALF_HOURS[half_hours as usize % 24]
}

/// The outline with its burrs cut back to the smooth rim, and nothing else changed: nicks (no
/// abrasive puts metal back), the rim beside burrs, islands (debris) and other openings stay, save
/// openings pierced in a burr, which go with it.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the restored rim would run through an island or over itself.
pub fn without_burrs(outline: &Outline) -> Result<Outline, Error> {
    let rim = Rim::of(outline);
    let mut burrs = rim.departures();
    burrs.retain(|departure| departure.side == Side::Inward);
    if burrs.is_empty() {
        return Ok(outline.clone());
    }
    let mut loops = outline.loops().to_vec();
    for burr in &burrs {
        loops[rim.index] = restored(&rim, &loops[rim.index], burr);
    }
    let pierced = |points: &[Point]| {
        burrs.iter().any(|burr| points.iter().all(|&p| shadows(&rim, burr, p)))
            && signed_area(points) > 0.0
    };
    let mut index = 0;
    loops.retain(|points| {
        index += 1;
        index - 1 == rim.index || !pierced(points)
    });
    Outline::new(loops)
}

/// The angle of a point seen from the centre of the smooth rim, and its distance.
fn seen(rim: &Rim<'_>, p: Point) -> (f64, f64) {
    let [x, y] = [p[0] - rim.form.centre[0], p[1] - rim.form.centre[1]];
    (y.atan2(x), x.hypot(y))
}

/// Whether a point lies in the directions of a burr and not outside the smooth rim.
fn shadows(rim: &Rim<'_>, burr: &Departure, p: Point) -> bool {
    let (angle, radius) = seen(rim, p);
    burr.holds(angle) && radius < rim.form.radius(angle)
}

/// The loop with the points in the burr's directions replaced by an arc of the smooth form.
fn restored(rim: &Rim<'_>, points: &[Point], burr: &Departure) -> Vec<Point> {
    let count = points.len();
    let burred: Vec<bool> = points.iter().map(|&p| burr.holds(seen(rim, p).0)).collect();
    let run_after = |i: usize| (1..count).take_while(|k| burred[(i + k) % count]).count();
    // A rough rim may cross the burr's first direction more than once; the longest run is it.
    let kept = (0..count).filter(|&i| !burred[i]);
    let Some(last) = kept.max_by_key(|&i| run_after(i)).filter(|&i| run_after(i) > 0) else {
        return points.to_vec();
    };
    let arc = burr.angles().map(|angle| rim.form.point(angle, rim.form.radius(angle)));
    let rest = (1..=count).map(|k| (last + k) % count).filter(|&i| !burred[i]);
    arc.chain(rest.map(|i| points[i])).collect()
}

#[cfg(test)]
#[path = "burr_tests.rs"]
mod tests;
