//! An outline as a small weighted grid of points that carries it exactly.
//!
//! The diffraction integrand is smooth; only the region is awkward. So the region is replaced once
//! by weights W at n × n Gauss points, such that Σ W f equals ∬_hole f dA for every f that
//! polynomials of degree below n represent along each axis: with the Legendre moments M of the
//! region ([`super::moments`]), W = Bᵀ M B at the nodes ξ_i, B_ji = (2j+1)/2 w_i P_j(ξ_i).
//!
//! n follows from the largest phase of the integrand, and from the error that is asked for.

use super::legendre::{self, Gauss};
use super::light::{Distances, Light, Wave};
use super::metric::Metric;
use super::moments::{Fineness, Frame, moments};
use crate::error::Error;
use crate::geometry::{Map, Outline, Point};
use ndarray::{Array2, Axis};
use std::f64::consts::PI;

/// The largest order that is built: 2000² weights are 32 MB, and the Fresnel numbers they reach
/// (several hundred) are far into the plain shadow.
const LARGEST_ORDER: usize = 2000;

/// The neglected phase at which the model's second-order expansion means nothing any more, in rad.
const LARGEST_NEGLECTED_PHASE: f64 = 1.0;

/// How much more than the tolerance an edge's own error may be: along the rim these errors cancel as
/// the light itself does. Measured over squares, slits, triangles, rings, burrs, Fresnel numbers 0.05
/// to 50 and film to 30 rings: densities are then off by less than the tolerance.
const EDGE_SHARE: f64 = 24.0;

/// The error of a density, relative to the pattern's peak, where nothing else is asked for.
pub const TOLERANCE: f64 = 1e-7;

