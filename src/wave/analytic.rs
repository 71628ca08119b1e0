//! Closed forms: the Airy disc, Lommel's defocused disc, the disc's OTF, the slit, the axis.
//!
//! Everything here is a published formula with no grid behind it. Sources: `BornWolf`, 8.5 and 8.8; `Goodman`,
//! 6.3; `DLMF`, chapters 7 and 10.

use super::legendre::Gauss;
use libm::{j0, j1};
use std::f64::consts::PI;

/// Intensity of the Airy pattern over its peak, (2 J1(w)/w)², at w = π d R/(λv). `BornWolf`, 8.5.
pub fn airy_intensity(w: f64) -> f64 {
    if w.abs() < 1e-8 { 1.0 } else { (2.0 * j1(w) / w).powi(2) }
}

/// Energy of the Airy pattern inside the circle w: 1 - J0² - J1² (`Rayleigh1881`; `BornWolf`, 8.5).
pub fn airy_encircled(w: f64) -> f64 {
    1.0 - j0(w).powi(2) - j1(w).powi(2)
}

/// Nearer to the axis than this a disc's light is that on the axis, and none is inside.
const NEXT_TO_AXIS: f64 = 1e-30;

/// Intensity |F/π|² of a disc of Fresnel number N at the radial coordinate w = 2πNt, by Lommel's
/// functions (`Lommel1885`; `BornWolf`, 8.8; the series of `DLMF`, 10.23 in their form). 1 is the value that the same
/// disc would give in its far field's centre.
pub fn disc_intensity(fresnel_number: f64, w: f64) -> f64 {
    let u = 2.0 * PI * fresnel_number;
    if u == 0.0 {
        return airy_intensity(w);
    }
    if w < NEXT_TO_AXIS {
        let x = u / 4.0;
        return (x.sin() / x).powi(2);
    }
    Lommel::at(u, w, &bessel_j(w)).intensity(u)
}

/// Energy of a disc of Fresnel number N inside the circle w = 2πNt, as a share of all: Σ outside
/// the shadow, (w/u)² (2 - Σ) less an oscillation inside it (`Wolf1951`; `BornWolf`, 8.8.3).
pub fn disc_encircled(fresnel_number: f64, w: f64) -> f64 {
    if w < NEXT_TO_AXIS {
        return 0.0;
    }
    encircled(2.0 * PI * fresnel_number, w, &bessel_j(w))
}

/// The energy of a disc inside a circle, and how it grows with the circle and with the curvature of
/// the waves: closed forms all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// The share of the energy inside the circle, as [`disc_encircled`].
    pub share: f64,
    /// Its slope over w: i w/2, i the intensity on the circle.
    pub per_w: f64,
    /// Its slope over u = 2πN.
    pub per_u: f64,
}

/// [`disc_encircled`] with its slopes, from one set of Bessel functions.
///
/// The wave equation ∂F/∂u = -(i/2) ∇²F makes the growth with u a flow of energy through the circle,
/// (w/2) Im(F* ∂F/∂w); with F = (2/u) exp(iu/2) (U_1 - i U_2) and ∂U_n/∂w = -(w/u) U_{n+1} it is
///
/// -(2w²/u³) (U_2² - U_1 U_3).
pub fn disc_growth(fresnel_number: f64, w: f64) -> Growth {
    if w < NEXT_TO_AXIS {
        return Growth { share: 0.0, per_w: 0.0, per_u: 0.0 };
    }
    let u = 2.0 * PI * fresnel_number;
    let j = bessel_j(w);
    let share = encircled(u, w, &j);
    if u == 0.0 {
        return Growth { share, per_w: airy_intensity(w) * w / 2.0, per_u: 0.0 };
    }
    let lommel = Lommel::at(u, w, &j);
    Growth { share, per_w: lommel.intensity(u) * w / 2.0, per_u: lommel.flow(u, w) }
}

/// Lommel's functions U_1, U_2, U_3.
struct Lommel {
    u1: f64,
    u2: f64,
    u3: f64,
}

