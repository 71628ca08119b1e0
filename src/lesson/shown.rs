//! What lessons show in the same way: the image of a point as a map, and a part of a scene.

use crate::camera::Camera;
use crate::error::Error;
use crate::figure::diagram::Picture;
use crate::geometry::Outline;
use crate::picture::{Scene, film_kernels, form};
use crate::raster::{Raster, display};
use crate::task::preview::film_pixels;
use crate::wave::Psf;
use image::{Rgb, RgbImage};
use ndarray::Axis;

/// How light becomes brightness on a map.
#[derive(Debug, Clone, Copy)]
pub(super) enum Brightness {
    /// In proportion.
    Linear,
    /// By its logarithm, four decades down from the brightest.
    Logarithmic,
}

impl Brightness {
    /// 0 to 1 for a share of the brightest.
    fn of(self, share: f64) -> f64 {
        const DECADES: f64 = 4.0;
        match self {
            Brightness::Linear => share.clamp(0.0, 1.0),
            Brightness::Logarithmic => {
                let along = 1.0 + share.log10() / DECADES;
                if along.is_finite() { along.clamp(0.0, 1.0) } else { 0.0 }
            }
        }
    }
}

/// A map of the light of a point, y up; `peak` is the density that is drawn brightest.
pub(super) fn map(psf: &Psf, peak: f64, brightness: Brightness) -> Picture {
    let (rows, columns) = psf.density.dim();
    let image = RgbImage::from_fn(columns as u32, rows as u32, |column, row| {
        let light = psf.density[[rows - 1 - row as usize, column as usize]];
        let colour = colorous::INFERNO.eval_continuous(brightness.of(light / peak));
        Rgb([colour.r, colour.g, colour.b])
    });
    let width_mm = columns as f64 * psf.grid().pitch_mm();
    Picture { image, smooth: true, scale: Some((width_mm, " on the film")), circles_mm: Vec::new() }
}

/// Pixels along the film's longer side, and the part of the scene that is shown: left, top, width and height
/// as shares of it.
const LONGEST: usize = 1400;
const PART: [f64; 4] = [0.45, 0.42, 0.3, 0.3];

/// A part of the built-in landscape, near enough to the middle of the film for one point image to hold.
pub(super) struct Detail {
    light: Raster,
    film_pixels: [usize; 2],
    width_mm: f64,
}

impl Detail {
    pub(super) fn of(camera: &Camera) -> Result<Detail, Error> {
        let (columns, rows) = film_pixels(camera, LONGEST);
        let mut light = Scene::Landscape.drawn(columns, rows)?;
        let [left, top, wide, high] = PART;
        for (axis, from, share, pixels) in [(1, top, high, rows), (2, left, wide, columns)] {
            let at = |share: f64| (share * pixels as f64) as usize;
            let start = at(from).min(pixels - 1);
            let end = (start + at(share).max(1)).min(pixels);
            light.linear.slice_axis_inplace(Axis(axis), (start..end).into());
        }
        let width_mm = camera.film.width_mm * light.columns() as f64 / columns as f64;
        Ok(Detail { light, film_pixels: [columns, rows], width_mm })
    }

    /// Its width on the film.
    pub(super) fn width_mm(&self) -> f64 {
        self.width_mm
    }

    /// Its picture through a hole, at equal exposure.
    pub(super) fn through(&self, camera: &Camera, hole: &Outline) -> Result<Picture, Error> {
        let kernels = film_kernels(camera, hole, self.film_pixels, [1, 1])?;
        let image = display(&form(&self.light, &kernels))?;
        let scale = Some((self.width_mm, " on the film"));
        Ok(Picture { image, smooth: false, scale, circles_mm: Vec::new() })
    }
}
