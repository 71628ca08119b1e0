//! The smooth form of a rim: a radius of a few harmonics, fitted so that burrs do not drag it.

use super::median::median;
use crate::geometry::feret::convex_hull;
use crate::geometry::{Point, centroid, contains, cross, distance, edges, signed_area, solve};
use std::f64::consts::TAU;

/// Directions in which the rim is looked at: half a degree each.
pub(super) const DIRECTIONS: usize = 720;

/// Harmonics of the smooth form. Six hold an oval of 1.5:1 to 0.1 % of its radius and most lobes that
/// a hand makes, and are too stiff to follow a burr narrower than a sixth of the rim.
const ORDER: usize = 6;

/// Harmonics of the smooth form of a rim with many lobes: taken only where they halve its roughness,
/// which a burr or two cannot make them do.
const MANY_LOBES: usize = 9;

const TERMS: usize = 2 * MANY_LOBES + 1;

/// A rim whose hull is this many times larger is cut deep.
const HOLLOWED: f64 = 1.04;

/// A rim that comes nearer to the middle than this part of the usual radius fills it.
const FILLED: f64 = 0.1;

/// What is nearer than this part of the usual radius reaches far into the hole.
const REACHING: f64 = 0.6;

/// Steps after which a fit is content; most converge in about twenty.
const MOST_STEPS: usize = 60;

/// The smooth form of a rim and what was seen of the rim from its centre.
pub(super) struct Fit {
    pub(super) form: Form,
    /// The rim in each direction; none where it is not seen.
    pub(super) seen: Vec<Option<Sight>>,
}

impl Fit {
    /// Fits the form of a closed rim.
    pub(super) fn of(rim: &[Point]) -> Fit {
        // The centre of a rim that is cut deep lies off its centroid, but not off that of its hull.
        let hull = convex_hull(rim.iter().copied());
        let is_cut = signed_area(&hull).abs() > HOLLOWED * signed_area(rim).abs();
        let centre = centroid(if is_cut { &hull } else { rim });
        if let Some(beside) = beside_what_fills(rim, centre) {
            return Fit::about(rim, beside);
        }
        let mut fit = Fit::about(rim, centre);
        // The first harmonic is a shift of centre: a burr moves the centroid, but not this.
        for _ in 0..3 {
            let [x, y] = [fit.form.coefficients[1], fit.form.coefficients[2]];
            let shift = x.hypot(y);
            // A shift of a millionth of the radius changes no direction and no depth that counts.
            if shift > fit.form.mean_radius() / 2.0 || shift < 1e-6 * fit.form.mean_radius() {
                break;
            }
            fit = Fit::about(rim, [fit.form.centre[0] + x, fit.form.centre[1] + y]);
        }
        fit
    }

    fn about(rim: &[Point], centre: Point) -> Fit {
        let seen = sights(rim, centre);
        let usual = median(seen.iter().flatten().map(|sight| sight.far.radius));
        let form = Form::fitted(centre, seen.iter().flatten().map(|sight| sight.rim(usual)));
        Fit { form, seen }
    }
}

/// A place from which the rim is seen where its middle is filled by a scratch or a fibre that reaches as far:
/// a fifth of the usual radius off, straight away from where it comes from, so that it is seen along its
/// length. None where the middle is clear.
fn beside_what_fills(rim: &[Point], centre: Point) -> Option<Point> {
    let nearest = |at: Point| rim.iter().map(|p| distance(at, *p)).fold(f64::INFINITY, f64::min);
    let usual = median(rim.iter().map(|p| distance(centre, *p)));
    if contains(rim, centre) && nearest(centre) > FILLED * usual {
        return None;
    }
    // The corners of the middle's rim and of its mouth lie to the side that it comes from.
    let inner =
        || edges(rim).filter(|(a, b)| distance(centre, *a).min(distance(centre, *b)) < usual / 2.0);
    let towards = [0, 1].map(|axis: usize| {
        inner()
            .map(|(a, b)| distance(a, b) * (0.5 * (a[axis] + b[axis]) - centre[axis]))
            .sum::<f64>()
    });
    let length = towards[0].hypot(towards[1]);
    let away = [0, 1].map(|axis: usize| centre[axis] - 0.2 * usual * towards[axis] / length);
    (contains(rim, away) && nearest(away) > FILLED * usual).then_some(away)
}

/// A smooth closed form, in mm: r(φ) = Σ c_j t_j(φ) about a centre, with the terms t = 1, cos φ,
/// sin φ, cos 2φ, sin 2φ, ...
#[derive(Clone)]
pub(super) struct Form {
    pub(super) centre: Point,
    coefficients: [f64; TERMS],
    /// The roughness of the rim about the form: one standard deviation, in mm.
    noise_mm: f64,
    /// The terms of the form over the directions it was fitted to.
    freedom: f64,
}

