//! The image on the film: the light of a scene as it falls there, and as the camera's medium tells its
//! colours apart.

use super::bands::shares;
use super::film_kernels::{film_kernels, on_film};
use super::form::{Store, add_channel};
use super::kernel_grid::KernelGrid;
use crate::camera::{Camera, closed_per_mm, rims_apart_mm};
use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::{Raster, between};
use crate::watch::{Step, Watch};
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Array3, ArrayViewMut2, Axis};

/// Steps of the film along its longer side between which the fall-off of light is interpolated: it is
/// smooth, and a step's square is small.
const FALL_OFF_STEPS: usize = 64;

/// Steps between which what the plate closes is interpolated: the overlap of its rims costs more.
const CLOSED_STEPS: usize = 2;

/// Returns the columns and rows of a picture of the camera's film whose longer side has `longest` pixels.
pub fn film_pixels(camera: &Camera, longest: usize) -> (usize, usize) {
    let (width, height) = (camera.film.width_mm, camera.film.height_mm);
    let pixels = |side: f64| ((side / width.max(height) * longest as f64).round() as usize).max(1);
    (pixels(width), pixels(height))
}

/// Returns the perfect image as the camera's medium sees it, with the light's fall-off over the film behind a
/// thin plate.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn perfect(camera: &Camera, image: &Raster) -> Result<Raster, Error> {
    let fall_off = FallOff::of(camera, None, image)?;
    on_medium(camera, image, Some(&fall_off), |light, _, mut to, _| {
        to += light;
        Ok(())
    })
}

/// Returns the picture of a perfect image through a hole as the camera's medium has it, with the light that the
/// hole lets come to each place.
///
/// # Errors
/// As [`crate::camera::Film::place`]; a stop by the watcher.
pub(crate) fn taken(
    camera: &Camera,
    outline: &Outline,
    image: &Raster,
    kernels: &KernelGrid,
    watch: Watch,
) -> Result<Raster, Error> {
    let fall_off = FallOff::of(camera, Some(outline), image)?;
    formed(camera, image, Some(&fall_off), kernels, watch)
}

/// Returns a part of a perfect image through a hole as the middle of the film has it: all of it by the image
/// of a point there, in the middle's light. The whole film is `film_px` columns and rows.
///
/// # Errors
/// As [`film_kernels`].
pub fn in_the_middle(
    camera: &Camera,
    outline: &Outline,
    part: &Raster,
    film_px: [usize; 2],
) -> Result<Raster, Error> {
    let kernels = film_kernels(camera, outline, film_px, [1, 1], Watch::nobody())?;
    formed(camera, part, None, &kernels, Watch::nobody())
}

fn formed(
    camera: &Camera,
    image: &Raster,
    fall_off: Option<&FallOff>,
    kernels: &KernelGrid,
    watch: Watch,
) -> Result<Raster, Error> {
    let mut store = Store::default();
    on_medium(camera, image, fall_off, |light, channel, to, [from, until]| {
        add_channel(&light.view(), kernels, channel, to, &mut store, |done| {
            watch.is_at(Step::Picture, from + done * (until - from))
        })
    })
}

/// The picture on the camera's medium, which tells the image's colours apart or adds them up by the light that
/// each brings; `add` adds to it what becomes of one channel's light, and knows from where to where that takes the
/// work. What the medium does not see is left out.
fn on_medium(
    camera: &Camera,
    image: &Raster,
    fall_off: Option<&FallOff>,
    mut add: impl FnMut(&Array2<f32>, usize, ArrayViewMut2<f32>, [f64; 2]) -> Result<(), Error>,
) -> Result<Raster, Error> {
    let (channels, rows, columns) = image.linear.dim();
    let parts: Vec<(usize, usize, f64)> = if camera.in_colour {
        (0..channels).map(|channel| (channel, channel, 1.0)).collect()
    } else {
        let seen = shares(&camera.light).into_iter().enumerate().filter(|(_, share)| *share > 0.0);
        seen.map(|(channel, share)| (channel, 0, share)).collect()
    };
    let mut linear = Array3::zeros((if camera.in_colour { channels } else { 1 }, rows, columns));
    if linear.is_empty() {
        return Ok(Raster { linear });
    }
    let count = parts.len() as f64;
    for (i, (channel, to, share)) in parts.into_iter().enumerate() {
        let mut light = image.linear.index_axis(Axis(0), channel.min(channels - 1)).to_owned();
        match fall_off {
            Some(fall_off) => fall_off.dim(&mut light, share as f32),
            None => light.mapv_inplace(|value| value * share as f32),
        }
        let shares = [i, i + 1].map(|part| part as f64 / count);
        add(&light, channel.min(2), linear.index_axis_mut(Axis(0), to), shares)?;
    }
    Ok(Raster { linear })
}

/// The light that comes to each place of the film against its middle.
struct FallOff {
    /// At every so many pixels, and at the picture's ends.
    at_steps: Array2<f64>,
    step: usize,
}

