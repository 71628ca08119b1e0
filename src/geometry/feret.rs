//! Convex hull and Feret diameters.
//!
//! A Feret diameter is the distance between two parallel tangents on opposite sides of an outline:
//! what the jaws of a calliper read at that angle.

use super::{Outline, Point, cross, distance};
use std::f64::consts::PI;

/// Describes the largest and smallest Feret diameter of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feret {
    /// The largest distance between parallel tangents, in mm; also the longest chord.
    pub max_mm: f64,
    /// The direction in which `max_mm` is measured, in rad from +x, 0..π.
    pub max_direction_rad: f64,
    /// The smallest distance between parallel tangents, in mm.
    pub min_mm: f64,
    /// The direction in which `min_mm` is measured (across the tangents), in rad from +x, 0..π.
    pub min_direction_rad: f64,
}

impl Feret {
    /// Returns the Feret diameters of all openings of an outline together.
    ///
    /// The largest lies between two vertices of the convex hull, the smallest has one tangent along
    /// a side of it; both are met while a pair of parallel tangents turns once around the hull
    /// (rotating callipers; `Toussaint1983`).
    pub fn of(outline: &Outline) -> Feret {
        let hull = convex_hull(outline.loops().iter().flatten().copied());
        let count = hull.len();
        let mut feret = Feret {
            max_mm: 0.0,
            max_direction_rad: 0.0,
            min_mm: f64::INFINITY,
            min_direction_rad: 0.0,
        };
        let mut far = 1 % count;
        for (i, &a) in hull.iter().enumerate() {
            let b = hull[(i + 1) % count];
            let height = |k: usize| cross(a, b, hull[k % count]);
            // On a convex hull the height over a side rises once and falls once.
            let mut steps = 0;
            while steps < count && height(far + 1) > height(far) {
                far = (far + 1) % count;
                steps += 1;
            }
            let width = height(far) / distance(a, b);
            if width < feret.min_mm {
                feret.min_mm = width;
                feret.min_direction_rad = direction(a, b, PI / 2.0);
            }
            for end in [a, b] {
                let chord = distance(end, hull[far]);
                if chord > feret.max_mm {
                    feret.max_mm = chord;
                    feret.max_direction_rad = direction(end, hull[far], 0.0);
                }
            }
        }
        feret
    }
}

/// The direction from a to b, turned by `turn`, as the angle of an undirected line: 0..π.
fn direction(a: Point, b: Point, turn: f64) -> f64 {
    let angle = ((b[1] - a[1]).atan2(b[0] - a[0]) + turn).rem_euclid(PI);
    if angle >= PI { 0.0 } else { angle }
}

/// Returns the convex hull, anticlockwise, without points on its sides (monotone chain; `Andrew1979`).
pub fn convex_hull(points: impl IntoIterator<Item = Point>) -> Vec<Point> {
    let mut sorted: Vec<Point> = points.into_iter().collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = chain(sorted.iter().copied());
    hull.pop();
    hull.extend(chain(sorted.iter().rev().copied()));
    hull.pop();
    hull
}

/// One side of the hull: the points that a walk always turning left keeps.
fn chain(points: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        while let [.., a, b] = kept[..] {
            if cross(a, b, point) > 0.0 {
                break;
            }
            kept.pop();
        }
        kept.push(point);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use proptest::prelude::*;

    /// r = R + e2 cos 2φ + e3 cos 3φ with R = 0.150, e2 = 0.004, e3 = 0.003 mm. Maximum: 2(R + e2) on
    /// the x axis, by hand; minimum: dense search over directions, independent of this code.
    #[test]
    fn lobed_form_has_the_tabulated_diameters() {
        let form = |a: f64| 0.150 + 0.004 * (2.0 * a).cos() + 0.003 * (3.0 * a).cos();
        let feret = Feret::of(&shapes::polar(20_000, form).unwrap());
        // The polygon's sides lie inside the curve by R(2π/20000)²/8 = 2e-9.
        assert!((feret.max_mm - 0.308).abs() < 1e-8, "{feret:?}");
        assert!((feret.min_mm - 0.292_611_629).abs() < 1e-8, "{feret:?}");
        assert!(feret.max_direction_rad.sin().abs() < 1e-3);
        assert!((feret.min_direction_rad - PI / 2.0).abs() < 1e-3);
    }

    #[test]
    fn ellipse_and_rectangle_by_their_closed_forms() {
        let turned = shapes::ellipse(0.4, 0.3).unwrap().turned(0.5);
        let feret = Feret::of(&turned);
        // The equal-area polygon of 1440 sides reaches (2π/1440)²/12 beyond the curve: 6e-7.
        assert!((feret.max_mm - 0.4).abs() < 1e-6 && (feret.min_mm - 0.3).abs() < 1e-6);
        assert!((feret.max_direction_rad - 0.5).abs() < 0.01);
        let feret = Feret::of(&shapes::rectangle(4.0, 3.0).unwrap());
        assert!((feret.max_mm - 5.0).abs() < 1e-12 && (feret.min_mm - 3.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn hull_holds_every_point(points in prop::collection::vec(prop::array::uniform2(-1.0..1.0), 3..60)) {
            let hull = convex_hull(points.iter().copied());
            for (i, &a) in hull.iter().enumerate() {
                let b = hull[(i + 1) % hull.len()];
                for &p in &points {
                    prop_assert!(cross(a, b, p) > -1e-12);
                }
            }
        }

        #[test]
        fn turning_changes_no_diameter(turn in 0.0..6.3, width in 0.1..2.0) {
            let still = shapes::rectangle(width, 1.0).unwrap();
            let (a, b) = (Feret::of(&still), Feret::of(&still.turned(turn)));
            prop_assert!((a.max_mm - b.max_mm).abs() < 1e-12);
            prop_assert!((a.min_mm - b.min_mm).abs() < 1e-12);
        }
    }
}
