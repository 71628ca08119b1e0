//! Burrs: inward departures from the smooth rim of a hole, and the outline without them.
//!
//! What needle and abrasive leave on purpose or by habit (an oval, a few lobes) is the form of the
//! hole; what stands into it on a short stretch of rim is a burr, and comes off. The form is a
//! radius r(φ) of a few harmonics, fitted so that a burr does not drag it.

use super::smooth_form::{DIRECTIONS, Fit, Form, Sight, angle_of, direction_of};
use crate::error::Error;
use crate::geometry::feret::convex_hull;
use crate::geometry::{Outline, Point, cross, distance, edges, signed_area};
use serde::Serialize;
use std::f64::consts::{PI, TAU};

/// Least depth of a burr, as a part of the mean radius.
const LEAST_DEPTH: f64 = 0.03;

/// Least depth of a burr, in standard deviations of the rim's roughness: of 720 directions of
/// normally distributed roughness, one in 5000 rims has one so far out.
const LEAST_DEPTH_IN_NOISE: f64 = 5.0;

/// Broadest burr at half its depth, in rad: beyond a sixth of the rim it is form.
const BROADEST_RAD: f64 = PI / 3.0;

/// An inward departure from the smooth rim.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Burr {
    /// The direction of its tip from the centre of the smooth rim, in degrees anticlockwise from
    /// +x, y up, 0..360.
    pub angle_deg: f64,
    /// The distance from the smooth rim to the tip, towards the centre, in mm.
    pub depth_mm: f64,
    /// The width at half the depth, straight across, in mm.
    pub width_mm: f64,
}

/// The burrs of the largest opening, deepest first.
///
/// A burr is an inward departure from the smooth rim that is deeper than 3 % of the mean radius
/// (more on a rough rim: five times its roughness), narrower than a sixth of the rim at half its
/// depth, and hollow: its tip lies inside the convex hull by a third of its depth at least, as the
/// tip of a flat or of the side of a slit does not. Directions are seen from the centre of the
/// smooth rim. Islands of metal are not burrs.
pub fn burrs(outline: &Outline) -> Vec<Burr> {
    Rim::of(outline).map_or_else(Vec::new, |rim| {
        rim.excursions().iter().map(|excursion| rim.describe(excursion)).collect()
    })
}

/// The outline with its burrs cut back to the smooth rim, and nothing else changed: the rim beside
/// them, islands (debris) and other openings stay, save openings pierced in a burr, which go with it.
///
/// # Errors
/// [`Error::Outline`] when the restored rim would run through an island or over itself.
pub fn without_burrs(outline: &Outline) -> Result<Outline, Error> {
    let Some(rim) = Rim::of(outline) else { return Ok(outline.clone()) };
    let excursions = rim.excursions();
    if excursions.is_empty() {
        return Ok(outline.clone());
    }
    let mut loops = outline.loops().to_vec();
    for excursion in &excursions {
        loops[rim.index] = rim.restored(&loops[rim.index], excursion);
    }
    let pierced = |points: &[Point]| {
        excursions.iter().any(|e| points.iter().all(|&p| rim.shadows(e, p)))
            && signed_area(points) > 0.0
    };
    let mut index = 0;
    loops.retain(|points| {
        index += 1;
        index - 1 == rim.index || !pierced(points)
    });
    Outline::new(loops)
}

/// A run of directions in which the rim stands inwards, and the direction of its tip.
struct Excursion {
    first: usize,
    count: usize,
    tip: usize,
    depth: f64,
}

/// The rim of the largest opening, seen from the centre of its smooth form.
struct Rim {
    index: usize,
    form: Form,
    noise_mm: f64,
    seen: Vec<Option<Sight>>,
    hull: Vec<Point>,
}

impl Rim {
    fn of(outline: &Outline) -> Option<Rim> {
        let alone = |(index, points): (usize, &Vec<Point>)| {
            Outline::new(vec![points.clone()]).ok().map(|rim| (index, rim))
        };
        let (index, rim) = outline
            .loops()
            .iter()
            .enumerate()
            .filter_map(alone)
            .max_by(|a, b| a.1.area_mm2().total_cmp(&b.1.area_mm2()))?;
        let Fit { form, noise_mm, seen } = Fit::of(&rim);
        let hull = convex_hull(rim.loops().iter().flatten().copied());
        Some(Rim { index, form, noise_mm, seen, hull })
    }

    /// The rim in one direction; the smooth form itself where no rim is seen.
    fn sight(&self, direction: usize) -> Sight {
        self.seen[direction % DIRECTIONS].unwrap_or_else(|| {
            let angle = angle_of(direction);
            Sight { angle, radius: self.form.radius(angle) }
        })
    }

    /// How far the rim stands inside the smooth form in one direction.
    fn depth(&self, direction: usize) -> f64 {
        let Sight { angle, radius } = self.sight(direction);
        self.form.radius(angle) - radius
    }

