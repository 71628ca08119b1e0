//! `preview`: the picture that a hole takes of a scene.

use super::Watch;
use crate::camera::{Camera, exposure};
use crate::error::Error;
use crate::geometry::Outline;
use crate::picture::{as_pixels_show, contrast_error, film_kernels, form, nodes, on_film, shares};
use crate::raster::{Raster, between};
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};
use serde::Serialize;

/// Steps of which a watcher hears.
pub const STEPS: usize = 2;

/// Places at which the PSF between the nodes is compared with the exact one.
const COMPARED: usize = 12;
/// Steps of the film along its longer side between which the fall-off of light is interpolated: it is
/// smooth, and a step's square is small.
const FALL_OFF_STEPS: usize = 64;

/// How a picture on film is turned before the eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
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
        if self != Orientation::Scene {
            picture.linear.invert_axis(Axis(2));
        }
        if self == Orientation::Camera {
            picture.linear.invert_axis(Axis(1));
        }
        picture.linear = picture.linear.as_standard_layout().into_owned();
        picture
    }

    /// What is drawn, in a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Orientation::Scene => "Drawn the right way round, as the scene.",
            Orientation::Camera => {
                "Drawn as the film lies in the camera, looking from it out to the hole: upside down."
            }
            Orientation::Hand => {
                "Drawn as the sheet is held, its light-sensitive side to the eye: left and right are changed."
            }
        }
    }
}

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
    /// Places across and down the film at which the PSF was computed; between them it is interpolated.
    pub nodes: [usize; 2],
    /// The largest error of contrast of the PSF between the nodes, at places spread over the film.
    pub contrast_error: f64,
    /// How a written picture is turned.
    pub orientation: Orientation,
    /// The picture, upright, in linear light: three channels, or one for a medium that sees no
    /// colours. The middle of the film has the scene's light.
    #[serde(skip)]
    pub picture: Raster,
}

/// Columns and rows of a picture of the camera's film whose longer side has `longest` pixels.
pub fn film_pixels(camera: &Camera, longest: usize) -> (usize, usize) {
    let (width, height) = (camera.film.width_mm, camera.film.height_mm);
    let pixels = |side: f64| ((side / width.max(height) * longest as f64).round() as usize).max(1);
    (pixels(width), pixels(height))
}

/// The picture of a perfect image (a [`crate::picture::View`]'s) through a hole.
///
/// # Errors
/// As [`film_kernels`].
pub fn run(
    camera: &Camera,
    outline: &Outline,
    image: &Raster,
    watch: Watch,
) -> Result<Answer, Error> {
    let (columns, rows) = (image.columns(), image.rows());
    let outline = &as_pixels_show(outline);
    let pixel_mm = camera.film.width_mm / columns as f64;
    watch("the image of a point, all over the film");
    let nodes = nodes(camera, outline)?;
    let kernels = film_kernels(camera, outline, [columns, rows], nodes)?;
    watch("the picture through the hole");
    let formed = form(&lit(camera, Some(outline), image)?, &kernels);
    Ok(Answer {
        columns,
        rows,
        film_pixel_um: 1000.0 * pixel_mm,
        angle_of_view_deg: angle_of_view_deg(camera)?,
        nodes,
        contrast_error: contrast_error(camera, outline, nodes, COMPARED)?,
        orientation: Orientation::Scene,
        picture: on_medium(camera, formed),
    })
}

/// The perfect image as the camera's medium sees it, with the light's fall-off over the film behind a thin
/// plate.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn perfect(camera: &Camera, image: &Raster) -> Result<Raster, Error> {
    Ok(on_medium(camera, lit(camera, None, image)?))
}

/// A part of a perfect image through a hole as the middle of the film has it: all of it by the image of a
/// point there, in the middle's light. The whole film is `film_px` columns and rows.
///
/// # Errors
/// As [`film_kernels`].
pub fn in_the_middle(
    camera: &Camera,
    outline: &Outline,
    part: &Raster,
    film_px: [usize; 2],
) -> Result<Raster, Error> {
    let kernel = film_kernels(camera, &as_pixels_show(outline), film_px, [1, 1])?;
    Ok(on_medium(camera, form(part, &kernel)))
}

/// Light in three colours as the camera's medium tells them apart, or does not.
fn on_medium(camera: &Camera, light: Raster) -> Raster {
    if camera.in_colour { light } else { in_grey(&light, shares(&camera.light)) }
}

fn angle_of_view_deg(camera: &Camera) -> Result<f64, Error> {
    let half = camera.film.width_mm / 2.0;
    let [x, _, z] = camera.place([half, 0.0])?.position_mm;
    Ok(2.0 * x.atan2(z).to_degrees())
}

