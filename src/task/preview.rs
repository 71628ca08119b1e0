//! `preview`: the picture that a hole takes of a scene.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::Outline;
use crate::picture::{KernelGrid, as_pixels_show, contrast_error, film_kernels, nodes, taken};
use crate::raster::Raster;
use crate::watch::{Step, Watch};
use ndarray::Axis;
use serde::Serialize;
use std::sync::Arc;

/// Places at which the PSF between the nodes is compared with the exact one.
const COMPARED: usize = 12;

/// How a picture on film is turned before the eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Orientation {
    /// Upright and the right way round, as the scene: what an enlarger or a second exposure makes of it.
    Scene,
    /// As the film lies in the camera, looking from it out to the hole: upside down, left where the scene has
    /// its right.
    Camera,
    /// As a direct positive or a paper negative is held, its light-sensitive side to the eye: upright, left and right
    /// changed.
    Hand,
}

impl Orientation {
    /// The picture of the scene, turned.
    #[must_use]
    pub fn of(self, mut picture: Raster) -> Raster {
        if self == Orientation::Scene {
            return picture;
        }
        picture.linear.invert_axis(Axis(2));
        if self == Orientation::Camera {
            picture.linear.invert_axis(Axis(1));
        }
        picture.linear = picture.linear.as_standard_layout().into_owned();
        picture
    }
}

/// What picture to take.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub outline: Outline,
    /// The scene as a perfect image on the film (a [`crate::picture::View`]'s), which several holes may share.
    pub image: Arc<Raster>,
}

/// What the preview stands for.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// Columns of the picture.
    pub columns: usize,
    /// Rows of the picture.
    pub rows: usize,
    /// The side of one pixel on the film.
    pub film_pixel_um: f64,
    /// The horizontal angle of view of the film.
    pub angle_of_view_deg: f64,
    /// Places across and down the film at which the PSF was computed; between them it is interpolated.
    pub nodes: [usize; 2],
    /// The largest error of contrast: of the PSF between the nodes, at places spread over the film, and of the
    /// light beyond its computed part.
    pub contrast_error: f64,
    /// The largest share of a point's light that falls beyond what is computed of its image, and is spread
    /// evenly over it.
    pub light_spread_evenly: f64,
    /// How a written picture is turned.
    pub orientation: Orientation,
    /// The picture, upright, in linear light: three channels, or one for a medium that sees no
    /// colours. The middle of the film has the scene's light.
    #[serde(skip)]
    pub picture: Raster,
}

/// Tells the memory, in bytes, that pictures on so many film pixels take, one of this hole or two with that of the best
/// disc: measured from 500 to 5000 pixels a side, still and moving, as bytes to a pixel beside those of the program.
pub fn memory_bytes((columns, rows): (usize, usize), pictures: usize) -> f64 {
    let each = if pictures > 1 { 110.0 } else { 58.0 };
    50e6 + columns as f64 * rows as f64 * each
}

/// A hole made ready to take pictures of so many pixels on a camera's film: what cannot be drawn is refused here,
/// before any scene is.
pub struct Prepared {
    pixels: [usize; 2],
    shown: Outline,
    nodes: [usize; 2],
    kernels: KernelGrid,
}

impl Prepared {
    /// Computes the images of a point all over the film, of `columns` by `rows` pixels.
    ///
    /// # Errors
    /// As [`film_kernels`].
    pub fn of(
        camera: &Camera,
        outline: &Outline,
        pixels: [usize; 2],
        watch: Watch,
    ) -> Result<Prepared, Error> {
        watch.begins(Step::PointImages)?;
        let shown = as_pixels_show(outline);
        let nodes = nodes(camera, &shown)?;
        let kernels = film_kernels(camera, outline, pixels, nodes, watch)?;
        Ok(Prepared { pixels, shown, nodes, kernels })
    }

    /// The picture of a perfect image (a [`crate::picture::View`]'s) of as many pixels.
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`].
    pub fn picture(&self, camera: &Camera, image: &Raster, watch: Watch) -> Result<Answer, Error> {
        watch.begins(Step::Picture)?;
        let [columns, rows] = self.pixels;
        Ok(Answer {
            columns,
            rows,
            film_pixel_um: 1000.0 * camera.film.width_mm / columns as f64,
            angle_of_view_deg: angle_of_view_deg(camera)?,
            nodes: self.nodes,
            contrast_error: contrast_error(camera, &self.shown, self.nodes, COMPARED)?
                + self.kernels.contrast_error(),
            light_spread_evenly: self.kernels.spread_evenly(),
            orientation: Orientation::Scene,
            picture: taken(camera, &self.shown, image, &self.kernels, watch)?,
        })
    }
}

/// The picture of a scene through a hole.
///
/// # Errors
/// As [`film_kernels`]; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    let Request { camera, outline, image } = request;
    let pixels = [image.columns(), image.rows()];
    Prepared::of(camera, outline, pixels, watch)?.picture(camera, image, watch)
}

fn angle_of_view_deg(camera: &Camera) -> Result<f64, Error> {
    let half = camera.film.width_mm / 2.0;
    let [x, _, z] = camera.place([half, 0.0])?.position_mm;
    Ok(2.0 * x.atan2(z).to_degrees())
}
