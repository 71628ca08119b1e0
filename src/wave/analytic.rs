//! Closed forms: the Airy disc, Lommel's defocused disc, the disc's OTF, the slit, the axis.
//!
//! Everything here is a published formula with no grid behind it. Sources: Born & Wolf, Principles
//! of Optics, 8.5 and 8.8 (section numbers from memory); Goodman, Introduction to Fourier Optics,
//! 6.3 (from memory); DLMF chapters 7 and 10.

use super::legendre::Gauss;
use libm::{j0, j1};
use std::f64::consts::PI;

/// Intensity of the Airy pattern over its peak, (2 J1(w)/w)², at w = π d R/(λv). Born & Wolf 8.5.
pub fn airy_intensity(w: f64) -> f64 {
    if w.abs() < 1e-8 { 1.0 } else { (2.0 * j1(w) / w).powi(2) }
}

/// Energy of the Airy pattern inside the circle w: 1 - J0² - J1² (Rayleigh 1881; Born & Wolf 8.5).
pub fn airy_encircled(w: f64) -> f64 {
    1.0 - j0(w).powi(2) - j1(w).powi(2)
}

/// Intensity |F/π|² of a disc of Fresnel number N at the radial coordinate w = 2πNt, by Lommel's
/// functions (Born & Wolf 8.8; the series of DLMF 10.23 in their form). 1 is the value that the same
/// disc would give in its far field's centre.
pub fn disc_intensity(fresnel_number: f64, w: f64) -> f64 {
    let u = 2.0 * PI * fresnel_number;
    if u == 0.0 {
        return airy_intensity(w);
    }
    if w == 0.0 {
        let x = u / 4.0;
        return (x.sin() / x).powi(2);
    }
    let j = bessel_j(w);
    // Each series converges on its own side of the shadow's edge.
    if u <= w {
        let (u1, u2) = (lommel(1, u / w, &j), lommel(2, u / w, &j));
        (2.0 / u).powi(2) * (u1 * u1 + u2 * u2)
    } else {
        let (v0, v1) = (lommel(0, w / u, &j), lommel(1, w / u, &j));
        let phase = (u + w * w / u) / 2.0;
        let sum = 1.0 + v0 * v0 + v1 * v1 - 2.0 * v0 * phase.cos() - 2.0 * v1 * phase.sin();
        (2.0 / u).powi(2) * sum
    }
}

/// Σ_s (-1)^s ratio^(n+2s) J_{n+2s}(w): Lommel's U_n with ratio u/w, V_n with ratio w/u.
fn lommel(n: usize, ratio: f64, j: &[f64]) -> f64 {
    let orders = (n..j.len()).step_by(2).enumerate();
    orders.map(|(s, k)| alternating(s) * ratio.powi(k as i32) * j[k]).sum()
}

/// Energy of a disc of Fresnel number N inside the circle w = 2πNt, as a share of all: 1 - Σ outside
/// the shadow, (w/u)² (1 + Σ') less an oscillation inside it (Wolf 1951; Born & Wolf 8.8.3), in
/// products of Bessel functions
///
/// Q_2s(w) = Σ_p (-1)^p (J_p J_{2s-p} + J_{p+1} J_{2s+1-p}), p from 0 to 2s.
pub fn disc_encircled(fresnel_number: f64, w: f64) -> f64 {
    let u = 2.0 * PI * fresnel_number;
    if w == 0.0 {
        return 0.0;
    }
    let j = bessel_j(w);
    let ratio = u.min(w) / u.max(w);
    // Σ_s (-1)^s/(2s+1) ratio^2s Q_2s, until the Bessel functions have run out.
    let mut sum = 0.0;
    for s in 0..(j.len() - 2) / 2 {
        let products = |p: usize| j[p] * j[2 * s - p] + j[p + 1] * j[2 * s + 1 - p];
        let q: f64 = (0..=2 * s).map(|p| alternating(p) * products(p)).sum();
        let term = ratio.powi(2 * s as i32) / (2 * s + 1) as f64;
        sum += alternating(s) * term * q;
        // |Q_2s| is below 1: it is 1 less a share of energy.
        if term < 1e-17 {
            break;
        }
    }
    if w >= u {
        return 1.0 - sum;
    }
    let y = |n: usize| -> f64 {
        let orders = (n..j.len()).step_by(2).enumerate();
        orders.map(|(s, k)| alternating(s) * k as f64 * ratio.powi(k as i32) * j[k]).sum()
    };
    let (sin, cos) = ((u + w * w / u) / 2.0).sin_cos();
    ratio * ratio * (1.0 + sum) - 4.0 / u * (y(1) * cos + y(2) * sin)
}

/// (-1)^k.
fn alternating(k: usize) -> f64 {
    if k.is_multiple_of(2) { 1.0 } else { -1.0 }
}

