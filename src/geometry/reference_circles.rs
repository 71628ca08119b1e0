//! Reference circles of a roundness measurement (`ISO12181`-1).
//!
//! A roundness profile is judged against a circle. The standard knows four: least-squares (LSC),
//! minimum-zone (MZC, the ring of least width that holds the profile), largest inscribed (MIC) and
//! smallest circumscribed (MCC). The roundness deviation RONt about a centre is the largest less the
//! smallest distance from that centre to the profile.
//!
//! The profile of a hole is the rim of its largest opening, even in angle as a turntable would
//! sample it: a stretch of rim counts by the angle it takes, not by its number of vertices.

use super::feret::convex_hull;
use super::{Outline, Point, cross, distance, edges, signed_area, solve};

pub use super::circle::Circle;
pub use super::inscribed::inscribed;

/// Pieces that a rim is cut into at least, so that a long straight side counts along its length.
const PIECES: f64 = 720.0;

/// Steps after which an iteration is content with the best it has met; all converge in far fewer.
const MOST_STEPS: usize = 200;

/// Describes two circles with one centre, and the profile between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// The centre, in mm.
    pub centre_mm: Point,
    /// The smallest distance from the centre to the profile, in mm.
    pub inner_radius_mm: f64,
    /// The largest distance from the centre to the profile, in mm.
    pub outer_radius_mm: f64,
}

impl Zone {
    /// Returns the roundness deviation RONt about this centre, in mm.
    pub fn roundness_mm(&self) -> f64 {
        self.outer_radius_mm - self.inner_radius_mm
    }
}

