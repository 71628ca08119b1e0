//! Burrs: inward departures from the smooth rim of a hole, and the outline without them.
//!
//! What needle and abrasive leave on purpose or by habit (an oval, a few lobes) is the form of the
//! hole; what stands into it on a short stretch of rim is a burr, and comes off. The form is a
//! radius r(φ) of a few harmonics, fitted so that a burr does not drag it.

use super::gauge::Burr;
use crate::error::Error;
use crate::geometry::feret::convex_hull;
use crate::geometry::{Outline, Point, cross, distance, edges};
use std::f64::consts::{PI, TAU};

/// Directions in which the rim is looked at: half a degree each.
const DIRECTIONS: usize = 720;

/// Harmonics of the smooth form. Six hold an oval of 1.5:1 to 0.1 % of its radius and any lobes that
/// a hand makes, and are too stiff to follow a burr narrower than a sixth of the rim.
const ORDER: usize = 6;

const TERMS: usize = 2 * ORDER + 1;

/// Steps after which a fit is content; most converge in about twenty.
const MOST_STEPS: usize = 60;

/// Least depth of a burr, as a part of the mean radius.
const LEAST_DEPTH: f64 = 0.03;

/// Least depth of a burr, in standard deviations of the rim's roughness: of 720 directions of
/// normally distributed roughness, one in 5000 rims has one so far out.
const LEAST_DEPTH_IN_NOISE: f64 = 5.0;

/// Broadest burr at half its depth, in rad: beyond a sixth of the rim it is form.
const BROADEST_RAD: f64 = PI / 3.0;

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
            && runs_as_opening(points)
    };
    let mut index = 0;
    loops.retain(|points| {
        index += 1;
        index - 1 == rim.index || !pierced(points)
    });
    Outline::new(loops)
}

/// A smooth closed form, in mm: r(φ) = Σ c_j t_j(φ) about a centre, with the terms t = 1, cos φ,
/// sin φ, cos 2φ, sin 2φ, ...
struct Form {
    centre: Point,
    coefficients: [f64; TERMS],
}

impl Form {
    fn radius(&self, angle: f64) -> f64 {
        terms(angle).iter().zip(&self.coefficients).map(|(term, c)| term * c).sum()
    }

    fn mean_radius(&self) -> f64 {
        self.coefficients[0]
    }

    /// The form that fits the rim with burrs left out, and the roughness of the rim about it: one
    /// standard deviation, in mm.
    ///
    /// # Formula
    /// Least squares, again and again with Tukey's biweight at 4.685 standard deviations, these from
    /// the median absolute residual (the usual constants, from memory). Harmonics come one by one:
    /// what stands far from a stiff form is left out before the form can bend towards it.
    fn fitted(centre: Point, seen: &[Option<Sight>]) -> (Form, f64) {
        let sights: Vec<Sight> = seen.iter().flatten().copied().collect();
        let mut form = Form { centre, coefficients: [0.0; TERMS] };
        let mut weights = vec![1.0; sights.len()];
        let mut noise = 0.0;
        for order in 1..=ORDER {
            for _ in 0..MOST_STEPS {
                let before = form.coefficients;
                form.coefficients = least_squares(2 * order + 1, &sights, &weights);
                let residuals: Vec<f64> =
                    sights.iter().map(|s| s.radius - form.radius(s.angle)).collect();
                noise = 1.4826 * median(residuals.iter().map(|r| r.abs()).collect());
                // On a perfect rim the residuals vanish; the reach must not vanish with them.
                let reach = 4.685 * noise.max(1e-3 * form.mean_radius());
                for (weight, residual) in weights.iter_mut().zip(&residuals) {
                    *weight = (1.0 - (residual / reach).powi(2)).max(0.0).powi(2);
                }
                let moved = (0..TERMS).map(|j| (form.coefficients[j] - before[j]).abs());
                if moved.sum::<f64>() <= 1e-9 * form.mean_radius() {
                    break;
                }
            }
        }
        (form, noise)
    }
}

