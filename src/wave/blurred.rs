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
use std::sync::Arc;

/// The most samples a side that a spread is computed on: 4096² complex numbers are 256 MB.
const LARGEST: usize = 4096;

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
        let parts = (grid.pitch_mm() / finest_mm).ceil().clamp(1.0, 1e6);
        let pitch = grid.pitch_mm() / parts;
        let needed = 2.0 * (grid.reach_mm() + room_mm) / pitch + 2.0;
        if needed > LARGEST as f64 {
            return Err(Error::limit(
                format!(
                    "the spread of emulsion and movement over this grid takes {needed:.0} samples a \
                     side"
                ),
                format!("ask for a smaller piece of film: {LARGEST} samples are the limit"),
            ));
        }
        let size = good_length(needed as usize);
        let fine = sharp(Grid::new(size, pitch)?)?;
        let spread = multiplied(&fine.density, pitch, transfer);
        let (parts, middle) = (parts as usize, grid.size() / 2);
        // Sample (i - middle) of the grid is parts times as far from the middle of the fine one.
        let place = |i: usize| size / 2 + i * parts - middle * parts;
        let density = Array2::from_shape_fn((grid.size(), grid.size()), |(row, column)| {
            spread[[place(row), place(column)]]
        });
        Ok(Psf { density, grid, order: fine.order })
    }
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
