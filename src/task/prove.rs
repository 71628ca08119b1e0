//! `prove`: a picture of the chart, held against what the hole allows.

use super::prove_places::{data, expected, if_nearer, place};
use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::hole::Scale;
use crate::proof::predicted::frequencies;
use crate::proof::{
    Cause, Chart, Depth, Drawn, Enlargement, Finding, Fit, Found, Lighting, Octagon, Scanner, Tone,
    causes, find, findings, loss_jnd, measured,
};
use crate::raster::Raster;
use crate::record::Proof;
use crate::watch::{Step, Watch};
use ndarray::Array2;
use serde::Serialize;
use std::time::SystemTime;

pub use super::prove_places::{DirectionAnswer, PlaceAnswer};

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
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub hole: Outline,
    /// From the hole to the chart, in mm.
    pub distance_mm: f64,
    /// The picture of the chart.
    pub picture: Raster,
    /// Its scale.
    pub scale: Scale,
    /// What the scanner blurs.
    pub scanner: Scanner,
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
    /// The scale of the picture: an image's length over that on the wall.
    pub enlargement: Enlargement,
    /// Which distance the chart was drawn for; null where the octagon in the middle was not measured.
    pub drawn: Option<Drawn>,
    /// What the scanner blurs, which is undone.
    pub scanner: ScannerAnswer,
    /// What blurs besides hole and scanner, taken alike in all directions.
    pub extra_blur: BlurAnswer,
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
    /// MTF50 that the hole would allow in the middle if the chart hung at four fifths of the distance; null as below.
    pub predicted_mtf50_if_nearer_lp_per_mm: Option<f64>,
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

/// A blur.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct BlurAnswer {
    /// Its standard deviation.
    pub sigma_mm: f64,
    /// Its expanded uncertainty.
    pub uncertainty_mm: f64,
}

/// What the scanner blurs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct ScannerAnswer {
    /// Its standard deviation and the uncertainty of that: 0 where it was stated.
    #[serde(flatten)]
    pub blur: BlurAnswer,
    /// The places along a scanned edge that tell it; 0 where it was stated, or not told.
    pub places: usize,
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

/// Measures what the scanner blurs on an edge that it scanned as it scanned the picture, at the frequencies that the hole draws.
///
/// # Errors
/// As [`Chart::of`] and [`Scanner::of_edge`].
pub fn scanner(
    camera: &Camera,
    hole: &Outline,
    distance_mm: f64,
    edge: &Raster,
    scale: &Scale,
) -> Result<Scanner, Error> {
    let chart = Chart::of(camera, distance_mm)?;
    let frequencies = frequencies(&chart, hole, LEAST_CONTRAST, FREQUENCIES);
    Scanner::of_edge(&edge.reduced(1), scale.mean_mm_per_px(), &frequencies)
}

