//! The outline of a hole: closed loops in mm, what is open and what is metal.

use super::bounds::{Bounds, bounds};
use super::validity::{self, signed_area};
use super::{Map, Point, distance, edges};
use crate::error::Error;
use std::collections::HashSet;
use std::f64::consts::PI;

/// Describes the outline of a hole: one or more closed loops of straight edges, in mm, x right and y up.
///
/// Loops inside loops alternate: the outermost bounds an opening, one inside it bounds an island of
/// metal, one inside that an opening again. Openings run anticlockwise, islands clockwise, so that
/// signed sums over all edges (area, moments, diffraction integrals) need no special case.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    loops: Vec<Vec<Point>>,
}

impl Outline {
    /// Makes an outline from its loops, each closed by itself (the first point is not repeated at the
    /// end; if it is, the repetition is dropped). The direction in which a loop runs is of no
    /// account; what lies inside what decides.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when there is no loop, a coordinate is not finite, a loop has no area, or
    /// edges cross.
    pub fn new(loops: Vec<Vec<Point>>) -> Result<Outline, Error> {
        validity::checked(loops).map(|loops| Outline { loops })
    }

    /// Makes an outline from loops that are known not to cross, each with whether it bounds an opening and not an
    /// island; none without an opening.
    pub(super) fn wound(loops: impl IntoIterator<Item = (Vec<Point>, bool)>) -> Option<Outline> {
        let wound = loops.into_iter().filter(|(points, _)| points.len() >= 3).map(
            |(mut points, is_opening)| {
                if (signed_area(&points) > 0.0) != is_opening {
                    points.reverse();
                }
                points
            },
        );
        let outline = Outline { loops: wound.collect() };
        (outline.area_mm2() > 0.0).then_some(outline)
    }

    /// Returns the loops: openings anticlockwise, islands of metal clockwise.
    pub fn loops(&self) -> &[Vec<Point>] {
        &self.loops
    }

