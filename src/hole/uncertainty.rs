//! How well the size of a hole is known.

use serde::Serialize;
use std::f64::consts::{SQRT_2, TAU};

/// Expanded (k = 2, about 95 %) uncertainties of a hole's size.
///
/// What is measured on the outline follows from three independent causes, which add as squares
/// (`JCGM100`, 5.1.2): the scale, which
/// stretches every length by one factor; the mean place of the rim, by which all of the rim lies
/// farther out or in; and the place of single points of it, which differ from each other.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SizeUncertainty {
    /// Of any length over that length: from the scale, or from the words.
    pub relative: f64,
    /// Of the mean place of the rim, in mm: both sides of a diameter move with it.
    pub edge_mm: f64,
    /// Of a single place on the rim about its mean place, in mm.
    pub rim_mm: f64,
    /// Not an uncertainty but a cause of one: the blur of the photo, as the σ of a Gaussian, in mm.
    pub blur_mm: f64,
}

impl SizeUncertainty {
    /// Of a diameter that the whole rim decides (equivalent, least-squares), in mm. The places of
    /// single points cancel in it; the mean place moves both of its ends.
    pub fn of_diameter(&self, diameter_mm: f64) -> f64 {
        (self.relative * diameter_mm).hypot(2.0 * self.edge_mm)
    }

    /// Of a diameter that a few places on the rim decide (Feret, inscribed, circumscribed), in mm: as
    /// the other, and its two ends are off by themselves, √2 times one place together. (Three places
    /// carry a circle as a rule; evenly spread, they are off by 2/√3 = 1.2 times one, so two are the
    /// worse case.)
    pub(super) fn of_extent(&self, extent_mm: f64) -> f64 {
        self.of_diameter(extent_mm).hypot(SQRT_2 * self.rim_mm)
    }

    /// Of a roundness deviation, in mm: the largest less the smallest radius. The mean place moves
    /// both alike and drops out; each is a single place.
    pub(super) fn of_roundness(&self, roundness_mm: f64) -> f64 {
        (self.relative * roundness_mm).hypot(SQRT_2 * self.rim_mm)
    }

    /// Of an area, in mm²: it goes with the square of the scale, and a rim of that perimeter that
    /// moves outwards sweeps its length times the way. Single places cancel along the rim.
    pub(super) fn of_area(&self, area_mm2: f64, perimeter_mm: f64) -> f64 {
        (2.0 * area_mm2 * self.relative).hypot(perimeter_mm * self.edge_mm)
    }

    /// Of a perimeter, in mm: a closed curve that moves outwards by e is 2πe longer, whatever its
    /// form (Steiner's formula), and the rim of an island, which moves inwards, as much shorter.
    /// `turns` is the number of openings less that of islands.
    pub(super) fn of_perimeter(&self, perimeter_mm: f64, turns: f64) -> f64 {
        (self.relative * perimeter_mm).hypot(TAU * turns * self.edge_mm)
    }

    /// Of the distance of one place on the rim from the smooth rim, in mm: of that place alone. The
    /// mean place moves both alike. Of an amplitude of the form too, as if one place made it.
    pub(super) fn of_depth(&self, depth_mm: f64) -> f64 {
        (self.relative * depth_mm).hypot(self.rim_mm)
    }

    /// By how much blur may have shortened a burr, in mm: a wedge of metal is seen as metal only where
    /// it is wider than 1.35 σ (erf(w/(2√2 σ)) = 1/2). One with straight sides, `width_mm` at half its
    /// depth, widens by 2 width/depth; a tip more pointed than that loses up to twice as much (of the
    /// demonstration's, 1.4 times as much).
    pub(super) fn of_shortening(&self, depth_mm: f64, width_mm: f64) -> f64 {
        let straight = 1.35 * self.blur_mm * depth_mm / (2.0 * width_mm.max(self.blur_mm));
        (2.0 * straight).min(depth_mm)
    }
}