/// 1, cos φ, sin φ, cos 2φ, sin 2φ, ...
fn terms(angle: f64) -> [f64; TERMS] {
    let mut terms = [1.0; TERMS];
    for k in 1..=ORDER {
        (terms[2 * k], terms[2 * k - 1]) = (k as f64 * angle).sin_cos();
    }
    terms
}

/// The coefficients of the first `count` terms that fit the weighted sights best; the rest zero.
fn least_squares(count: usize, sights: &[Sight], weights: &[f64]) -> [f64; TERMS] {
    let (mut rows, mut right) = ([[0.0; TERMS]; TERMS], [0.0; TERMS]);
    for (sight, weight) in sights.iter().zip(weights) {
        let terms = terms(sight.angle);
        for i in 0..count {
            right[i] += weight * terms[i] * sight.radius;
            (0..count).for_each(|j| rows[i][j] += weight * terms[i] * terms[j]);
        }
    }
    // A little stiffness, so that a stretch where no rim is seen does not set the form free.
    for (i, row) in rows.iter_mut().enumerate() {
        row[i] += 1e-9 * (1.0 + sights.len() as f64);
    }
    // Elimination without exchange of rows: the matrix is symmetric and positive.
    for i in 0..count {
        for below in i + 1..count {
            let part = rows[below][i] / rows[i][i];
            (i..count).for_each(|j| rows[below][j] -= part * rows[i][j]);
            right[below] -= part * right[i];
        }
    }
    for i in (0..count).rev() {
        let known: f64 = (i + 1..count).map(|j| rows[i][j] * right[j]).sum();
        right[i] = (right[i] - known) / rows[i][i];
    }
    right
}

