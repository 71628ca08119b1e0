//! An outline as a small weighted grid of points that carries it exactly.
//!
//! The diffraction integrand is smooth; only the region is awkward. So the region is replaced once
//! by weights W at n × n Gauss points, such that Σ W f equals ∬_hole f dA for every f that
//! polynomials of degree below n represent along each axis:
//!
//! 1. Legendre moments M_jk = ∬_hole P_j(x/R) P_k(y/R) dA. By Green's theorem each is a sum over the
//!    outline's edges of ∫ Q_j(x) P_k(y) dy, Q_j = R (P_{j+1} - P_{j-1})/(2j+1), done by Gauss points
//!    on each edge. Islands and several openings need nothing special.
//! 2. W = Bᵀ M B at the nodes ξ_i, B_ji = (2j+1)/2 w_i P_j(ξ_i).

use super::legendre::{self, Gauss};
use super::light::{Distances, MM_PER_NM};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use std::f64::consts::PI;

/// The largest order that is built: 2000² weights are 32 MB, and the Fresnel numbers they reach
/// (several hundred) are far into the plain shadow.
const LARGEST_ORDER: usize = 2000;

/// An outline made ready for diffraction: its frame and its open area.
#[derive(Debug, Clone, PartialEq)]
pub struct Aperture {
    outline: Outline,
    centre_mm: Point,
    half_width_mm: f64,
    area_mm2: f64,
}

/// Weights at the points of a square grid: the hole as the diffraction integral sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quadrature {
    /// Node positions along each axis from [`Aperture::centre_mm`], in mm, symmetric about 0.
    pub nodes_mm: Vec<f64>,
    /// Weights in mm², (row of y, column of x). Some are negative; their sum is the open area.
    pub weights_mm2: Array2<f64>,
}

impl Aperture {
    /// Prepares an outline.
    pub fn of(outline: &Outline) -> Aperture {
        let (low, high) = outline.bounds_mm();
        let centre_mm = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let half_width_mm = (high[0] - low[0]).max(high[1] - low[1]) / 2.0;
        Aperture {
            outline: outline.clone(),
            centre_mm,
            half_width_mm,
            area_mm2: outline.area_mm2(),
        }
    }

    /// The middle of the square that holds the outline, in mm.
    pub fn centre_mm(&self) -> Point {
        self.centre_mm
    }

    /// Half the side of the square that holds the outline, in mm.
    pub fn half_width_mm(&self) -> f64 {
        self.half_width_mm
    }

    /// The open area, in mm².
    pub fn area_mm2(&self) -> f64 {
        self.area_mm2
    }

    /// The largest phase of the diffraction integrand across the square, along one axis, in rad:
    /// the linear part out to `film_reach_mm` from the axis, and the waves' curvature. It decides
    /// the order ([`order_for`]).
    pub fn phase_rad(&self, wavelength_nm: f64, distances: Distances, film_reach_mm: f64) -> f64 {
        let wavelength_mm = wavelength_nm * MM_PER_NM;
        let shadow =
            distances.shadow_magnification() * self.centre_mm[0].abs().max(self.centre_mm[1].abs());
        let r = self.half_width_mm;
        2.0 * PI * r * (film_reach_mm + shadow) / (wavelength_mm * distances.film_mm())
            + PI * r * r / (wavelength_mm * distances.effective_mm())
    }

    /// The weighted grid of `order` × `order` points (made even, so that no node lies on an axis).
    ///
    /// # Errors
    /// [`Error::Limit`] when the order is beyond 2000.
    pub fn quadrature(&self, order: usize) -> Result<Quadrature, Error> {
        if order > LARGEST_ORDER {
            return Err(Error::limit(
                format!("this hole and film would need {order} points across the hole"),
                format!("ask for a smaller film area or hole: the limit is {LARGEST_ORDER}"),
            ));
        }
        let n = order.next_multiple_of(2).max(2);
        let gauss = Gauss::rule(n);
        // B_ji = (2j+1)/2 w_i P_j(ξ_i)
        let mut basis = Array2::zeros((n, n));
        let mut column = vec![0.0; n];
        for (i, (&node, &weight)) in gauss.nodes.iter().zip(&gauss.weights).enumerate() {
            legendre::values(node, &mut column);
            for (j, value) in column.iter().enumerate() {
                basis[[j, i]] = (j as f64 + 0.5) * weight * value;
            }
        }
        // Moments are (k of y, j of x), so the weights come out as (y, x).
        let weights_mm2 = basis.t().dot(&self.moments(n)).dot(&basis);
        let nodes_mm = gauss.nodes.iter().map(|x| x * self.half_width_mm).collect();
        Ok(Quadrature { nodes_mm, weights_mm2 })
    }

    /// M_kj = ∬ P_j(x/R) P_k(y/R) dA, (row k of y, column j of x), in mm².
    fn moments(&self, n: usize) -> Array2<f64> {
        let points = self.edge_points(n);
        let (mut of_x, mut of_y) =
            (Array2::zeros((points.len(), n)), Array2::zeros((points.len(), n)));
        let mut p = vec![0.0; n + 1];
        for (row, &[x, y, weight]) in points.iter().enumerate() {
            legendre::values(x, &mut p);
            of_x[[row, 0]] = x * weight;
            for j in 1..n {
                of_x[[row, j]] = (p[j + 1] - p[j - 1]) / (2.0 * j as f64 + 1.0) * weight;
            }
            legendre::values(y, &mut p);
            for k in 0..n {
                of_y[[row, k]] = p[k];
            }
        }
        of_y.t().dot(&of_x) * self.half_width_mm.powi(2)
    }

