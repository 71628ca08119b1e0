//! The PSF as a film pixel sees it: this hole in this camera, gathered over the pixels of a preview.

use super::kernel::Kernel;
use crate::camera::{Camera, point_image};
use crate::error::Error;
use crate::geometry::Outline;
use crate::wave::{Grid, MM_PER_NM, energy_beyond};
use ndarray::Array2;

/// The share of the light that may fall outside the kernel. It is spread over what is inside, which
/// changes no contrast by more than this.
const LEFT_OUT: f64 = 0.01;
/// Pixels from the middle to the rim of the largest kernel.
const FARTHEST_PX: usize = 200;
/// The finest division of a pixel.
const FINEST: usize = 31;
/// Samples a side of the grid that is gathered into pixels: 128 MB.
const MOST_SAMPLES: usize = 4096;

/// The kernel that forms the upright picture of a camera with film pixels of `pixel_mm`.
///
/// Each weight is the PSF's energy on that pixel, by samples so close that the PSF's own band (the
/// hole's width over λv) is resolved. The picture is shown upright, that is the film turned by half
/// a turn, so the PSF is turned with it.
///
/// # Errors
/// As [`point_image::psf`].
pub fn film_kernel(camera: &Camera, outline: &Outline, pixel_mm: f64) -> Result<Kernel, Error> {
    let film_mm = camera.distances.film_mm();
    let (low, high) = outline.bounds_mm();
    let width = (high[0] - low[0]).max(high[1] - low[1]);
    // e holds frequencies up to width/(λv); three samples to the shortest wave of it.
    let finest_mm = camera.light.shortest_nm() * MM_PER_NM * film_mm / (3.0 * width);
    // The tail is energy_beyond(R) = constant / R; the shadow is added to be safe.
    let tail_mm = energy_beyond(outline, &camera.light, film_mm, 1.0) / LEFT_OUT;
    let reach_mm = tail_mm + point_image::extent_mm(camera, outline);
    let reach_px = ((reach_mm / pixel_mm).ceil() as usize).clamp(2, FARTHEST_PX);
    let side = 2 * reach_px + 1;
    // Odd, so that a sample lies in the middle of each pixel.
    let most = ((MOST_SAMPLES / side).max(2) - 1) | 1;
    let parts = ((pixel_mm / finest_mm).ceil() as usize | 1).min(FINEST).min(most);
    let grid = Grid::new(side * parts, pixel_mm / parts as f64)?;
    let psf = point_image::psf(camera, outline, grid)?;
    // Half a turn, then rows from the top: rows stay (low y comes to the top), columns turn over.
    let mut light = Array2::zeros((side, side));
    for ((row, column), energy) in psf.density.indexed_iter() {
        light[[row / parts, side - 1 - column / parts]] += energy;
    }
    Kernel::new(&light)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// A hole far to the right and up, seen from inside: its light falls to the right and up on the
    /// film, which in the upright picture is to the left and down.
    #[test]
    fn the_picture_is_the_film_turned_by_half_a_turn() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.3).unwrap().moved(1.0, 0.5);
        let kernel = film_kernel(&camera, &hole, 0.1).unwrap();
        let weights = kernel.weights();
        let centre = weights.nrows() / 2;
        let place = weights
            .indexed_iter()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .map(|((row, column), _)| (row, column))
            .unwrap();
        assert_eq!(place, (centre + 5, centre - 10));
    }

    /// Coarse pixels gather what fine ones hold.
    #[test]
    fn pixels_gather_the_energy_on_them() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::burred_disc(0.36, 0.6, 0.2, 0.06).unwrap();
        let fine = film_kernel(&camera, &hole, 0.05).unwrap();
        let coarse = film_kernel(&camera, &hole, 0.15).unwrap();
        let (f, c) = (fine.weights().nrows() / 2, coarse.weights().nrows() / 2);
        let gathered: f32 = (0..9).map(|i| fine.weights()[[f - 1 + i / 3, f - 1 + i % 3]]).sum();
        // The two cut the tail at slightly different places: a share of the 1 % left out.
        assert!((gathered / coarse.weights()[[c, c]] - 1.0).abs() < 5e-3);
    }
}
