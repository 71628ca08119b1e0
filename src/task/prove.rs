//! `prove`: a picture of the chart, held against what the hole allows.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::hole::Scale;
use crate::proof::causes::{AS_GIVEN, SIZES};
use crate::proof::chart::REACH;
use crate::proof::predicted::{Predicted, frequencies, image, predicted};
use crate::proof::{
    Cause, Chart, Datum, Depth, Finding, Fit, Found, Lighting, Octagon, Tone, causes, change, find,
    findings, measured,
};
use crate::raster::Raster;
use crate::record::Proof;
use ndarray::Array2;
use rayon::prelude::*;
use serde::Serialize;
use std::time::SystemTime;

/// Contrasts to a curve.
const FREQUENCIES: usize = 16;
/// The contrast that the highest of them has in the middle of the film: less drowns in what is not known.
const LEAST_CONTRAST: f64 = 0.12;
/// How far the image may be from the size that the scale says, over it, before the scale is doubted.
const SIZE_DOUBTED: f64 = 0.2;
/// How far its two sides may differ in that before another camera's chart is meant.
const SHAPE_DOUBTED: f64 = 0.12;

/// What to prove.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    /// The camera.
    pub camera: &'a Camera,
    /// The hole.
    pub hole: &'a Outline,
    /// From the hole to the chart, in mm.
    pub distance_mm: f64,
    /// The picture of the chart.
    pub picture: &'a Raster,
    /// Its scale.
    pub scale: &'a Scale,
    /// The standard deviation of what the scanner blurs, in mm on the film; 0 where it is not known.
    pub scanner_mm: f64,
}

/// What a picture of the chart proves.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The camera's name.
    pub camera: String,
    /// The hole's equivalent diameter.
    pub diameter_mm: f64,
    /// From the hole to the chart.
    pub distance_mm: f64,
    /// Millimetres to a pixel of the picture.
    pub mm_per_px: f64,
    /// How large the image is, over what camera, distance and scale say.
    pub size: f64,
    /// Whether left and right of the picture are changed against the film as it looks out to the scene.
    pub mirrored: bool,
    /// Whether it is a negative.
    pub negative: bool,
    /// How far the picture is turned against the film, anticlockwise.
    pub turned_deg: f64,
    /// How pixel values answer light.
    pub tone: ToneAnswer,
    /// What was found, what matters most first.
    pub findings: Vec<Finding>,
    /// The causes of blur that were weighed, the most probable first.
    pub causes: Vec<Fit>,
    /// Where the film lay, against the camera's description.
    pub depth: DepthAnswer,
    /// Frequencies on the film, in line pairs per mm.
    pub frequency_lp_per_mm: Vec<f64>,
    /// The nine octagons: rows from the film's top, each from the left.
    pub places: Vec<PlaceAnswer>,
}

/// How pixel values answer light: light = factor · value^power - fog.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct ToneAnswer {
    /// For each step from the darkest: its light over that of bare paper, and the mean value.
    pub steps: Vec<[f64; 2]>,
    /// The power.
    pub power: f64,
    /// Light that fell on everything, over that of bare paper; null where the steps follow no power.
    pub fog: Option<f64>,
    /// Its expanded uncertainty.
    pub fog_uncertainty: f64,
    /// Whether the two darkest and the two lightest steps could not be told apart.
    pub clipped: [bool; 2],
}

/// How much further out than described the film lay.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct DepthAnswer {
    /// In the middle; towards the right; towards the top; at the left and right ends against the middle; at top and bottom.
    pub terms_mm: [f64; 5],
    /// Their expanded uncertainties.
    pub uncertainties_mm: [f64; 5],
    /// How far the octagons are off what that gives, root-mean-square.
    pub residual_mm: f64,
}

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

