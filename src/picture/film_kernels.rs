//! The PSF as the pixels of a preview see it, over all of a camera's film.

use super::kernel::Kernel;
use super::kernel_grid::KernelGrid;
use crate::camera::{Blur, Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::watch::{Step, Watch};
use crate::wave::{Grid, Light, Psf, energy_beyond, good_odd_length};
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
/// across and down. A hole that is its own mirror image has its kernels computed for half of the film, or a
/// quarter.
///
/// # Errors
/// As [`PointImage::psf`].
pub fn film_kernels(
    camera: &Camera,
    outline: &Outline,
    [columns, rows]: [usize; 2],
    nodes: [usize; 2],
    watch: Watch,
) -> Result<KernelGrid, Error> {
    let pixel_mm = camera.film.width_mm / columns as f64;
    let bands = Bands::of(camera);
    let half = Mirrors::of(camera, outline, nodes);
    let outline = &as_pixels_show(outline);
    let place = |[i, j]: [usize; 2]| {
        let along = |i: usize, nodes: usize, pixels: usize| {
            let share = if nodes == 1 { 0.5 } else { i as f64 / (nodes - 1) as f64 };
            share * pixels as f64
        };
        let picture = [along(i, nodes[0], columns), along(j, nodes[1], rows)];
        // Rounding must not push a node off the film.
        let [x, y] = on_film(picture, columns, rows, pixel_mm);
        let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        [x.clamp(-half[0], half[0]), y.clamp(-half[1], half[1])]
    };
    let computed: Vec<Node> = half
        .computed()
        .into_par_iter()
        .map(|node| {
            let image = nearest_lit(camera, outline, place(node))?;
            Ok(Node::of(image, &bands.lights, pixel_mm))
        })
        .collect::<Result<_, Error>>()?;
    let tail = tail_that_fits(&computed, half.nodes_to_one(), columns)?;
    let done = AtomicUsize::new(0);
    let kernels = |node: &Node| {
        let done = done.fetch_add(1, Ordering::Relaxed) as f64;
        watch.is_at(Step::PointImages, done / computed.len() as f64)?;
        let kernels = node.kernels(pixel_mm, tail)?;
        Ok(bands.of_channel.map(|band| kernels[band].clone()))
    };
    let kernels = computed.par_iter().map(kernels).collect::<Result<Vec<_>, Error>>()?;
    let all = (0..nodes[0] * nodes[1]).map(|node| {
        let (computed, turned) = half.of_node([node % nodes[0], node / nodes[0]]);
        kernels[computed].each_ref().map(|kernel| kernel.mirrored(turned))
    });
    KernelGrid::new(nodes[0], nodes[1], all.collect())
}

/// The nodes across and down of which others are mirror images.
struct Mirrors {
    nodes: [usize; 2],
    /// Nodes that are computed, from the left and from the top.
    computed: [usize; 2],
}

impl Mirrors {
    fn of(camera: &Camera, outline: &Outline, nodes: [usize; 2]) -> Mirrors {
        let mirrors =
            outline.mirrors().map(|mirror| mirror && Blur::of(camera, outline).is_round());
        let computed =
            [0, 1].map(|axis| if mirrors[axis] { nodes[axis].div_ceil(2) } else { nodes[axis] });
        Mirrors { nodes, computed }
    }

    fn computed(&self) -> Vec<[usize; 2]> {
        let [across, down] = self.computed;
        (0..across * down).map(|node| [node % across, node / across]).collect()
    }

    /// The computed node that a node is a mirror image of, and along which axes it is turned.
    fn of_node(&self, node: [usize; 2]) -> (usize, [bool; 2]) {
        let turned = [0, 1].map(|axis| node[axis] >= self.computed[axis]);
        let [i, j] = [0, 1]
            .map(|axis| if turned[axis] { self.nodes[axis] - 1 - node[axis] } else { node[axis] });
        (j * self.computed[0] + i, turned)
    }

    /// How many nodes there are to one that is computed.
    fn nodes_to_one(&self) -> f64 {
        let count = |of: [usize; 2]| (of[0] * of[1]) as f64;
        count(self.nodes) / count(self.computed)
    }
}

/// The point images of a node in each light, with their reach in pixels.
struct Node {
    in_bands: Vec<Band>,
}

struct Band {
    image: PointImage,
    /// How far the image of a point reaches, and how much farther its tail, in pixels.
    extent_px: f64,
    tail_px: f64,
}

impl Node {
    fn of(image: PointImage, lights: &[Light], pixel_mm: f64) -> Node {
        let image = image.with_tolerance(TOLERANCE).in_one_piece();
        let band = |light: &Light| Band::of(image.clone().in_light(light), pixel_mm);
        Node { in_bands: lights.iter().map(band).collect() }
    }

    /// Its kernels, a light each.
    fn kernels(&self, pixel_mm: f64, tail: f64) -> Result<Vec<Kernel>, Error> {
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

/// The share of the tails with which all kernels fit into memory.
fn tail_that_fits(nodes: &[Node], nodes_to_one: f64, columns: usize) -> Result<f64, Error> {
    let bytes = |tail: f64| -> f64 {
        let bands = nodes.iter().flat_map(|node| &node.in_bands);
        let each = bands.map(|band| 4.0 * (2.0 * band.reach_px(tail) as f64 + 1.0).powi(2));
        nodes_to_one * each.sum::<f64>()
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
                    (nodes.len() as f64 * nodes_to_one).round(),
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

/// The light of the three channels, in few wavelengths.
struct Bands {
    lights: Vec<Light>,
    /// Which of them each channel takes.
    of_channel: [usize; 3],
}

impl Bands {
    /// A channel without light of its own is drawn by all of it; where the medium sees no colours it is not
    /// seen, and takes the first there is.
    fn of(camera: &Camera) -> Bands {
        let mut bands = Bands { lights: Vec::new(), of_channel: [0; 3] };
        let parts = parts(&camera.light);
        for (channel, part) in parts.iter().enumerate() {
            if let Some((_, light)) = part {
                bands.of_channel[channel] = bands.lights.len();
                bands.lights.push(light.condensed(LINES));
            }
        }
        if camera.in_colour && bands.lights.len() == 2 {
            let all = bands.lights.len();
            bands.lights.push(camera.light.condensed(LINES));
            for (channel, _) in parts.iter().enumerate().filter(|(_, part)| part.is_none()) {
                bands.of_channel[channel] = all;
            }
        }
        bands
    }
}

/// Returns the outline with as many corners as a picture shows.
pub fn as_pixels_show(outline: &Outline) -> Outline {
    let (low, high) = outline.bounds_mm();
    outline.simplified(SMOOTHER * (high[0] - low[0]).max(high[1] - low[1]))
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
    use super::super::nodes::nodes;
    use super::*;
    use crate::camera::{Axis as CylinderAxis, Film, Shape};
    use crate::geometry::shapes;
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

    /// The kernels that are mirror images are those that would be computed: a disc is told from one whose mirror
    /// images are hidden by a shift that nobody sees.
    #[test]
    fn mirror_images_are_what_is_computed() {
        let mut camera = Camera::demonstration().unwrap();
        let tube = Shape::Cylinder { radius_mm: 60.0, axis: CylinderAxis::Vertical };
        camera.film = Film { width_mm: 150.0, height_mm: 100.0, shape: tube };
        let disc = shapes::disc(0.36).unwrap();
        let kernels = |hole: &Outline| {
            film_kernels(&camera, hole, [300, 200], [4, 3], Watch::nobody()).unwrap()
        };
        let (mirrored, computed) = (kernels(&disc), kernels(&disc.moved(1e-6, 1e-6)));
        for (one, other) in
            mirrored.kernels().iter().flatten().zip(computed.kernels().iter().flatten())
        {
            let peak = one.weights().iter().copied().fold(0.0, f32::max);
            assert_eq!(one.weights().dim(), other.weights().dim());
            for (one, other) in one.weights().iter().zip(other.weights()) {
                // A shift of 1e-6 mm, simplified corners and their tolerance of 1e-5.
                assert!((one - other).abs() < 2e-4 * peak, "{one} {other} {peak}");
            }
        }
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
            // A perfect image has 1.
            assert!(peak < 0.95, "{peak}");
        }
    }
}