impl FallOff {
    /// Through a hole or, without one, past a thin plate.
    fn of(camera: &Camera, outline: Option<&Outline>, image: &Raster) -> Result<FallOff, Error> {
        let (_, rows, columns) = image.linear.dim();
        let pixel_mm = camera.film.width_mm / columns as f64;
        let step = columns.max(rows).div_ceil(FALL_OFF_STEPS).max(1);
        let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        let place = |row: usize, column: usize, step: usize| {
            let corner = [(column * step).min(columns) as f64, (row * step).min(rows) as f64];
            let [x, y] = on_film(corner, columns, rows, pixel_mm);
            camera.place([x.clamp(-half[0], half[0]), y.clamp(-half[1], half[1])])
        };
        let over_film =
            |step: usize, light: &(dyn Fn(usize, usize) -> Result<f64, Error> + Sync)| {
                let (across, down) = (columns.div_ceil(step) + 1, rows.div_ceil(step) + 1);
                let light: Result<Vec<f64>, Error> = (0..across * down)
                    .into_par_iter()
                    .map(|node| light(node / across, node % across))
                    .collect();
                Ok::<_, Error>(Array2::from_shape_vec((down, across), light?).unwrap_or_default())
            };
        let wide = CLOSED_STEPS * step;
        let closed = match outline.filter(|_| camera.plate_mm > 0.0) {
            Some(outline) => Some(over_film(wide, &|row, column| {
                Ok(closed_per_mm(camera, outline, &place(row, column, wide)?))
            })?),
            None => None,
        };
        let at_steps = over_film(step, &|row, column| {
            let here = place(row, column, step)?;
            // The last step ends at the picture's edge.
            let at = |i: usize, pixels: usize| {
                let pixel = (i * step).min(pixels);
                let first = pixel / wide * wide;
                let length = wide.min(pixels - first).max(1) as f64;
                (pixel / wide) as f64 + (pixel - first) as f64 / length
            };
            let open = closed.as_ref().map_or(1.0, |closed| {
                let closed = between(closed, [at(column, columns), at(row, rows)]);
                (1.0 - closed * rims_apart_mm(camera, &here)).max(0.0)
            });
            Ok(here.irradiance() * open)
        })?;
        Ok(FallOff { at_steps, step })
    }

    /// Multiplies a channel's light by it and by `share`: straight lines from step to step, of which the last
    /// ends at the picture's edge.
    fn dim(&self, light: &mut Array2<f32>, share: f32) {
        let rows = light.nrows();
        light.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(row, mut light)| {
            let upper = row / self.step;
            let first = upper * self.step;
            let down = ((row - first) as f64 + 0.5) / self.step.min(rows - first) as f64;
            let at = |i: usize| {
                let [from, to] = [upper, upper + 1].map(|row| self.at_steps[[row, i]]);
                from + (to - from) * down
            };
            for (i, mut light) in light.axis_chunks_iter_mut(Axis(0), self.step).enumerate() {
                let (from, to) = (at(i) as f32 * share, at(i + 1) as f32 * share);
                let each = (to - from) / light.len() as f32;
                for (pixel, value) in light.iter_mut().enumerate() {
                    *value *= from + each * (pixel as f32 + 0.5);
                }
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::analytic::DiscOtf;
    use crate::wave::{Light, MM_PER_NM, fresnel_number};
    use std::f64::consts::TAU;

    /// The light at pixels is that of their places, through a plate that closes a burred hole more on one side.
    #[test]
    fn light_falls_off_as_at_single_places() {
        let mut camera = Camera::demonstration().unwrap();
        let hole = shapes::burred_disc(0.36, 0.6, 0.2, 0.06).unwrap();
        let (columns, rows) = (190, 153);
        let even = Raster { linear: Array3::ones((1, rows, columns)) };
        for plate_mm in [0.0, 0.05, 0.2] {
            camera.plate_mm = plate_mm;
            let fall_off = FallOff::of(&camera, Some(&hole), &even).unwrap();
            let mut lit = Array2::<f32>::ones((rows, columns));
            fall_off.dim(&mut lit, 1.0);
            let pixel_mm = camera.film.width_mm / columns as f64;
            for (row, column) in (0..rows * columns).step_by(97).map(|i| (i / columns, i % columns))
            {
                let at = on_film([column as f64 + 0.5, row as f64 + 0.5], columns, rows, pixel_mm);
                let light = crate::camera::exposure::irradiance(&camera, &hole, at).unwrap();
                let error = (f64::from(lit[[row, column]]) - light).abs();
                // Straight lines over steps of 2 mm, film that ends within its last pixel, and the cone about
                // the middle: a quarter of (4/π) t tan θ/d there.
                assert!(error < 1e-3 + 0.015 * plate_mm, "{plate_mm} {row} {column}: {error}");
            }
        }
    }

    /// Lines of a sine keep of their contrast what the closed form of a disc's OTF says.
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
            let contrast = DiscOtf::default().at(n, sigma);
            // The 3 % of the light beyond the kernel's border are laid evenly within it: a fifth of them.
            let found = cosines.sum::<f64>();
            println!("{period}: {found} {contrast}");
            assert!((found - contrast).abs() < 6e-3, "{period}: {found} {contrast}");
        }
    }
}