/// The expanded uncertainties (k = 2) of the sizes of the same names: half-widths, in their units.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Uncertainties {
    /// Of the open area, in mm².
    pub area_mm2: f64,
    /// Of the diameter of the disc of that area, in mm.
    pub equivalent_diameter_mm: f64,
    /// Of the length of all rims, in mm.
    pub perimeter_mm: f64,
    /// Of the largest distance between parallel tangents, in mm.
    pub feret_max_mm: f64,
    /// Of the smallest distance between parallel tangents, in mm.
    pub feret_min_mm: f64,
    /// Of the diameter of the largest circle clear of all metal, in mm.
    pub inscribed_diameter_mm: f64,
    /// Of the diameter of the smallest circle around the hole, in mm.
    pub circumscribed_diameter_mm: f64,
    /// Of the diameter of the least-squares circle, in mm.
    pub least_squares_diameter_mm: f64,
    /// Of RONt about the least-squares circle, in mm.
    pub roundness_mm: f64,
    /// Of RONt about the minimum-zone circles, in mm.
    pub minimum_zone_roundness_mm: f64,
}

/// The expanded uncertainty of a value of which only a half-width is known: uniform within it, so
/// its standard uncertainty is half-width/√3 (`JCGM100`, 4.3.7).
pub(super) fn expanded_from_half_width(half_width: f64) -> f64 {
    2.0 * half_width / 3f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A wedge 0.02 mm wide at half of its 0.04 mm widens by a millimetre a millimetre: at σ = 0.001 mm it
    /// is 1.35 µm wide 1.35 µm from its tip, and twice that is allowed for.
    #[test]
    fn blur_shortens_a_pointed_burr() {
        let blurred = SizeUncertainty { blur_mm: 0.001, ..SizeUncertainty::default() };
        assert!((blurred.of_shortening(0.04, 0.02) - 0.0027).abs() < 1e-12);
        assert_eq!(blurred.of_shortening(0.001, 0.0), 0.001);
    }

    /// Each cause alone, against the size of a disc of 0.3 mm that is stretched or grown by it; then
    /// all together as squares.
    #[test]
    fn each_cause_alone_is_what_it_does_to_a_disc() {
        let (d, e) = (0.3, 1e-6);
        let (area, perimeter) = (PI * d * d / 4.0, PI * d);
        let scale = SizeUncertainty { relative: e, ..SizeUncertainty::default() };
        let edge = SizeUncertainty { edge_mm: e, ..SizeUncertainty::default() };
        let rim = SizeUncertainty { rim_mm: e, ..SizeUncertainty::default() };
        let grown = PI * (d / 2.0 + e).powi(2) - area;
        let stretched = area * (1.0 + e).powi(2) - area;
        for (found, expected) in [
            (scale.of_diameter(d), e * d),
            (edge.of_diameter(d), 2.0 * e),
            (rim.of_diameter(d), 0.0),
            (scale.of_extent(d), e * d),
            (edge.of_extent(d), 2.0 * e),
            (rim.of_extent(d), SQRT_2 * e),
            (scale.of_roundness(0.01), 0.01 * e),
            (edge.of_roundness(0.01), 0.0),
            (rim.of_roundness(0.01), SQRT_2 * e),
            (scale.of_area(area, perimeter), stretched),
            (edge.of_area(area, perimeter), grown),
            (scale.of_perimeter(perimeter, 1.0), e * perimeter),
            (edge.of_perimeter(perimeter, 1.0), PI * (d + 2.0 * e) - perimeter),
            (edge.of_perimeter(perimeter, 0.0), 0.0),
            (rim.of_depth(0.01), e),
        ] {
            // The finite step of 1e-6 is seen in the square terms.
            assert!((found - expected).abs() <= 1e-5 * e, "{found}, not {expected}");
        }
        let all = SizeUncertainty { relative: 0.01, edge_mm: 0.002, rim_mm: 0.004, blur_mm: 0.0 };
        // √(0.003² + 0.004² + 2·0.004²)
        assert!((all.of_extent(0.3) - 57e-6f64.sqrt()).abs() < 1e-12);
    }
}
