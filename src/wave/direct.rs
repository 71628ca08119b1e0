//! The diffraction integral done slowly and plainly: the judge of the fast route.
//!
//! In units of a reference length a, with N = a²/(λz) and t the film position in shadow radii,
//! completing the square and the divergence theorem turn the area integral into one along the rim
//! (q = ρ - t):
//!
//! ```text
//! F(t) = exp(-iπN t²) ∮ (exp(iπN q²) - 1)/(2πiN q²) (q × dl)
//! ```
//!
//! whose integrand is smooth everywhere, so that Gauss points on every edge give it to rounding for
//! any polygon. No grid, no moments, no FFT: it shares no code with the fast route but the outline.
//! Source: `Barnett2021`, whose appendix has
//! such an edge form; this one follows from div((exp(iπN q²) - 1) q / (2πiN q²)) = exp(iπN q²).

use super::light::Distances;
use crate::geometry::{Outline, Point};
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// Energy per mm² on the film at a place in mm from the axis, as a fraction of all that came through.
pub fn density_at(
    outline: &Outline,
    wavelength_nm: f64,
    distances: Distances,
    [x_mm, y_mm]: Point,
) -> f64 {
    let wavelength_mm = wavelength_nm * 1e-6;
    let z = distances.effective_mm();
    let m = distances.shadow_magnification();
    // One over λz: the Fresnel number of a hole of radius 1 mm.
    let n = 1.0 / (wavelength_mm * z);
    let f = rim_integral(outline, n, [x_mm / m, y_mm / m]);
    f.norm_sqr() / ((wavelength_mm * distances.film_mm()).powi(2) * outline.area_mm2())
}

/// F(t) for lengths in mm and n = 1/(λz) in mm⁻², without the factor exp(-iπN t²), which has modulus 1.
fn rim_integral(outline: &Outline, n: f64, t: Point) -> Complex64 {
    // Five-point Gauss rule: Abramowitz & Stegun, table 25.4.
    const NODES: [(f64, f64); 5] = [
        (-0.906_179_845_938_664, 0.236_926_885_056_189),
        (-0.538_469_310_105_683, 0.478_628_670_499_366),
        (0.0, 0.568_888_888_888_889),
        (0.538_469_310_105_683, 0.478_628_670_499_366),
        (0.906_179_845_938_664, 0.236_926_885_056_189),
    ];
    let mut total = Complex64::default();
    for (a, b) in outline.edges() {
        let (a, b) = ([a[0] - t[0], a[1] - t[1]], [b[0] - t[0], b[1] - t[1]]);
        let cross = a[0] * b[1] - a[1] * b[0];
        // The phase turns by at most this along the edge; half a radian a piece leaves 1e-14.
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let far = a[0].hypot(a[1]).max(b[0].hypot(b[1]));
        let pieces = (2.0 * PI * n * far * length / 0.5).ceil().max(1.0) as usize;
        for piece in 0..pieces {
            for (node, weight) in NODES {
                let s = (piece as f64 + (node + 1.0) / 2.0) / pieces as f64;
                let q = [a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])];
                // q × dl = (q × edge) ds, which is the same all along a straight edge.
                total +=
                    kernel(n, q[0] * q[0] + q[1] * q[1]) * (cross * weight / 2.0 / pieces as f64);
            }
        }
    }
    total
}

/// (exp(iπN q²) - 1)/(2πiN q²) = exp(ix) sin(x)/(2x) with x = πN q²/2: no digits are lost near 0.
fn kernel(n: f64, q_squared: f64) -> Complex64 {
    let x = PI * n * q_squared / 2.0;
    if x == 0.0 {
        return Complex64::new(0.5, 0.0);
    }
    Complex64::cis(x) * (x.sin() / (2.0 * x))
}