/// An outline made ready for diffraction, and the error that what is computed from it may have.
/// Prepared once, it gives point-spread functions ([`Aperture::psf`]), single places
/// ([`Aperture::density_at`]), stacks ([`Aperture::family`]), wide fields ([`Aperture::wide_psf`])
/// and measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Aperture {
    outline: Outline,
    frame: Frame,
    area_mm2: f64,
    tolerance: f64,
    metric: Metric,
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
    /// Prepares an outline, for densities right to 1e-7 of the peak.
    pub fn of(outline: &Outline) -> Aperture {
        let (low, high) = outline.bounds_mm();
        let frame = Frame {
            centre_mm: [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0],
            half_width_mm: (high[0] - low[0]).max(high[1] - low[1]) / 2.0,
        };
        Aperture {
            outline: outline.clone(),
            frame,
            area_mm2: outline.area_mm2(),
            tolerance: TOLERANCE,
            metric: Metric::SQUARE,
        }
    }

    /// Prepares the hole for a film that is not square to the ray: `seen` is the outline as it stands
    /// across the ray, `film_to_ray` takes a small step on the film to the step that it is seen as
    /// across the ray. Grids, places and windows are then on the film itself, distances along the ray.
    pub fn aslant(seen: &Outline, film_to_ray: Map) -> Aperture {
        Aperture {
            metric: Metric::of(film_to_ray),
            ..Aperture::of(&seen.through(film_to_ray.transposed()))
        }
    }

    /// The same with another error allowed, as a share of the pattern's peak.
    ///
    /// # Errors
    /// [`Error::Limit`] unless it lies between 1e-13, below which rounding rules, and 0.01.
    pub fn right_to(self, tolerance: f64) -> Result<Aperture, Error> {
        if (1e-13..=0.01).contains(&tolerance) {
            return Ok(Aperture { tolerance, ..self });
        }
        Err(Error::limit(
            format!("an error of {tolerance:e} of the peak cannot be asked for"),
            "ask for one between 1e-13 and 0.01",
        ))
    }

    /// The outline; for a film aslant, as its axes see it.
    pub fn outline(&self) -> &Outline {
        &self.outline
    }

    /// The error that a density may have, as a share of the pattern's peak.
    pub fn tolerance(&self) -> f64 {
        self.tolerance
    }

    /// The middle of the square that holds the outline, in mm.
    pub fn centre_mm(&self) -> Point {
        self.frame.centre_mm
    }

    /// Half the side of the square that holds the outline, in mm.
    pub fn half_width_mm(&self) -> f64 {
        self.frame.half_width_mm
    }

    /// The open area, in mm².
    pub fn area_mm2(&self) -> f64 {
        self.area_mm2
    }

    /// The largest phase that the model drops for this hole, in rad
    /// ([`Distances::neglected_phase_rad`] at the shortest wavelength): intensities are off by up to
    /// about the same share.
    pub fn neglected_phase_rad(&self, light: &Light, distances: Distances) -> f64 {
        let radius = self.half_width_mm() * self.metric.largest().sqrt();
        distances.neglected_phase_rad(radius, light.shortest_nm())
    }

    /// How many points across the hole, on each axis, are right for this light out to
    /// `film_reach_mm` from the axis: what a PSF by [`Aperture::psf`] costs.
    pub fn order(&self, light: &Light, distances: Distances, film_reach_mm: f64) -> usize {
        self.demand(distances.wave(light.shortest_nm()), film_reach_mm).order
    }

    /// The weighted grid that is right for this light out to `film_reach_mm` from the axis.
    ///
    /// # Errors
    /// [`Error::Limit`] when more than 2000 points across the hole would be needed, or the hole is so
    /// large for its distance that the model means nothing (neglected phase above 1 rad).
    pub fn quadrature(
        &self,
        light: &Light,
        distances: Distances,
        film_reach_mm: f64,
    ) -> Result<Quadrature, Error> {
        self.model_holds(light, distances)?;
        self.quadrature_for(&self.demand(distances.wave(light.shortest_nm()), film_reach_mm))
    }

    pub(super) fn model_holds(&self, light: &Light, distances: Distances) -> Result<(), Error> {
        let neglected = self.neglected_phase_rad(light, distances);
        if neglected <= LARGEST_NEGLECTED_PHASE {
            return Ok(());
        }
        Err(Error::limit(
            format!(
                "a hole {:.3} mm wide is too large for an effective distance of {:.3} mm: the model \
                 would drop a phase of {neglected:.1e} rad",
                2.0 * self.half_width_mm(),
                distances.effective_mm()
            ),
            "use a smaller hole or a longer distance; beyond 1 rad the model means nothing",
        ))
    }

    /// The waves' curvature along the two axes of the film.
    pub(super) fn metric(&self) -> Metric {
        self.metric
    }

    /// What a wave asks of the grid, out to `film_reach_mm` from the axis.
    pub(super) fn demand(&self, wave: Wave, film_reach_mm: f64) -> Demand {
        let r = self.half_width_mm();
        let beside = self.centre_mm()[0].abs().max(self.centre_mm()[1].abs());
        let curvature = wave.curvature_per_mm2 * self.metric.largest();
        let linear = 2.0 * PI * r * (film_reach_mm / wave.spread_mm2 + beside * curvature);
        // A form with a cross term turns along both axes at once.
        let both = 1.0 + self.metric.xy.abs() / self.metric.largest();
        let curved = PI * r * r * curvature * both;
        // A shadow's peak is lower than that of all light in phase: by 1 + πN in the field, at most.
        let dimmer = 1.0 + curved;
        let rim = r * self.outline.perimeter_mm() / self.area_mm2;
        Demand {
            order: order_for(steepest(linear, curved), self.tolerance / (8.0 * dimmer)),
            fineness: Fineness {
                turn: linear + 2.0 * curved,
                tolerance: (EDGE_SHARE * self.tolerance / (dimmer * dimmer * rim)).max(1e-15),
            },
        }
    }

    pub(super) fn quadrature_for(&self, demand: &Demand) -> Result<Quadrature, Error> {
        let n = demand.order;
        if n > LARGEST_ORDER {
            return Err(Error::limit(
                format!("this hole and film would need {n} points across the hole"),
                format!("ask for a smaller film area or hole: the limit is {LARGEST_ORDER}"),
            ));
        }
        let gauss = Gauss::rule(n);
        // B_ji = (2j+1)/2 w_i P_j(ξ_i)
        let mut basis = legendre::polynomials(&gauss.nodes, &gauss.weights, n);
        for (j, mut row) in basis.axis_iter_mut(Axis(0)).enumerate() {
            row *= j as f64 + 0.5;
        }
        // Moments are (k of y, j of x), so the weights come out as (y, x).
        let moments = moments(&self.outline, self.frame, n, demand.fineness);
        let weights_mm2 = basis.t().dot(&moments).dot(&basis);
        let nodes_mm = gauss.nodes.iter().map(|x| x * self.half_width_mm()).collect();
        Ok(Quadrature { nodes_mm, weights_mm2 })
    }
}

