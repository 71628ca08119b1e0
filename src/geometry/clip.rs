//! The overlap that a plate of some thickness leaves of a hole, seen at an angle.

use super::{Outline, Point};
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
    let (near, far) = (hole.moved(-dx, -dy), hole.moved(dx, dy));
    // Openings run anticlockwise and islands clockwise: the winding number is 1 in the open.
    let left = near.loops().to_vec().overlay(
        &far.loops().to_vec(),
        OverlayRule::Intersect,
        FillRule::Positive,
    );
    let speck = SPECK * (high[0] - low[0]).max(high[1] - low[1]);
    let loops: Vec<Vec<Point>> = left
        .into_iter()
        .flatten()
        .map(|points| without_specks(points, speck))
        .filter(|points| points.len() >= 3)
        .collect();
    Outline::new(loops).ok()
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
    /// (circular lens; q = 0.5 gives 0.391002, the OTF of a disc at half its cut-off, Goodman 6.3).
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
