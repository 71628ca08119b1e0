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

/// A disc.
///
/// # Errors
/// [`Error::Outline`] when the diameter is not a positive finite number.
pub fn disc(diameter_mm: f64) -> Result<Outline, Error> {
    ellipse(diameter_mm, diameter_mm)
}

/// An ellipse with its axes along x and y.
///
/// # Errors
/// [`Error::Outline`] when an axis is not a positive finite number.
pub fn ellipse(width_mm: f64, height_mm: f64) -> Result<Outline, Error> {
    positive("width", width_mm)?;
    positive("height", height_mm)?;
    // Area of a polygon in the unit circle over the circle's: sin(2π/n) / (2π/n). An ellipse is the
    // circle stretched, and so is its polygon.
    let side = TAU / SIDES as f64;
    let swell = (side / side.sin()).sqrt() / 2.0;
    Outline::new(vec![ring(|angle| {
        let (sin, cos) = angle.sin_cos();
        [width_mm * swell * cos, height_mm * swell * sin]
    })])
}

/// A rectangle with its sides along x and y; a slit, when one side is long.
///
/// # Errors
/// [`Error::Outline`] when a side is not a positive finite number.
pub fn rectangle(width_mm: f64, height_mm: f64) -> Result<Outline, Error> {
    positive("width", width_mm)?;
    positive("height", height_mm)?;
    let (x, y) = (width_mm / 2.0, height_mm / 2.0);
    Outline::new(vec![vec![[-x, -y], [x, -y], [x, y], [-x, y]]])
}

/// A regular polygon in a circle, one vertex on +x.
///
/// # Errors
/// [`Error::Outline`] for fewer than three sides, or a diameter that is not positive and finite.
pub fn regular_polygon(sides: usize, circumscribed_diameter_mm: f64) -> Result<Outline, Error> {
    positive("diameter", circumscribed_diameter_mm)?;
    let vertex = |i: usize| {
        let (sin, cos) = (TAU * i as f64 / sides as f64).sin_cos();
        [circumscribed_diameter_mm / 2.0 * cos, circumscribed_diameter_mm / 2.0 * sin]
    };
    Outline::new(vec![(0..sides).map(vertex).collect()])
}

/// A ring: a disc with a disc of metal in its middle.
///
/// # Errors
/// [`Error::Outline`] unless 0 < inner < outer, both finite.
pub fn annulus(outer_mm: f64, inner_mm: f64) -> Result<Outline, Error> {
    if inner_mm >= outer_mm {
        return Err(Error::outline(
            format!("the inner diameter, {inner_mm} mm, is not below the outer, {outer_mm} mm"),
            "give the outer diameter first",
        ));
    }
    let (outer, inner) = (disc(outer_mm)?, disc(inner_mm)?);
    Outline::new([outer.loops(), inner.loops()].concat())
}

/// A closed curve r(φ), in mm, about the origin, φ anticlockwise from +x, drawn through `points`
/// of it. The polygon's area is short of the curve's by about (2π/points)²/6 of itself.
///
/// # Errors
/// [`Error::Outline`] when the radius is not positive and finite everywhere.
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

/// A disc with one burr: a tongue of metal with straight sides from the rim at `angle_rad` ±
/// `half_width_rad` to a tip `depth_mm` inside the rim.
///
/// # Errors
/// [`Error::Outline`] when the burr does not fit the disc.
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

fn ring(point: impl Fn(f64) -> Point) -> Vec<Point> {
    (0..SIDES).map(|i| point(TAU * i as f64 / SIDES as f64)).collect()
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
            assert!(polar(100, |_| bad).is_err());
        }
        assert!(regular_polygon(2, 1.0).is_err());
        assert!(annulus(0.2, 0.3).is_err());
        assert!(burred_disc(0.3, 0.0, 0.1, 0.4).is_err());
    }
}
