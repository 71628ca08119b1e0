//! The nine places of a picture of the chart: what was measured there beside what the hole allows.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::proof::causes::{AS_GIVEN, SIZES};
use crate::proof::chart::REACH;
use crate::proof::predicted::{Predicted, image, predicted};
use crate::proof::{Chart, Datum, Depth, Fit, Octagon, Scanner, causes};
use rayon::prelude::*;
use serde::Serialize;

/// What was measured at one octagon.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct PlaceAnswer {
    /// Where on the film laid flat, from its middle.
    pub at_mm: Point,
    /// Its middle in the picture.
    pub at_px: Point,
    /// Contrast along four directions.
    pub directions: Vec<DirectionAnswer>,
    /// Where the mean of the measured curves falls to one half; null where it does not, or nothing was measured.
    pub mtf50_lp_per_mm: Option<f64>,
    /// Its expanded uncertainty.
    pub mtf50_uncertainty_lp_per_mm: f64,
    /// The same of the predicted curves.
    pub predicted_mtf50_lp_per_mm: Option<f64>,
    /// The most probable cause of blur here alone, and how sure it is.
    pub cause: Option<Fit>,
    /// How far edges swing beyond their levels, over the step.
    pub overshoot: f64,
    /// The noise of a pixel, over the step.
    pub noise: f64,
}

/// Contrast along one direction.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct DirectionAnswer {
    /// The direction in which the light changes, anticlockwise from the film's x.
    pub direction_deg: f64,
    /// The measured MTF, up to what the picture's pixels show.
    pub measured: Vec<f64>,
    /// Its expanded uncertainty (95 %).
    pub uncertainty: Vec<f64>,
    /// What the hole allows.
    pub predicted: Vec<f64>,
}

/// The predictions at a place along each direction, for each size of the hole; None where no light comes.
pub(super) type Expected = Option<Vec<[Predicted; SIZES.len()]>>;

pub(super) fn expected(
    hole: &Outline,
    chart: &Chart,
    depth: &Depth,
    frequencies: &[f64],
) -> Result<Vec<Expected>, Error> {
    let holes = SIZES.map(|size| hole.scaled(size));
    let half_mm = REACH * chart.octagon_mm;
    let at = |place_mm: Point| -> Result<Expected, Error> {
        let images =
            holes.iter().map(|hole| image(&chart.camera, hole, place_mm, depth.at_mm(place_mm)));
        let Some(images) = images.collect::<Result<Option<Vec<_>>, _>>()? else { return Ok(None) };
        let along = |direction: f64| {
            std::array::from_fn(|i| predicted(&images[i], direction, half_mm, frequencies))
        };
        Ok(Some(Chart::directions_rad().map(along).to_vec()))
    };
    chart.places_mm().into_par_iter().map(at).collect()
}

/// Each contrast that was measured beside what the hole allows, through the same window and scanner.
pub(super) fn data(
    octagons: &[Octagon],
    expected: &[Expected],
    frequencies: &[f64],
    scanner: &Scanner,
) -> Vec<Datum> {
    let mut data = Vec::new();
    for (place, (octagon, expected)) in octagons.iter().zip(expected).enumerate() {
        let Some(expected) = expected else { continue };
        for (direction, curve) in octagon.curves.iter().enumerate() {
            let Some(curve) = curve else { continue };
            for (i, (measured, uncertainty)) in curve.mtf.iter().zip(&curve.uncertainty).enumerate()
            {
                let [by_scanner, doubt] = scanner.leaves(frequencies[i]);
                data.push(Datum {
                    place,
                    direction_rad: Chart::directions_rad()[direction],
                    frequency_lp_per_mm: frequencies[i],
                    measured: *measured,
                    uncertainty: uncertainty.hypot(measured * doubt),
                    predicted: std::array::from_fn(|size| {
                        expected[direction][size].windowed[i] * by_scanner
                    }),
                });
            }
        }
    }
    data
}

