//! How many points across the hole a wave needs.
//!
//! Along one axis of the square that holds the hole the integrand is a wave
//! exp(i (aξ + Qξ² + h p(ξ))) on -1..1, with |p| ≤ 1 of the fourth degree at most. In Chebyshev
//! polynomials (`DLMF`, 10.12.3, with ξ² = (1 + T_2)/2)
//!
//! ```text
//! exp(iaξ)  = J_0(a) + 2 Σ i^k J_k(a) T_k
//! exp(iQξ²) = exp(iQ/2) (J_0(Q/2) + 2 Σ i^m J_m(Q/2) T_2m)
//! ```
//!
//! and T_k T_2m = (T_{k+2m} + T_|k-2m|)/2. So polynomials of degree below n miss at most the sum of
//! the products' moduli over k + 2m ≥ n. The curved part falls half as fast as a slope alone would
//! say: J_m(Q/2) belongs to degree 2m.
//!
//! A rule of n Gauss points puts in place of the wave its interpolation there, which errs by at most
//! 1 + Λ times as much. Λ, Lebesgue's constant, is some 1.6 √n, reached at the ends of the interval
//! (`Szego`, 14.4); Legendre's series, whose terms
//! (2k+1) j_k P_k add up at the ends, grows alike. Slits and divided holes lie at these ends.

use super::analytic::bessel_j;

/// The largest order that is built: 2000² weights are 32 MB, and the Fresnel numbers they reach
/// (several hundred) are far into the plain shadow.
pub(super) const LARGEST_ORDER: usize = 2000;
/// Bessel functions are followed down to 1e-17: no smaller share can be asked for.
const LEAST: f64 = 1e-15;

/// The phase of a wave over -1..1, in rad.
#[derive(Debug, Clone, Copy)]
pub(super) struct Phase {
    /// a: at the end of the interval, of the part that grows evenly.
    pub(super) linear: f64,
    /// Q: at the end, of the part that grows with the square.
    pub(super) quadratic: f64,
    /// h: the most that all other parts reach.
    pub(super) higher: f64,
}

/// The number of Gauss points from which on a wave exp(i·phase·ξ) on -1..1 is integrated, under any
/// weight, to less than `tolerance` of the weight's total. The number is even, so that no node lies
/// on an axis, and at most 2002, which stands for all that is more than 2000.
pub fn order_for(phase_rad: f64, tolerance: f64) -> usize {
    Phase { linear: phase_rad, quadratic: 0.0, higher: 0.0 }.order(tolerance)
}

impl Phase {
    /// As [`order_for`].
    pub(super) fn order(self, tolerance: f64) -> usize {
        let too_many = LARGEST_ORDER + 2;
        let all = self.linear + 2.0 * self.quadratic + 4.0 * self.higher;
        // A wave that turns by more than this has no fewer terms than turns.
        if all.is_nan() || all > 4.0 * LARGEST_ORDER as f64 {
            return too_many;
        }
        let tail = Tail::of(self);
        let tolerance = tolerance.max(LEAST);
        let enough = |n: usize| tail.beyond(n) * (1.0 + 2.0 * (n as f64).sqrt()) < tolerance;
        // Half the number, by bisection: what n points do, n + 2 do.
        let (mut few, mut many) = (0, too_many / 2);
        while many - few > 1 {
            let middle = (few + many) / 2;
            if enough(2 * middle) {
                many = middle;
            } else {
                few = middle;
            }
        }
        2 * many
    }
}

/// What is left out of a wave's series.
struct Tail {
    /// Σ_{j≥k} of the moduli of the linear part's terms.
    linear: Vec<f64>,
    /// The moduli of the quadratic part's terms, of degree 2m.
    quadratic: Vec<f64>,
    higher: f64,
}

impl Tail {
    fn of(phase: Phase) -> Tail {
        let mut linear = terms(phase.linear);
        let mut sum = 0.0;
        for term in linear.iter_mut().rev() {
            sum += *term;
            *term = sum;
        }
        Tail { linear, quadratic: terms(phase.quadratic / 2.0), higher: phase.higher }
    }

    /// A bound of all terms of degree n and above.
    fn beyond(&self, n: usize) -> f64 {
        // exp(ihp) = Σ (ihp)^j/j!, of degree 4j.
        let (mut sum, mut weight) = (0.0, 1.0);
        for j in 0..200 {
            let degree = n.saturating_sub(4 * j);
            sum += weight * self.without_higher(degree);
            weight *= self.higher / (j + 1) as f64;
            if weight < 1e-17 {
                break;
            }
        }
        sum
    }

    fn without_higher(&self, n: usize) -> f64 {
        let terms = self.quadratic.iter().enumerate();
        terms
            .map(|(m, term)| {
                let rest = n.saturating_sub(2 * m);
                term * self.linear.get(rest).copied().unwrap_or(0.0)
            })
            .sum()
    }
}

/// |J_0|, 2 |J_1|, 2 |J_2| and so on.
fn terms(phase: f64) -> Vec<f64> {
    if phase < 1e-12 {
        return vec![1.0, phase];
    }
    let mut terms = bessel_j(phase);
    terms.iter_mut().skip(1).for_each(|j| *j = 2.0 * j.abs());
    terms[0] = terms[0].abs();
    terms
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::Gauss;
    use rustfft::num_complex::Complex64;

    const ORDERS: [(f64, f64, usize); 8] = [
        (1.0, 1e-7, 9),
        (10.0, 1e-7, 25),
        (100.0, 1e-7, 132),
        (500.0, 1e-7, 556),
        (1.0, 1e-12, 13),
        (10.0, 1e-12, 32),
        (100.0, 1e-12, 146),
        (500.0, 1e-12, 578),
    ];

    /// At least the first n whose Σ_{k≥n} (2k+1) |j_k(phase)| is below the tolerance, by mpmath's
    /// besselj (50 digits), and at most six points more.
    #[test]
    fn order_grows_as_the_phase() {
        for (phase, tolerance, needed) in ORDERS {
            let order = order_for(phase, tolerance);
            assert!((needed..=needed + 7).contains(&order), "{phase} {tolerance}: {order}");
        }
    }

    /// The weight all in one point, at the end of the interval: the worst that a slit can be. Its
    /// quadrature is then the interpolation there.
    #[test]
    fn holds_at_the_ends() {
        for (linear, quadratic, higher) in [
            (0.3, 2.1, 0.0),
            (5.0, 0.0, 0.0),
            (30.0, 4.0, 0.0),
            (0.1, 60.0, 0.0),
            (2.0, 3.0, 0.4),
            (200.0, 150.0, 0.0),
        ] {
            for tolerance in [1e-3, 1e-7, 1e-11] {
                let n = Phase { linear, quadratic, higher }.order(tolerance);
                let rule = Gauss::rule(n);
                let wave =
                    |x: f64| Complex64::cis(linear * x + quadratic * x * x + higher * x.powi(4));
                for end in [1.0, -1.0, 0.97, 0.2] {
                    // Barycentric weights of Gauss points: (-1)^i √((1 - x²) w).
                    let (mut above, mut below) = (Complex64::default(), 0.0);
                    for (i, (x, w)) in rule.nodes.iter().zip(&rule.weights).enumerate() {
                        let sign = if i % 2 == 0 { 1.0 } else { -1.0 };
                        let share = sign * ((1.0 - x * x) * w).sqrt() / (end - x);
                        above += share * wave(*x);
                        below += share;
                    }
                    let error = (above / below - wave(end)).norm();
                    assert!(error < tolerance + 1e-12, "{linear} {quadratic} {n}: {error:e}");
                }
            }
        }
    }
}