/// Holds a picture of the chart against what the hole allows.
///
/// # Errors
/// As [`find()`], [`Tone::of`] and [`Depth::of`]; for a picture whose size contradicts its scale; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    watch.begins(Step::Chart)?;
    let Request { camera, hole, distance_mm, picture, scale, scanner } = request;
    let chart = Chart::of(camera, *distance_mm)?;
    let mm_per_px = scale.mean_mm_per_px();
    let found = find(picture, &chart, mm_per_px)?;
    watch.is_at(Step::Chart, 0.3)?;
    let size = size(&found, mm_per_px)?;
    let light = picture.reduced(1);
    let (tone, lighting) = light_of(hole, &chart, &found, &light)?;
    let frequencies = frequencies(&chart, hole, LEAST_CONTRAST, FREQUENCIES);
    let octagons =
        measured(&light, &chart, hole, &found, (&tone, &lighting), mm_per_px, &frequencies);
    if octagons.iter().all(|octagon| octagon.curves.iter().all(Option::is_none)) {
        return Err(Error::damaged(
            "shows octagons whose edges cannot be measured: they are too blurred, too noisy or too small",
            "scan at a higher resolution, and expose longer",
        ));
    }
    watch.is_at(Step::Chart, 0.5)?;
    let depth = Depth::of(&chart, &on_sheet_mm(&octagons, &found, mm_per_px))?;
    let expected = expected(hole, &chart, &depth.certain(), &frequencies)?;
    watch.is_at(Step::Chart, 0.8)?;
    let data = data(&octagons, &expected, &frequencies, scanner);
    let fits: Vec<Fit> = causes(&data).into_iter().map(|fit| doubted(fit, scanner)).collect();
    let loss_jnd = match fits.first() {
        Some(first) => loss_jnd(&chart.camera, hole, first.cause)?,
        None => 0.0,
    };
    let extra_blur = extra_blur(&fits);
    let drawn = Drawn::of(camera, &chart, &octagons, (size, extra_blur.sigma_mm), &depth);
    let places = octagons
        .iter()
        .enumerate()
        .map(|(i, octagon)| place(i, octagon, &expected[i], &data, &frequencies, scanner))
        .collect();
    let overshoot = octagons.iter().map(|octagon| octagon.overshoot).fold(0.0, f64::max);
    let film_mm = chart.camera.distances.film_mm();
    Ok(Answer {
        camera: chart.camera.name.clone(),
        diameter_mm: hole.equivalent_diameter_mm(),
        distance_mm: *distance_mm,
        mm_per_px,
        size,
        mirrored: found.is_mirrored(),
        negative: found.is_negative,
        turned_deg: (-found.film_to_px.of_x[1]).atan2(found.film_to_px.of_x[0]).to_degrees(),
        findings: findings(
            (&fits, loss_jnd),
            (&depth, drawn.as_ref()),
            &tone,
            overshoot,
            [film_mm, *distance_mm],
        ),
        enlargement: Enlargement::of(&chart, &depth),
        drawn,
        scanner: scanner_answer(scanner),
        extra_blur,
        predicted_mtf50_if_nearer_lp_per_mm: if_nearer(camera, hole, *distance_mm, &frequencies)?,
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

/// A fit of blur, with what is not known of the scanner's added: variances add, so that of σ is half its share of σ².
fn doubted(fit: Fit, scanner: &Scanner) -> Fit {
    let Cause::Softened { sigma_mm, sigma_uncertainty_mm } = fit.cause else { return fit };
    let of_scanner = (sigma_mm * sigma_mm + scanner.uncertainty_mm2).sqrt() - sigma_mm;
    let sigma_uncertainty_mm = sigma_uncertainty_mm.hypot(of_scanner);
    Fit { cause: Cause::Softened { sigma_mm, sigma_uncertainty_mm }, ..fit }
}

fn scanner_answer(scanner: &Scanner) -> ScannerAnswer {
    let [sigma_mm, uncertainty_mm] = scanner.sigma_mm();
    ScannerAnswer { blur: BlurAnswer { sigma_mm, uncertainty_mm }, places: scanner.places }
}

/// The blur that all contrasts together tell, whether or not it is the most probable cause.
fn extra_blur(fits: &[Fit]) -> BlurAnswer {
    let blur = fits.iter().find_map(|fit| match fit.cause {
        Cause::Softened { sigma_mm, sigma_uncertainty_mm } => {
            Some(BlurAnswer { sigma_mm, uncertainty_mm: sigma_uncertainty_mm })
        }
        _ => None,
    });
    blur.unwrap_or(BlurAnswer { sigma_mm: 0.0, uncertainty_mm: 0.0 })
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
            extra_blur_mm: Some(self.extra_blur.sigma_mm),
            found: self.findings.iter().map(|finding| finding.word().to_owned()).collect(),
        }
    }

    /// The most probable cause of blur over the whole picture.
    pub fn cause(&self) -> Option<Cause> {
        self.causes.first().map(|fit| fit.cause)
    }
}