/// What was measured at an octagon; the window's part is in measured and predicted contrast, and what the scanner is known to take is undone.
pub(super) fn place(
    number: usize,
    octagon: &Octagon,
    expected: &Expected,
    data: &[Datum],
    frequencies: &[f64],
    scanner: &Scanner,
) -> PlaceAnswer {
    let mut directions = Vec::new();
    for (i, curve) in octagon.curves.iter().enumerate() {
        let (Some(curve), Some(expected)) = (curve, expected) else { continue };
        let seen = &expected[i][AS_GIVEN];
        let undone = |k: usize| seen.mtf[k] / seen.windowed[k] / scanner.leaves(frequencies[k])[0];
        let doubt = |k: usize| {
            let of_scanner = curve.mtf[k] * scanner.leaves(frequencies[k])[1];
            curve.uncertainty[k].hypot(of_scanner) * undone(k)
        };
        directions.push(DirectionAnswer {
            direction_deg: Chart::directions_rad()[i].to_degrees(),
            measured: curve.mtf.iter().enumerate().map(|(k, mtf)| mtf * undone(k)).collect(),
            uncertainty: (0..curve.mtf.len()).map(doubt).collect(),
            predicted: seen.mtf.clone(),
        });
    }
    let shown = directions.iter().map(|direction| direction.measured.len()).min().unwrap_or(0);
    let count = directions.len() as f64;
    let mean = |of: &dyn Fn(&DirectionAnswer) -> &[f64]| -> Vec<f64> {
        (0..shown).map(|k| directions.iter().map(|one| of(one)[k]).sum::<f64>() / count).collect()
    };
    let measured = mean(&|one| &one.measured);
    let found = half(frequencies, &measured);
    let here: Vec<Datum> = data.iter().filter(|datum| datum.place == number).cloned().collect();
    PlaceAnswer {
        at_mm: octagon.place_mm,
        at_px: octagon.middle_px,
        mtf50_lp_per_mm: found.map(|(f, _)| f),
        mtf50_uncertainty_lp_per_mm: found.map_or(0.0, |(f, slope)| {
            let nearest = frequencies.iter().position(|one| *one >= f).unwrap_or(0).min(shown - 1);
            let squares: f64 = directions.iter().map(|one| one.uncertainty[nearest].powi(2)).sum();
            // What is not known of the scanner is alike in all directions: their mean does not lessen it.
            let alike = (0.5 * scanner.leaves(f)[1]).powi(2) * (1.0 - 1.0 / count);
            (squares / count.powi(2) + alike).sqrt() / slope
        }),
        predicted_mtf50_lp_per_mm: half(frequencies, &mean(&|one| &one.predicted)).map(|(f, _)| f),
        cause: (!here.is_empty()).then(|| causes(&here)[0]),
        directions,
        overshoot: octagon.overshoot,
        noise: octagon.noise,
    }
}

/// The share of the distance at which the hole is tried once more: how much an error of it would matter.
const NEARER: f64 = 0.8;

/// What the hole would allow in the middle of a picture of a nearer chart.
pub(super) fn if_nearer(
    camera: &Camera,
    hole: &Outline,
    distance_mm: f64,
    frequencies: &[f64],
) -> Result<Option<f64>, Error> {
    let Ok(chart) = Chart::of(camera, NEARER * distance_mm) else {
        return Ok(None);
    };
    let Some(image) = image(&chart.camera, hole, [0.0; 2], 0.0)? else { return Ok(None) };
    let directions = Chart::directions_rad();
    let count = directions.len() as f64;
    let half_mm = REACH * chart.octagon_mm;
    let curves = directions.map(|along| predicted(&image, along, half_mm, frequencies).mtf);
    let mean: Vec<f64> = (0..frequencies.len())
        .map(|k| curves.iter().map(|curve| curve[k]).sum::<f64>() / count)
        .collect();
    Ok(half(frequencies, &mean).map(|(f, _)| f))
}

/// Where a curve first falls to one half, and how steeply it falls there.
pub(super) fn half(frequencies: &[f64], curve: &[f64]) -> Option<(f64, f64)> {
    let mut before = (0.0, 1.0);
    for (f, value) in frequencies.iter().zip(curve) {
        if *value < 0.5 {
            let slope = (before.1 - value) / (f - before.0);
            return Some((before.0 + (before.1 - 0.5) / slope, slope));
        }
        before = (*f, *value);
    }
    None
}
