//! The smooth form of a rim: a radius of a few harmonics, fitted so that burrs do not drag it.

use crate::geometry::{Outline, Point, cross, distance, solve};
use std::f64::consts::TAU;

/// Directions in which the rim is looked at: half a degree each.
pub(super) const DIRECTIONS: usize = 720;

/// Harmonics of the smooth form. Six hold an oval of 1.5:1 to 0.1 % of its radius and any lobes that
/// a hand makes, and are too stiff to follow a burr narrower than a sixth of the rim.
const ORDER: usize = 6;

const TERMS: usize = 2 * ORDER + 1;

/// Steps after which a fit is content; most converge in about twenty.
const MOST_STEPS: usize = 60;

/// The smooth form of a rim and what was seen of the rim from its centre.
pub(super) struct Fit {
    pub(super) form: Form,
    /// The roughness of the rim about the form: one standard deviation, in mm.
    pub(super) noise_mm: f64,
    /// The rim in each direction; none where it is not seen.
    pub(super) seen: Vec<Option<Sight>>,
}

impl Fit {
    /// Fits the form of an outline of one loop.
    pub(super) fn of(rim: &Outline) -> Fit {
        let mut fit = Fit::about(rim, rim.centroid_mm());
        // The first harmonic is a shift of centre: a burr moves the centroid, but not this.
        for _ in 0..3 {
            let [x, y] = [fit.form.coefficients[1], fit.form.coefficients[2]];
            if x.hypot(y) > fit.form.mean_radius() / 2.0 {
                break;
            }
            fit = Fit::about(rim, [fit.form.centre[0] + x, fit.form.centre[1] + y]);
        }
        fit
    }

    fn about(rim: &Outline, centre: Point) -> Fit {
        let seen = sights(rim, centre);
        let (form, noise_mm) = Form::fitted(centre, &seen);
        Fit { form, noise_mm, seen }
    }
}

/// A smooth closed form, in mm: r(φ) = Σ c_j t_j(φ) about a centre, with the terms t = 1, cos φ,
/// sin φ, cos 2φ, sin 2φ, ...
pub(super) struct Form {
    pub(super) centre: Point,
    coefficients: [f64; TERMS],
}

impl Form {
    pub(super) fn radius(&self, angle: f64) -> f64 {
        terms(angle).iter().zip(&self.coefficients).map(|(term, c)| term * c).sum()
    }

    pub(super) fn mean_radius(&self) -> f64 {
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
    // Terms beyond `count` have only that stiffness, and come out as 0.
    solve(rows, right).unwrap_or([0.0; TERMS])
}

/// What is seen of the rim in one direction: its nearest point.
#[derive(Clone, Copy)]
pub(super) struct Sight {
    pub(super) angle: f64,
    pub(super) radius: f64,
}

/// The middle of a direction, in rad.
pub(super) fn angle_of(direction: usize) -> f64 {
    (direction as f64 + 0.5) * TAU / DIRECTIONS as f64
}

/// The direction that an angle falls into.
pub(super) fn direction_of(angle: f64) -> usize {
    ((angle.rem_euclid(TAU) / TAU * DIRECTIONS as f64) as usize).min(DIRECTIONS - 1)
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
