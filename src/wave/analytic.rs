//! Closed forms: the Airy disc, Lommel's defocused disc, the disc's OTF, the slit, the axis.
//!
//! Everything here is a published formula with no grid behind it. Sources: Born & Wolf, Principles
//! of Optics, 8.5 and 8.8 (section numbers from memory); Goodman, Introduction to Fourier Optics,
//! 6.3 (from memory); DLMF chapters 7 and 10.

use super::legendre::Gauss;
use libm::{j0, j1, jn};
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
    // Each series converges on its own side of the shadow's edge.
    if u <= w {
        let (u1, u2) = (lommel(1, u / w, w), lommel(2, u / w, w));
        (2.0 / u).powi(2) * (u1 * u1 + u2 * u2)
    } else {
        let (v0, v1) = (lommel(0, w / u, w), lommel(1, w / u, w));
        let phase = (u + w * w / u) / 2.0;
        let sum = 1.0 + v0 * v0 + v1 * v1 - 2.0 * v0 * phase.cos() - 2.0 * v1 * phase.sin();
        (2.0 / u).powi(2) * sum
    }
}

/// Σ_s (-1)^s ratio^(n+2s) J_{n+2s}(w): Lommel's U_n with ratio u/w, V_n with ratio w/u.
fn lommel(n: i32, ratio: f64, w: f64) -> f64 {
    let mut sum = 0.0;
    let mut sign = 1.0;
    for s in 0..1000 {
        let order = n + 2 * s;
        let term = ratio.powi(order) * jn(order, w);
        sum += sign * term;
        sign = -sign;
        // Beyond order w the Bessel functions only fall: the rest is below the last term.
        if f64::from(order) > w && term.abs() < 1e-17 {
            break;
        }
    }
    sum
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
