//! `psf`: the light of a hole at a place on the film.

use super::psf_error::TotalError;
use crate::camera::{Along, Camera, PointImage, exposure, f_number};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::raster::npy;
use crate::watch::{Step, Watch};
use crate::wave::{Grid, Psf, fresnel_number};
use rustfft::num_complex::Complex64;
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;

/// Fractions of the energy whose circles are given.
const FRACTIONS: [f64; 3] = [0.5, 0.8, 0.9];
/// Samples of the MTF curves, from 0 to the cut-off.
const FREQUENCIES: usize = 65;
/// Strips of the hole for the MTF: right to 2e-6 on a disc.
const STRIPS: usize = 1024;
/// Wavelengths that stand for all in OTFs: eight give the curves of daylight on panchromatic film to
/// 1e-4.
const LINES: usize = 8;
/// Frequencies a side of the complex OTF.
const OTF_SIZE: usize = 65;
/// A sum of samples beyond this is not the light's: rounding and the stated error stay below a thousandth.
pub const MOST_ENERGY: f64 = 1.001;
/// Samples a side of the grid that is chosen where none is asked for.
pub const DEFAULT_SIZE: usize = 256;

/// What to compute.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub outline: Outline,
    /// Where on the film, in mm from its middle.
    pub at_mm: Point,
    /// Samples a side; 256 where nothing is asked for.
    pub size: Option<usize>,
    /// Distance between samples in mm; chosen to hold the point image where nothing is asked for.
    pub pitch_mm: Option<f64>,
}

/// The light of a hole.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The wavelengths that count.
    pub wavelengths_nm: Vec<f64>,
    /// Their shares of the energy, with the sum of 1.
    pub weights: Vec<f64>,
    /// Their mean by energy: the one wavelength that stands for all.
    pub effective_wavelength_nm: f64,
    /// Where on the film, and how the light comes there.
    pub place: Place,
    /// Fresnel number a²/(λz) for each wavelength, a half the equivalent diameter.
    pub fresnel_number: Vec<f64>,
    /// Film distance over equivalent diameter.
    pub f_number: f64,
    /// Distance between samples on the film.
    pub pitch_um: f64,
    /// Rows and columns of the samples: rows from low y to high, centred at index size / 2.
    pub shape: [usize; 2],
    /// The share of the energy that falls on the grid.
    pub energy_fraction_on_grid: f64,
    /// Points across the hole, on each axis, that the stated error asked for.
    pub points_across_hole: usize,
    /// The error that the samples may have, as a share of the peak.
    pub tolerance: f64,
    /// The largest phase that the model drops for this hole, in rad.
    pub neglected_phase_rad: f64,
    /// Bounds of all that may be wrong with the samples, and which part leads.
    pub error: TotalError,
    /// The light at the centroid over that of all light in phase.
    pub strehl_ratio: f64,
    /// What should be known about these figures, in words.
    pub warnings: Vec<String>,
    /// Circles about the centroid that hold a share of the energy.
    pub encircled_energy: Vec<Circle>,
    /// The MTF along the tangential and the sagittal direction.
    pub mtf: Mtf,
    /// Where the mean of the two curves first falls to one half.
    pub mtf50_lp_per_mm: f64,
    /// The samples themselves: energy fraction per mm².
    #[serde(skip)]
    pub psf: Psf,
}

/// A place on the film as the hole sees it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Place {
    /// On the sheet laid flat, from its middle: x to the right, y up.
    pub at_mm: Point,
    /// From the hole, along the ray.
    pub distance_mm: f64,
    /// Between the ray and the axis of the hole.
    pub hole_angle_deg: f64,
    /// Between the ray and the film's normal.
    pub film_angle_deg: f64,
    /// The tangential direction on the sheet, anticlockwise from x.
    pub tangential_deg: f64,
    /// Light against the middle of the film.
    pub irradiance: f64,
    /// How long a flat subject is drawn along the sheet's x and y, against the middle.
    pub stretch: Point,
    /// What a square mm of film takes of the scene.
    pub solid_angle_sr_per_mm2: f64,
}