/// Returns the rim of the largest opening as points of a roundness profile, in mm: the vertices, and more
/// along sides longer than 1/720 of the rim.
pub fn profile(outline: &Outline) -> Vec<Point> {
    let rims = outline.loops().iter().map(|points| (signed_area(points), points));
    let Some((_, rim)) = rims.max_by(|a, b| a.0.total_cmp(&b.0)) else { return Vec::new() };
    let around: f64 = edges(rim).map(|(a, b)| distance(a, b)).sum();
    edges(rim)
        .flat_map(|(a, b)| {
            let pieces = (distance(a, b) / around * PIECES).floor().max(1.0);
            (0..pieces as usize).map(move |k| {
                let t = k as f64 / pieces;
                [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
            })
        })
        .collect()
}

/// Returns the ring about `centre` that holds the profile.
pub fn zone_about(profile: &[Point], centre_mm: Point) -> Zone {
    let (mut inner, mut outer) = (f64::INFINITY, 0.0f64);
    for &p in profile {
        let r = distance(centre_mm, p);
        inner = inner.min(r);
        outer = outer.max(r);
    }
    Zone { centre_mm, inner_radius_mm: inner.min(outer), outer_radius_mm: outer }
}

/// Returns the least-squares circle (geometric: radial distances, even in angle).
///
/// # Formula
/// Minimises ∮ (r(φ) - R)² dφ by Gauss-Newton: from the centre, a shift (x, y) changes r by
/// -(x cos φ + y sin φ), so each step is a linear fit of r by {1, cos φ, sin φ}.
pub fn least_squares(profile: &[Point]) -> Circle {
    let mut centre = middle(profile);
    let mut radius = 0.0;
    for _ in 0..MOST_STEPS {
        let weights = angular_weights(profile, centre);
        let (mut rows, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
        for (&p, weight) in profile.iter().zip(weights) {
            let r = distance(centre, p);
            let row = [1.0, (p[0] - centre[0]) / r, (p[1] - centre[1]) / r];
            if r > 0.0 {
                for i in 0..3 {
                    (0..3).for_each(|j| rows[i][j] += weight * row[i] * row[j]);
                    right[i] += weight * row[i] * r;
                }
            }
        }
        let Some([mean, x, y]) = solve(rows, right) else { break };
        radius = mean;
        centre = [centre[0] + x, centre[1] + y];
        if x.hypot(y) <= 1e-14 * radius {
            break;
        }
    }
    Circle { centre_mm: centre, radius_mm: radius }
}

/// Returns the minimum-zone circles: the ring of least width that holds the profile.
///
/// Each step is a Chebyshev fit of r by {1, cos φ, sin φ} about the present centre, found by
/// exchange; then the centre moves there. A move that does not narrow the ring is halved.
pub fn minimum_zone(profile: &[Point]) -> Zone {
    let mut best = zone_about(profile, least_squares(profile).centre_mm);
    for _ in 0..MOST_STEPS {
        let Some([x, y]) = chebyshev_shift(profile, best.centre_mm) else { break };
        let [cx, cy] = best.centre_mm;
        let moves = (0..30).map(|k| 0.5f64.powi(k));
        let better = moves
            .map(|part| zone_about(profile, [cx + part * x, cy + part * y]))
            .find(|zone| zone.roundness_mm() < best.roundness_mm());
        let Some(zone) = better else { break };
        let gain = best.roundness_mm() - zone.roundness_mm();
        best = zone;
        if gain <= 1e-14 * best.outer_radius_mm {
            break;
        }
    }
    best
}

/// Returns the smallest circle around all points.
///
/// Two or three points carry it; as long as one lies outside, the circle of the carriers and the
/// farthest one outside is taken instead. It only grows, so it ends.
pub fn circumscribed(points: &[Point]) -> Circle {
    let hull = convex_hull(points.iter().copied());
    let mut circle = Circle { centre_mm: middle(&hull), radius_mm: 0.0 };
    let mut carriers: Vec<Point> = Vec::new();
    for _ in 0..hull.len() + MOST_STEPS {
        let reach = |p: &&Point| distance(circle.centre_mm, **p);
        let Some(&far) = hull.iter().max_by(|a, b| reach(a).total_cmp(&reach(b))) else { break };
        if !carriers.is_empty()
            && distance(circle.centre_mm, far) <= circle.radius_mm * (1.0 + 1e-13)
        {
            break;
        }
        carriers.push(far);
        (circle, carriers) = circle_of_few(&carriers);
    }
    circle
}

/// The mean of the points.
fn middle(points: &[Point]) -> Point {
    let sum = points.iter().fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
    let count = points.len().max(1) as f64;
    [sum[0] / count, sum[1] / count]
}

/// The angle about `centre` that each point stands for: half of what lies to both neighbours.
fn angular_weights(profile: &[Point], centre: Point) -> Vec<f64> {
    let spans: Vec<f64> = edges(profile)
        .map(|(a, b)| {
            let (u, v) =
                ([a[0] - centre[0], a[1] - centre[1]], [b[0] - centre[0], b[1] - centre[1]]);
            (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).abs()
        })
        .collect();
    (0..spans.len())
        .map(|i| (spans[i] + spans[(i + spans.len() - 1) % spans.len()]) / 2.0)
        .collect()
}

/// The smallest circle of up to four points, and the two or three that carry it.
fn circle_of_few(points: &[Point]) -> (Circle, Vec<Point>) {
    let count = points.len();
    let mut found = points
        .first()
        .map_or_else(Vec::new, |&p| vec![(Circle { centre_mm: p, radius_mm: 0.0 }, vec![p])]);
    for i in 0..count {
        for j in i + 1..count {
            let (a, b) = (points[i], points[j]);
            let centre_mm = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
            found.push((Circle { centre_mm, radius_mm: distance(a, b) / 2.0 }, vec![a, b]));
            for &c in &points[j + 1..] {
                found.extend(circle_through(a, b, c).map(|circle| (circle, vec![a, b, c])));
            }
        }
    }
    let holds = |c: &Circle| {
        points.iter().all(|&p| distance(c.centre_mm, p) <= c.radius_mm * (1.0 + 1e-12))
    };
    found
        .into_iter()
        .filter(|(circle, _)| holds(circle))
        .min_by(|a, b| a.0.radius_mm.total_cmp(&b.0.radius_mm))
        .unwrap_or((Circle { centre_mm: [0.0; 2], radius_mm: f64::INFINITY }, points.to_vec()))
}

fn circle_through(a: Point, b: Point, c: Point) -> Option<Circle> {
    let twice = 2.0 * cross(a, b, c);
    let (bx, by, cx, cy) = (b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]);
    let (bb, cc) = (bx * bx + by * by, cx * cx + cy * cy);
    let (x, y) = ((cy * bb - by * cc) / twice, (bx * cc - cx * bb) / twice);
    (x.is_finite() && y.is_finite())
        .then(|| Circle { centre_mm: [a[0] + x, a[1] + y], radius_mm: x.hypot(y) })
}

/// One point of the profile as seen from a centre: its distance and direction.
#[derive(Clone, Copy)]
struct Spoke {
    radius: f64,
    direction: Point,
}

/// A circle r = radius + x cos φ + y sin φ (to first order) and its largest departure.
#[derive(Clone, Copy)]
struct Fit {
    radius: f64,
    shift: Point,
    departure: f64,
}

impl Fit {
    fn error(&self, spoke: &Spoke) -> f64 {
        let [c, s] = spoke.direction;
        (spoke.radius - self.radius - self.shift[0] * c - self.shift[1] * s).abs()
    }
}

/// The shift of centre that makes max |r - R - x cos φ - y sin φ| least, by exchange: the best fit of
/// four points; then, with the point that departs most, the worst four of five, which is the best
/// fit of the five (de la Vallée-Poussin); and so on until no point departs more.
fn chebyshev_shift(profile: &[Point], centre: Point) -> Option<Point> {
    let spokes: Vec<Spoke> = profile
        .iter()
        .map(|&p| Spoke {
            radius: distance(centre, p),
            direction: [p[0] - centre[0], p[1] - centre[1]],
        })
        .filter(|spoke| spoke.radius > 0.0)
        .map(|s| Spoke { direction: s.direction.map(|d| d / s.radius), ..s })
        .collect();
    let count = spokes.len();
    let mut four = [0, count / 4, count / 2, 3 * count / 4].map(|i| spokes.get(i).copied());
    let [Some(a), Some(b), Some(c), Some(d)] = four else { return None };
    let mut fit = fit_of_four([a, b, c, d])?;
    for _ in 0..MOST_STEPS {
        let worst = spokes.iter().max_by(|a, b| fit.error(a).total_cmp(&fit.error(b)))?;
        if fit.error(worst) <= fit.departure * (1.0 + 1e-12) + 1e-15 * worst.radius {
            break;
        }
        let swapped = (0..4).filter_map(|i| {
            let mut trial = four;
            trial[i] = Some(*worst);
            let [Some(a), Some(b), Some(c), Some(d)] = trial else { return None };
            fit_of_four([a, b, c, d]).map(|fit| (fit, trial))
        });
        let (next, kept) = swapped.max_by(|a, b| a.0.departure.total_cmp(&b.0.departure))?;
        if next.departure <= fit.departure {
            break;
        }
        (fit, four) = (next, kept);
    }
    Some(fit.shift)
}

/// The fit that departs by the same amount at four points, with the signs that make it best.
fn fit_of_four(spokes: [Spoke; 4]) -> Option<Fit> {
    // Multipliers with Σ m {1, cos, sin} = 0: alternating areas of the other three directions.
    let areas = [[1, 2, 3], [0, 2, 3], [0, 1, 3], [0, 1, 2]]
        .map(|[i, j, k]| cross(spokes[i].direction, spokes[j].direction, spokes[k].direction));
    let multipliers = [areas[0], -areas[1], areas[2], -areas[3]];
    let weight: f64 = multipliers.iter().map(|m| m.abs()).sum();
    if weight < 1e-12 {
        return None;
    }
    let signed: f64 =
        multipliers.iter().zip(&spokes).map(|(m, s)| m * s.radius).sum::<f64>() / weight;
    // The three directions that span the largest triangle carry the solution.
    let drop = (0..4).max_by(|&i, &j| areas[i].abs().total_cmp(&areas[j].abs()))?;
    let (mut rows, mut right, mut used) = ([[0.0; 3]; 3], [0.0; 3], 0);
    for i in (0..4).filter(|&i| i != drop) {
        rows[used] = [1.0, spokes[i].direction[0], spokes[i].direction[1]];
        right[used] = spokes[i].radius - signed * multipliers[i].signum();
        used += 1;
    }
    let [radius, x, y] = solve(rows, right)?;
    Some(Fit { radius, shift: [x, y], departure: signed.abs() })
}

#[cfg(test)]
#[path = "reference_circles_tests.rs"]
mod tests;