    /// The burrs, deepest first.
    fn excursions(&self) -> Vec<Excursion> {
        let mean = self.form.mean_radius();
        let least = (LEAST_DEPTH * mean).max(LEAST_DEPTH_IN_NOISE * self.noise_mm);
        // Where the rim is the smooth rim again, as far as its roughness lets one say.
        let depths: Vec<f64> = (0..DIRECTIONS).map(|i| self.depth(i)).collect();
        let inwards = |i: usize| depths[i % DIRECTIONS] > self.noise_mm.max(least / 10.0);
        let starts = (0..DIRECTIONS).filter(|&i| !inwards(i) && inwards(i + 1)).map(|i| i + 1);
        let mut found: Vec<Excursion> = starts
            .filter_map(|first| {
                let count = (0..DIRECTIONS).take_while(|k| inwards(first + k)).count();
                let deeper = |a: &usize, b: &usize| {
                    depths[a % DIRECTIONS].total_cmp(&depths[b % DIRECTIONS])
                };
                let tip = (first..first + count).max_by(deeper)?;
                Some(Excursion { first, count, tip, depth: depths[tip % DIRECTIONS] })
            })
            .filter(|e| e.depth > least && self.is_narrow(e) && self.is_hollow(e))
            .collect();
        found.sort_by(|a, b| b.depth.total_cmp(&a.depth));
        found
    }

    fn is_narrow(&self, excursion: &Excursion) -> bool {
        let [a, b] = self.half_depth_angles(excursion);
        b - a < BROADEST_RAD
    }

    fn is_hollow(&self, excursion: &Excursion) -> bool {
        let Sight { angle, radius } = self.sight(excursion.tip);
        let tip = self.point(angle, radius);
        let inside_hull = edges(&self.hull)
            .map(|(a, b)| cross(a, b, tip) / distance(a, b))
            .fold(f64::INFINITY, f64::min);
        inside_hull > excursion.depth / 3.0
    }

    fn point(&self, angle: f64, radius: f64) -> Point {
        let [x, y] = self.form.centre;
        [x + radius * angle.cos(), y + radius * angle.sin()]
    }

    /// The angles before and behind the tip, from it, at which the departure is half as deep; half a
    /// turn where it never is.
    fn half_depth_angles(&self, excursion: &Excursion) -> [f64; 2] {
        let half = excursion.depth / 2.0;
        let tip = self.sight(excursion.tip).angle;
        let from_tip = |direction| (self.sight(direction).angle - tip + PI).rem_euclid(TAU) - PI;
        let crossing = |at: &dyn Fn(usize) -> usize| {
            let outer = (1..DIRECTIONS / 2).find(|&k| self.depth(at(k)) < half)?;
            let [a, b] = [at(outer - 1), at(outer)];
            let part = (self.depth(a) - half) / (self.depth(a) - self.depth(b));
            Some(from_tip(a) + part * (from_tip(b) - from_tip(a)))
        };
        let tip = excursion.tip + DIRECTIONS;
        [crossing(&|k| tip - k).unwrap_or(-PI), crossing(&|k| tip + k).unwrap_or(PI)]
    }

    fn describe(&self, excursion: &Excursion) -> Burr {
        let tip = self.sight(excursion.tip).angle;
        let [a, b] = self
            .half_depth_angles(excursion)
            .map(|from_tip| tip + from_tip)
            .map(|angle| self.point(angle, self.form.radius(angle) - excursion.depth / 2.0));
        Burr {
            angle_deg: tip.to_degrees().rem_euclid(360.0),
            depth_mm: excursion.depth,
            width_mm: distance(a, b),
        }
    }

    /// Whether a point lies in the directions of a burr and not outside the smooth rim.
    fn shadows(&self, excursion: &Excursion, p: Point) -> bool {
        let [x, y] = [p[0] - self.form.centre[0], p[1] - self.form.centre[1]];
        let angle = y.atan2(x);
        in_directions(excursion, angle) && x.hypot(y) < self.form.radius(angle)
    }

    /// The loop with the points in the burr's directions replaced by an arc of the smooth form.
    fn restored(&self, points: &[Point], excursion: &Excursion) -> Vec<Point> {
        let [x, y] = self.form.centre;
        let burred = |p: &Point| in_directions(excursion, (p[1] - y).atan2(p[0] - x));
        let count = points.len();
        let run_after =
            |i: usize| (1..count).take_while(|k| burred(&points[(i + k) % count])).count();
        // A rough rim may cross the burr's first direction more than once; the longest run is it.
        let kept = (0..count).filter(|&i| !burred(&points[i]));
        let Some(last) = kept.max_by_key(|&i| run_after(i)).filter(|&i| run_after(i) > 0) else {
            return points.to_vec();
        };
        let arc = (excursion.first..excursion.first + excursion.count).map(|i| {
            let angle = angle_of(i);
            self.point(angle, self.form.radius(angle))
        });
        let rest = (1..=count).map(|k| points[(last + k) % count]).filter(|p| !burred(p));
        arc.chain(rest).collect()
    }
}

fn in_directions(excursion: &Excursion, angle: f64) -> bool {
    (direction_of(angle) + DIRECTIONS - excursion.first % DIRECTIONS) % DIRECTIONS < excursion.count
}

#[cfg(test)]
#[path = "burr_tests.rs"]
mod tests;