/// A circle that holds a share of the energy.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Circle {
    /// The share.
    pub fraction: f64,
    /// Its diameter on the film.
    pub diameter_um: f64,
}

/// Contrast against frequency. The tangential direction is the one in which the ray leans on the film, the
/// sagittal is square to it; in the middle of the film they are x and y.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Mtf {
    /// Frequencies on the film, in line pairs per mm.
    pub frequency_lp_per_mm: Vec<f64>,
    /// Contrast of lines that follow each other along the tangential direction.
    pub tangential: Vec<f64>,
    /// Contrast of lines that follow each other along the sagittal direction.
    pub sagittal: Vec<f64>,
}

/// Computes the light of a hole.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the place is beyond the film or no light comes there, and when the grid or the
/// hole is beyond what the model holds for; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    watch.begins(Step::PointImage)?;
    let (camera, outline) = (&request.camera, &request.outline);
    let image = PointImage::at(camera, outline, request.at_mm)?;
    let grid = grid(request, &image)?;
    let psf = image.psf(grid)?;
    watch.is_at(Step::PointImage, 0.5)?;
    let error = TotalError::of(&image, grid)?;
    watch.is_at(Step::PointImage, 0.75)?;
    let (wavelengths_nm, weights): (Vec<f64>, Vec<f64>) =
        camera.light.lines().iter().copied().unzip();
    let radius = outline.equivalent_diameter_mm() / 2.0;
    let z = image.distances().effective_mm();
    let few = image.clone().in_light(&camera.light.condensed(LINES));
    let circles = few.encircled();
    let tangential = image.place.tangential_rad();
    let axes = [tangential, tangential + FRAC_PI_2].map(|direction| few.along(direction, STRIPS));
    Ok(Answer {
        fresnel_number: wavelengths_nm.iter().map(|nm| fresnel_number(radius, *nm, z)).collect(),
        wavelengths_nm,
        weights,
        effective_wavelength_nm: camera.light.mean_nm(),
        place: place(camera, outline, &image)?,
        f_number: f_number(camera, outline),
        pitch_um: 1000.0 * grid.pitch_mm(),
        shape: [grid.size(); 2],
        energy_fraction_on_grid: psf.energy_on_grid(),
        points_across_hole: psf.order(),
        tolerance: image.tolerance(),
        error,
        strehl_ratio: image.strehl_ratio()?,
        neglected_phase_rad: image.neglected_phase_rad(),
        warnings: [error.remark(), sum_remark(&psf), thin_plate(&image)]
            .into_iter()
            .flatten()
            .collect(),
        encircled_energy: FRACTIONS
            .map(|fraction| Circle {
                fraction,
                diameter_um: 1000.0 * circles.diameter_mm(fraction),
            })
            .to_vec(),
        mtf: mtf(&few, &axes),
        mtf50_lp_per_mm: mtf50(&few, &axes),
        psf,
    })
}

/// The grid that is asked for, or one that holds the point image.
pub(super) fn grid(request: &Request, image: &PointImage) -> Result<Grid, Error> {
    let size = request.size.unwrap_or(DEFAULT_SIZE);
    // Three times the dark ring and the shadow to each side shows the rings about the core.
    let pitch = 6.0 * image.extent_mm() / size.max(1) as f64;
    Grid::new(size, request.pitch_mm.unwrap_or(pitch))
}

/// What is to be said of samples that lie too far apart: their sum is then not the light on them.
fn sum_remark(psf: &Psf) -> Option<String> {
    (psf.energy_on_grid() > MOST_ENERGY).then(|| {
        "The samples lie too far apart to follow the rings, so that their sum is more than all the light. Give more \
         of them, or a smaller pitch."
            .into()
    })
}

