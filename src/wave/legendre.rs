//! Legendre polynomials and the Gauss points between them.

use ndarray::{Array2, ArrayView1, Zip};
use std::f64::consts::PI;
use std::sync::{LazyLock, OnceLock};

/// Rules of fewer points are kept once they are made: a picture asks for the same few a thousand times.
const KEPT: usize = 512;

static MADE: LazyLock<Vec<OnceLock<Gauss>>> =
    LazyLock::new(|| (0..KEPT).map(|_| OnceLock::new()).collect());

/// The nodes and weights of a Gauss-Legendre rule on -1..1: exact for polynomials of degree below
/// twice the number of points. Nodes rise, and are symmetric about 0 to the last digit.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauss {
    /// The nodes, rising.
    pub nodes: Vec<f64>,
    /// The weights; their sum is 2.
    pub weights: Vec<f64>,
}

impl Gauss {
    /// The rule of `points` points (at least one).
    ///
    /// Newton's iteration on the recurrence, from the asymptotic roots (`DLMF`, 18.16.14, and 3.5.23
    /// for the weights): full precision for hundreds of points.
    pub fn rule(points: usize) -> Gauss {
        match MADE.get(points) {
            Some(kept) => kept.get_or_init(|| Gauss::made(points)).clone(),
            None => Gauss::made(points),
        }
    }

    fn made(points: usize) -> Gauss {
        let n = points.max(1);
        let (mut nodes, mut weights) = (vec![0.0; n], vec![0.0; n]);
        for i in 0..n.div_ceil(2) {
            let mut x = (PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            if 2 * i + 1 == n {
                x = 0.0;
            }
            let mut slope = 0.0;
            for _ in 0..8 {
                let (value, derivative) = value_and_slope(n, x);
                slope = derivative;
                let step = value / derivative;
                x -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            let weight = 2.0 / ((1.0 - x * x) * slope * slope);
            (nodes[i], nodes[n - 1 - i]) = (-x, x);
            (weights[i], weights[n - 1 - i]) = (weight, weight);
        }
        Gauss { nodes, weights }
    }

    /// The rule's (node, weight) pairs on low..high.
    pub fn on(&self, low: f64, high: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        self.nodes.iter().zip(&self.weights).map(move |(x, w)| (middle + half * x, half * w))
    }
}

/// P_n(x) and its slope.
fn value_and_slope(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut value) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
    }
    (value, n as f64 * (x * value - before) / (x * x - 1.0))
}

/// c P_k(x) for k below `count`, at many places each with its own factor c: (row k, column place).
/// The recurrence (`DLMF`, 18.9.1) runs over all places at once, which is what the machine does fast.
pub(super) fn polynomials(places: &[f64], factors: &[f64], count: usize) -> Array2<f64> {
    let mut values = Array2::zeros((count, places.len()));
    let mut rows = values.outer_iter_mut();
    let (Some(mut before), Some(mut last)) = (rows.next(), rows.next()) else {
        values.fill(1.0);
        return values * ArrayView1::from(factors);
    };
    before.assign(&ArrayView1::from(factors));
    Zip::from(&mut last).and(&before).and(places).for_each(|p, p0, x| *p = x * p0);
    for (k, mut row) in (2..count).zip(rows) {
        let (rise, fall) = (2.0 - 1.0 / k as f64, 1.0 - 1.0 / k as f64);
        Zip::from(&mut row)
            .and(&last)
            .and(&before)
            .and(places)
            .for_each(|p, p1, p0, x| *p = rise * x * p1 - fall * p0);
        (before, last) = (last, row);
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Axis;

    #[test]
    fn rules_are_exact_to_their_degree() {
        for n in [1, 2, 3, 5, 16, 63, 200, 401] {
            let rule = Gauss::rule(n);
            // ∫ x^(2n-2) over -1..1 = 2/(2n-1): the highest even degree the rule must do.
            let degree = 2 * n - 2;
            let sum: f64 =
                rule.nodes.iter().zip(&rule.weights).map(|(x, w)| w * x.powi(degree as i32)).sum();
            let truth = 2.0 / (degree as f64 + 1.0);
            // Rounding of a power of the nodes grows as its degree.
            assert!((sum / truth - 1.0).abs() < 2e-15 * n.max(5) as f64, "{n}: {sum} {truth}");
        }
    }

    #[test]
    fn two_points_are_known() {
        // ±1/√3, weights 1: Abramowitz & Stegun, table 25.4.
        let rule = Gauss::rule(2);
        assert!((rule.nodes[1] - 1.0 / 3f64.sqrt()).abs() < 1e-15);
        assert!((rule.weights[0] - 1.0).abs() < 1e-15);
    }

    #[test]
    fn values_follow_the_polynomials() {
        let p = polynomials(&[0.7, 0.3], &[1.0, 2.0], 5).index_axis(Axis(1), 1).mapv(|p| p / 2.0);
        // P_2 = (3x²-1)/2, P_4 = (35x⁴-30x²+3)/8: `DLMF`, 18.5.
        assert!((p[2] - (3.0 * 0.09 - 1.0) / 2.0).abs() < 1e-15);
        assert!((p[4] - (35.0 * 0.0081 - 30.0 * 0.09 + 3.0) / 8.0).abs() < 1e-15);
    }
}
