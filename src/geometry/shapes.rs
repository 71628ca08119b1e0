//! Outlines by construction.
//!
//! A curved outline is drawn as a polygon of the curve's own AREA: then the field of the polygon
//! differs from the curve's only in harmonics of the number of its sides, which the engine cannot
//! see, and in the fourth power of the side (the square of the rim's ripple).

use super::{Outline, Point};
use crate::error::Error;
use std::f64::consts::TAU;

/// Sides of the polygon that stands for a smooth closed curve. Its ripple is (π/1440)²/3 of the
/// radius, so that the field is right to a few parts in 10¹².
const SIDES: usize = 1440;

/// Makes a disc.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the diameter is not a positive finite number.
pub fn disc(diameter_mm: f64) -> Result<Outline, Error> {
    ellipse(diameter_mm, diameter_mm)
}

/// Makes an ellipse with its axes along x and y.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when an axis is not a positive finite number.
pub fn ellipse(width_mm: f64, height_mm: f64) -> Result<Outline, Error> {
    positive("width", width_mm)?;
    positive("height", height_mm)?;
    Outline::new(vec![oval([0.0, 0.0], width_mm, height_mm, SIDES)])
}

/// Makes a rectangle with its sides along x and y; a slit, when one side is long.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when a side is not a positive finite number.
pub fn rectangle(width_mm: f64, height_mm: f64) -> Result<Outline, Error> {
    positive("width", width_mm)?;
    positive("height", height_mm)?;
    let (x, y) = (width_mm / 2.0, height_mm / 2.0);
    Outline::new(vec![vec![[-x, -y], [x, -y], [x, y], [-x, y]]])
}

/// Makes a regular polygon in a circle, one vertex on +x.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) for fewer than three sides, or a diameter that is not positive and finite.
pub fn regular_polygon(sides: usize, circumscribed_diameter_mm: f64) -> Result<Outline, Error> {
    positive("diameter", circumscribed_diameter_mm)?;
    let vertex = |i: usize| {
        let (sin, cos) = (TAU * i as f64 / sides as f64).sin_cos();
        [circumscribed_diameter_mm / 2.0 * cos, circumscribed_diameter_mm / 2.0 * sin]
    };
    Outline::new(vec![(0..sides).map(vertex).collect()])
}

/// Makes a ring: a disc with a disc of metal in its middle.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) unless 0 < inner < outer, both finite.
pub fn annulus(outer_mm: f64, inner_mm: f64) -> Result<Outline, Error> {
    if inner_mm >= outer_mm {
        return Err(Error::outline(
            format!(
                "the inner diameter, {inner_mm} mm, must be smaller than the outer, {outer_mm} \
                     mm"
            ),
            "give the outer diameter first",
        ));
    }
    let (outer, inner) = (disc(outer_mm)?, disc(inner_mm)?);
    Outline::new([outer.loops(), inner.loops()].concat())
}

/// Makes two discs of one diameter beside each other along x, their middles `apart_mm` from each other.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) unless 0 < diameter < apart, both finite.
pub fn pair(diameter_mm: f64, apart_mm: f64) -> Result<Outline, Error> {
    positive("diameter", diameter_mm)?;
    positive("distance", apart_mm)?;
    if diameter_mm >= apart_mm {
        return Err(Error::outline(
            format!("two holes of {diameter_mm} mm, {apart_mm} mm apart, run into each other"),
            "give a distance from middle to middle that is larger than the diameter",
        ));
    }
    let hole = |x| oval([x, 0.0], diameter_mm, diameter_mm, SIDES);
    Outline::new(vec![hole(-apart_mm / 2.0), hole(apart_mm / 2.0)])
}

/// Makes a Fresnel zone plate: an open middle zone of radius `first_zone_mm`, then rings of metal and open
/// rings by turns, every zone of the same area, r_n = r_1 √n. Light of the wavelength λ gathers at
/// r_1²/λ behind it (`BornWolf`, 8.2).
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when there is no open zone, or the radius is not a positive finite number.
pub fn zone_plate(first_zone_mm: f64, open_zones: usize) -> Result<Outline, Error> {
    positive("radius of the first zone", first_zone_mm)?;
    let radii = (1..2 * open_zones).map(|n| first_zone_mm * (n as f64).sqrt());
    Outline::new(radii.map(|r| oval([0.0, 0.0], 2.0 * r, 2.0 * r, SIDES)).collect())
}

/// Makes a photon sieve: the open zones of a zone plate, but for the middle one, broken up into round holes
/// 1.53 times as wide as their zone, which sends most light to the focus, and gaps of two thirds of a
/// hole. Source: `Kipp2001`.
///
/// # Errors
/// As [`zone_plate`].
pub fn photon_sieve(first_zone_mm: f64, open_zones: usize) -> Result<Outline, Error> {
    const WIDER: f64 = 1.53;
    const HOLE_AND_GAP: f64 = 5.0 / 3.0;
    // Small holes need no more: their polygons' ripple is 6e-5 of their own radius.
    const SIDES_OF_A_HOLE: usize = 240;
    positive("radius of the first zone", first_zone_mm)?;
    let radius = |n: usize| first_zone_mm * (n as f64).sqrt();
    let mut loops = Vec::new();
    if open_zones > 0 {
        loops.push(oval([0.0, 0.0], 2.0 * radius(1), 2.0 * radius(1), SIDES));
    }
    for zone in (3..2 * open_zones).step_by(2) {
        let (inner, outer) = (radius(zone - 1), radius(zone));
        let (diameter, from_axis) = (WIDER * (outer - inner), (inner + outer) / 2.0);
        let holes = (TAU * from_axis / (HOLE_AND_GAP * diameter)).floor();
        for i in 0..holes as usize {
            let (sin, cos) = (TAU * i as f64 / holes).sin_cos();
            let centre = [from_axis * cos, from_axis * sin];
            loops.push(oval(centre, diameter, diameter, SIDES_OF_A_HOLE));
        }
    }
    Outline::new(loops)
}

