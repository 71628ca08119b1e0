//! Least squares with numbers of unlike size that may run into their bounds (`Levenberg1944`,
//! `Marquardt1963`).

use crate::geometry::solve;

/// A step of the finite differences, on parameters of order one.
const STEP: f64 = 1e-4;
/// Damping beyond this moves nothing any more.
const MOST_DAMPING: f64 = 1e8;
/// A step that lowers the sum by less than this is the last.
const SETTLED: f64 = 1e-4;

/// Parameters within bounds, of which some are held.
pub(super) struct Problem<'a, const N: usize> {
    pub(super) residuals: &'a dyn Fn(&[f64; N], &mut Vec<f64>),
    pub(super) bounds: [[f64; 2]; N],
    pub(super) held: [bool; N],
}

/// What a fit has found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fit<const N: usize> {
    pub(super) at: [f64; N],
    /// The sum of the squared residuals.
    pub(super) sum: f64,
    /// JᵀJ there; the rows of what is held are those of the unit matrix.
    normal: [[f64; N]; N],
    held: [bool; N],
}

impl<const N: usize> Problem<'_, N> {
    /// Goes down from a start, in at most so many steps.
    pub(super) fn fit(&self, start: [f64; N], steps: usize) -> Fit<N> {
        let mut at = self.within(start);
        let mut residuals = self.at(&at);
        let mut sum = square(&residuals);
        let (mut normal, mut gradient) = self.normal(&at, &residuals);
        let mut damping = 1e-2;
        for _ in 0..steps {
            let (mut damped, mut downhill) = (normal, gradient);
            for i in 0..N {
                damped[i][i] += damping * normal[i][i].max(1e-6);
                // What stands at a bound and would leave it stays there in this step.
                let [low, high] = self.bounds[i];
                if (at[i] <= low && gradient[i] > 0.0) || (at[i] >= high && gradient[i] < 0.0) {
                    (0..N).for_each(|j| (damped[i][j], damped[j][i]) = (0.0, 0.0));
                    (damped[i][i], downhill[i]) = (1.0, 0.0);
                }
            }
            let Some(step) = solve(damped, downhill) else { break };
            let next = self.within(std::array::from_fn(|i| at[i] - step[i]));
            let tried = self.at(&next);
            let lower = square(&tried);
            if lower < sum {
                let gain = sum - lower;
                (at, residuals, sum) = (next, tried, lower);
                (normal, gradient) = self.normal(&at, &residuals);
                damping = (damping / 5.0).max(1e-9);
                if gain < SETTLED {
                    break;
                }
            } else {
                damping *= 6.0;
                if damping > MOST_DAMPING {
                    break;
                }
            }
        }
        Fit { at, sum, normal, held: self.held }
    }

    fn at(&self, at: &[f64; N]) -> Vec<f64> {
        let mut residuals = Vec::with_capacity(128);
        (self.residuals)(at, &mut residuals);
        residuals
    }

    fn within(&self, at: [f64; N]) -> [f64; N] {
        std::array::from_fn(|i| at[i].clamp(self.bounds[i][0], self.bounds[i][1]))
    }

    /// JᵀJ and Jᵀr, by differences away from the nearer bound.
    fn normal(&self, at: &[f64; N], residuals: &[f64]) -> ([[f64; N]; N], [f64; N]) {
        let slopes: [Vec<f64>; N] = std::array::from_fn(|i| {
            if self.held[i] {
                return Vec::new();
            }
            let step = if at[i] + STEP > self.bounds[i][1] { -STEP } else { STEP };
            let mut moved = *at;
            moved[i] += step;
            let mut slope = self.at(&moved);
            slope.iter_mut().zip(residuals).for_each(|(to, from)| *to = (*to - from) / step);
            slope
        });
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let (mut normal, mut gradient) = ([[0.0; N]; N], [0.0; N]);
        for i in 0..N {
            if self.held[i] {
                normal[i][i] = 1.0;
                continue;
            }
            gradient[i] = dot(&slopes[i], residuals);
            for j in (0..=i).filter(|j| !self.held[*j]) {
                normal[i][j] = dot(&slopes[i], &slopes[j]);
                normal[j][i] = normal[i][j];
            }
        }
        (normal, gradient)
    }
}

impl<const N: usize> Fit<N> {
    /// The variance of a function of the parameters that are not held, by its slopes there.
    pub(super) fn variance_of(&self, function: impl Fn(&[f64; N]) -> f64) -> f64 {
        let here = function(&self.at);
        let slopes: [f64; N] = std::array::from_fn(|i| {
            if self.held[i] {
                return 0.0;
            }
            let mut moved = self.at;
            moved[i] += STEP;
            (function(&moved) - here) / STEP
        });
        let Some(spread) = solve(self.normal, slopes) else { return f64::INFINITY };
        spread.iter().zip(slopes).map(|(a, b)| a * b).sum::<f64>().max(0.0)
    }
}

fn square(residuals: &[f64]) -> f64 {
    let sum: f64 = residuals.iter().map(|r| r * r).sum();
    if sum.is_finite() { sum } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact numbers of a decaying exponential give its three parameters back; of a straight line
    /// y = p + q x with unit errors at x = -1, 0, 1, var(p) = 1/3 and var(q) = 1/2.
    #[test]
    fn curves_are_found_again_with_their_variances() {
        let places = || (0..20).map(|i| 0.3 * f64::from(i));
        let residuals = |p: &[f64; 3], out: &mut Vec<f64>| {
            out.extend(
                places().map(|x| p[0] + p[1] * (-x / p[2]).exp() - (0.2 + 1.5 * (-x / 0.8).exp())),
            );
        };
        let problem = Problem {
            residuals: &residuals,
            bounds: [[-5.0, 5.0], [-5.0, 5.0], [0.1, 5.0]],
            held: [false; 3],
        };
        let found = problem.fit([0.0, 1.0, 2.0], 60);
        for (found, truth) in found.at.iter().zip([0.2, 1.5, 0.8]) {
            assert!((found - truth).abs() < 1e-3, "{found} {truth}");
        }
        let line = |p: &[f64; 2], out: &mut Vec<f64>| {
            out.extend([-1.0, 0.0, 1.0].map(|x| p[0] + p[1] * x - x));
        };
        let problem = Problem { residuals: &line, bounds: [[-9.0, 9.0]; 2], held: [false; 2] };
        let found = problem.fit([3.0, 3.0], 30);
        assert!((found.variance_of(|p| p[0]) - 1.0 / 3.0).abs() < 1e-6);
        assert!((found.variance_of(|p| p[1]) - 0.5).abs() < 1e-6);
        let held = Problem { held: [true, false], ..problem }.fit([1.0, 3.0], 30);
        assert_eq!(held.at[0], 1.0);
        // Of x alone through the origin: Σx² = 2.
        assert!((held.variance_of(|p| p[0] + p[1]) - 0.5).abs() < 1e-6);
    }
}