/// Holds a picture of the chart against what the hole allows.
///
/// # Errors
/// As [`find()`], [`Tone::of`] and [`Depth::of`]; and for a picture whose size contradicts its scale.
pub fn run(request: &Request) -> Result<Answer, Error> {
    let chart = Chart::of(request.camera, request.distance_mm)?;
    let mm_per_px = request.scale.mean_mm_per_px();
    let found = find(request.picture, &chart, mm_per_px)?;
    let size = size(&found, mm_per_px)?;
    let light = request.picture.reduced(1);
    let (tone, lighting) = light_of(request.hole, &chart, &found, &light)?;
    let frequencies = frequencies(&chart, request.hole, LEAST_CONTRAST, FREQUENCIES);
    let octagons =
        measured(&light, &chart, request.hole, &found, (&tone, &lighting), mm_per_px, &frequencies);
    if octagons.iter().all(|octagon| octagon.curves.iter().all(Option::is_none)) {
        return Err(Error::damaged(
            "shows octagons whose edges cannot be measured: they are too blurred, too noisy or too small",
            "scan at a higher resolution, and expose longer",
        ));
    }
    let depth = Depth::of(&chart, &on_sheet_mm(&octagons, &found, mm_per_px))?;
    let expected = expected(request, &chart, &depth.certain(), &frequencies)?;
    let data = data(&octagons, &expected, &frequencies, request.scanner_mm);
    let fits = causes(&data);
    let places = octagons
        .iter()
        .enumerate()
        .map(|(i, octagon)| {
            place(i, octagon, &expected[i], &data, &frequencies, request.scanner_mm)
        })
        .collect();
    let overshoot = octagons.iter().map(|octagon| octagon.overshoot).fold(0.0, f64::max);
    let film_mm = chart.camera.distances.film_mm();
    Ok(Answer {
        camera: chart.camera.name.clone(),
        diameter_mm: request.hole.equivalent_diameter_mm(),
        distance_mm: request.distance_mm,
        mm_per_px,
        size,
        mirrored: found.is_mirrored(),
        negative: found.is_negative,
        turned_deg: (-found.film_to_px.of_x[1]).atan2(found.film_to_px.of_x[0]).to_degrees(),
        findings: findings(
            (&fits, change(&data)),
            &depth,
            &tone,
            overshoot,
            [film_mm, request.distance_mm],
        ),
        causes: fits,
        depth: DepthAnswer {
            terms_mm: depth.terms_mm,
            uncertainties_mm: depth.uncertainties_mm,
            residual_mm: depth.residual_mm,
        },
        tone: ToneAnswer {
            steps: tone.steps,
            power: tone.power,
            fog: tone.fog,
            fog_uncertainty: tone.fog_uncertainty,
            clipped: tone.is_clipped,
        },
        frequency_lp_per_mm: frequencies,
        places,
    })
}

/// The curve from values to light, and how the chart was lit: each by the other, and once more.
fn light_of(
    hole: &Outline,
    chart: &Chart,
    found: &Found,
    light: &Array2<f32>,
) -> Result<(Tone, Lighting), Error> {
    let tone = |lighting: &Lighting| {
        Tone::of(light, chart, hole, found, &|at| lighting.at(chart, hole, at))
    };
    let lighting = Lighting::of(light, chart, hole, found, &tone(&Lighting::even(chart))?);
    let tone = tone(&lighting)?;
    Ok((tone, lighting))
}

/// How large the image is over what is expected, or that it contradicts the scale.
fn size(found: &Found, mm_per_px: f64) -> Result<f64, Error> {
    let [x, y] =
        [found.film_to_px.of_x, found.film_to_px.of_y].map(|[a, b]| a.hypot(b) * mm_per_px);
    if (x / y).ln().abs() > SHAPE_DOUBTED {
        return Err(Error::damaged(
            format!(
                "shows a chart {x:.2} times as wide as this camera's and {y:.2} times as high: it is another camera's, or \
                 the picture was stretched"
            ),
            "give the camera and the distance that the chart was drawn for",
        ));
    }
    let size = (x * y).sqrt();
    if size.ln().abs() > SIZE_DOUBTED {
        let dpi = 25.4 / mm_per_px;
        return Err(Error::damaged(
            format!(
                "shows a chart {size:.2} times as large as camera, distance and scale say: at {:.0} dpi instead of \
                 {dpi:.0} they would agree",
                dpi * size
            ),
            "check the scan's resolution, the distance of the chart, and that it was printed at 100 %",
        ));
    }
    Ok(size)
}