/// What to say of figures that a plate of two rims leaves as those of a thin one.
fn thin_plate(image: &PointImage) -> Option<String> {
    (image.plate_error() < image.thin_plate_error()).then(|| {
        format!(
            "The samples include the diffraction between both rims of the plate. Contrast, circles and \
             the Strehl ratio are those of a thin plate and may be off by up to {:.1} %.",
            100.0 * image.thin_plate_error().min(1.0)
        )
    })
}

fn place(camera: &Camera, outline: &Outline, image: &PointImage) -> Result<Place, Error> {
    let place = &image.place;
    Ok(Place {
        at_mm: place.at_mm,
        distance_mm: place.distance_mm(),
        hole_angle_deg: place.hole_angle_rad().to_degrees(),
        film_angle_deg: place.film_angle_rad().to_degrees(),
        tangential_deg: place.tangential_rad().to_degrees(),
        irradiance: exposure::irradiance(camera, outline, place.at_mm)?,
        stretch: place.stretch(),
        solid_angle_sr_per_mm2: place.solid_angle_sr_per_mm2(),
    })
}

fn cut_off(image: &PointImage, axes: &[Along; 2]) -> f64 {
    axes.iter().map(|axis| image.cut_off_lp_per_mm(axis)).fold(0.0, f64::max)
}

fn mtf(image: &PointImage, axes: &[Along; 2]) -> Mtf {
    let step = cut_off(image, axes) / (FREQUENCIES - 1) as f64;
    let frequency_lp_per_mm: Vec<f64> = (0..FREQUENCIES).map(|i| step * i as f64).collect();
    let along =
        |axis: &Along| frequency_lp_per_mm.iter().map(|f| image.otf(axis, *f).norm()).collect();
    let (tangential, sagittal) = (along(&axes[0]), along(&axes[1]));
    Mtf { frequency_lp_per_mm, tangential, sagittal }
}

/// The first fall to one half: in small steps, for a wide hole's contrast comes back beyond it.
fn mtf50(image: &PointImage, axes: &[Along; 2]) -> f64 {
    let mean = |f: f64| axes.iter().map(|axis| image.otf(axis, f).norm()).sum::<f64>() / 2.0;
    let step = cut_off(image, axes) / 256.0;
    let mut high = step;
    while mean(high) > 0.5 && high < 256.0 * step {
        high += step;
    }
    let mut low = high - step;
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        (low, high) = if mean(middle) > 0.5 { (middle, high) } else { (low, middle) };
    }
    (low + high) / 2.0
}

/// The complex OTF as a file that NumPy reads: complex128 of the shape (3, n, n), the OTF with the centroid's
/// phase taken out, then the frequencies along x and along y of each of its values, in line pairs per mm.
///
/// # Errors
/// As [`PointImage::at`]; a stop by the watcher.
pub fn otf_npy(request: &Request, watch: Watch) -> Result<Vec<u8>, Error> {
    watch.begins(Step::PointImage)?;
    let image = PointImage::at(&request.camera, &request.outline, request.at_mm)?;
    let size = OTF_SIZE;
    let (map, step) = image.in_light(&request.camera.light.condensed(LINES)).otf_map(size);
    let frequency = |i: usize| Complex64::from((i as f64 - (size / 2) as f64) * step);
    let axes = [false, true].into_iter().flat_map(|of_y| {
        (0..size * size).map(move |i| frequency(if of_y { i / size } else { i % size }))
    });
    let values: Vec<Complex64> = map.iter().copied().chain(axes).collect();
    Ok(npy::complex128(&[3, size, size], values.iter().map(|value| [value.re, value.im])))
}

