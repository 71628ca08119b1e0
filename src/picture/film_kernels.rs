//! The PSF as the pixels of a preview see it, over all of a camera's film.

use super::kernel::Kernel;
use super::kernel_grid::KernelGrid;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::watch::{Step, Watch};
use crate::wave::{Grid, Light, energy_beyond, good_odd_length};
use ndarray::Axis;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

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
/// What the OTF of a shadow may have wrong.
const SHADOW_TOLERANCE: f64 = 0.004;
/// What all kernels of a picture may take together; forming the picture takes twice as much again.
const MOST_BYTES: usize = 256 << 20;
/// A tail that would make the kernels larger than that is laid evenly too, down to this much beside the point
/// image's own extent.
const LEAST_TAIL: f64 = 0.1;
/// A sliver of the hole's area that lights nothing: five stops below an open hole at the same place.
const LEAST_OPEN: f64 = 0.03;
/// The error of the PSF's samples, as a share of the peak: a picture has a thousand tones at the most.
const TOLERANCE: f64 = 1e-5;
/// Corners of the outline that lie closer to the line between their neighbours than this share of the
/// hole's width are left out: a ten-thousandth of its size, which no pixel shows.
const SMOOTHER: f64 = 2e-4;

/// Where the three channels of a picture divide the light, in nm: blue below, red above (common
/// practice, no source).
const DIVIDES_NM: [f64; 2] = [500.0, 600.0];
/// Wavelengths that stand for a band: three are exact for what is of the fifth degree in 1/λ there.
const LINES: usize = 3;

/// Returns the place on the film, in mm from its middle, of a place on the upright picture of `columns` by
/// `rows` pixels: the film is turned by half a turn.
pub fn on_film([column, row]: Point, columns: usize, rows: usize, pixel_mm: f64) -> Point {
    [(columns as f64 / 2.0 - column) * pixel_mm, (row - rows as f64 / 2.0) * pixel_mm]
}

/// Returns the kernels that form the upright picture of a camera, `columns` by `rows` pixels, at `nodes`
/// across and down.
///
/// # Errors
/// As [`PointImage::psf`].
pub fn film_kernels(
    camera: &Camera,
    outline: &Outline,
    [columns, rows]: [usize; 2],
    [across, down]: [usize; 2],
    watch: Watch,
) -> Result<KernelGrid, Error> {
    let pixel_mm = camera.film.width_mm / columns as f64;
    let bands = bands(&camera.light);
    let place = |node: usize| {
        let along = |i: usize, nodes: usize, pixels: usize| {
            let share = if nodes == 1 { 0.5 } else { i as f64 / (nodes - 1) as f64 };
            share * pixels as f64
        };
        let picture = [along(node % across, across, columns), along(node / across, down, rows)];
        // Rounding must not push a node off the film.
        let [x, y] = on_film(picture, columns, rows, pixel_mm);
        let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        [x.clamp(-half[0], half[0]), y.clamp(-half[1], half[1])]
    };
    let nodes: Vec<Node> = (0..across * down)
        .into_par_iter()
        .map(|node| Node::of(nearest_lit(camera, outline, place(node))?, &bands, pixel_mm))
        .collect::<Result<_, Error>>()?;
    let tail = tail_that_fits(&nodes, columns)?;
    let done = AtomicUsize::new(0);
    let kernel = |node: &Node| {
        let done = done.fetch_add(1, Ordering::Relaxed) as f64;
        watch.is_at(Step::PointImages, done / nodes.len() as f64)?;
        let [red, green, blue] =
            node.in_bands.each_ref().map(|band| film_kernel(band, pixel_mm, tail));
        Ok([red?, green?, blue?])
    };
    let kernels = nodes.par_iter().map(kernel).collect::<Result<Vec<_>, Error>>()?;
    KernelGrid::new(across, down, kernels)
}

/// The point images of a node in the light of the three channels, each with its reach in pixels.
struct Node {
    in_bands: [Band; 3],
}

struct Band {
    image: PointImage,
    /// How far the image of a point reaches, and how much farther its tail, in pixels.
    extent_px: f64,
    tail_px: f64,
}

impl Node {
    fn of(image: PointImage, bands: &[Light; 3], pixel_mm: f64) -> Result<Node, Error> {
        let image = image.with_tolerance(TOLERANCE).in_one_piece();
        let in_bands =
            bands.each_ref().map(|light| Band::of(image.clone().in_light(light), pixel_mm));
        Ok(Node { in_bands })
    }
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
}

/// The share of the tails with which all kernels fit into memory.
fn tail_that_fits(nodes: &[Node], columns: usize) -> Result<f64, Error> {
    let bytes = |tail: f64| -> f64 {
        let bands = nodes.iter().flat_map(|node| &node.in_bands);
        bands.map(|band| 4.0 * (2.0 * band.reach_px(tail) as f64 + 1.0).powi(2)).sum()
    };
    let mut tail = 1.0;
    while bytes(tail) > MOST_BYTES as f64 {
        tail /= 2.0;
        if tail < LEAST_TAIL {
            let needed = bytes(0.0);
            let fewer = columns as f64 * (MOST_BYTES as f64 / needed).sqrt();
            return Err(Error::limit(
                format!(
                    "the images of a point at {} places on the film would take {:.1} GB",
                    nodes.len(),
                    needed / 1e9
                ),
                format!(
                    "draw about {:.0} pixels across, or use a hole nearer the best size",
                    fewer.floor()
                ),
            ));
        }
    }
    Ok(tail)
}