/// The octagons' middles in mm on the sheet, turned anyhow but with left and right as on the film.
fn on_sheet_mm(octagons: &[Octagon], found: &Found, mm_per_px: f64) -> [Point; 9] {
    let across = if found.is_mirrored() { -mm_per_px } else { mm_per_px };
    std::array::from_fn(|i| {
        let [x, y] = octagons[i].middle_px;
        [x * across, -y * mm_per_px]
    })
}

/// The predictions at a place along each direction, for each size of the hole; None where no light comes.
type Expected = Option<Vec<[Predicted; SIZES.len()]>>;

fn expected(
    request: &Request,
    chart: &Chart,
    depth: &Depth,
    frequencies: &[f64],
) -> Result<Vec<Expected>, Error> {
    let holes = SIZES.map(|size| request.hole.scaled(size));
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

/// What a scanner of a known blur leaves of contrast.
fn scanned(frequency: f64, scanner_mm: f64) -> f64 {
    (-2.0 * (std::f64::consts::PI * frequency * scanner_mm).powi(2)).exp()
}

fn data(
    octagons: &[Octagon],
    expected: &[Expected],
    frequencies: &[f64],
    scanner_mm: f64,
) -> Vec<Datum> {
    let mut data = Vec::new();
    for (place, (octagon, expected)) in octagons.iter().zip(expected).enumerate() {
        let Some(expected) = expected else { continue };
        for (direction, curve) in octagon.curves.iter().enumerate() {
            let Some(curve) = curve else { continue };
            for (i, (measured, uncertainty)) in curve.mtf.iter().zip(&curve.uncertainty).enumerate()
            {
                let by_scanner = scanned(frequencies[i], scanner_mm);
                data.push(Datum {
                    place,
                    direction_rad: Chart::directions_rad()[direction],
                    frequency_lp_per_mm: frequencies[i],
                    measured: *measured,
                    uncertainty: *uncertainty,
                    predicted: std::array::from_fn(|size| {
                        expected[direction][size].windowed[i] * by_scanner
                    }),
                });
            }
        }
    }
    data
}

fn place(
    number: usize,
    octagon: &Octagon,
    expected: &Expected,
    data: &[Datum],
    frequencies: &[f64],
    scanner_mm: f64,
) -> PlaceAnswer {
    let mut directions = Vec::new();
    for (i, curve) in octagon.curves.iter().enumerate() {
        let (Some(curve), Some(expected)) = (curve, expected) else { continue };
        let seen = &expected[i][AS_GIVEN];
        // The window's part is in both; what the scanner is known to take is undone.
        let undone =
            |k: usize| seen.mtf[k] / seen.windowed[k] / scanned(frequencies[k], scanner_mm);
        let of = |values: &[f64]| {
            values.iter().enumerate().map(|(k, value)| value * undone(k)).collect()
        };
        directions.push(DirectionAnswer {
            direction_deg: Chart::directions_rad()[i].to_degrees(),
            measured: of(&curve.mtf),
            uncertainty: of(&curve.uncertainty),
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
            squares.sqrt() / count / slope
        }),
        predicted_mtf50_lp_per_mm: half(frequencies, &mean(&|one| &one.predicted)).map(|(f, _)| f),
        cause: (!here.is_empty()).then(|| causes(&here)[0]),
        directions,
        overshoot: octagon.overshoot,
        noise: octagon.noise,
    }
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

impl Answer {
    /// The line of the log for this proof of the hole of this name.
    pub fn logged(&self, hole: String, time: SystemTime) -> Proof {
        let middle = self.places.get(4);
        Proof {
            time,
            hole,
            camera: self.camera.clone(),
            diameter_mm: self.diameter_mm,
            distance_mm: self.distance_mm,
            mtf50_lp_per_mm: middle.and_then(|place| place.mtf50_lp_per_mm),
            predicted_mtf50_lp_per_mm: middle.and_then(|place| place.predicted_mtf50_lp_per_mm),
            found: self.findings.iter().map(|finding| finding.word().to_owned()).collect(),
        }
    }

    /// The most probable cause of blur over the whole picture.
    pub fn cause(&self) -> Option<Cause> {
        self.causes.first().map(|fit| fit.cause)
    }
}
