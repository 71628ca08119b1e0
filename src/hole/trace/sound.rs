//! Loops that are an outline whatever the picture: where specks touch each other or the rim, they are
//! joined.

use crate::error::Error;
use crate::geometry::{Outline, signed_area};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;

type Loops = Vec<Vec<[f64; 2]>>;

/// Pieces smaller than this that joining leaves, in square pixels, are crumbs.
const CRUMB: f64 = 3.0;

/// The outline of loops in the picture's frame, y turned up.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the loops cross.
pub(super) fn upright(loops_px: &Loops) -> Result<Outline, Error> {
    Outline::new(loops_px.iter().map(|l| l.iter().map(|p| [p[0], -p[1]]).collect()).collect())
}

/// The loops themselves where they make an outline; else the outer rim less the islands, and whether
/// that was needed. None when nothing is left.
pub(super) fn sound(loops_px: Loops) -> Option<(Loops, bool)> {
    if upright(&loops_px).is_ok() {
        return Some((loops_px, false));
    }
    let (outer, islands) = loops_px.split_first()?;
    let metal: Loops = islands.iter().map(|island| turned(island, true)).collect();
    let left =
        vec![turned(outer, true)].overlay(&metal, OverlayRule::Difference, FillRule::NonZero);
    // Of openings that the islands part, the largest is the hole.
    let largest = left.into_iter().max_by(|a, b| open_area(a).total_cmp(&open_area(b)))?;
    let kept: Loops =
        largest.into_iter().filter(|points| signed_area(points).abs() > CRUMB).collect();
    upright(&kept).ok().map(|_| (kept, true))
}

fn turned(points: &[[f64; 2]], positive: bool) -> Vec<[f64; 2]> {
    let mut points = points.to_vec();
    if (signed_area(&points) > 0.0) != positive {
        points.reverse();
    }
    points
}

fn open_area(shape: &Loops) -> f64 {
    shape.iter().map(|points| signed_area(points)).sum::<f64>().abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, half: f64) -> Vec<[f64; 2]> {
        vec![[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
    }

    /// Two specks of 4 × 4 that share 1 × 4, and one half over the rim of 40 × 40, by hand:
    /// 1600 - (16 + 16 - 4) - 8.
    #[test]
    fn what_touches_is_joined() {
        let loops = vec![
            square(0.0, 0.0, 20.0),
            square(0.0, 0.0, 2.0),
            square(3.0, 0.0, 2.0),
            square(20.0, 9.0, 2.0),
        ];
        assert!(upright(&loops).is_err());
        let (joined, repaired) = sound(loops).unwrap();
        assert!(repaired && joined.len() == 2, "{joined:?}");
        let area = upright(&joined).unwrap().area_mm2();
        assert!((area - 1564.0).abs() < 1e-3, "{area}");
        let plain = vec![square(0.0, 0.0, 20.0), square(0.0, 0.0, 2.0)];
        assert_eq!(sound(plain.clone()), Some((plain, false)));
    }
}