    /// Gauss points along all edges, in units of the half-width: x, y, and dy times the weight.
    ///
    /// P_j(cos θ) turns like cos jθ, so along an edge the moments' integrand turns by at most
    /// ψ = n (|Δθ_x| + |Δθ_y|). A p-point rule errs by (p!)⁴ ψ^{2p} / ((2p+1) ((2p)!)³) on exp(iψt)
    /// over a unit interval (Abramowitz & Stegun 25.4.30), which picks p, and the number of pieces.
    fn edge_points(&self, n: usize) -> Vec<[f64; 3]> {
        const MOST_POINTS: usize = 16;
        let rules: Vec<Gauss> = (1..=MOST_POINTS).map(Gauss::rule).collect();
        let reach: Vec<f64> = (1..=MOST_POINTS).map(largest_turn).collect();
        let scaled = |p: Point| {
            let axis = |i: usize| (p[i] - self.centre_mm[i]) / self.half_width_mm;
            [axis(0).clamp(-1.0, 1.0), axis(1).clamp(-1.0, 1.0)]
        };
        let mut points = Vec::new();
        for (a, b) in self.outline.edges() {
            let (a, b) = (scaled(a), scaled(b));
            let turn =
                n as f64 * ((a[0].acos() - b[0].acos()).abs() + (a[1].acos() - b[1].acos()).abs());
            // An edge of several pieces is cut at equal lengths; near the square's rim θ turns
            // faster than that by up to √2 a piece, which the sum of both axes covers.
            let pieces = (turn / reach[MOST_POINTS - 1]).ceil().max(1.0);
            let each = turn / pieces * if pieces > 1.0 { 2.0 } else { 1.0 };
            let rule = &rules[reach.iter().position(|r| *r >= each).unwrap_or(MOST_POINTS - 1)];
            let pieces = pieces as usize * if pieces > 1.0 { 2 } else { 1 };
            for piece in 0..pieces {
                let (low, high) =
                    (piece as f64 / pieces as f64, (piece + 1) as f64 / pieces as f64);
                for (s, weight) in rule.on(low, high) {
                    points.push([
                        a[0] + s * (b[0] - a[0]),
                        a[1] + s * (b[1] - a[1]),
                        weight * (b[1] - a[1]),
                    ]);
                }
            }
        }
        points
    }
}

/// The largest turn ψ that a rule of `p` points integrates to 1e-14.
fn largest_turn(p: usize) -> f64 {
    let ln_factorial = |m: usize| libm::lgamma(m as f64 + 1.0);
    let ln_error = 4.0 * ln_factorial(p) - (2.0 * p as f64 + 1.0).ln() - 3.0 * ln_factorial(2 * p);
    ((1e-14f64.ln() - ln_error) / (2.0 * p as f64)).exp()
}

/// The order at which polynomials represent exp(i·phase·ξ) on -1..1 to `tolerance`.
///
/// The Legendre coefficients are spherical Bessel functions j_k(phase), which fall beyond order k =
/// phase like exp(-(ν arcosh(ν/phase) - √(ν² - phase²))), ν = k + 1/2 (Debye, DLMF 10.19.3).
/// A quadratic phase Q ξ² counts as Q, being Q/2 (1 + cos 2θ) in ξ = cos θ.
pub fn order_for(phase_rad: f64, tolerance: f64) -> usize {
    let target = -tolerance.ln();
    let fallen = |k: usize| {
        let nu = k as f64 + 0.5;
        nu > phase_rad
            && nu * (nu / phase_rad).acosh() - (nu * nu - phase_rad * phase_rad).sqrt() > target
    };
    let mut order = (phase_rad.max(1e-3) as usize).max(2);
    while !fallen(order) && order < usize::MAX / 2 {
        order += 2;
    }
    // Even, and one step more for the factor that the exponential alone leaves out.
    order + 2 + order % 2
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// What a quadrature says of x^a y^b against ∬ done by hand on a rectangle.
    #[test]
    fn carries_a_rectangle_exactly() {
        let outline = shapes::rectangle(0.4, 0.2).unwrap().moved(0.1, -0.05);
        let aperture = Aperture::of(&outline);
        let grid = aperture.quadrature(12).unwrap();
        let integral = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            grid.weights_mm2
                .indexed_iter()
                .map(|((row, column), w)| w * f(grid.nodes_mm[column], grid.nodes_mm[row]))
                .sum()
        };
        let power = |p: i32, half: f64| 2.0 * half.powi(p + 1) / f64::from(p + 1);
        for (a, b) in [(0, 0), (2, 0), (0, 2), (4, 6), (10, 8)] {
            let truth = power(a, 0.2) * power(b, 0.1);
            let found = integral(&|x, y| x.powi(a) * y.powi(b));
            // Rounding of 144 terms against the largest of them.
            let scale = 0.08 * 0.2f64.powi(a + b);
            assert!((found - truth).abs() < 1e-13 * scale, "{a} {b}: {found} {truth}");
        }
        assert!(integral(&|x, y| x * y * y).abs() < 1e-16);
    }

    #[test]
    fn order_grows_as_the_phase() {
        // The first k whose term (2k+1) j_k(phase) is below 1e-12, by mpmath's besselj.
        for (phase, needed) in [(1.0, 13), (10.0, 32), (100.0, 145), (500.0, 577)] {
            let order = order_for(phase, 1e-12);
            assert!((needed..=needed + 12).contains(&order), "{phase}: {order}");
        }
    }
}