/// One channel of all three, by the light that each brings.
fn in_grey(picture: &Raster, shares: [f64; 3]) -> Raster {
    let (channels, rows, columns) = picture.linear.dim();
    let mut grey = Array2::zeros((rows, columns));
    for (channel, share) in shares.into_iter().enumerate() {
        grey.scaled_add(
            share as f32,
            &picture.linear.index_axis(Axis(0), channel.min(channels - 1)),
        );
    }
    Raster { linear: grey.insert_axis(Axis(0)) }
}

/// The image with the light that comes to each place of the film against its middle, through a hole or,
/// without one, past a thin plate.
fn lit(camera: &Camera, outline: Option<&Outline>, image: &Raster) -> Result<Raster, Error> {
    let (_, rows, columns) = image.linear.dim();
    let pixel_mm = camera.film.width_mm / columns as f64;
    let step = columns.max(rows).div_ceil(FALL_OFF_STEPS).max(1);
    let (across, down) = (columns.div_ceil(step) + 1, rows.div_ceil(step) + 1);
    let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
    let light = |node: usize| {
        let (row, column) = (node / across, node % across);
        let corner = [(column * step).min(columns) as f64, (row * step).min(rows) as f64];
        let [x, y] = on_film(corner, columns, rows, pixel_mm);
        let at_mm = [x.clamp(-half[0], half[0]), y.clamp(-half[1], half[1])];
        match outline {
            Some(outline) => exposure::irradiance(camera, outline, at_mm),
            None => Ok(camera.place(at_mm)?.irradiance()),
        }
    };
    let light: Vec<f64> =
        (0..across * down).into_par_iter().map(light).collect::<Result<_, _>>()?;
    let fall_off = Array2::from_shape_fn((down, across), |(r, c)| light[r * across + c]);
    let mut lit = image.clone();
    lit.linear.axis_iter_mut(Axis(1)).into_par_iter().enumerate().for_each(
        |(row, mut channels)| {
            // Steps are even but for the last, which ends at the picture's edge.
            let at = |pixel: usize, pixels: usize| {
                let first = pixel / step * step;
                let length = step.min(pixels - first) as f64;
                (pixel / step) as f64 + ((pixel - first) as f64 + 0.5) / length
            };
            let down = at(row, rows);
            for column in 0..columns {
                let light = between(&fall_off, [at(column, columns), down]) as f32;
                channels.column_mut(column).map_inplace(|value| *value *= light);
            }
        },
    );
    Ok(lit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::analytic::DiscOtf;
    use crate::wave::{Light, MM_PER_NM, fresnel_number};
    use ndarray::Array3;
    use std::f64::consts::{PI, TAU};

    /// Lines of a sine keep of their contrast what the closed form of a disc's OTF says, times sin(x)/x of a
    /// pixel.
    #[test]
    fn lines_in_the_middle_keep_the_contrast_of_theory() {
        let mut camera = Camera::demonstration().unwrap();
        let (diameter, nm) = (0.36, 550.0);
        camera.light = Light::single(nm).unwrap();
        let (film_mm, z) = (camera.distances.film_mm(), camera.distances.effective_mm());
        let columns = 1600;
        let pixel_mm = camera.film.width_mm / columns as f64;
        let disc = shapes::disc(diameter).unwrap();
        for period in [8, 16, 32] {
            let wave = |column: usize| TAU * column as f64 / f64::from(period);
            let lines = Array3::from_shape_fn((3, 64, 512), |(_, _, column)| {
                (0.5 + 0.5 * wave(column).cos()) as f32
            });
            let part = Raster { linear: lines };
            let picture = in_the_middle(&camera, &disc, &part, [columns, columns]).unwrap();
            // Whole periods far from the mirrors at the borders.
            let cosines = (128..384).map(|column| {
                f64::from(picture.linear[[1, 32, column]]) * wave(column).cos() / 64.0
            });
            let f = 1.0 / (f64::from(period) * pixel_mm);
            let sigma = f * nm * MM_PER_NM * film_mm / diameter;
            let n = fresnel_number(diameter / 2.0, nm, z);
            let x = PI / f64::from(period);
            let contrast = DiscOtf::default().at(n, sigma) * x.sin() / x;
            // The 3 % of the light beyond the kernel's border are laid evenly within it: a fifth of them.
            let found = cosines.sum::<f64>();
            println!("{period}: {found} {contrast}");
            assert!((found - contrast).abs() < 6e-3, "{period}: {found} {contrast}");
        }
    }
}
