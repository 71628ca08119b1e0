//! Debris: detached specks of metal inside the opening.

use crate::error::Error;
use crate::geometry::{Outline, Point, centroid, contains, signed_area};
use serde::Serialize;
use std::f64::consts::PI;

/// A speck of metal, or of dust as dark as metal, inside the largest opening and clear of its rim.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Speck {
    /// Its centroid, in mm, in the frame of the outline: x right, y up.
    pub centre_mm: Point,
    /// The diameter of the disc of its area, in mm.
    pub diameter_mm: f64,
    /// The area inside its rim, in mm²; openings in it are not taken off.
    pub area_mm2: f64,
}

/// The islands of the largest opening, largest first.
pub(super) fn debris(outline: &Outline) -> Vec<Speck> {
    let loops = outline.loops();
    let speck = |i: usize| {
        let area_mm2 = signed_area(&loops[i]).abs();
        Speck {
            centre_mm: centroid(&loops[i]),
            diameter_mm: 2.0 * (area_mm2 / PI).sqrt(),
            area_mm2,
        }
    };
    let mut found: Vec<Speck> = islands(outline).into_iter().map(speck).collect();
    found.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    found
}

/// The outline with the debris out of its largest opening, with what openings there are in it, and
/// nothing else changed.
///
/// # Errors
/// None for an outline that is sound: fewer loops cannot cross.
pub fn without_debris(outline: &Outline) -> Result<Outline, Error> {
    let islands = islands(outline);
    if islands.is_empty() {
        return Ok(outline.clone());
    }
    let loops = outline.loops();
    let goes = |i: usize| {
        islands.iter().any(|&island| island == i || contains(&loops[island], loops[i][0]))
    };
    Outline::new((0..loops.len()).filter(|&i| !goes(i)).map(|i| loops[i].clone()).collect())
}

/// Which loops are islands of the largest opening.
fn islands(outline: &Outline) -> Vec<usize> {
    let loops = outline.loops();
    let areas: Vec<f64> = loops.iter().map(|points| signed_area(points)).collect();
    let largest = (0..loops.len()).max_by(|&a, &b| areas[a].total_cmp(&areas[b]));
    // The smallest loop around another is the one that it lies in.
    let parent = |island: usize| {
        let around = |&other: &usize| {
            areas[other].abs() > areas[island].abs() && contains(&loops[other], loops[island][0])
        };
        (0..loops.len()).filter(around).min_by(|&a, &b| areas[a].abs().total_cmp(&areas[b].abs()))
    };
    (0..loops.len()).filter(|&i| areas[i] < 0.0 && parent(i) == largest).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn islands_of_the_largest_opening_are_debris() {
        let square = |x: f64, y: f64, half: f64| {
            vec![
                [x - half, y - half],
                [x + half, y - half],
                [x + half, y + half],
                [x - half, y + half],
            ]
        };
        let rim = shapes::disc(1.0).unwrap().loops()[0].clone();
        let pierced = [square(0.2, 0.0, 0.05), square(0.2, 0.0, 0.02)];
        let beside = [square(2.0, 0.0, 0.2), square(2.0, 0.0, 0.1)];
        let loops =
            [vec![rim, square(-0.1, 0.2, 0.01)], pierced.to_vec(), beside.to_vec()].concat();
        let outline = Outline::new(loops).unwrap();
        // The rim and the opening beside it are left, the latter with the island in it.
        let clean = without_debris(&outline).unwrap();
        let open_mm2 = shapes::disc(1.0).unwrap().area_mm2() + 0.16 - 0.04;
        assert_eq!(clean.loops().len(), 3);
        assert!((clean.area_mm2() - open_mm2).abs() < 1e-9, "{}", clean.area_mm2());
        let found = debris(&outline);
        assert_eq!(found.len(), 2, "{found:?}");
        // By hand: the square of 0.1 and that of 0.02, each with the disc of its area.
        for (speck, centre, side) in [(found[0], [0.2, 0.0], 0.1), (found[1], [-0.1, 0.2], 0.02)] {
            assert!((0..2).all(|axis| (speck.centre_mm[axis] - centre[axis]).abs() < 1e-12));
            assert!((speck.area_mm2 - side * side).abs() < 1e-12);
            assert!((speck.diameter_mm - side * (4.0 / PI).sqrt()).abs() < 1e-12);
        }
        assert_eq!(debris(&shapes::disc(1.0).unwrap()), vec![]);
    }
}
