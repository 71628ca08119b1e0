//! Wide fields by Fourier transforms.
//!
//! Matrix products cost as the cube of the film's width in rings; beyond some hundred rings a fast
//! Fourier transform of the sampled hole is quicker. The hole is sampled through smooth bells
//! ([`super::coverage`]), the bells' spectrum is divided out up to a smooth end beyond the film's
//! edge, the waves' curvature is multiplied on, and one transform along y and one along x give the
//! field. Only the lines that hold something are transformed: those across the hole, then those on
//! the film. The sampling is chosen so that the film is exactly the asked one at every wavelength.

use super::aperture::Aperture;
use super::coverage::Coverage;
use super::filter::Filter;
use super::fourier::good_length;
use super::grid::Grid;
use super::light::{Distances, Light, Wave};
use super::psf::Psf;
use crate::error::Error;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::sync::Arc;

/// The share of the sampling frequency out to which the spectrum is exact; the bells fold back by
/// less than (1/4)/(3/4) to the eighth there, and far less in the middle.
const PASSED: f64 = 0.25;
/// Cells beyond the rim that this end makes ring, down to exp(-(π ENDING MARGIN)²) = 2e-9.
const MARGIN: usize = 48;
/// Complex numbers of 16 bytes that may be held: 2 GiB.
const MOST_SAMPLES: usize = 1 << 27;

impl Aperture {
    /// The PSF over a wide field, by Fourier transforms of the exactly sampled hole. In the middle it
    /// agrees with [`Aperture::psf`] to better than 1e-6 of the peak (in tests); far out the tail
    /// keeps its own digits.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the hole is too large for its distance, or the samples do not fit into
    /// 2 GiB.
    pub fn wide_psf(&self, light: &Light, distances: Distances, grid: Grid) -> Result<Psf, Error> {
        self.model_holds(light, distances)?;
        let waves = light.lines().iter().map(|&(nm, share)| (distances.wave(nm), share));
        let samplings: Vec<(Sampling, Wave, f64)> =
            waves.map(|(wave, share)| (Sampling::of(self, wave, grid), wave, share)).collect();
        for (sampling, _, _) in &samplings {
            sampling.check(self, grid)?;
        }
        let mut density = grid.dark();
        let mut order = 0;
        for (sampling, wave, share) in samplings {
            order = order.max((2.0 * self.half_width_mm() / sampling.pitch_mm) as usize);
            sampling.add_to(&mut density, self, wave, share);
        }
        Ok(Psf { density, grid, order })
    }
}

/// How a hole is sampled so that its transform falls on the film's grid.
struct Sampling {
    /// Between the samples in the hole.
    pitch_mm: f64,
    /// Samples of a transform.
    length: usize,
    /// Steps of the transform to one of the film.
    stride: usize,
}

impl Sampling {
    fn of(aperture: &Aperture, wave: Wave, grid: Grid) -> Sampling {
        let [x, y] = aperture.centre_mm();
        let width = 2.0 * aperture.half_width_mm();
        let steepest = aperture.metric().largest() + aperture.metric().xy.abs();
        let magnification = wave.spread_mm2 * wave.curvature_per_mm2 * steepest;
        let shadow = magnification * (width / 2.0 + x.abs().max(y.abs()));
        let passed = |beyond: f64| PASSED * wave.spread_mm2 / (grid.reach_mm() + shadow + beyond);
        let margin = (MARGIN + 8) as f64;
        let coarse = passed(0.0).min(width / 16.0);
        let pitch_mm = passed(magnification * margin * coarse).min(coarse);
        // The period of the film's samples in the hole must hold the hole and its margins.
        let extent = width + 2.0 * margin * pitch_mm;
        let stride = (grid.pitch_mm() * extent / wave.spread_mm2).ceil().max(1.0);
        let period = wave.spread_mm2 * stride / grid.pitch_mm();
        let length = good_length((period / pitch_mm).min(1e9) as usize + 1);
        Sampling { pitch_mm: period / length as f64, length, stride: stride as usize }
    }

