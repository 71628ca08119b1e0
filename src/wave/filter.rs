//! A filter along lines: the spectrum of the bells that coverage was laid with is divided out, and ended smoothly.

use super::coverage::bell;
use super::fourier::good_length;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::sync::Arc;

/// Beyond a quarter of a cycle to a cell the spectrum ends as ½ erfc((f - 3/8)/ENDING): within 1e-9 of 1 at 1/4, of 0 at 1/2.
const ENDING: f64 = 0.0298;

/// Divides the bells' spectrum out, and ends the spectrum smoothly.
pub(super) struct Filter {
    forward: Arc<dyn Fft<f64>>,
    inverse: Arc<dyn Fft<f64>>,
    gains: Vec<f64>,
}

impl Filter {
    pub(super) fn along(planner: &mut FftPlanner<f64>, count: usize) -> Filter {
        let length = good_length(count);
        let gain = |i: usize| {
            let cycles = i.min(length - i) as f64 / length as f64;
            libm::erfc((cycles - 0.375) / ENDING) / (2.0 * bell(cycles) * length as f64)
        };
        Filter {
            forward: planner.plan_fft_forward(length),
            inverse: planner.plan_fft_inverse(length),
            gains: (0..length).map(gain).collect(),
        }
    }

    /// The rows, filtered. What wraps around falls into the margins.
    pub(super) fn applied(&self, mut lines: Array2<Complex64>) -> Array2<Complex64> {
        let zero = Complex64::default();
        let scratch =
            self.forward.get_inplace_scratch_len().max(self.inverse.get_inplace_scratch_len());
        let buffers = || (vec![zero; self.gains.len()], vec![zero; scratch]);
        lines.axis_iter_mut(Axis(0)).into_par_iter().for_each_init(
            buffers,
            |(long, scratch), mut line| {
                long.fill(zero);
                long.iter_mut().zip(&line).for_each(|(to, from)| *to = *from);
                self.forward.process_with_scratch(long, scratch);
                long.iter_mut().zip(&self.gains).for_each(|(value, gain)| *value *= gain);
                self.inverse.process_with_scratch(long, scratch);
                line.iter_mut().zip(&*long).for_each(|(to, from)| *to = *from);
            },
        );
        lines
    }
}