/// The complex field on the samples of an answer as a file that NumPy reads: complex128 of the shape (lines,
/// rows, columns), in 1/mm, a line for each of the answer's wavelengths.
///
/// # Errors
/// As [`PointImage::at`] and [`PointImage::fields`]; a stop by the watcher.
pub fn field_npy(request: &Request, answer: &Answer, watch: Watch) -> Result<Vec<u8>, Error> {
    watch.begins(Step::PointImage)?;
    let image = PointImage::at(&request.camera, &request.outline, request.at_mm)?;
    let fields = image.fields(answer.psf.grid())?;
    let [rows, columns] = answer.shape;
    let parts = fields.iter().flatten().map(|value| [value.re, value.im]);
    Ok(npy::complex128(&[fields.len(), rows, columns], parts))
}

/// A file of samples that NumPy reads: float64.
pub fn samples_npy(psf: &Psf) -> Vec<u8> {
    let (rows, columns) = psf.density.dim();
    npy::float64(&[rows, columns], psf.density.iter().copied())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn answer(camera: &Camera, outline: &Outline, size: Option<usize>) -> Answer {
        let (camera, outline) = (camera.clone(), outline.clone());
        let request = Request { camera, outline, at_mm: [0.0, 0.0], size, pitch_mm: None };
        run(&request, Watch::nobody()).unwrap()
    }

    #[test]
    fn a_disc_answers_with_its_known_figures() {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = crate::wave::Light::single(550.0).unwrap();
        // So far away that the pattern is Airy's: N = 5e-4.
        camera.distances = crate::wave::Distances::distant(81_818.18).unwrap();
        let disc = shapes::disc(0.3).unwrap();
        let answer = answer(&camera, &disc, None);
        let unit_um = 1000.0 * 550e-6 * 81_818.18 / 0.3;
        // Circles of 50 % and 80 %: 1.06966 and 1.79388 λv/d (from 1 - J0² - J1², `BornWolf`, 8.5);
        // half contrast at σ = 0.403973 of the cut-off (`Goodman`, 6.3). Five digits by the strips.
        let [half, eighty] = [0, 1].map(|i| answer.encircled_energy[i].diameter_um / unit_um);
        assert!((half - 1.069_66).abs() < 1e-4 && (eighty - 1.793_88).abs() < 5e-4, "{eighty}");
        let sigma = answer.mtf50_lp_per_mm * unit_um / 1000.0;
        assert!((sigma - 0.403_973).abs() < 1e-5, "{sigma}");
        assert!((answer.energy_fraction_on_grid - 0.9).abs() < 0.06);
    }

    /// A camera of common practice (no source): film 25 to 30 mm behind a hole of 0.219 mm. Fresnel numbers by
    /// arithmetic; half contrast computed elsewhere from the closed form, digits as given there; in the
    /// sun (exposure value 15, ISO 100) f/123.3 takes 0.464 s: N²/2^15.
    #[test]
    fn a_camera_of_common_practice() {
        let disc = shapes::disc(0.219).unwrap();
        let table = [(25.0, 0.8720, 3.185), (27.0, 0.8074, 3.154), (30.0, 0.7267, 3.099)];
        for (film_mm, number, half_contrast) in table {
            let mut camera = Camera::demonstration().unwrap();
            camera.light = crate::wave::Light::single(550.0).unwrap();
            camera.distances = crate::wave::Distances::distant(film_mm).unwrap();
            camera.emulsion.blur_mm = 0.0;
            let answer = answer(&camera, &disc, Some(64));
            assert!((answer.fresnel_number[0] - number).abs() < 5.1e-5, "{film_mm}: {answer:?}");
            let found = answer.mtf50_lp_per_mm;
            assert!((found - half_contrast).abs() < 6e-4, "{film_mm}: {found}");
        }
        let mut camera = Camera::demonstration().unwrap();
        camera.distances = crate::wave::Distances::distant(27.0).unwrap();
        let exposure = exposure::exposure(&camera, &disc).unwrap();
        assert!(
            (exposure.f_number - 123.29).abs() < 0.01 && (exposure.metered_s - 0.4639).abs() < 1e-4
        );
    }
}
