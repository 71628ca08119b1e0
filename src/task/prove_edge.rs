//! `prove` with one edge of any picture: its contrast, held against what the hole allows.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::hole::Scale;
use crate::proof::predicted::{frequencies_in, image, predicted};
use crate::proof::single::edge_at;
use crate::raster::Raster;
use crate::watch::{Step, Watch};
use serde::Serialize;

/// Contrasts to a curve.
const FREQUENCIES: usize = 16;
/// The contrast that the highest of them has by the prediction.
const LEAST_CONTRAST: f64 = 0.12;
/// The highest frequency that pixels show, in cycles to one.
const HIGHEST: f64 = 0.4;
/// Swing beyond an edge's levels that no blur makes (common practice, no source).
const OVERSHOOT: f64 = 0.04;

/// What to measure.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub hole: Outline,
    /// The picture.
    pub picture: Raster,
    /// Its scale.
    pub scale: Scale,
    /// Where in it the edge runs, in px from the upper left.
    pub edge_px: Point,
    /// Where on the film that is, in mm from its middle.
    pub at_mm: Point,
}

/// What one edge shows.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// Where in the picture the edge was measured.
    pub at_px: Point,
    /// Where on the film that is taken to be.
    pub at_mm: Point,
    /// The direction from dark to light in the picture, anticlockwise from its rows.
    pub direction_deg: f64,
    /// How far to each side of the edge was measured, in mm.
    pub reach_mm: f64,
    /// Frequencies on the film.
    pub frequency_lp_per_mm: Vec<f64>,
    /// The measured MTF, as far as the pixels show it.
    pub measured: Vec<f64>,
    /// Its expanded uncertainty (95 %).
    pub uncertainty: Vec<f64>,
    /// What the hole allows, seen through a window as wide as the measured one.
    pub predicted: Vec<f64>,
    /// Where the measured MTF falls to one half; null where it does not.
    pub mtf50_lp_per_mm: Option<f64>,
    /// The same of the prediction.
    pub predicted_mtf50_lp_per_mm: Option<f64>,
    /// How far the edge swings beyond its levels, over the step.
    pub overshoot: f64,
    /// Whether that is more than blur makes.
    pub sharpened: bool,
}

/// Measures one edge.
///
/// # Errors
/// [`NotThere`](crate::Kind::NotThere) where no straight edge runs through the place; as [`fn@image`]; a stop by the
/// watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    watch.begins(Step::Chart)?;
    let light = request.picture.reduced(1);
    let [x, y] = request.edge_px;
    let edge = edge_at(&light, request.edge_px).ok_or_else(|| {
        Error::not_there(
            format!("shows no straight edge through ({x:.0}, {y:.0}) px"),
            "point at the middle of a straight edge between two even tones, a few degrees off the rows and columns",
        )
    })?;
    watch.is_at(Step::Chart, 0.3)?;
    let camera = Camera { support: None, ..request.camera.clone() };
    let image = image(&camera, &request.hole, request.at_mm, 0.0)?.ok_or_else(|| {
        Error::limit(
            "no light comes to this place on the film",
            "name a place nearer to its middle",
        )
    })?;
    let mm_per_px = request.scale.mean_mm_per_px();
    let [nx, ny] = edge.strip.normal;
    let direction_rad = (-ny).atan2(nx);
    let reach_mm = edge.strip.half_width_px * mm_per_px;
    let frequencies: Vec<f64> = frequencies_in(&image, direction_rad, LEAST_CONTRAST, FREQUENCIES)
        .into_iter()
        .take_while(|f| f * mm_per_px <= HIGHEST)
        .collect();
    if frequencies.is_empty() {
        return Err(Error::limit(
            "the picture's pixels are too coarse to show what the hole draws",
            "scan at a higher resolution",
        ));
    }
    let found: Vec<_> = frequencies.iter().map(|f| edge.contrast(f * mm_per_px)).collect();
    let predicted = predicted(&image, direction_rad, reach_mm, &frequencies).windowed;
    let measured: Vec<f64> = found.iter().map(|contrast| contrast.mtf).collect();
    Ok(Answer {
        at_px: edge.strip.middle_px,
        at_mm: request.at_mm,
        direction_deg: direction_rad.to_degrees(),
        reach_mm,
        mtf50_lp_per_mm: super::prove_places::half(&frequencies, &measured).map(|(f, _)| f),
        predicted_mtf50_lp_per_mm: super::prove_places::half(&frequencies, &predicted)
            .map(|(f, _)| f),
        measured,
        uncertainty: found.iter().map(|contrast| contrast.uncertainty).collect(),
        predicted,
        frequency_lp_per_mm: frequencies,
        overshoot: edge.overshoot,
        sharpened: edge.overshoot > OVERSHOOT,
    })
}
