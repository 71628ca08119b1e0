//! A node: the PSF at one place of the film as the pixels of a preview see it, in each of a few lights.

use super::kernel::Kernel;
use crate::camera::PointImage;
use crate::error::Error;
use crate::wave::{Grid, Light, Psf, energy_beyond, good_odd_length};
use ndarray::Axis;

/// The share of the light that may fall outside a kernel. It is laid evenly over all of the kernel: contrast
/// of detail that is smaller than the kernel stays what it is, and no light is lost.
const LEFT_OUT: f64 = 0.03;
/// What contrast loses by each part of that: laid evenly it still shows a little (measured on the closed
/// form of a disc).
const OF_CONTRAST: f64 = 0.2;
/// Fine samples along a side up to which a point image is always computed wave by wave.
const FEW_FINE: f64 = 512.0;
/// Fine samples along a side of the largest point image that is computed wave by wave: their transforms
/// take some 300 MB. Beyond it, the OTF of its shadow gives the kernel.
const MOST_FINE: f64 = 2048.0;
/// Bytes of a fine sample of each light, and of one that is transformed.
const FINE_SAMPLE: f64 = 24.0;
const TRANSFORMED: f64 = 56.0;
/// What the OTF of a shadow may have wrong.
const SHADOW_TOLERANCE: f64 = 0.004;
/// The error of the PSF's samples, as a share of the peak: a picture has a thousand tones at the most.
const TOLERANCE: f64 = 1e-5;

/// The point images of a node in each light, with their reach in pixels.
pub(super) struct Node {
    in_bands: Vec<Band>,
}

struct Band {
    image: PointImage,
    /// How far the image of a point reaches, and how much farther its tail, in pixels.
    extent_px: f64,
    tail_px: f64,
}

impl Node {
    pub(super) fn of(image: PointImage, lights: &[Light], pixel_mm: f64) -> Node {
        let image = image.with_tolerance(TOLERANCE).in_one_piece();
        let band = |light: &Light| Band::of(image.clone().in_light(light), pixel_mm);
        Node { in_bands: lights.iter().map(band).collect() }
    }

    /// Its kernels, a light each.
    pub(super) fn kernels(&self, pixel_mm: f64, tail: f64) -> Result<Vec<Kernel>, Error> {
        let ways = self.in_bands.iter().map(|band| band.way(pixel_mm, tail));
        let ways = ways.collect::<Result<Vec<_>, Error>>()?;
        let by_waves: Vec<_> = self
            .in_bands
            .iter()
            .zip(&ways)
            .filter(|(_, way)| way.shadow_error.is_none())
            .map(|(band, way)| (band.image.light(), way.grid))
            .collect();
        let mut by_waves = match self.in_bands.first() {
            Some(band) if !by_waves.is_empty() => band.image.psfs_on_pixels(&by_waves)?,
            _ => Vec::new(),
        }
        .into_iter();
        let mut psf = |band: &Band, way: &Way| match way.shadow_error {
            Some(_) => Some(band.image.shadow_on_pixels(way.grid)),
            None => by_waves.next(),
        };
        let psfs: Vec<Psf> =
            self.in_bands.iter().zip(&ways).filter_map(|(band, way)| psf(band, way)).collect();
        psfs.iter().zip(&ways).map(|(psf, way)| film_kernel(psf, way)).collect()
    }
}

impl Node {
    /// The bytes that its kernels take, with this share of the tails.
    pub(super) fn bytes(&self, tail: f64) -> f64 {
        let side = |band: &Band| 2.0 * band.reach_px(tail) as f64 + 1.0;
        self.in_bands.iter().map(|band| 4.0 * side(band).powi(2)).sum()
    }

    /// The bytes that computing them takes besides: all lights at once on grids fine enough for their waves, and the
    /// transforms of one.
    pub(super) fn bytes_while_computed(&self, pixel_mm: f64, tail: f64) -> f64 {
        let each = self.in_bands.iter().map(|band| band.fine(pixel_mm, tail).powi(2));
        FINE_SAMPLE * each.clone().sum::<f64>() + TRANSFORMED * each.fold(0.0, f64::max)
    }
}

/// How a point image is computed.
struct Way {
    grid: Grid,
    /// What the OTF of its shadow has wrong, where that gives it; none where it is computed wave by wave.
    shadow_error: Option<f64>,
}

impl Band {
    fn of(image: PointImage, pixel_mm: f64) -> Band {
        // The tail is energy_beyond(R) = constant / R; the shadow is added to be safe.
        let film_mm = image.distances().film_mm();
        let aperture = image.aperture();
        let tail_mm = energy_beyond(aperture.outline(), image.light(), film_mm, 1.0) / LEFT_OUT;
        let extent_px = image.extent_mm() / pixel_mm;
        Band { extent_px, tail_px: tail_mm / pixel_mm, image }
    }

    /// Pixels to each side, with this share of the tail.
    fn reach_px(&self, tail: f64) -> usize {
        (self.extent_px + tail * self.tail_px).ceil().clamp(2.0, 1e6) as usize
    }

    /// Samples a side of the grid that it is computed on, with room for what moves, at most.
    fn fine(&self, pixel_mm: f64, tail: f64) -> f64 {
        let parts = (pixel_mm / self.image.finest_mm()).ceil().max(1.0);
        let reach_px = (self.reach_px(tail) as f64).min(MOST_FINE / 2.0 / parts);
        2.0 * (reach_px + self.image.blur().extent_mm() / pixel_mm) * parts
    }