/// Makes a closed curve r(φ), in mm, about the origin, φ anticlockwise from +x, drawn through `points`
/// of it. The polygon's area is short of the curve's by about (2π/points)²/6 of itself.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the radius is not positive and finite everywhere.
pub fn polar(points: usize, radius_mm: impl Fn(f64) -> f64) -> Result<Outline, Error> {
    let angles = (0..points).map(|i| TAU * i as f64 / points as f64);
    let mut rim = Vec::with_capacity(points);
    for angle in angles {
        let radius = radius_mm(angle);
        positive("radius", radius)?;
        rim.push([radius * angle.cos(), radius * angle.sin()]);
    }
    Outline::new(vec![rim])
}

/// Makes a disc with one burr: a tongue of metal with straight sides from the rim at `angle_rad` ±
/// `half_width_rad` to a tip `depth_mm` inside the rim.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the burr does not fit the disc.
pub fn burred_disc(
    diameter_mm: f64,
    angle_rad: f64,
    half_width_rad: f64,
    depth_mm: f64,
) -> Result<Outline, Error> {
    let radius = diameter_mm / 2.0;
    positive("depth", depth_mm)?;
    positive("half-width", half_width_rad)?;
    if depth_mm >= diameter_mm || half_width_rad >= TAU / 4.0 {
        return Err(Error::outline(
            "the burr is larger than the hole",
            "give a depth below the diameter and a half-width below a quarter turn",
        ));
    }
    let arc = TAU - 2.0 * half_width_rad;
    let mut rim: Vec<Point> = (0..=SIDES)
        .map(|i| {
            let angle = angle_rad + half_width_rad + arc * i as f64 / SIDES as f64;
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect();
    let tip = radius - depth_mm;
    rim.push([tip * angle_rad.cos(), tip * angle_rad.sin()]);
    Outline::new(vec![rim])
}

/// A polygon of the area of an ellipse. In the unit circle a polygon of n sides has sin(2π/n) / (2π/n)
/// of the circle's area; an ellipse is the circle stretched, and so is its polygon.
fn oval(centre: Point, width: f64, height: f64, sides: usize) -> Vec<Point> {
    let side = TAU / sides as f64;
    let swell = (side / side.sin()).sqrt() / 2.0;
    let point = |i: usize| {
        let (sin, cos) = (side * i as f64).sin_cos();
        [centre[0] + width * swell * cos, centre[1] + height * swell * sin]
    };
    (0..sides).map(point).collect()
}

fn positive(name: &str, value: f64) -> Result<(), Error> {
    if value > 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(Error::outline(
        format!("the {name}, {value}, is not a positive number"),
        "give a size above zero",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn areas_are_those_of_the_curves() {
        let area = |outline: Result<Outline, Error>| outline.unwrap().area_mm2();
        assert!((area(disc(0.3)) / (PI * 0.0225) - 1.0).abs() < 1e-12);
        assert!((area(ellipse(0.4, 0.2)) / (PI * 0.02) - 1.0).abs() < 1e-12);
        assert!((area(annulus(0.4, 0.2)) / (PI * 0.03) - 1.0).abs() < 1e-12);
        // Zones of equal area: 1, 3, 5, 7 of 1..7 are open.
        assert!((area(zone_plate(0.1, 4)) / (4.0 * PI * 0.01) - 1.0).abs() < 1e-12);
        assert_eq!(photon_sieve(0.1, 1).unwrap().loops().len(), 1);
        assert!(photon_sieve(0.1, 5).unwrap().loops().len() > 40);
        assert!((area(rectangle(0.4, 0.2)) - 0.08).abs() < 1e-15);
        // A disc less the circular segment and the triangle of the tongue: a²(w - (1 - depth/a) sin w).
        let burred = area(burred_disc(2.0, 0.0, 0.15, 0.35));
        assert!((burred - (PI - 0.15 + 0.65 * 0.15f64.sin())).abs() < 1e-4);
    }

    #[test]
    fn sizes_that_are_none_are_refused() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(disc(bad).is_err());
            assert!(rectangle(1.0, bad).is_err());
            assert!(regular_polygon(6, bad).is_err());
            assert!(zone_plate(bad, 3).is_err() && photon_sieve(bad, 3).is_err());
            assert!(polar(100, |_| bad).is_err());
        }
        assert!(regular_polygon(2, 1.0).is_err());
        assert!(zone_plate(0.1, 0).is_err() && photon_sieve(0.1, 0).is_err());
        assert!(annulus(0.2, 0.3).is_err());
        assert!(burred_disc(0.3, 0.0, 0.1, 0.4).is_err());
    }
}
