//! Where the rim of the largest opening departs from its smooth form, inwards or outwards.
//!
//! What needle and abrasive leave on purpose or by habit (an oval, a few lobes) is the form of the
//! hole; what stands out of it on a short stretch of rim is a departure. The form is a radius r(φ)
//! of a few harmonics, fitted so that a departure does not drag it.

use super::smooth_form::{
    DIRECTIONS, Fit, Form, Place, Sight, angle_of, direction_of, pieces, spread, turn,
};
use crate::geometry::feret::convex_hull;
use crate::geometry::{Outline, Point, cross, distance, edges, signed_area};
use serde::Serialize;
use std::f64::consts::PI;

/// Least depth of a departure, as a part of the mean radius.
const LEAST_DEPTH: f64 = 0.03;

/// Least depth of a departure, in standard deviations of the rim's roughness: of 720 directions of
/// normally distributed roughness, one in 5000 rims has one so far out.
const LEAST_DEPTH_IN_NOISE: f64 = 5.0;

/// Broadest departure at half its depth, in rad: beyond a sixth of the rim it is form.
const BROADEST_RAD: f64 = PI / 3.0;

/// Broadest departure of any depth, as a part of the mean radius: a scratch or a fibre that reaches the
/// middle of the hole takes half of all directions there, and is no less narrow for that.
const BROADEST: f64 = 0.25;

/// Depth of a departure that a circle fitted to the rim is not to follow, as a part of the mean radius.
const DEEP: f64 = 0.4;

/// How far inside the convex hull the tip of a burr lies at least, in parts of its depth. The tip of
/// a flat, or of the side of a slit, lies on the hull.
const LEAST_HOLLOW: f64 = 1.0 / 3.0;

/// How far inside the convex hull the rim beside a nick lies at least, in parts of its depth. Beside
/// the corner of a polygon or the end of an oval it lies on the hull; beside a nick with straight
/// sides as deep as it is wide at the mouth it is a half, four times as wide as deep a tenth.
const LEAST_SHOULDER: f64 = 0.1;

/// To which side of the smooth rim a departure stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Into the opening: a burr.
    Inward,
    /// Into the metal: a nick, a tear.
    Outward,
}

/// A run of directions in which the rim stands off, and the direction of its tip.
pub(super) struct Departure {
    pub(super) side: Side,
    first: usize,
    count: usize,
    tip: usize,
    pub(super) depth: f64,
}

impl Departure {
    /// Whether an angle, seen from the centre of the smooth form, lies in it.
    pub(super) fn holds(&self, angle: f64) -> bool {
        (direction_of(angle) + DIRECTIONS - self.first % DIRECTIONS) % DIRECTIONS < self.count
    }

    /// The middles of its directions, in rad.
    pub(super) fn angles(&self) -> impl Iterator<Item = f64> {
        (self.first..self.first + self.count).map(angle_of)
    }
}

/// The rim of the largest opening, seen from the centre of its smooth form.
pub(super) struct Rim<'a> {
    /// Which loop of the outline it is.
    pub(super) index: usize,
    points: &'a [Point],
    pub(super) form: Form,
    seen: Vec<Option<Sight>>,
    hull: Vec<Point>,
}