    /// Returns all edges of all loops, each as its two ends in the loop's direction.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.loops.iter().flat_map(|points| edges(points))
    }

    /// Returns the open area, in mm².
    pub fn area_mm2(&self) -> f64 {
        self.loops.iter().map(|points| signed_area(points)).sum()
    }

    /// Returns the diameter of the disc of the same open area, in mm.
    pub fn equivalent_diameter_mm(&self) -> f64 {
        2.0 * (self.area_mm2() / PI).sqrt()
    }

    /// Returns the length of all edges, islands included, in mm.
    pub fn perimeter_mm(&self) -> f64 {
        self.edges().map(|(a, b)| distance(a, b)).sum()
    }

    /// Returns the centroid of the open area, in mm.
    pub fn centroid_mm(&self) -> Point {
        // From the first vertex, so that an outline far from the origin loses no digits.
        let [x0, y0] = self.loops[0][0];
        let (mut area, mut mx, mut my) = (0.0, 0.0, 0.0);
        for (a, b) in self.edges() {
            let (ax, ay, bx, by) = (a[0] - x0, a[1] - y0, b[0] - x0, b[1] - y0);
            let twice = ax * by - bx * ay;
            area += twice / 2.0;
            mx += twice * (ax + bx) / 6.0;
            my += twice * (ay + by) / 6.0;
        }
        [x0 + mx / area, y0 + my / area]
    }

    /// Returns the integral of r² over the open area, r from the origin, in mm⁴.
    pub fn polar_moment_mm4(&self) -> f64 {
        let of_edge = |([ax, ay], [bx, by]): (Point, Point)| {
            let squares = ax * ax + ay * ay + ax * bx + ay * by + bx * bx + by * by;
            (ax * by - bx * ay) * squares / 12.0
        };
        self.edges().map(of_edge).sum()
    }

    /// Returns the smallest upright rectangle around the outline: its lower left and upper right corners.
    pub fn bounds_mm(&self) -> (Point, Point) {
        let Bounds { low, high } = bounds(self.loops.iter().flatten());
        (low, high)
    }

    /// Returns the same outline moved by (dx, dy) mm.
    #[must_use]
    pub fn moved(&self, dx_mm: f64, dy_mm: f64) -> Outline {
        self.mapped(|[x, y]| [x + dx_mm, y + dy_mm])
    }

    /// Returns the same outline `factor` (above zero) times as large, about the origin.
    pub fn scaled(&self, factor: f64) -> Outline {
        self.mapped(|[x, y]| [x * factor, y * factor])
    }

    /// Returns the same outline turned anticlockwise about the origin.
    #[must_use]
    pub fn turned(&self, angle_rad: f64) -> Outline {
        let (sin, cos) = angle_rad.sin_cos();
        self.mapped(|[x, y]| [cos * x - sin * y, sin * x + cos * y])
    }

    /// Returns the same outline without the corners that lie within `tolerance_mm` of a straight line between
    /// others: the way of `Ramer1972`. Loops keep
    /// at least three corners; with a tolerance far below the hole's features none of them cross.
    #[must_use]
    pub fn simplified(&self, tolerance_mm: f64) -> Outline {
        Outline {
            loops: self.loops.iter().map(|points| simplified(points, tolerance_mm)).collect(),
        }
    }

    /// Returns the same outline with its centroid at the origin.
    #[must_use]
    pub fn centred(&self) -> Outline {
        let [x, y] = self.centroid_mm();
        self.moved(-x, -y)
    }

    /// Tells whether the outline is its own mirror image with left and right changed about x = 0, and with up
    /// and down changed about y = 0, but for rounding.
    pub fn mirrors(&self) -> [bool; 2] {
        let (low, high) = self.bounds_mm();
        let rounding = 1e-9 * distance(low, high);
        let place = |point: Point| point.map(|c| (c / rounding).round() as i64);
        let edges: HashSet<_> = self.edges().map(|(a, b)| [place(a), place(b)]).collect();
        [0, 1].map(|axis| {
            let turned = |mut at: [i64; 2]| {
                at[axis] = -at[axis];
                at
            };
            // A mirror image runs the other way round.
            edges.iter().all(|[a, b]| edges.contains(&[turned(*b), turned(*a)]))
        })
    }

    /// Returns the same outline through a linear map that keeps the sense of rotation.
    #[must_use]
    pub fn through(&self, map: Map) -> Outline {
        self.mapped(|point| map.of(point))
    }

    /// Only for maps that keep the sense of rotation: the loops' directions are kept.
    fn mapped(&self, map: impl Fn(Point) -> Point) -> Outline {
        let loops = self.loops.iter().map(|points| points.iter().map(|&p| map(p)).collect());
        Outline { loops: loops.collect() }
    }
}

