//! A PSF with what else spreads it: emulsion, movement.

use super::fourier::good_length;
use super::grid::Grid;
use super::psf::Psf;
use crate::error::Error;
use crate::geometry::Point;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::TAU;
use std::sync::Arc;

/// The most samples a side that a spread is computed on: 4096² complex numbers are 256 MB.
const LARGEST: usize = 4096;

/// Samples a side up to which matrix products are quicker than transforms where the factor is the same along
/// both axes (by the count of their multiplications).
const BY_PRODUCTS: usize = 512;

impl Grid {
    /// A finer grid of which every so many samples are this one's: samples no farther apart than `finest_mm`,
    /// with `room_mm` to spare on each side, and a length that is quick to transform.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when that takes more than 4096 samples a side.
    pub fn finer(self, finest_mm: f64, room_mm: f64) -> Result<Grid, Error> {
        let parts = (self.pitch_mm() / finest_mm).ceil().clamp(1.0, 1e6);
        let pitch = self.pitch_mm() / parts;
        let needed = 2.0 * (self.reach_mm() + room_mm) / pitch + 2.0;
        if needed > LARGEST as f64 {
            return Err(Error::limit(
                format!(
                    "the spread of emulsion and movement over this grid takes {needed:.0} samples a \
                     side"
                ),
                format!("ask for a smaller piece of film: {LARGEST} samples are the limit"),
            ));
        }
        Grid::new(good_length(needed as usize), pitch)
    }
}

impl Psf {
    /// The PSF on a grid, multiplied in its spectrum by `transfer`, a real and even function of the
    /// frequency along x and y in line pairs per mm. `sharp` gives the PSF without it on any grid, which
    /// must resolve it: samples no farther apart than `finest_mm`, two to its shortest wave. The grid is
    /// computed with `room_mm` to spare on each side: transforms are periodic, and what is spread beyond
    /// that comes back on the other side.
    ///
    /// # Errors
    /// As `sharp`; [`BeyondLimit`](crate::Kind::BeyondLimit) when that takes more than 4096 samples a side.
    pub fn spread(
        grid: Grid,
        finest_mm: f64,
        room_mm: f64,
        sharp: impl FnOnce(Grid) -> Result<Psf, Error>,
        transfer: impl Fn(Point) -> f64 + Sync,
    ) -> Result<Psf, Error> {
        Ok(sharp(grid.finer(finest_mm, room_mm)?)?.multiplied(grid, transfer))
    }

    /// The samples of a grid that this PSF's is a [finer](Grid::finer) one of, with their spectrum multiplied by
    /// `transfer` as by [`Psf::spread`].
    #[must_use]
    pub fn multiplied(&self, grid: Grid, transfer: impl Fn(Point) -> f64 + Sync) -> Psf {
        let spread = multiplied(&self.density, self.grid.pitch_mm(), transfer);
        let places = places(self.grid, grid);
        let density = Array2::from_shape_fn((grid.size(), grid.size()), |(row, column)| {
            spread[[places[row], places[column]]]
        });
        Psf { density, grid, order: self.order }
    }

    /// The same by a factor that is the product of one and the same function of the frequency along x and
    /// along y.
    #[must_use]
    pub fn multiplied_along_both(&self, grid: Grid, transfer: impl Fn(f64) -> f64 + Sync) -> Psf {
        let size = self.grid.size();
        if size > BY_PRODUCTS {
            return self.multiplied(grid, |[x, y]| transfer(x) * transfer(y));
        }
        let share =
            response(size, |step| transfer(step as f64 / (size as f64 * self.grid.pitch_mm())));
        let places = places(self.grid, grid);
        let weights = Array2::from_shape_fn((grid.size(), size), |(row, sample)| {
            share[places[row].abs_diff(sample)]
        });
        let density = weights.dot(&self.density).dot(&weights.t());
        Psf { density, grid, order: self.order }
    }
}

/// The samples of a fine grid that are those of a coarser one.
fn places(fine: Grid, grid: Grid) -> Vec<usize> {
    let parts = (grid.pitch_mm() / fine.pitch_mm()).round() as usize;
    let middle = grid.size() / 2;
    (0..grid.size()).map(|i| fine.size() / 2 + i * parts - middle * parts).collect()
}

/// What a sample becomes at so many samples' distance when each step of the spectrum of a periodic line of
/// `size` samples is multiplied by its factor, the same for both signs.
fn response(size: usize, factor: impl Fn(usize) -> f64) -> Vec<f64> {
    let wave: Vec<f64> = (0..size).map(|i| (TAU * i as f64 / size as f64).cos()).collect();
    let factors: Vec<f64> = (0..=size / 2)
        .map(|step| {
            let both = if step == 0 || 2 * step == size { 1.0 } else { 2.0 };
            both * factor(step) / size as f64
        })
        .collect();
    let at = |away: usize| -> f64 {
        factors.iter().enumerate().map(|(step, factor)| factor * wave[step * away % size]).sum()
    };
    (0..size).map(at).collect()
}