impl Form {
    pub(super) fn radius(&self, angle: f64) -> f64 {
        terms(angle).iter().zip(&self.coefficients).map(|(term, c)| term * c).sum()
    }

    pub(super) fn mean_radius(&self) -> f64 {
        self.coefficients[0]
    }

    pub(super) fn point(&self, angle: f64, radius: f64) -> Point {
        let [x, y] = self.centre;
        [x + radius * angle.cos(), y + radius * angle.sin()]
    }

    /// The standard uncertainty of the form's radius, in mm, from the roughness of the rim it was
    /// fitted to: the mean variance of a fit of p terms to n values is p/n of theirs.
    pub(super) fn uncertainty_mm(&self) -> f64 {
        self.noise_mm * self.freedom.sqrt()
    }

    /// The form that fits the rim with burrs left out.
    ///
    /// # Formula
    /// Least squares, again and again with `Tukey`'s biweight at 4.685 standard deviations, these from
    /// the median absolute residual (the usual constants). Harmonics come one by one:
    /// what stands far from a stiff form is left out before the form can bend towards it.
    fn fitted(centre: Point, rim: impl Iterator<Item = Place>) -> Form {
        let rows: Vec<Row> = rim.map(|p| Row { terms: terms(p.angle), radius: p.radius }).collect();
        let mut form = Form { centre, coefficients: [0.0; TERMS], noise_mm: 0.0, freedom: 1.0 };
        let mut weights = vec![1.0; rows.len()];
        for order in 1..=ORDER {
            // What an earlier form leaves out need not be known to the last digit.
            form.settle(order, &rows, &mut weights, if order < ORDER { 1e-4 } else { 1e-9 });
        }
        let mut lobed = form.clone();
        for order in ORDER + 1..=MANY_LOBES {
            lobed.settle(order, &rows, &mut weights, 1e-4);
        }
        if lobed.noise_mm > form.noise_mm / 2.0 || form.noise_mm < 1e-3 * form.mean_radius() {
            return form;
        }
        lobed.settle(MANY_LOBES, &rows, &mut weights, 1e-9);
        lobed
    }

    /// Repeats the weighted fit until no coefficient moves by more than `tolerance` of the radius.
    fn settle(&mut self, order: usize, rows: &[Row], weights: &mut [f64], tolerance: f64) {
        self.freedom = ((2 * order + 1) as f64 / rows.len().max(1) as f64).min(1.0);
        for _ in 0..MOST_STEPS {
            let before = self.coefficients;
            self.coefficients = least_squares(2 * order + 1, rows, weights);
            let residuals: Vec<f64> =
                rows.iter().map(|row| row.radius - row.fitted(&self.coefficients)).collect();
            self.noise_mm = spread(residuals.iter().copied());
            // On a perfect rim the residuals vanish; the reach must not vanish with them.
            let reach = 4.685 * self.noise_mm.max(1e-3 * self.mean_radius());
            for (weight, residual) in weights.iter_mut().zip(&residuals) {
                *weight = (1.0 - (residual / reach).powi(2)).max(0.0).powi(2);
            }
            let moved = self.coefficients.iter().zip(&before).map(|(now, then)| (now - then).abs());
            if moved.sum::<f64>() <= tolerance * self.mean_radius() {
                break;
            }
        }
    }
}

/// A standard deviation that a few large values do not raise: 1.4826 times the median of the
/// magnitudes, which is it for a normal distribution about zero.
pub(super) fn spread(values: impl Iterator<Item = f64>) -> f64 {
    1.4826 * median(values.map(f64::abs))
}

/// 1, cos φ, sin φ, cos 2φ, sin 2φ, ...
fn terms(angle: f64) -> [f64; TERMS] {
    let mut terms = [1.0; TERMS];
    let (sin, cos) = angle.sin_cos();
    (terms[1], terms[2]) = (cos, sin);
    for k in 1..MANY_LOBES {
        let (c, s) = (terms[2 * k - 1], terms[2 * k]);
        (terms[2 * k + 1], terms[2 * k + 2]) = (c * cos - s * sin, s * cos + c * sin);
    }
    terms
}

/// One direction in the equations of the fit.
struct Row {
    terms: [f64; TERMS],
    radius: f64,
}

impl Row {
    fn fitted(&self, coefficients: &[f64; TERMS]) -> f64 {
        self.terms.iter().zip(coefficients).map(|(term, c)| term * c).sum()
    }
}