fn simplified(points: &[Point], tolerance_mm: f64) -> Vec<Point> {
    // A loop is cut where it is farthest from its first corner.
    let far = |i: &usize| distance(points[0], points[*i]);
    let opposite = (0..points.len()).max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
    let mut kept = vec![false; points.len()];
    (kept[0], kept[opposite]) = (true, true);
    let mut pieces = vec![(0, opposite), (opposite, points.len())];
    while let Some((from, to)) = pieces.pop() {
        let (a, b) = (points[from], points[to % points.len()]);
        // How far each lies beside the line through both ends, which are not the same.
        let away = points[from + 1..to].iter().map(|&point| super::cross(a, b, point).abs());
        let farthest = (from + 1..).zip(away).max_by(|p, q| p.1.total_cmp(&q.1));
        let Some((corner, twice_mm2)) = farthest else { continue };
        if twice_mm2 > tolerance_mm * distance(a, b) {
            kept[corner] = true;
            pieces.extend([(from, corner), (corner, to)]);
        }
    }
    let left: Vec<Point> =
        points.iter().zip(kept).filter(|(_, kept)| *kept).map(|(point, _)| *point).collect();
    if left.len() < 3 { points.to_vec() } else { left }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, half: f64) -> Vec<Point> {
        vec![[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
    }

    #[test]
    fn direction_does_not_matter_but_nesting_does() {
        let mut clockwise = square(0.0, 0.0, 1.0);
        clockwise.reverse();
        let frame = Outline::new(vec![square(0.0, 0.0, 0.25), clockwise, square(0.0, 0.0, 0.5)]);
        // An opening of 4, an island of 1 in it, an opening of 0.25 in that: by hand.
        assert!((frame.unwrap().area_mm2() - 3.25).abs() < 1e-12);
    }

    #[test]
    fn mirror_images_are_known() {
        use crate::geometry::shapes;
        let disc = shapes::disc(0.34).unwrap();
        assert_eq!(disc.mirrors(), [true, true]);
        assert_eq!(shapes::annulus(0.4, 0.2).unwrap().mirrors(), [true, true]);
        assert_eq!(disc.moved(0.0, 0.01).mirrors(), [true, false]);
        assert_eq!(disc.moved(1e-6, 0.0).mirrors(), [false, true]);
        let triangle = Outline::new(vec![vec![[-1.0, 0.0], [1.0, 0.0], [0.0, 1.0]]]).unwrap();
        assert_eq!(triangle.mirrors(), [true, false]);
        assert_eq!(shapes::burred_disc(0.3, 0.5, 0.2, 0.06).unwrap().mirrors(), [false, false]);
    }

    /// ∫ r² dA: 8/3 h⁴ for a square of half-side h, and its area times the square of its distance more.
    #[test]
    fn polar_moment_of_a_square() {
        let frame = Outline::new(vec![square(0.0, 0.0, 0.5), square(2.0, 1.0, 0.5)]).unwrap();
        let by_hand = 2.0 * 8.0 / 3.0 * 0.5f64.powi(4) + 5.0;
        assert!((frame.polar_moment_mm4() - by_hand).abs() < 1e-12);
    }

    /// A circle of radius r by chords no farther than t inside it: r - t = r cos(half their angle), and so
    /// about π/√(2t/r) of them; the area is short by 2t/3 all around (sagitta).
    #[test]
    fn what_is_simplified_stays_within_its_tolerance() {
        let disc = crate::geometry::shapes::disc(0.4).unwrap();
        let few = disc.simplified(1e-4);
        let corners = few.loops()[0].len();
        assert!((40..160).contains(&corners), "{corners}");
        let lost = 1.0 - few.area_mm2() / disc.area_mm2();
        assert!(lost > 0.0 && lost < 2.0 * 1e-4 / 0.2, "{lost}");
        let ring = Outline::new(vec![square(0.0, 0.0, 1.0), square(0.0, 0.0, 0.5)]).unwrap();
        assert_eq!(ring.simplified(1e-3), ring);
    }

    #[test]
    fn centroid_of_a_far_square_keeps_its_digits() {
        let far = Outline::new(vec![square(1000.0, -2000.0, 0.1)]).unwrap();
        let [x, y] = far.centroid_mm();
        assert!((x - 1000.0).abs() < 1e-10 && (y + 2000.0).abs() < 1e-10);
        assert!((far.perimeter_mm() - 0.8).abs() < 1e-10);
    }

    #[test]
    fn refuses_what_is_no_outline() {
        let bow_tie = vec![[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 2.0]];
        let cases: Vec<(Vec<Vec<Point>>, &str)> = vec![
            (vec![], "no loop"),
            (vec![vec![]], "fewer than three"),
            (vec![vec![[0.0, 0.0], [1.0, 0.0]]], "fewer than three"),
            (vec![vec![[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]], "no area"),
            (vec![vec![[0.0, f64::NAN], [1.0, 0.0], [2.0, 0.0]]], "not finite"),
            (vec![bow_tie], "cross"),
            (vec![square(0.0, 0.0, 1.0), square(0.5, 0.5, 1.0)], "cross"),
        ];
        for (loops, expected) in cases {
            let error = Outline::new(loops).unwrap_err();
            assert!(error.to_string().contains(expected), "{error}");
        }
    }
}