/// The samples with their spectrum multiplied.
fn multiplied(
    density: &Array2<f64>,
    pitch_mm: f64,
    transfer: impl Fn(Point) -> f64 + Sync,
) -> Array2<f64> {
    let size = density.nrows();
    let mut planner = FftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let mut spectrum = density.mapv(|value| Complex64::new(value, 0.0));
    transform(&mut spectrum, &forward);
    let mut spectrum = spectrum.t().as_standard_layout().into_owned();
    transform(&mut spectrum, &forward);
    let frequency = |i: usize| {
        let step = if 2 * i <= size { i as f64 } else { i as f64 - size as f64 };
        step / (size as f64 * pitch_mm)
    };
    // Rows are now those of x.
    let scale = 1.0 / (size * size) as f64;
    spectrum.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(of_x, mut row)| {
        for (of_y, value) in row.iter_mut().enumerate() {
            *value *= scale * transfer([frequency(of_x), frequency(of_y)]);
        }
    });
    transform(&mut spectrum, &inverse);
    let mut spectrum = spectrum.t().as_standard_layout().into_owned();
    transform(&mut spectrum, &inverse);
    // A sinc's lobes may leave less than nothing where there is no light.
    spectrum.mapv(|value| value.re)
}

fn transform(rows: &mut Array2<Complex64>, fft: &Arc<dyn Fft<f64>>) {
    let scratch = || vec![Complex64::default(); fft.get_inplace_scratch_len()];
    rows.axis_iter_mut(Axis(0)).into_par_iter().for_each_init(scratch, |scratch, mut row| {
        if let Some(row) = row.as_slice_mut() {
            fft.process_with_scratch(row, scratch);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::analytic::DiscOtf;
    use crate::wave::{Aperture, Distances, Light, fresnel_number};
    use std::f64::consts::PI;

    /// The density in the middle is the integral of the whole OTF, 2π ∫ H(f) T(f) f df: the closed form
    /// of a disc's H (`DiscOtf`) with a Gaussian T, wide and narrow beside the hole.
    #[test]
    fn the_middle_is_the_integral_of_the_otf() {
        let aperture = Aperture::of(&shapes::disc(0.3).unwrap());
        let (light, distances) = (Light::single(550.0).unwrap(), Distances::distant(50.0).unwrap());
        let closed = DiscOtf::default();
        let n = fresnel_number(0.15, 550.0, 50.0);
        let cut_off = 0.3 / (550e-6 * 50.0);
        for sigma in [0.02, 0.1, 1.5] {
            let gauss = |f: f64| (-2.0 * (PI * sigma * f).powi(2)).exp();
            let grid = Grid::new(65, 0.04 + sigma / 10.0).unwrap();
            let found = Psf::spread(
                grid,
                0.03,
                4.0 * sigma + 2.0,
                |fine| aperture.psf(&light, distances, fine),
                |f| gauss(f[0].hypot(f[1])),
            );
            let steps = 20_000;
            let step = cut_off / f64::from(steps);
            let integral: f64 = (0..steps)
                .map(|i| (f64::from(i) + 0.5) * step)
                .map(|f| 2.0 * PI * f * closed.at(n, f / cut_off) * gauss(f) * step)
                .sum();
            let share = found.unwrap().density[[32, 32]] / integral;
            // What wraps around is light far from the middle: a tail of a thousandth.
            assert!((share - 1.0).abs() < 1e-3, "{sigma}: {share}");
        }
    }

    /// Products and transforms do the same to a PSF of no symmetry: what is between them is rounding.
    #[test]
    fn products_do_what_transforms_do() {
        let aperture = Aperture::of(&shapes::burred_disc(0.3, 0.5, 0.2, 0.06).unwrap());
        let (light, distances) = (Light::single(550.0).unwrap(), Distances::distant(50.0).unwrap());
        for (size, finest_mm) in [(21, 0.09), (33, 0.02), (16, 0.011)] {
            let grid = Grid::new(size, 0.03).unwrap();
            let fine = grid.finer(finest_mm, 0.1).unwrap();
            let sharp = aperture.psf(&light, distances, fine).unwrap();
            let factor = |f: f64| 1.0 / (1.0 + (f / 7.0).powi(2));
            let one = sharp.multiplied(grid, |[x, y]| factor(x) * factor(y));
            let other = sharp.multiplied_along_both(grid, factor);
            let most = (&one.density - &other.density).iter().fold(0.0f64, |m, d| m.max(d.abs()));
            assert!(most < 1e-13 * one.peak(), "{size}: {most:e}");
        }
    }

    #[test]
    fn no_spread_changes_nothing() {
        let aperture = Aperture::of(&shapes::burred_disc(0.3, 0.5, 0.2, 0.06).unwrap());
        let (light, distances) = (Light::single(550.0).unwrap(), Distances::distant(50.0).unwrap());
        for size in [32, 33] {
            let grid = Grid::new(size, 0.02).unwrap();
            let sharp = aperture.psf(&light, distances, grid).unwrap();
            let same =
                Psf::spread(grid, 0.01, 0.0, |fine| aperture.psf(&light, distances, fine), |_| 1.0);
            let difference = &same.unwrap().density - &sharp.density;
            // Another grid asks for another quadrature: twice the tolerance of 1e-7.
            let most = difference.iter().fold(0.0f64, |most, d| most.max(d.abs()));
            assert!(most < 2e-7 * sharp.peak(), "{most}");
        }
    }
}
