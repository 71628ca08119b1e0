//! `psf`: the light of a hole in the middle of the film.

use crate::camera::{Camera, exposure, point_image};
use crate::error::Error;
use crate::geometry::Outline;
use crate::wave::{Aperture, Chords, Grid, Psf, TOLERANCE, fresnel_number};
use serde::Serialize;
use std::f64::consts::PI;

/// Fractions of the energy whose circles are given.
const FRACTIONS: [f64; 3] = [0.5, 0.8, 0.9];
/// Samples of the MTF curves, from 0 to the cut-off.
const FREQUENCIES: usize = 65;
/// Strips of the hole for the MTF: right to 2e-6 on a disc.
const STRIPS: usize = 1024;
/// Samples a side of the grid that is chosen where none is asked for.
const DEFAULT_SIZE: usize = 256;

/// What to compute.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    /// The camera.
    pub camera: &'a Camera,
    /// The hole.
    pub outline: &'a Outline,
    /// Samples a side; 256 where nothing is asked for.
    pub size: Option<usize>,
    /// Distance between samples in mm; chosen to hold the point image where nothing is asked for.
    pub pitch_mm: Option<f64>,
}

/// The light of a hole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The wavelengths that count.
    pub wavelengths_nm: Vec<f64>,
    /// Their shares of the energy, with the sum of 1.
    pub weights: Vec<f64>,
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
    /// What should be known about these figures, in words.
    pub warnings: Vec<String>,
    /// Circles about the centroid that hold a share of the energy.
    pub encircled_energy: Vec<Circle>,
    /// The MTF along the two axes of the film.
    pub mtf: Mtf,
    /// Where the mean of the two curves first falls to one half.
    pub mtf50_lp_per_mm: f64,
    /// The samples themselves: energy fraction per mm².
    #[serde(skip)]
    pub psf: Psf,
}

/// A circle that holds a share of the energy.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Circle {
    /// The share.
    pub fraction: f64,
    /// Its diameter on the film.
    pub diameter_um: f64,
}

/// Contrast against frequency. In the middle of the film the tangential direction is that of x, the
/// sagittal that of y.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mtf {
    /// Frequencies on the film, in line pairs per mm.
    pub frequency_lp_per_mm: Vec<f64>,
    /// Contrast of lines that follow each other along x.
    pub tangential: Vec<f64>,
    /// Contrast of lines that follow each other along y.
    pub sagittal: Vec<f64>,
}

/// Computes the light of a hole.
///
/// # Errors
/// [`Error::Limit`] when the grid or the hole is beyond what the model holds for.
pub fn run(request: &Request) -> Result<Answer, Error> {
    let (camera, outline) = (request.camera, request.outline);
    let size = request.size.unwrap_or(DEFAULT_SIZE);
    // Three times the dark ring and the shadow to each side shows the rings about the core.
    let pitch = 6.0 * point_image::extent_mm(camera, outline) / size.max(1) as f64;
    let grid = Grid::new(size, request.pitch_mm.unwrap_or(pitch))?;
    let psf = point_image::psf(camera, outline, grid)?;
    let circles = point_image::encircled(camera, outline);
    let (wavelengths_nm, weights): (Vec<f64>, Vec<f64>) =
        camera.light.lines().iter().copied().unzip();
    let radius = outline.equivalent_diameter_mm() / 2.0;
    let z = camera.distances.effective_mm();
    let axes = [0.0, PI / 2.0].map(|direction| Chords::along(outline, direction, STRIPS));
    Ok(Answer {
        fresnel_number: wavelengths_nm.iter().map(|nm| fresnel_number(radius, *nm, z)).collect(),
        wavelengths_nm,
        weights,
        f_number: exposure::f_number(camera, outline),
        pitch_um: 1000.0 * grid.pitch_mm(),
        shape: [size, size],
        energy_fraction_on_grid: psf.energy_on_grid(),
        points_across_hole: psf.order(),
        tolerance: TOLERANCE,
        neglected_phase_rad: Aperture::of(outline)
            .neglected_phase_rad(&camera.light, camera.distances),
        warnings: point_image::model_remark(camera, outline).into_iter().collect(),
        encircled_energy: FRACTIONS
            .map(|fraction| Circle {
                fraction,
                diameter_um: 1000.0 * circles.diameter_mm(fraction),
            })
            .to_vec(),
        mtf: mtf(camera, &axes),
        mtf50_lp_per_mm: mtf50(camera, &axes),
        psf,
    })
}

