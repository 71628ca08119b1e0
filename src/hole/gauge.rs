//! Every size of a hole, measured on its outline.

use super::burr::{Burr, described, significant};
use super::debris::{Speck, debris};
use super::departure::{Rim, Side};
use super::form::{Harmonic, waves};
use super::perimeter::perimeter_mm;
use super::uncertainty::{SizeUncertainty, Uncertainties};
use crate::geometry::feret::Feret;
use crate::geometry::reference_circles::{
    circumscribed, inscribed, least_squares, minimum_zone, profile, zone_about,
};
use crate::geometry::{Outline, Point, signed_area};
use serde::Serialize;

/// The sizes of a hole. Field names are the keys of `gauge --json`, under `hole`.
///
/// An outline with several openings (a hole with a fibre across it, or two holes) is measured as
/// one hole where a sum or an extent is meant: area and what follows from it, perimeter, Feret
/// diameters, circumscribed and inscribed circle, centroid. Roundness, the least-squares circle,
/// harmonics, raggedness, burrs and debris belong to one rim: that of the largest opening.
///
/// Directions are in degrees anticlockwise from +x with y up, as in the picture seen upright.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Sizes {
    /// The open area, islands of metal taken off, in mm².
    pub area_mm2: f64,
    /// The diameter of the disc of that area, in mm.
    pub equivalent_diameter_mm: f64,
    /// The expanded uncertainty (k = 2) of the equivalent diameter: a half-width, in mm.
    pub equivalent_diameter_uncertainty_mm: f64,
    /// The length of all rims, islands included, without the noise of tracing, in mm.
    pub perimeter_mm: f64,
    /// The largest distance between parallel tangents, in mm.
    pub feret_max_mm: f64,
    /// The direction in which that distance is measured, 0..180.
    pub feret_max_angle_deg: f64,
    /// The smallest distance between parallel tangents, in mm.
    pub feret_min_mm: f64,
    /// The direction in which that distance is measured, across the tangents, 0..180.
    pub feret_min_angle_deg: f64,
    /// The diameter of the largest circle clear of all metal, islands too, in mm; no more than 1e-5
    /// of the equivalent diameter short of the largest possible.
    pub inscribed_diameter_mm: f64,
    /// The diameter of the smallest circle around the hole, in mm.
    pub circumscribed_diameter_mm: f64,
    /// The diameter of the least-squares circle (LSC, `ISO12181`-1), in mm; where a burr or a nick is
    /// deeper than 0.4 of the radius, of the smooth rim there.
    pub least_squares_diameter_mm: f64,
    /// The roundness deviation RONt, peak to valley about the least-squares circle, in mm.
    pub roundness_mm: f64,
    /// The roundness deviation RONt about the minimum-zone circles, in mm.
    pub minimum_zone_roundness_mm: f64,
    /// The expanded uncertainties (k = 2) of the sizes above, under the same keys.
    pub uncertainty: Uncertainties,
    /// The largest Feret diameter over the smallest.
    pub aspect_ratio: f64,
    /// The form of the rim: the Fourier series of its radius about the centre of the least-squares
    /// circle, orders 2 to 15, even in angle; where a burr or nick stands, of the smooth rim.
    pub harmonics: Vec<Harmonic>,
    /// The root mean square, over the angle, of what that series (mean and orders 1 to 15) leaves of
    /// the radius outside burrs and nicks, in mm: undulations above 15 per revolution. The corners of
    /// a polygon and the noise of tracing are part of it.
    pub raggedness_mm: f64,
    /// The centroid of the open area in the picture, [column, row] in px from the upper left
    /// corner; none without a picture.
    pub centroid_px: Option<[f64; 2]>,
    /// The burrs (inward) and nicks (outward), deepest first.
    pub burrs: Vec<Burr>,
    /// Detached specks of metal inside the opening, largest first.
    pub debris: Vec<Speck>,
    /// Whether the rim was seen; otherwise all that belongs to it is that of an assumed disc.
    #[serde(skip)]
    pub rim_seen: bool,
}

impl Sizes {
    /// All sizes of an outline.
    ///
    /// `known` says how well its size is known to whoever made it; `centroid_px` is the centroid in
    /// the picture, if there is one.
    pub fn of(outline: &Outline, known: &SizeUncertainty, centroid_px: Option<[f64; 2]>) -> Sizes {
        let area_mm2 = outline.area_mm2();
        let equivalent_diameter_mm = outline.equivalent_diameter_mm();
        let perimeter_mm = perimeter_mm(outline);
        let feret = Feret::of(outline);
        let accuracy_mm = 5e-6 * equivalent_diameter_mm;
        let inscribed_diameter_mm = 2.0 * inscribed(outline, accuracy_mm).radius_mm;
        let vertices: Vec<Point> = outline.loops().iter().flatten().copied().collect();
        let circumscribed_diameter_mm = 2.0 * circumscribed(&vertices).radius_mm;
        let profile = profile(outline);
        let rim = Rim::of(outline);
        let departures = significant(&rim, known);
        let circle = least_squares(&rim.without_deep(&profile, &departures));
        let roundness_mm = zone_about(&profile, circle.centre_mm).roundness_mm();
        let minimum_zone_roundness_mm = minimum_zone(&profile).roundness_mm();
        let waves = waves(&profile, circle.centre_mm, &rim, &departures);
        let uncertainty = Uncertainties {
            area_mm2: known.of_area(area_mm2, perimeter_mm),
            equivalent_diameter_mm: known.of_diameter(equivalent_diameter_mm),
            perimeter_mm: known.of_perimeter(perimeter_mm, turns(outline)),
            feret_max_mm: known.of_extent(feret.max_mm),
            feret_min_mm: known.of_extent(feret.min_mm),
            inscribed_diameter_mm: known.of_extent(inscribed_diameter_mm),
            circumscribed_diameter_mm: known.of_extent(circumscribed_diameter_mm),
            least_squares_diameter_mm: known.of_diameter(2.0 * circle.radius_mm),
            roundness_mm: known.of_roundness(roundness_mm),
            minimum_zone_roundness_mm: known.of_roundness(minimum_zone_roundness_mm),
        };
        Sizes {
            area_mm2,
            equivalent_diameter_mm,
            equivalent_diameter_uncertainty_mm: uncertainty.equivalent_diameter_mm,
            perimeter_mm,
            feret_max_mm: feret.max_mm,
            feret_max_angle_deg: feret.max_direction_rad.to_degrees(),
            feret_min_mm: feret.min_mm,
            feret_min_angle_deg: feret.min_direction_rad.to_degrees(),
            inscribed_diameter_mm,
            circumscribed_diameter_mm,
            least_squares_diameter_mm: 2.0 * circle.radius_mm,
            roundness_mm,
            minimum_zone_roundness_mm,
            uncertainty,
            aspect_ratio: feret.max_mm / feret.min_mm,
            harmonics: waves.harmonics,
            raggedness_mm: waves.raggedness_mm,
            centroid_px,
            burrs: described(&rim, &departures, known),
            debris: debris(outline),
            rim_seen: true,
        }
    }

    /// The burrs that a tool can take off: those that stand into the opening.
    pub fn inward_burrs(&self) -> impl Iterator<Item = &Burr> {
        self.burrs.iter().filter(|burr| burr.side == Side::Inward)
    }
}

/// The openings less the islands of an outline.
fn turns(outline: &Outline) -> f64 {
    outline.loops().iter().map(|points| signed_area(points).signum()).sum()
}

#[cfg(test)]
#[path = "gauge_tests.rs"]
mod tests;
