//! The PSF as the pixels of a preview see it, over all of a camera's film.

use super::bands::Bands;
use super::kernel_grid::KernelGrid;
use super::mirrors::Mirrors;
use super::node::Node;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::watch::{Step, Watch};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What all kernels of a picture may take together; forming the picture takes twice as much again.
const MOST_BYTES: usize = 256 << 20;
/// A tail that would make the kernels larger than that is laid evenly too, down to this much beside the point
/// image's own extent.
const LEAST_TAIL: f64 = 0.1;
/// A sliver of the hole's area that lights nothing: five stops below an open hole at the same place.
const LEAST_OPEN: f64 = 0.03;
/// Corners of the outline that lie closer to the line between their neighbours than this share of the
/// hole's width are left out: a ten-thousandth of its size, which no pixel shows.
const SMOOTHER: f64 = 2e-4;

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
    let Plan { pixel_mm, bands, half, computed, tail } =
        Plan::of(camera, outline, [columns, rows], nodes)?;
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

/// The memory, in bytes, that [`film_kernels`] takes at most, with what forming a picture by them takes.
///
/// # Errors
/// As [`film_kernels`], for what does not fit at all.
pub fn film_kernels_bytes(
    camera: &Camera,
    outline: &Outline,
    pixels: [usize; 2],
    nodes: [usize; 2],
) -> Result<f64, Error> {
    let Plan { pixel_mm, half, computed, tail, .. } = Plan::of(camera, outline, pixels, nodes)?;
    let kept: f64 = computed.iter().map(|node| node.bytes(tail)).sum();
    let at_work = computed.iter().map(|node| node.bytes_while_computed(pixel_mm, tail));
    let at_once = rayon::current_num_threads().min(computed.len()) as f64;
    Ok(3.0 * half.nodes_to_one() * kept + at_once * at_work.fold(0.0, f64::max))
}

/// What is computed for a picture.
struct Plan {
    pixel_mm: f64,
    bands: Bands,
    half: Mirrors,
    computed: Vec<Node>,
    /// The share of the tails that fits.
    tail: f64,
}

impl Plan {
    fn of(
        camera: &Camera,
        outline: &Outline,
        [columns, rows]: [usize; 2],
        nodes: [usize; 2],
    ) -> Result<Plan, Error> {
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
        Ok(Plan { pixel_mm, bands, half, computed, tail })
    }
}

/// The share of the tails with which all kernels fit into memory.
fn tail_that_fits(nodes: &[Node], nodes_to_one: f64, columns: usize) -> Result<f64, Error> {
    let bytes = |tail: f64| -> f64 {
        nodes_to_one * nodes.iter().map(|node| node.bytes(tail)).sum::<f64>()
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

/// Returns the outline with as many corners as a picture shows.
pub fn as_pixels_show(outline: &Outline) -> Outline {
    let (low, high) = outline.bounds_mm();
    outline.simplified(SMOOTHER * (high[0] - low[0]).max(high[1] - low[1]))
}

#[cfg(test)]
mod tests {
    use super::super::nodes::nodes;
    use super::*;
    use crate::camera::{Axis as CylinderAxis, Film, Shape};
    use crate::geometry::shapes;

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
