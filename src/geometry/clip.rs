//! The overlap that a plate of some thickness leaves of a hole, seen at an angle.

use super::{Outline, Point, cross};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;

/// Corners of the overlap that lie closer together than this share of the hole are what the
/// overlay's whole numbers make of touching edges, not form.
const SPECK: f64 = 1e-7;

/// Returns what is open of a hole and of itself shifted by `shift_mm`, both moved half the way, so that the
/// overlap lies about where the hole did. None where nothing is left.
///
/// A ray at the angle θ passes both rims of a plate of thickness t where the near and the far rim
/// overlap, which it sees t tan θ apart.
pub fn overlap(hole: &Outline, shift_mm: Point) -> Option<Outline> {
    let [dx, dy] = shift_mm.map(|shift| shift / 2.0);
    if dx == 0.0 && dy == 0.0 {
        return Some(hole.clone());
    }
    let (low, high) = hole.bounds_mm();
    if 2.0 * dx.abs() >= high[0] - low[0] || 2.0 * dy.abs() >= high[1] - low[1] {
        return None;
    }
    if let [points] = hole.loops()
        && is_convex(points)
    {
        return convex_overlap(points, [2.0 * dx, 2.0 * dy]);
    }
    let (near, far) = (hole.moved(-dx, -dy), hole.moved(dx, dy));
    // Openings run anticlockwise and islands clockwise: the winding number is 1 in the open.
    let left = near.loops().to_vec().overlay(
        &far.loops().to_vec(),
        OverlayRule::Intersect,
        FillRule::Positive,
    );
    let speck = SPECK * (high[0] - low[0]).max(high[1] - low[1]);
    let clean = |shape: Vec<Vec<Point>>| {
        shape.into_iter().map(|points| without_specks(points, speck)).enumerate()
    };
    // Of each shape the overlay gives the outer loop first, then the islands in it.
    let loops = left.into_iter().flat_map(clean).map(|(place, points)| (points, place == 0));
    Outline::wound(loops)
}

/// Whether a loop that does not cross itself turns to the left alone.
fn is_convex(points: &[Point]) -> bool {
    let at = |i: usize| points[i % points.len()];
    (0..points.len()).all(|i| cross(at(i), at(i + 1), at(i + 2)) > 0.0)
}

/// The overlap of a convex loop, which runs anticlockwise, with itself: a few comparisons instead of a search for
/// crossings.
///
/// With v across the shift and u along it, the loop has one right side and one left side over v. Both copies are open
/// where it is wider than the shift; there the overlap has the near copy's right side and the far copy's left one.
fn convex_overlap(points: &[Point], shift: Point) -> Option<Outline> {
    let length = shift[0].hypot(shift[1]);
    let along = shift.map(|c| c / length);
    let across = |p: Point| along[0] * p[1] - along[1] * p[0];
    let turned = points.iter().map(|&p| [along[0] * p[0] + along[1] * p[1], across(p)]);
    let turned: Vec<Point> = turned.collect();
    let (right, left) = sides(&turned);
    let mut places: Vec<f64> = turned.iter().map(|p| p[1]).collect();
    places.sort_by(f64::total_cmp);
    let spare = |v: f64| at(&right, v) - at(&left, v) - length;
    // The width is concave: wide enough between two places alone.
    let first = places.iter().position(|&v| spare(v) > 0.0)?;
    let last = places.iter().rposition(|&v| spare(v) > 0.0)?;
    let end = |within: f64, beyond: Option<&f64>| {
        beyond.map_or(within, |&beyond| {
            let (wide, short) = (spare(within), spare(beyond));
            within + (beyond - within) * wide / (wide - short)
        })
    };
    let low = end(places[first], first.checked_sub(1).and_then(|i| places.get(i)));
    let high = end(places[last], places.get(last + 1));
    let within = |p: &&Point| p[1] > low && p[1] < high;
    let moved = |[u, v]: Point, by: f64| {
        let u = u + by;
        [along[0] * u - along[1] * v, along[1] * u + along[0] * v]
    };
    let corner = |side: &[Point], v: f64| [at(side, v), v];
    let near = std::iter::once(corner(&right, low))
        .chain(right.iter().filter(within).copied())
        .chain([corner(&right, high)])
        .map(|p| moved(p, -length / 2.0));
    let far = std::iter::once(corner(&left, high))
        .chain(left.iter().rev().filter(within).copied())
        .chain([corner(&left, low)])
        .map(|p| moved(p, length / 2.0));
    let speck = SPECK * (high - low).max(length);
    let loops = without_specks(near.chain(far).collect(), speck);
    Outline::wound([(loops, true)])
}

/// The right and the left side of a convex loop that runs anticlockwise, each with v = p\[1\] rising.
fn sides(points: &[Point]) -> (Vec<Point>, Vec<Point>) {
    // Of corners at one height the right one begins and ends the right side.
    let order = |a: &Point, b: &Point| a[1].total_cmp(&b[1]).then(a[0].total_cmp(&b[0]));
    let by = |i: &usize, j: &usize| order(&points[*i], &points[*j]);
    let count = points.len();
    let upper_right = (0..count).max_by(by).unwrap_or(0);
    let lower_left = (0..count).min_by(by).unwrap_or(0);
    let next = |i: usize| (i + 1) % count;
    let level = |i: usize, j: usize| points[i][1] == points[j][1];
    let lower_right =
        if level(lower_left, next(lower_left)) { next(lower_left) } else { lower_left };
    let upper_left =
        if level(upper_right, next(upper_right)) { next(upper_right) } else { upper_right };
    let from_to = |from: usize, to: usize| {
        let steps = (to + count - from) % count;
        (0..=steps).map(move |step| points[(from + step) % count])
    };
    let right = from_to(lower_right, upper_right).collect();
    let mut left: Vec<Point> = from_to(upper_left, lower_left).collect();
    left.reverse();
    (right, left)
}

