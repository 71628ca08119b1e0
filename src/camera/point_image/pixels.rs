//! A point image on the pixels of a picture, and the lengths by which grids are chosen.
//!
//! A pixel of a picture is the mean of the light over it. The scene is laid on the pixels by such means already, so
//! the point image adds none: it is sampled, and a wave keeps the contrast that the OTF gives it.

use super::PointImage;
use crate::error::Error;
use crate::wave::{Grid, Light, MM_PER_NM, Psf, Shadow};
use std::f64::consts::PI;

/// Waves of so many cycles a pixel are kept whole, and from so many on, which would come back as 0.35, not at all. As much
/// below a half as above it: what is lost of a wave then comes back from its mirror image, and a point of light far
/// smaller than a pixel stays one.
const WHOLE: f64 = 0.35;
const NONE: f64 = 0.65;

/// How much of a wave of so many cycles a pixel is kept. In between it falls as a squared cosine, gently
/// enough not to ring.
fn shown(cycles: f64) -> f64 {
    let beyond = ((cycles - WHOLE) / (NONE - WHOLE)).clamp(0.0, 1.0);
    (beyond * PI / 2.0).cos().powi(2)
}

impl PointImage {
    /// The PSF in several lights, each on its own grid, as a sum over the samples of a picture takes it: what is finer
    /// than such samples can show fades out, or it would pass for coarser contrast.
    ///
    /// # Errors
    /// As [`PointImage::psf`].
    pub fn psfs_on_pixels(&self, wanted: &[(&Light, Grid)]) -> Result<Vec<Psf>, Error> {
        let half_width_mm = self.aperture().half_width_mm();
        let fine: Vec<(&Light, Grid)> = wanted
            .iter()
            .map(|(light, grid)| {
                let finest_mm = self.finest_in(light, half_width_mm);
                Ok((*light, grid.finer(finest_mm, self.blur.extent_mm())?))
            })
            .collect::<Result<_, Error>>()?;
        let sharp = self.patch().psfs(&fine)?;
        Ok(sharp.iter().zip(wanted).map(|(psf, (_, grid))| self.on_pixels(psf, *grid)).collect())
    }

    fn on_pixels(&self, fine: &Psf, grid: Grid) -> Psf {
        let pixel = |f: f64| shown(f.abs() * grid.pitch_mm());
        if self.blur.is_along_each() {
            return fine.multiplied_along_both(grid, |f| self.blur.transfer([f, 0.0]) * pixel(f));
        }
        fine.multiplied(grid, |f| self.blur.transfer(f) * pixel(f[0]) * pixel(f[1]))
    }

    /// The same of a hole of many zones, whose waves are far finer than a pixel: by the OTF of its shadow, on
    /// a grid of an odd number of samples. What light falls beyond the grid comes back on its other side.
    pub fn shadow_on_pixels(&self, grid: Grid) -> Psf {
        let pixel_mm = grid.pitch_mm();
        let pixel = |f: f64| shown(f.abs() * pixel_mm);
        let shadow = Shadow::of(&self.seen, self.distances);
        // A step on the film d is M d across the ray: a wave f·d is one of M⁻ᵀ f there.
        let to_ray = self.film_to_ray.inverted().transposed();
        Psf::from_otf(grid, NONE, |y, first, step, count| {
            let (first_seen, step_seen) = (to_ray.of([first, y]), to_ray.of([step, 0.0]));
            let mut row = shadow.otf(&self.light, first_seen, step_seen, count);
            for (i, value) in row.iter_mut().enumerate() {
                let f = [first + i as f64 * step, y];
                *value *= self.blur.transfer(f) * pixel(f[0]) * pixel(f[1]);
            }
            row
        })
    }

    /// The largest share of the contrast on such pixels that [`PointImage::shadow_on_pixels`] has wrong.
    pub fn shadow_error(&self, pixel_mm: f64) -> f64 {
        let stretched = self.film_to_ray.inverted();
        let steepest = stretched.of_x.into_iter().chain(stretched.of_y).map(f64::abs);
        let frequency = WHOLE / pixel_mm * steepest.fold(1.0, f64::max);
        Shadow::of(&self.seen, self.distances).left_out(&self.light, frequency)
    }

    /// Samples no farther apart than this hold all of the PSF: its frequencies end at width/(λR).
    pub fn finest_mm(&self) -> f64 {
        self.finest_in(&self.light, self.aperture().half_width_mm())
    }

    fn finest_in(&self, light: &Light, half_width_mm: f64) -> f64 {
        let wave = light.shortest_nm() * MM_PER_NM * self.distances.film_mm();
        wave / (4.0 * half_width_mm)
    }

    /// The radius of the first dark ring of a far disc of the open area at the mean wavelength, plus the
    /// hole's own shadow, drawn out by the slant of the film: a length that the point image never much
    /// exceeds, in mm. For choosing grids.
    pub fn extent_mm(&self) -> f64 {
        let diameter = self.seen.equivalent_diameter_mm();
        let film_mm = self.distances.film_mm();
        // First zero of J1 over π: `DLMF`, 10.21.
        let ring = 1.219_67 * self.light.mean_nm() * MM_PER_NM * film_mm / diameter;
        let shadow = self.distances.shadow_magnification() * diameter / 2.0;
        (ring + shadow) / self.place.film_angle_rad().cos() + self.blur.extent_mm()
    }
}