/// The coefficients of the first `count` terms that fit the weighted rim best; the rest zero.
fn least_squares(count: usize, seen: &[Row], weights: &[f64]) -> [f64; TERMS] {
    let (mut rows, mut right) = ([[0.0; TERMS]; TERMS], [0.0; TERMS]);
    for (Row { terms, radius }, weight) in seen.iter().zip(weights).filter(|(_, w)| **w > 0.0) {
        for i in 0..count {
            let weighted = weight * terms[i];
            right[i] += weighted * radius;
            for (sum, term) in rows[i][..=i].iter_mut().zip(terms) {
                *sum += weighted * term;
            }
        }
    }
    let lower = rows;
    for (i, row) in rows.iter_mut().enumerate() {
        // The equations are symmetric: one half was summed.
        row.iter_mut().zip(&lower).skip(i + 1).for_each(|(value, mirror)| *value = mirror[i]);
        // A little stiffness, so that a stretch where no rim is seen does not set the form free.
        row[i] += 1e-9 * (1.0 + seen.len() as f64);
    }
    // Terms beyond `count` have only that stiffness, and come out as 0.
    solve(rows, right).unwrap_or([0.0; TERMS])
}

/// A place on the rim as seen from a centre.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) angle: f64,
    pub(super) radius: f64,
}

/// What is seen of the rim in one direction: its nearest and its farthest place.
#[derive(Clone, Copy)]
pub(super) struct Sight {
    pub(super) near: Place,
    pub(super) far: Place,
}

impl Sight {
    /// The place that stands for the rim: half-way from the nearest to the farthest, but beside what
    /// reaches far into the hole the farthest. `usual` is the middle one of all farthest radii.
    fn rim(&self, usual: f64) -> Place {
        if self.near.radius < REACHING * usual { self.far } else { self.middle() }
    }

    /// Half-way from the nearest to the farthest place: on a slanting rim the middle of its stretch,
    /// on a rough one neither its teeth nor its gaps.
    fn middle(&self) -> Place {
        let across = turn(self.near.angle, self.far.angle);
        Place {
            angle: self.near.angle + across / 2.0,
            radius: (self.near.radius + self.far.radius) / 2.0,
        }
    }
}

/// The angle from one direction to another, -π..π.
pub(super) fn turn(from: f64, to: f64) -> f64 {
    (to - from + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0
}

/// The middle of a direction, in rad.
pub(super) fn angle_of(direction: usize) -> f64 {
    (direction as f64 + 0.5) * TAU / DIRECTIONS as f64
}

/// The direction that an angle falls into.
pub(super) fn direction_of(angle: f64) -> usize {
    ((angle.rem_euclid(TAU) / TAU * DIRECTIONS as f64) as usize).min(DIRECTIONS - 1)
}

/// The rim in pieces that take no more than half a direction as seen from `centre`, each from its
/// first end to its second. The vertices are among the ends, so that no tip is missed.
pub(super) fn pieces(rim: &[Point], centre: Point) -> impl Iterator<Item = (Place, Place)> + '_ {
    edges(rim).flat_map(move |(a, b)| {
        let span = cross(centre, a, b).atan2(
            (a[0] - centre[0]) * (b[0] - centre[0]) + (a[1] - centre[1]) * (b[1] - centre[1]),
        );
        let start = (a[1] - centre[1]).atan2(a[0] - centre[0]);
        let count = (span.abs() / TAU * 2.0 * DIRECTIONS as f64).ceil().max(1.0);
        let place = move |k: f64| {
            let angle = start + span * k / count;
            if k == 0.0 || k == count {
                let end = if k == 0.0 { a } else { b };
                return Place { angle, radius: distance(centre, end) };
            }
            // Where the edge meets the ray.
            let ahead = [centre[0] + angle.cos(), centre[1] + angle.sin()];
            let (left, right) = (cross(centre, ahead, a), cross(centre, ahead, b));
            let t = left / (left - right);
            let point = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
            Place { angle, radius: distance(centre, point) }
        };
        (0..count as usize).map(move |k| (place(k as f64), place(k as f64 + 1.0)))
    })
}

/// What is seen of the rim in each direction from `centre`.
fn sights(rim: &[Point], centre: Point) -> Vec<Option<Sight>> {
    let mut seen: Vec<Option<Sight>> = vec![None; DIRECTIONS];
    for (place, _) in pieces(rim, centre).filter(|(place, _)| place.radius.is_finite()) {
        let sight =
            seen[direction_of(place.angle)].get_or_insert(Sight { near: place, far: place });
        if place.radius < sight.near.radius {
            sight.near = place;
        }
        if place.radius > sight.far.radius {
            sight.far = place;
        }
    }
    seen
}