/// What is seen of the rim in one direction: its nearest point.
#[derive(Clone, Copy)]
struct Sight {
    angle: f64,
    radius: f64,
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
    noise: f64,
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
        let mut centre = rim.centroid_mm();
        let mut seen = sights(&rim, centre);
        let (mut form, mut noise) = Form::fitted(centre, &seen);
        // The first harmonic is a shift of centre: a burr moves the centroid, but not this.
        for _ in 0..3 {
            let [x, y] = [form.coefficients[1], form.coefficients[2]];
            if x.hypot(y) > form.mean_radius() / 2.0 {
                break;
            }
            centre = [centre[0] + x, centre[1] + y];
            seen = sights(&rim, centre);
            (form, noise) = Form::fitted(centre, &seen);
        }
        let hull = convex_hull(rim.loops().iter().flatten().copied());
        Some(Rim { index, form, noise, seen, hull })
    }

    /// How far the rim stands inside the smooth form in one direction; none where no rim is seen.
    fn depth(&self, direction: usize) -> f64 {
        self.seen[direction % DIRECTIONS].map_or(0.0, |s| self.form.radius(s.angle) - s.radius)
    }

    /// The burrs, deepest first.
    fn excursions(&self) -> Vec<Excursion> {
        let mean = self.form.mean_radius();
        let least = (LEAST_DEPTH * mean).max(LEAST_DEPTH_IN_NOISE * self.noise);
        // Where the rim is the smooth rim again, as far as its roughness lets one say.
        let depths: Vec<f64> = (0..DIRECTIONS).map(|i| self.depth(i)).collect();
        let inwards = |i: usize| depths[i % DIRECTIONS] > self.noise.max(least / 10.0);
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
        let Some(tip) = self.point_seen(excursion.tip) else { return false };
        let inside_hull = edges(&self.hull)
            .map(|(a, b)| cross(a, b, tip) / distance(a, b))
            .fold(f64::INFINITY, f64::min);
        inside_hull > excursion.depth / 3.0
    }

    fn point_seen(&self, direction: usize) -> Option<Point> {
        self.seen[direction % DIRECTIONS].map(|s| self.point(s.angle, s.radius))
    }

    fn point(&self, angle: f64, radius: f64) -> Point {
        let [x, y] = self.form.centre;
        [x + radius * angle.cos(), y + radius * angle.sin()]
    }

    /// The angles on both sides of the tip at which the departure is half as deep.
    fn half_depth_angles(&self, excursion: &Excursion) -> [f64; 2] {
        let half = excursion.depth / 2.0;
        let crossing = |step: fn(usize, usize) -> usize| {
            let at = |k: usize| step(excursion.tip + DIRECTIONS, k);
            let k = (1..DIRECTIONS).find(|&k| self.depth(at(k)) < half).unwrap_or(DIRECTIONS - 1);
            let (inner, outer) = (self.depth(at(k - 1)), self.depth(at(k)));
            k as f64 - 1.0 + (inner - half) / (inner - outer).max(f64::MIN_POSITIVE)
        };
        let bin = TAU / DIRECTIONS as f64;
        let tip = angle_of(excursion.tip);
        [tip - bin * crossing(|i, k| i - k), tip + bin * crossing(|i, k| i + k)]
    }

    fn describe(&self, excursion: &Excursion) -> Burr {
        let tip = self.seen[excursion.tip % DIRECTIONS].map_or(0.0, |s| s.angle);
        let [a, b] = self
            .half_depth_angles(excursion)
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

/// The middle of a direction, in rad.
fn angle_of(direction: usize) -> f64 {
    (direction as f64 + 0.5) * TAU / DIRECTIONS as f64
}

/// The direction that an angle falls into.
fn direction_of(angle: f64) -> usize {
    ((angle.rem_euclid(TAU) / TAU * DIRECTIONS as f64) as usize).min(DIRECTIONS - 1)
}

fn in_directions(excursion: &Excursion, angle: f64) -> bool {
    (direction_of(angle) + DIRECTIONS - excursion.first % DIRECTIONS) % DIRECTIONS < excursion.count
}

/// The nearest point of the rim in each direction from `centre`, so that a tongue that overhangs is
/// seen by its near side. Edges are cut into equal angles finer than a direction; their ends are
/// always among the points, so that no tip is missed.
fn sights(rim: &Outline, centre: Point) -> Vec<Option<Sight>> {
    let mut seen: Vec<Option<Sight>> = vec![None; DIRECTIONS];
    for (a, b) in rim.edges() {
        let span = cross(centre, a, b).atan2(
            (a[0] - centre[0]) * (b[0] - centre[0]) + (a[1] - centre[1]) * (b[1] - centre[1]),
        );
        let start = (a[1] - centre[1]).atan2(a[0] - centre[0]);
        let pieces = (span.abs() / TAU * 2.0 * DIRECTIONS as f64).ceil().max(1.0);
        for k in 0..pieces as usize {
            let angle = start + span * k as f64 / pieces;
            let ahead = [centre[0] + angle.cos(), centre[1] + angle.sin()];
            let (left, right) = (cross(centre, ahead, a), cross(centre, ahead, b));
            // Where the edge meets the ray; its first end needs no division.
            let t = if k == 0 { 0.0 } else { left / (left - right) };
            let point = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
            let sight = Sight { angle, radius: distance(centre, point) };
            let nearest = &mut seen[direction_of(angle)];
            if sight.radius.is_finite() && nearest.is_none_or(|other| sight.radius < other.radius) {
                *nearest = Some(sight);
            }
        }
    }
    seen
}

/// The middle value; zero of none.
fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return 0.0;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Whether a loop runs anticlockwise: an opening.
fn runs_as_opening(points: &[Point]) -> bool {
    let first = points.first().copied().unwrap_or_default();
    edges(points).map(|(a, b)| cross(first, a, b)).sum::<f64>() > 0.0
}

#[cfg(test)]
#[path = "burr_tests.rs"]
mod tests;