fn contrast(camera: &Camera, chords: &Chords, frequency: f64) -> f64 {
    point_image::otf(camera, chords, frequency).norm()
}

fn cut_off(camera: &Camera, axes: &[Chords; 2]) -> f64 {
    axes.iter().map(|axis| point_image::cut_off_lp_per_mm(camera, axis)).fold(0.0, f64::max)
}

fn mtf(camera: &Camera, axes: &[Chords; 2]) -> Mtf {
    let step = cut_off(camera, axes) / (FREQUENCIES - 1) as f64;
    let frequency_lp_per_mm: Vec<f64> = (0..FREQUENCIES).map(|i| step * i as f64).collect();
    let along =
        |axis: &Chords| frequency_lp_per_mm.iter().map(|f| contrast(camera, axis, *f)).collect();
    let (tangential, sagittal) = (along(&axes[0]), along(&axes[1]));
    Mtf { frequency_lp_per_mm, tangential, sagittal }
}

/// The first fall to one half: in small steps, for a wide hole's contrast comes back beyond it.
fn mtf50(camera: &Camera, axes: &[Chords; 2]) -> f64 {
    let mean = |f: f64| axes.iter().map(|axis| contrast(camera, axis, f)).sum::<f64>() / 2.0;
    let step = cut_off(camera, axes) / 256.0;
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

/// A file of samples that NumPy reads: float64, C order (NumPy Enhancement Proposal 1, version 1.0).
pub fn npy(psf: &Psf) -> Vec<u8> {
    let (rows, columns) = psf.density.dim();
    let mut header =
        format!("{{'descr': '<f8', 'fortran_order': False, 'shape': ({rows}, {columns}), }}");
    // Magic, version and length take ten bytes; the data begins at a multiple of 64.
    while !(10 + header.len() + 1).is_multiple_of(64) {
        header.push(' ');
    }
    header.push('\n');
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.as_bytes());
    bytes.extend(psf.density.iter().flat_map(|sample| sample.to_le_bytes()));
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn a_disc_answers_with_its_known_figures() {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = crate::wave::Light::single(550.0).unwrap();
        // So far away that the pattern is Airy's: N = 5e-4.
        camera.distances = crate::wave::Distances::distant(81_818.18).unwrap();
        let disc = shapes::disc(0.3).unwrap();
        let answer =
            run(&Request { camera: &camera, outline: &disc, size: None, pitch_mm: None }).unwrap();
        let unit_um = 1000.0 * 550e-6 * 81_818.18 / 0.3;
        // Circles of 50 % and 80 %: 1.06966 and 1.79388 λv/d (from 1 - J0² - J1², Born & Wolf 8.5);
        // half contrast at σ = 0.403973 of the cut-off (Goodman 6.3). Five digits by the strips.
        let [half, eighty] = [0, 1].map(|i| answer.encircled_energy[i].diameter_um / unit_um);
        assert!((half - 1.069_66).abs() < 1e-4 && (eighty - 1.793_88).abs() < 5e-4, "{eighty}");
        let sigma = answer.mtf50_lp_per_mm * unit_um / 1000.0;
        assert!((sigma - 0.403_973).abs() < 1e-5, "{sigma}");
        assert!((answer.energy_fraction_on_grid - 0.9).abs() < 0.06);
    }

    #[test]
    fn samples_have_numpys_layout() {
        let camera = Camera::demonstration().unwrap();
        let disc = shapes::disc(0.3).unwrap();
        let request =
            Request { camera: &camera, outline: &disc, size: Some(6), pitch_mm: Some(0.1) };
        let bytes = npy(&run(&request).unwrap().psf);
        assert_eq!(&bytes[..8], b"\x93NUMPY\x01\x00");
        let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        assert_eq!(start % 64, 0);
        assert_eq!(bytes.len(), start + 36 * 8);
    }
}