    fn way(&self, pixel_mm: f64, tail: f64) -> Result<Way, Error> {
        let (image, reach_px) = (&self.image, self.reach_px(tail));
        let parts = (pixel_mm / image.finest_mm()).ceil().max(1.0);
        let fine = 2.0 * reach_px as f64 * parts;
        let most_px = MOST_FINE / 2.0 / parts;
        let wrong = if fine > FEW_FINE { image.shadow_error(pixel_mm) } else { 1.0 };
        if wrong < SHADOW_TOLERANCE {
            let size = good_odd_length(2 * reach_px + 1);
            Ok(Way { grid: Grid::new(size, pixel_mm)?, shadow_error: Some(wrong) })
        } else if self.extent_px <= most_px {
            // A tail that does not fit is laid evenly too.
            let reach_px = reach_px.min(most_px as usize);
            Ok(Way { grid: Grid::new(2 * reach_px + 1, pixel_mm)?, shadow_error: None })
        } else {
            Err(Error::limit(
                format!(
                    "the image of a point reaches {:.0} pixels to each side, and takes {fine:.0} samples across",
                    self.extent_px
                ),
                format!("use a hole nearer the best size; {MOST_FINE:.0} samples are the limit"),
            ))
        }
    }
}

/// The kernel of one point image: its energy a pixel. The picture is shown upright, that is the
/// film turned by half a turn, so the PSF is turned with it.
fn film_kernel(psf: &Psf, way: &Way) -> Result<Kernel, Error> {
    // Half a turn, then rows from the top: rows stay (low y comes to the top), columns turn over.
    let mut light = &psf.density * way.grid.pitch_mm().powi(2);
    light.invert_axis(Axis(1));
    let kernel = Kernel::of_shares(&light)?;
    let error = OF_CONTRAST * kernel.spread_evenly() + way.shadow_error.unwrap_or(0.0);
    Ok(kernel.with_contrast_error(error))
}

#[cfg(test)]
mod tests {
    use super::super::bands::LINES;
    use super::super::on_film;
    use super::*;
    use crate::camera::Camera;
    use crate::geometry::{Outline, shapes};
    use std::f64::consts::TAU;

    fn alone(image: PointImage, pixel_mm: f64) -> Kernel {
        let light = image.light().clone();
        Node::of(image, &[light], pixel_mm).kernels(pixel_mm, 1.0).unwrap().remove(0)
    }

    fn kernel(camera: &Camera, hole: &Outline, pixel_mm: f64) -> Kernel {
        let light = camera.light.condensed(LINES);
        alone(PointImage::on_axis(camera, hole).in_light(&light), pixel_mm)
    }

    /// A hole far to the right and up, seen from inside: its light falls to the right and up on the
    /// film, which in the upright picture is to the left and down.
    #[test]
    fn the_picture_is_the_film_turned_by_half_a_turn() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.3).unwrap().moved(1.0, 0.5);
        let kernel = kernel(&camera, &hole, 0.1);
        let weights = kernel.weights();
        let centre = weights.nrows() / 2;
        let place = weights
            .indexed_iter()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .map(|((row, column), _)| (row, column))
            .unwrap();
        assert_eq!(place, (centre + 5, centre - 10));
        assert_eq!(on_film([0.0, 0.0], 100, 60, 0.1), [5.0, -3.0]);
    }

    /// A wave keeps the same contrast on coarse pixels as on fine ones.
    #[test]
    fn coarse_and_fine_pixels_keep_the_same_contrast() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::burred_disc(0.36, 0.6, 0.2, 0.06).unwrap();
        let contrast = |pixel_mm: f64, frequency: f64| {
            let kernel = kernel(&camera, &hole, pixel_mm);
            let middle = kernel.weights().ncols() as f64 / 2.0 - 0.5;
            let weights = kernel.weights().map(|weight| f64::from(*weight));
            let column = |i: usize| (TAU * frequency * (i as f64 - middle) * pixel_mm).cos();
            weights.indexed_iter().map(|((_, i), weight)| weight * column(i)).sum::<f64>()
        };
        // Up to 0.3 cycles a coarse pixel.
        for frequency in [0.5, 1.0, 1.5, 2.0] {
            let [fine, coarse] = [0.05, 0.15].map(|pixel_mm| contrast(pixel_mm, frequency));
            println!("{frequency}: {fine} {coarse}");
            // The two cut the tail at slightly different places.
            assert!((fine - coarse).abs() < 0.01, "{frequency}: {fine} {coarse}");
        }
    }

    /// Three wavelengths stand for a band: the kernel of all of them differs by less than five thousandths
    /// of its peak.
    #[test]
    fn few_wavelengths_stand_for_a_band() {
        let camera = Camera::demonstration().unwrap();
        let image = PointImage::on_axis(&camera, &shapes::disc(0.36).unwrap());
        for (low, high) in [(0.0, 500.0), (500.0, 600.0), (600.0, 1e4)] {
            let (_, band) = camera.light.within(low, high).unwrap();
            let all = alone(image.clone().in_light(&band), 0.1);
            let few = alone(image.clone().in_light(&band.condensed(LINES)), 0.1);
            let reach = all.weights().nrows().min(few.weights().nrows()) / 2;
            let (a, b) = (all.weights().nrows() / 2 - reach, few.weights().nrows() / 2 - reach);
            let mut worst = 0.0f32;
            for row in 0..2 * reach {
                for column in 0..2 * reach {
                    let difference =
                        all.weights()[[row + a, column + a]] - few.weights()[[row + b, column + b]];
                    worst = worst.max(difference.abs());
                }
            }
            let peak = all.weights().iter().copied().fold(0.0, f32::max);
            // Kernels of the two differ in size, and so in how the light beyond them is spread.
            assert!(worst < 8e-3 * peak, "{low}: {worst} of {peak}");
        }
    }
}