impl Rim<'_> {
    pub(super) fn of(outline: &Outline) -> Rim<'_> {
        let areas = outline.loops().iter().map(|points| signed_area(points)).enumerate();
        let index = areas.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index);
        let points = outline.loops()[index].as_slice();
        let Fit { form, seen } = Fit::of(points);
        Rim { index, points, form, seen, hull: convex_hull(points.iter().copied()) }
    }

    /// The rim in each direction in which it is seen from the centre of the smooth form: angle, radius, and
    /// whether it reaches far into the hole there.
    pub(super) fn seen_spokes(&self) -> impl Iterator<Item = (f64, f64, bool)> + '_ {
        self.seen.iter().flatten().map(|sight| {
            let Place { angle, radius } = sight.far;
            (angle, radius, sight.near.radius < radius / 2.0)
        })
    }

    /// All departures, deepest first.
    pub(super) fn departures(&self) -> Vec<Departure> {
        let mut found = self.on_side(Side::Inward);
        found.extend(self.on_side(Side::Outward));
        found.sort_by(|a, b| b.depth.total_cmp(&a.depth));
        found
    }

    fn on_side(&self, side: Side) -> Vec<Departure> {
        // The form itself where no rim is seen.
        let depths: Vec<f64> = (0..DIRECTIONS).map(|i| self.depth(side, i)).collect();
        let noise_mm = spread(depths.iter().copied());
        let least = (LEAST_DEPTH * self.form.mean_radius()).max(LEAST_DEPTH_IN_NOISE * noise_mm);
        // Where the rim is the smooth rim again, as far as its roughness lets one say.
        let off = |i: usize| depths[i % DIRECTIONS] > noise_mm.max(least / 10.0);
        let starts = (0..DIRECTIONS).filter(|&i| !off(i) && off(i + 1)).map(|i| i + 1);
        starts
            .filter_map(|first| {
                let count = (0..DIRECTIONS).take_while(|k| off(first + k)).count();
                let deeper = |a: &usize, b: &usize| {
                    depths[a % DIRECTIONS].total_cmp(&depths[b % DIRECTIONS])
                };
                let tip = (first..first + count).max_by(deeper)?;
                Some(Departure { side, first, count, tip, depth: depths[tip % DIRECTIONS] })
            })
            .filter(|d| d.depth > least && self.is_narrow(d) && self.breaks_the_form(d))
            .collect()
    }

    /// The rim in one direction on one side; the smooth form itself where no rim is seen.
    fn place(&self, side: Side, direction: usize) -> Place {
        match (self.seen[direction % DIRECTIONS], side) {
            (Some(sight), Side::Inward) => sight.near,
            (Some(sight), Side::Outward) => sight.far,
            (None, _) => {
                let angle = angle_of(direction);
                Place { angle, radius: self.form.radius(angle) }
            }
        }
    }

    /// How far the rim stands off the smooth form to one side in one direction.
    fn depth(&self, side: Side, direction: usize) -> f64 {
        let Place { angle, radius } = self.place(side, direction);
        let inwards = self.form.radius(angle) - radius;
        match side {
            Side::Inward => inwards,
            Side::Outward => -inwards,
        }
    }

    fn is_narrow(&self, departure: &Departure) -> bool {
        let [a, b] = self.half_depth_turns(departure);
        b - a < BROADEST_RAD || self.mean_width_mm(departure) < BROADEST * self.form.mean_radius()
    }

    /// The area of a departure over its depth, in mm: of one with straight sides, its width at half its
    /// depth.
    fn mean_width_mm(&self, departure: &Departure) -> f64 {
        self.area_mm2(departure) / departure.depth
    }

    /// The profile of the rim for a circle to be fitted to: deep departures replaced by the smooth form.
    pub(super) fn without_deep(&self, profile: &[Point], departures: &[Departure]) -> Vec<Point> {
        let deep: Vec<&Departure> =
            departures.iter().filter(|d| d.depth > DEEP * self.form.mean_radius()).collect();
        let [x, y] = self.form.centre;
        let seen = |p: &Point| (p[1] - y).atan2(p[0] - x);
        let departs = |p: &Point| deep.iter().any(|departure| departure.holds(seen(p)));
        let rest = profile.iter().filter(|p| !departs(p)).copied();
        let arcs = deep.iter().flat_map(|departure| departure.angles());
        let mut points: Vec<Point> =
            rest.chain(arcs.map(|a| self.form.point(a, self.form.radius(a)))).collect();
        if !deep.is_empty() {
            points.sort_by(|a, b| seen(a).total_cmp(&seen(b)));
        }
        points
    }

    /// Whether a departure is more than a corner or a flat of the form.
    fn breaks_the_form(&self, departure: &Departure) -> bool {
        let inside_hull = |direction| {
            let Place { angle, radius } = self.place(departure.side, direction);
            let point = self.form.point(angle, radius);
            edges(&self.hull)
                .map(|(a, b)| cross(a, b, point) / distance(a, b))
                .fold(f64::INFINITY, f64::min)
        };
        match departure.side {
            Side::Inward => inside_hull(departure.tip) > LEAST_HOLLOW * departure.depth,
            Side::Outward => {
                // The shoulders lie at the ends, or a little beyond.
                let beyond = departure.count / 4;
                let first = departure.first + DIRECTIONS - beyond;
                (first..first + departure.count + 2 * beyond)
                    .any(|i| inside_hull(i) > LEAST_SHOULDER * departure.depth)
            }
        }
    }

    /// The turns from the tip backwards and onwards at which a departure is half as deep; half a
    /// turn where it never is.
    fn half_depth_turns(&self, departure: &Departure) -> [f64; 2] {
        let half = departure.depth / 2.0;
        let depth = |direction| self.depth(departure.side, direction);
        let tip = self.tip_angle(departure);
        let from_tip = |direction| turn(tip, self.place(departure.side, direction).angle);
        let crossing = |at: &dyn Fn(usize) -> usize| {
            let outer = (1..DIRECTIONS / 2).find(|&k| depth(at(k)) < half)?;
            let [a, b] = [at(outer - 1), at(outer)];
            let part = (depth(a) - half) / (depth(a) - depth(b));
            Some(from_tip(a) + part * (from_tip(b) - from_tip(a)))
        };
        let tip = departure.tip + DIRECTIONS;
        [crossing(&|k| tip - k).unwrap_or(-PI), crossing(&|k| tip + k).unwrap_or(PI)]
    }

    /// The direction of the tip, in rad.
    pub(super) fn tip_angle(&self, departure: &Departure) -> f64 {
        self.place(departure.side, departure.tip).angle
    }

    /// The tip, in mm, in the frame of the outline.
    pub(super) fn tip(&self, departure: &Departure) -> Point {
        let Place { angle, radius } = self.place(departure.side, departure.tip);
        self.form.point(angle, radius)
    }

    /// The width at half the depth, straight across, in mm.
    pub(super) fn width_mm(&self, departure: &Departure) -> f64 {
        let tip = self.tip_angle(departure);
        let half = match departure.side {
            Side::Inward => -departure.depth / 2.0,
            Side::Outward => departure.depth / 2.0,
        };
        let [a, b] = self
            .half_depth_turns(departure)
            .map(|from_tip| tip + from_tip)
            .map(|angle| self.form.point(angle, self.form.radius(angle) + half));
        // Near the middle of the hole the directions are no measure of a width.
        let mean = self.mean_width_mm(departure);
        let across = distance(a, b);
        if across > 2.0 * mean { mean } else { across }
    }

    /// The area between the smooth rim and the rim in the directions of a departure, in mm².
    ///
    /// # Formula
    /// ½ ∫ (ρ² - r²) dφ along the rim, ρ the smooth form; where the rim runs back it counts against,
    /// so that the gap behind a tongue that overhangs is no metal.
    pub(super) fn area_mm2(&self, departure: &Departure) -> f64 {
        pieces(self.points, self.form.centre)
            .map(|(a, b)| (a, b, (a.angle + b.angle) / 2.0))
            .filter(|(.., middle)| departure.holds(*middle))
            .map(|(a, b, middle)| {
                let span = b.angle - a.angle;
                let smooth = self.form.radius(middle);
                (smooth * smooth * span - a.radius * b.radius * span.sin()) / 2.0
            })
            .sum::<f64>()
            .abs()
    }
}