/// J_0(w), J_1(w) and so on until they have fallen below 1e-17, by Miller's recurrence downwards, made
/// to the sum J_0 + 2 Σ J_2k = 1 (DLMF 3.6(ii), 10.12.4).
fn bessel_j(w: f64) -> Vec<f64> {
    // Beyond order w they fall as (ew/2k)^k: so many more orders bring 1e-17 and the start's own error.
    let count = (w + 8.0 * w.cbrt() + 24.0) as usize;
    let mut values = vec![0.0; count + 2];
    let mut sum = 0.0;
    values[count] = 1e-250;
    for k in (1..=count).rev() {
        values[k - 1] = 2.0 * k as f64 / w * values[k] - values[k + 1];
        if k % 2 == 1 {
            sum += if k == 1 { values[0] } else { 2.0 * values[k - 1] };
        }
        // Small w climb fast: keep the unscaled values inside what a number holds.
        if values[k - 1].abs() > 1e200 {
            values[k - 1..].iter_mut().for_each(|value| *value *= 1e-200);
            sum *= 1e-200;
        }
    }
    values.iter_mut().for_each(|value| *value /= sum);
    values
}

/// Irradiance on the axis behind a disc, over the open wave's: 4 sin²(πN/2). Born & Wolf 8.2-8.8.
pub fn disc_on_axis(fresnel_number: f64) -> f64 {
    4.0 * (PI * fresnel_number / 2.0).sin().powi(2)
}

/// The OTF of a disc of Fresnel number N at σ = f/f_c, f_c = d/(λv): the overlap of the disc with
/// itself shifted, strip by strip,
///
/// (4/π) ∫_0^{arccos σ} sin²p cos(4πNσ(cos p - σ)) dp,
///
/// which at N = 0 is Goodman's (2/π)(arccos σ - σ√(1-σ²)). The rule's points decide how large N σ
/// may be: [`DiscOtf`] holds 64, good to 1e-13 up to N = 10.
pub struct DiscOtf {
    rule: Gauss,
}

impl Default for DiscOtf {
    fn default() -> Self {
        DiscOtf { rule: Gauss::rule(64) }
    }
}

impl DiscOtf {
    /// The OTF at σ = f/f_c; zero from σ = 1 on.
    pub fn at(&self, fresnel_number: f64, sigma: f64) -> f64 {
        if sigma >= 1.0 {
            return 0.0;
        }
        let strips = self.rule.on(0.0, sigma.acos()).map(|(p, weight)| {
            let (sin, cos) = p.sin_cos();
            weight * sin * sin * (4.0 * PI * fresnel_number * sigma * (cos - sigma)).cos()
        });
        4.0 / PI * strips.sum::<f64>()
    }
}

/// Irradiance behind a long slit |x| ≤ b, over the open wave's, at t = X z/(v b): half the squared
/// modulus of F(k(1-t)) + F(k(1+t)), F the Fresnel integral C + iS (DLMF 7.2.7), k = √(2 N_s),
/// N_s = b²/(λz). Born & Wolf 8.7 (from memory).
pub fn slit_irradiance(fresnel_number: f64, t: f64) -> f64 {
    let k = (2.0 * fresnel_number).sqrt();
    let (c1, s1) = fresnel_integrals(k * (1.0 - t));
    let (c2, s2) = fresnel_integrals(k * (1.0 + t));
    ((c1 + c2).powi(2) + (s1 + s2).powi(2)) / 2.0
}

/// C(x) and S(x) = ∫_0^x cos, sin(πt²/2) dt (DLMF 7.2.7-7.2.8), by Gauss points in panels that each
/// hold at most about one radian of phase: the definition, done numerically to rounding.
pub fn fresnel_integrals(x: f64) -> (f64, f64) {
    let panels = (x * x * PI / 2.0).ceil().max(1.0) as usize;
    let rule = Gauss::rule(16);
    let (mut c, mut s) = (0.0, 0.0);
    for panel in 0..panels {
        // Panels of equal phase: their ends are at x √(i/n).
        let end = |i: usize| x * (i as f64 / panels as f64).sqrt();
        for (t, weight) in rule.on(end(panel), end(panel + 1)) {
            let (sin, cos) = (PI * t * t / 2.0).sin_cos();
            c += weight * cos;
            s += weight * sin;
        }
    }
    (c, s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use libm::jn;

    #[test]
    fn bessel_functions_are_those_of_the_library() {
        for w in [1e-3, 0.5, 3.0, 20.0, 150.0] {
            let found = bessel_j(w);
            for k in [0, 1, 2, 7, 19] {
                // libm's own error grows to some 1e-15.
                assert!((found[k] - jn(k as i32, w)).abs() < 1e-14, "J_{k}({w}): {}", found[k]);
            }
        }
    }

    #[test]
    fn fresnel_integrals_have_their_known_values() {
        // Abramowitz & Stegun, table 7.7: C(1), S(1); and the limits 1/2.
        let (c, s) = fresnel_integrals(1.0);
        assert!((c - 0.779_893_400_376_823).abs() < 1e-14);
        assert!((s - 0.438_259_147_390_355).abs() < 1e-14);
        // DLMF 7.12.2: both are within 1/(πx) of their limit.
        let (c, s) = fresnel_integrals(-20.0);
        assert!((c + 0.5).abs() < 1.0 / (PI * 20.0) && (s + 0.5).abs() < 1.0 / (PI * 20.0));
    }
}