impl Lommel {
    fn at(u: f64, w: f64, j: &[f64]) -> Lommel {
        // U_1 + U_3 = (u/w) J_1.
        let sum = u / w * j[1];
        // Each series converges on its own side of the shadow's edge.
        if u <= w {
            let (u2, u3) = (series(2, u / w, j), series(3, u / w, j));
            Lommel { u1: sum - u3, u2, u3 }
        } else {
            // U_1 = sin χ - V_1, U_2 = V_0 - cos χ, χ = (u + w²/u)/2.
            let (sin, cos) = ((u + w * w / u) / 2.0).sin_cos();
            let u1 = sin - series(1, w / u, j);
            Lommel { u1, u2: series(0, w / u, j) - cos, u3: sum - u1 }
        }
    }

    fn intensity(&self, u: f64) -> f64 {
        (2.0 / u).powi(2) * (self.u1 * self.u1 + self.u2 * self.u2)
    }

    /// ∂E/∂u.
    fn flow(&self, u: f64, w: f64) -> f64 {
        -2.0 * w * w / u.powi(3) * (self.u2 * self.u2 - self.u1 * self.u3)
    }
}

/// Σ_s (-1)^s ratio^(n+2s) J_{n+2s}(w): Lommel's U_n with ratio u/w, V_n with ratio w/u.
fn series(n: usize, ratio: f64, j: &[f64]) -> f64 {
    let square = ratio * ratio;
    ratio.powi(n as i32) * j[n..].iter().step_by(2).rfold(0.0, |sum, j| j - square * sum)
}

/// [`disc_encircled`] from Bessel functions of w. Σ is 1 - Σ_s (-1)^s/(2s+1) ratio^2s Q_2s with
///
/// Q_2s(w) = Σ_p (-1)^p (J_p J_{2s-p} + J_{p+1} J_{2s+1-p}), p from 0 to 2s,
///
/// which by Neumann's addition theorem for J_2s(w - w) (`DLMF`, 10.23.2) is
/// 2 Σ_{k≥0} J_k J_{2s+2+k} - 2 Σ_{k≥1} J_k J_{2s+k}, and 1 more at s = 0.
fn encircled(u: f64, w: f64, j: &[f64]) -> f64 {
    let ratio = u.min(w) / u.max(w);
    let (mut sum, mut power) = (0.0, 1.0);
    let mut after_first = products(&j[1..], &j[1..]);
    // Until the Bessel functions have run out.
    for s in 0..j.len() / 2 {
        let term = power / (2 * s + 1) as f64;
        // |Q_2s| is below 1: it is 1 less a share of energy.
        if f64::abs(term) < 1e-17 {
            break;
        }
        let next = products(&j[1..], j.get(2 * s + 3..).unwrap_or(&[]));
        let first = j[0] * j.get(2 * s + 2).unwrap_or(&0.0);
        sum += 2.0 * term * (after_first - next - first);
        power *= -ratio * ratio;
        after_first = next;
    }
    if w >= u {
        return sum;
    }
    let orders = |n: usize| {
        let weighted = j.iter().enumerate().skip(n).step_by(2);
        let square = ratio * ratio;
        ratio.powi(n as i32) * weighted.rfold(0.0, |sum, (k, j)| k as f64 * j - square * sum)
    };
    let (sin, cos) = ((u + w * w / u) / 2.0).sin_cos();
    ratio * ratio * (2.0 - sum) - 4.0 / u * (orders(1) * cos + orders(2) * sin)
}