/// The number of points and the care along the edges that a computation needs.
pub(super) struct Demand {
    order: usize,
    fineness: Fineness,
}

/// The steepest slope in θ of a phase a cos θ + (Q/2) cos 2θ, which is a·ξ + Q ξ² in ξ = cos θ: where
/// a sin θ + Q sin 2θ is largest. Polynomials of ξ are waves of θ, so this is the order they need.
fn steepest(a: f64, q: f64) -> f64 {
    // 4Q c² + a c - 2Q = 0 for c = cos θ, in the form that does not lose digits for small Q.
    let c = 4.0 * q / (a + (a * a + 32.0 * q * q).sqrt());
    (1.0 - c * c).sqrt() * (a + 2.0 * q * c)
}

/// The order from which on a wave exp(i·phase·ξ) on -1..1 holds polynomials by less than `tolerance`,
/// made even, so that no node lies on an axis.
///
/// The Legendre coefficients are spherical Bessel functions, which beyond order k = phase are
/// j_k = exp(-(ν arcosh(ν/phase) - s)) / (2 √(phase s)), s = √(ν² - phase²), ν = k + 1/2
/// (Debye, DLMF 10.19.3).
pub fn order_for(phase_rad: f64, tolerance: f64) -> usize {
    let phase = phase_rad.max(1e-3);
    let fallen = |k: usize| {
        let nu = k as f64 + 0.5;
        let s = (nu * nu - phase * phase).max(0.0).sqrt();
        // Where the form fails, at the turning point, no order is enough.
        s > 0.0 && (s - nu * (nu / phase).acosh()).exp() < tolerance * 2.0 * (phase * s).sqrt()
    };
    let least = (phase.min(1e9) as usize).next_multiple_of(2).max(2);
    (least..).step_by(2).find(|&k| k > LARGEST_ORDER || fallen(k)).unwrap_or(LARGEST_ORDER)
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
        let fineness = Fineness { turn: 12.0, tolerance: 1e-15 };
        let grid = aperture.quadrature_for(&Demand { order: 12, fineness }).unwrap();
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
        // The first k whose |j_k(phase)| is below the tolerance, by mpmath's besselj.
        for (phase, tolerance, needed) in [
            (1.0, 1e-7, 8),
            (10.0, 1e-7, 23),
            (100.0, 1e-7, 124),
            (500.0, 1e-7, 538),
            (1.0, 1e-12, 12),
            (10.0, 1e-12, 30),
            (100.0, 1e-12, 139),
            (500.0, 1e-12, 563),
        ] {
            let order = order_for(phase, tolerance);
            assert!((needed..=needed + 2).contains(&order), "{phase} {tolerance}: {order}");
        }
    }

    /// The slope of a ξ + Q ξ² in θ, by looking everywhere.
    #[test]
    fn steepest_is_the_steepest() {
        for (a, q) in [(30.0, 0.0), (30.0, 1.0), (30.0, 20.0), (300.0, 157.0), (1.0, 40.0)] {
            let slope = |t: f64| f64::abs(a * t.sin() + q * (2.0 * t).sin());
            let most = (0..=100_000).map(|i| slope(f64::from(i) * PI / 1e5)).fold(0.0, f64::max);
            assert!((steepest(a, q) / most - 1.0).abs() < 1e-8, "{a} {q}");
        }
    }

    #[test]
    fn an_error_that_cannot_be_is_refused() {
        let aperture = Aperture::of(&shapes::disc(0.3).unwrap());
        for bad in [0.0, -1.0, 1.0, 1e-16, f64::NAN] {
            assert!(aperture.clone().right_to(bad).is_err());
        }
    }
}
