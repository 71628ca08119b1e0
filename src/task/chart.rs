//! `chart`: what to print for a camera, and how large it is.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::Point;
use crate::proof::Chart;
use crate::proof::chart::{Part, STEP_CODES, TURN_RAD, reflectance};
use serde::Serialize;

/// A chart to print.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The camera's name.
    pub camera: String,
    /// From the hole to the chart, in mm.
    pub distance_mm: f64,
    /// From the hole to the middle of the film, in mm.
    pub film_distance_mm: f64,
    /// Width and height of the print with the bare paper that its outer edges need, in mm.
    pub printed_mm: [f64; 2],
    /// The width of an octagon across flats, on the film, in mm.
    pub octagon_on_film_mm: f64,
    /// How far edges are turned from the film's sides.
    pub edge_turn_deg: f64,
    /// The light that the grey steps send back, over that of bare paper.
    pub steps: Vec<f64>,
    /// Everything that is printed.
    pub shapes: Vec<Shape>,
}

/// Something printed.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Shape {
    /// What it is for.
    pub part: Part,
    /// The grey it is printed in, as an sRGB code.
    pub code: u8,
    /// The light that it sends back, over that of bare paper.
    pub reflectance: f64,
    /// Its outline on the wall, in mm from the point opposite the hole: x to the right, y up.
    pub outline_mm: Vec<Point>,
}

/// Lays out a chart for a camera whose hole is so far from it.
///
/// # Errors
/// As [`Chart::of`].
pub fn run(camera: &Camera, distance_mm: f64) -> Result<Answer, Error> {
    let chart = Chart::of(camera, distance_mm)?;
    let shapes: Vec<Shape> = chart
        .shapes()
        .into_iter()
        .map(|shape| Shape {
            part: shape.part,
            code: shape.code,
            reflectance: reflectance(shape.code),
            outline_mm: chart.outline_on_wall_mm(&shape.film_mm),
        })
        .collect();
    Ok(Answer {
        camera: camera.name.clone(),
        distance_mm,
        film_distance_mm: camera.distances.film_mm(),
        printed_mm: chart.paper_mm(),
        octagon_on_film_mm: chart.octagon_mm,
        edge_turn_deg: TURN_RAD.to_degrees(),
        steps: STEP_CODES.map(reflectance).to_vec(),
        shapes,
    })
}