/// Σ a_k b_k as far as both go.
fn products(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// J_0(w), J_1(w) and so on until they have fallen below 1e-17, by Miller's recurrence downwards, made
/// to the sum J_0 + 2 Σ J_2k = 1 (`DLMF`, 3.6(ii), 10.12.4). For w above [`NEXT_TO_AXIS`], or small
/// values would climb out of what a number holds.
pub(super) fn bessel_j(w: f64) -> Vec<f64> {
    // Beyond order w they fall as (ew/2k)^k, near it as in Airy's function of (k - w)/∛w: so many more
    // orders bring 1e-17, measured for w from 1e-3 to 2000, and the start's own error.
    let count = (w + 11.0 * w.cbrt() + 7.0) as usize;
    let mut values = vec![0.0; count + 1];
    let (mut above, mut here) = (0.0, 1e-250);
    values[count] = here;
    let mut even = 0.0;
    let twice = 2.0 / w;
    for k in (1..=count).rev() {
        (above, here) = (here, twice * k as f64 * here - above);
        values[k - 1] = here;
        if k % 2 == 1 {
            even += here;
        }
    }
    // J_0 counts once.
    let scale = 1.0 / (2.0 * even - here);
    values.iter_mut().for_each(|value| *value *= scale);
    values
}

/// Irradiance on the axis behind a disc, over the open wave's: 4 sin²(πN/2). `BornWolf`, 8.2-8.8.
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
/// modulus of F(k(1-t)) + F(k(1+t)), F the Fresnel integral C + iS (`DLMF`, 7.2.7), k = √(2 N_s),
/// N_s = b²/(λz). `BornWolf`, 8.7.
pub fn slit_irradiance(fresnel_number: f64, t: f64) -> f64 {
    let k = (2.0 * fresnel_number).sqrt();
    let (c1, s1) = fresnel_integrals(k * (1.0 - t));
    let (c2, s2) = fresnel_integrals(k * (1.0 + t));
    ((c1 + c2).powi(2) + (s1 + s2).powi(2)) / 2.0
}

/// C(x) and S(x) = ∫_0^x cos, sin(πt²/2) dt (`DLMF`, 7.2.7-7.2.8), by Gauss points in panels that each
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
                // Those that are left out are below 1e-17; libm's own error grows to some 1e-15.
                let found = found.get(k).unwrap_or(&0.0);
                assert!((found - jn(k as i32, w)).abs() < 1e-14, "J_{k}({w}): {found}");
            }
        }
    }

    /// Against differences of the energy itself, on both sides of the shadow's edge.
    #[test]
    fn energy_grows_as_it_says() {
        let h = 1e-4;
        for (n, w) in [(0.0, 3.0), (0.8, 5.7), (0.8, 0.2), (3.0, 2.0), (3.0, 18.8), (3.0, 40.0)] {
            let growth = disc_growth(n, w);
            assert_eq!(growth.share, disc_encircled(n, w));
            let per_w = (disc_encircled(n, w + h) - disc_encircled(n, w - h)) / (2.0 * h);
            // Even in u, as the pattern is.
            let at = |u: f64| disc_encircled(u.abs() / (2.0 * PI), w);
            let u = 2.0 * PI * n;
            let per_u = (at(u + h) - at(u - h)) / (2.0 * h);
            // The differences' own h²/6 times the third derivative.
            assert!((growth.per_w - per_w).abs() < 1e-8, "{n} {w}: {growth:?} {per_w}");
            assert!((growth.per_u - per_u).abs() < 1e-8, "{n} {w}: {growth:?} {per_u}");
        }
        let on_axis = Growth { share: 0.0, per_w: 0.0, per_u: 0.0 };
        assert_eq!(disc_growth(0.8, 0.0), on_axis);
    }

    #[test]
    fn fresnel_integrals_have_their_known_values() {
        // Abramowitz & Stegun, table 7.7: C(1), S(1); and the limits 1/2.
        let (c, s) = fresnel_integrals(1.0);
        assert!((c - 0.779_893_400_376_823).abs() < 1e-14);
        assert!((s - 0.438_259_147_390_355).abs() < 1e-14);
        // `DLMF`, 7.12.2: both are within 1/(πx) of their limit.
        let (c, s) = fresnel_integrals(-20.0);
        assert!((c + 0.5).abs() < 1.0 / (PI * 20.0) && (s + 0.5).abs() < 1.0 / (PI * 20.0));
    }
}