    fn check(&self, aperture: &Aperture, grid: Grid) -> Result<(), Error> {
        let across = 2.0 * aperture.half_width_mm() / self.pitch_mm + 2.0 * (MARGIN + 8) as f64;
        let samples = 2.0 * across * grid.size() as f64 + across * across;
        if samples <= MOST_SAMPLES as f64 {
            return Ok(());
        }
        let smaller = grid.size() as f64 * (MOST_SAMPLES as f64 / samples).sqrt();
        Err(Error::limit(
            format!("this field would take {samples:.1e} complex samples: more than 2 GiB"),
            format!("about {:.0} samples a side at this pitch would fit", smaller.floor()),
        ))
    }

    fn add_to(&self, film: &mut Array2<f64>, aperture: &Aperture, wave: Wave, share: f64) {
        let mut planner = FftPlanner::new();
        let coverage = Coverage::of(aperture.outline(), self.pitch_mm, MARGIN);
        // Along y first: (column of the hole, row), so that a line lies together in memory.
        let lines = Filter::along(&mut planner, coverage.open.nrows())
            .applied(coverage.open.t().mapv(|open| Complex64::new(open, 0.0)));
        let lines = Filter::along(&mut planner, coverage.open.ncols())
            .applied(lines.t().as_standard_layout().into_owned());
        let mut lines = lines.t().as_standard_layout().into_owned();
        self.curve(&mut lines, aperture, &coverage, wave);
        let transform = planner.plan_fft_forward(self.length);
        let along_y = self.transformed(&transform, &lines, film.nrows());
        let along_y = along_y.t().as_standard_layout().into_owned();
        let cell = self.pitch_mm * self.pitch_mm;
        let scale = share * cell * cell / (wave.spread_mm2.powi(2) * aperture.area_mm2());
        let fields = self.transformed(&transform, &along_y, film.ncols());
        film.zip_mut_with(&fields, |sum, field| *sum += scale * field.norm_sqr());
    }

    /// Multiplies the waves' curvature, or their very paths, on to the samples: (column, row).
    fn curve(
        &self,
        lines: &mut Array2<Complex64>,
        aperture: &Aperture,
        coverage: &Coverage,
        wave: Wave,
    ) {
        let place = |axis: usize, i: usize| coverage.first_mm[axis] + i as f64 * self.pitch_mm;
        if let Some(exact) = aperture.exact() {
            let turn = exact.turn_per_mm(wave);
            lines.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(
                |(column, mut line)| {
                    for (row, value) in line.iter_mut().enumerate() {
                        *value *= exact.wave_at([place(0, column), place(1, row)], turn);
                    }
                },
            );
            return;
        }
        let (metric, turn) = (aperture.metric(), PI * wave.curvature_per_mm2);
        let curvature = |axis: usize, form: f64, count: usize| -> Vec<Complex64> {
            let phase = |i: usize| turn * form * place(axis, i).powi(2);
            (0..count).map(|i| Complex64::cis(phase(i))).collect()
        };
        let of_x = curvature(0, metric.xx, lines.nrows());
        let of_y = curvature(1, metric.yy, lines.ncols());
        for ((column, row), value) in lines.indexed_iter_mut() {
            *value *= of_x[column] * of_y[row];
        }
        if metric.xy != 0.0 {
            for ((column, row), value) in lines.indexed_iter_mut() {
                let product = place(0, column) * place(1, row);
                *value *= Complex64::cis(2.0 * turn * metric.xy * product);
            }
        }
    }

    /// Each row's transform at `count` steps of the film about the middle. The place of the first
    /// sample leaves only a phase, which no density sees.
    fn transformed(
        &self,
        transform: &Arc<dyn Fft<f64>>,
        lines: &Array2<Complex64>,
        count: usize,
    ) -> Array2<Complex64> {
        let mut found = Array2::zeros((lines.nrows(), count));
        let zero = Complex64::default();
        let buffers = || (vec![zero; self.length], vec![zero; transform.get_inplace_scratch_len()]);
        found.axis_iter_mut(Axis(0)).into_par_iter().zip(lines.axis_iter(Axis(0))).for_each_init(
            buffers,
            |(long, scratch), (mut found, line)| {
                long.fill(zero);
                long.iter_mut().zip(line).for_each(|(to, from)| *to = *from);
                transform.process_with_scratch(long, scratch);
                for (i, value) in found.iter_mut().enumerate() {
                    let step = (i * self.stride) as isize - (count / 2 * self.stride) as isize;
                    *value = long[step.rem_euclid(self.length as isize) as usize];
                }
            },
        );
        found
    }
}
