//! `preview`: the picture that a hole takes of a scene.

use crate::camera::Camera;
use crate::error::Error;
use crate::geometry::Outline;
use crate::picture::{KernelGrid, film_kernel, form};
use crate::raster::Raster;
use serde::Serialize;

/// What the preview stands for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Columns of the picture.
    pub columns: usize,
    /// Rows of the picture.
    pub rows: usize,
    /// The side of one pixel on the film.
    pub film_pixel_um: f64,
    /// The horizontal angle of view of the film.
    pub angle_of_view_deg: f64,
    /// The picture, upright, in linear light.
    #[serde(skip)]
    pub picture: Raster,
}

/// Columns and rows of a picture of the camera's film whose longer side has `longest` pixels.
pub fn film_pixels(camera: &Camera, longest: usize) -> (usize, usize) {
    let (width, height) = (camera.film.width_mm, camera.film.height_mm);
    let pixels = |side: f64| ((side / width.max(height) * longest as f64).round() as usize).max(1);
    (pixels(width), pixels(height))
}

/// The picture of a scene that fills the film (a raster of the film's shape: see
/// [`film_pixels`]).
///
/// # Errors
/// As [`film_kernel`].
pub fn run(camera: &Camera, outline: &Outline, scene: &Raster) -> Result<Answer, Error> {
    let pixel_mm = camera.film.width_mm / scene.columns() as f64;
    let kernel = film_kernel(camera, outline, pixel_mm)?;
    let half_angle = (camera.film.width_mm / 2.0 / camera.distances.film_mm()).atan();
    Ok(Answer {
        columns: scene.columns(),
        rows: scene.rows(),
        film_pixel_um: 1000.0 * pixel_mm,
        angle_of_view_deg: 2.0 * half_angle.to_degrees(),
        picture: form(scene, &KernelGrid::uniform([kernel.clone(), kernel.clone(), kernel])),
    })
}