/// The place along the shift of a side at a height within it.
fn at(side: &[Point], v: f64) -> f64 {
    let above = side.partition_point(|p| p[1] < v).clamp(1, side.len() - 1);
    let ([u0, v0], [u1, v1]) = (side[above - 1], side[above]);
    if v1 > v0 { u0 + (u1 - u0) * ((v - v0) / (v1 - v0)).clamp(0.0, 1.0) } else { u0 }
}

/// The loop without corners that lie on their neighbour.
fn without_specks(mut points: Vec<Point>, speck: f64) -> Vec<Point> {
    points.dedup_by(|a, b| super::distance(*a, *b) < speck);
    while points.len() > 1 && super::distance(points[0], points[points.len() - 1]) < speck {
        points.pop();
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use std::f64::consts::PI;

    /// Two discs of diameter d, q d apart, share (2/π)(arccos q - q √(1 - q²)) of their area
    /// (circular lens; q = 0.5 gives 0.391002, the OTF of a disc at half its cut-off, `Goodman`, 6.3).
    #[test]
    fn two_discs_share_a_lens() {
        let disc = shapes::disc(0.3).unwrap();
        for (q, direction) in [(0.0, 0.3), (0.1, 0.0), (0.5, 1.1), (0.5, PI / 2.0), (0.95, 2.0)] {
            let shift = [0.3 * q * f64::cos(direction), 0.3 * q * f64::sin(direction)];
            let left = overlap(&disc, shift).unwrap();
            let lens = 2.0 / PI * (f64::acos(q) - q * f64::sqrt(1.0 - q * q));
            let share = left.area_mm2() / disc.area_mm2();
            // The polygon's chords: relative to the lens they weigh more the thinner it is.
            assert!((share / lens - 1.0).abs() < 2e-5, "{q}: {share} {lens}");
            let [x, y] = left.centroid_mm();
            assert!(x.hypot(y) < 1e-7);
        }
        assert!(overlap(&disc, [0.301, 0.0]).is_none());
        // Nearer than a width along both axes and yet apart.
        assert!(overlap(&disc, [0.25, 0.25]).is_none());
    }

    /// Convex loops against the general way, which is right to its whole numbers of 1e-9: corners, level sides, a loop
    /// beside the origin.
    #[test]
    fn convex_holes_overlap_like_any_other() {
        let holes = [
            shapes::disc(0.3).unwrap(),
            shapes::ellipse(0.3, 0.2).unwrap().turned(0.4).moved(0.2, -0.1),
            shapes::rectangle(0.3, 0.2).unwrap(),
            shapes::regular_polygon(3, 0.3).unwrap(),
            shapes::regular_polygon(7, 0.3).unwrap().turned(0.2),
        ];
        for hole in holes {
            for (length, direction) in
                [(1e-4, 0.1), (0.03, 0.0), (0.08, PI / 2.0), (0.1, 2.0), (0.13, -0.7)]
            {
                let shift = [length * f64::cos(direction), length * f64::sin(direction)];
                let [dx, dy] = shift.map(|c| c / 2.0);
                let general = hole.moved(-dx, -dy).loops().to_vec().overlay(
                    &hole.moved(dx, dy).loops().to_vec(),
                    OverlayRule::Intersect,
                    FillRule::Positive,
                );
                let found = convex_overlap(&hole.loops()[0], shift);
                let Some(points) = general.into_iter().flatten().next() else {
                    assert!(found.is_none(), "{length} {direction}");
                    continue;
                };
                let (general, found) = (Outline::new(vec![points]).unwrap(), found.unwrap());
                assert!(is_convex(&hole.loops()[0]));
                assert!(
                    (found.area_mm2() - general.area_mm2()).abs() < 1e-8,
                    "{length} {direction}"
                );
                let apart = [0, 1].map(|k| found.centroid_mm()[k] - general.centroid_mm()[k]);
                assert!(apart[0].hypot(apart[1]) < 1e-6, "{length} {direction} {apart:?}");
                let ((a, b), (c, d)) = (found.bounds_mm(), general.bounds_mm());
                for k in 0..2 {
                    assert!((a[k] - c[k]).abs() < 1e-7 && (b[k] - d[k]).abs() < 1e-7);
                }
                Outline::new(found.loops().to_vec()).unwrap();
            }
        }
    }

    /// A square ring, by hand: outer 4 wide, island 2 wide, shifted by 0.5 along x. Both outers share
    /// 3.5 × 4, from which the two islands' union of 2.5 × 2 is taken.
    #[test]
    fn islands_close_the_overlap_further() {
        let square = |half: f64| vec![[-half, -half], [half, -half], [half, half], [-half, half]];
        let ring = Outline::new(vec![square(2.0), square(1.0)]).unwrap();
        let left = overlap(&ring, [0.5, 0.0]).unwrap();
        assert!((left.area_mm2() - 9.0).abs() < 1e-6, "{}", left.area_mm2());
        assert_eq!(left.loops().len(), 2);
    }
}