/// The image of a point at a place, or where none comes there, at the place nearest to it on the way to
/// the middle: what is lit beside a dark node is drawn by its kernel too.
fn nearest_lit(camera: &Camera, outline: &Outline, at_mm: Point) -> Result<PointImage, Error> {
    const STEPS: i32 = 40;
    for step in 0..STEPS {
        let share = 1.0 - f64::from(step) / f64::from(STEPS);
        let at = at_mm.map(|c| c * share);
        if let Some(image) = PointImage::where_lit(camera, outline, at)?
            && image.open > LEAST_OPEN
        {
            return Ok(image);
        }
    }
    Ok(PointImage::on_axis(camera, outline))
}

/// What light there is for red, green and blue, with its share of the energy.
fn parts(light: &Light) -> [Option<(f64, Light)>; 3] {
    let [blue, red] = DIVIDES_NM;
    [light.within(red, f64::INFINITY), light.within(blue, red), light.within(0.0, blue)]
}

/// Returns the share of the light that red, green and blue bring; their sum is 1.
pub fn shares(light: &Light) -> [f64; 3] {
    parts(light).map(|part| part.map_or(0.0, |(share, _)| share))
}

/// The light of the three channels. One without light of its own is drawn by all of it.
fn bands(light: &Light) -> [Light; 3] {
    parts(light).map(|part| part.map_or_else(|| light.clone(), |(_, light)| light).condensed(LINES))
}

/// Returns the outline with as many corners as a picture shows.
pub fn as_pixels_show(outline: &Outline) -> Outline {
    let (low, high) = outline.bounds_mm();
    outline.simplified(SMOOTHER * (high[0] - low[0]).max(high[1] - low[1]))
}

/// The kernel of one point image: its energy on each pixel. The picture is shown upright, that is the
/// film turned by half a turn, so the PSF is turned with it.
fn film_kernel(band: &Band, pixel_mm: f64, tail: f64) -> Result<Kernel, Error> {
    let (image, reach_px) = (&band.image, band.reach_px(tail));
    let parts = (pixel_mm / image.finest_mm()).ceil().max(1.0);
    let fine = 2.0 * reach_px as f64 * parts;
    let most_px = MOST_FINE / 2.0 / parts;
    let wrong = if fine > FEW_FINE { image.shadow_error(pixel_mm) } else { 1.0 };
    let (psf, wrong) = if wrong < SHADOW_TOLERANCE {
        let size = good_odd_length(2 * reach_px + 1);
        (image.shadow_on_pixels(Grid::new(size, pixel_mm)?), wrong)
    } else if band.extent_px <= most_px {
        // A tail that does not fit is laid evenly too.
        let reach_px = reach_px.min(most_px as usize);
        (image.psf_on_pixels(Grid::new(2 * reach_px + 1, pixel_mm)?)?, 0.0)
    } else {
        return Err(Error::limit(
            format!(
                "the image of a point reaches {:.0} pixels to each side, and takes {fine:.0} samples across",
                band.extent_px
            ),
            format!("use a hole nearer the best size; {MOST_FINE:.0} samples are the limit"),
        ));
    };
    // Half a turn, then rows from the top: rows stay (low y comes to the top), columns turn over.
    let mut light = psf.density * (pixel_mm * pixel_mm);
    light.invert_axis(Axis(1));
    let kernel = Kernel::of_shares(&light)?;
    let error = OF_CONTRAST * kernel.spread_evenly() + wrong;
    Ok(kernel.with_contrast_error(error))
}

#[cfg(test)]
mod tests {
    use super::super::nodes::nodes;
    use super::*;
    use crate::geometry::shapes;

    fn alone(image: PointImage, pixel_mm: f64) -> Kernel {
        film_kernel(&Band::of(image.in_one_piece(), pixel_mm), pixel_mm, 1.0).unwrap()
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

    /// Coarse pixels gather what fine ones hold.
    #[test]
    fn pixels_gather_the_energy_on_them() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::burred_disc(0.36, 0.6, 0.2, 0.06).unwrap();
        let fine = kernel(&camera, &hole, 0.05);
        let coarse = kernel(&camera, &hole, 0.15);
        let (f, c) = (fine.weights().nrows() / 2, coarse.weights().nrows() / 2);
        let gathered: f32 = (0..9).map(|i| fine.weights()[[f - 1 + i / 3, f - 1 + i % 3]]).sum();
        let share = gathered / coarse.weights()[[c, c]];
        // The two cut the tail at slightly different places; and the peak loses its share of the contrast
        // beyond 0.45 cycles, which coarse pixels cannot show.
        assert!((share - 1.0).abs() < 0.08, "{share}");
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

    /// Behind a plate so thick that only the middle is lit, the lit part is still drawn by the hole: no node
    /// passes for a perfect image, and a few do not stand for all.
    #[test]
    fn dark_corners_do_not_sharpen_the_middle() {
        let mut camera = Camera::demonstration().unwrap();
        camera.plate_mm = 1.0;
        let hole = shapes::disc(0.36).unwrap();
        let nodes = nodes(&camera, &hole).unwrap();
        assert!(nodes.iter().all(|count| *count > 4), "{nodes:?}");
        let kernels = film_kernels(&camera, &hole, [254, 204], nodes, Watch::nobody()).unwrap();
        for kernel in kernels.kernels().iter().flatten() {
            let peak = kernel.weights().iter().copied().fold(0.0, f32::max);
            assert!(peak < 0.9, "{peak}");
        }
    }
}
