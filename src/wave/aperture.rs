//! An outline as a small weighted grid of points that carries it exactly.
//!
//! The diffraction integrand is smooth; only the region is awkward. So the region is replaced once
//! by weights W at n × n Gauss points, such that Σ W f equals ∬_hole f dA for every f that
//! polynomials of degree below n represent along each axis: with the Legendre moments M of the
//! region ([`super::moments`]), W = Bᵀ M B at the nodes ξ_i, B_ji = (2j+1)/2 w_i P_j(ξ_i).

mod quadrature;

pub use quadrature::Quadrature;

use super::exact::Exact;
use super::legendre::{self, Gauss};
use super::light::{Distances, Light, Wave};
use super::metric::Metric;
use super::moments::Frame;
use super::path::Path;
use super::two_rims::{Between, TwoRims};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use std::sync::Arc;

/// The neglected phase at which the model's second-order expansion means nothing any more, in rad.
const LARGEST_NEGLECTED_PHASE: f64 = 1.0;

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
    exact: Option<Exact>,
    rims: Option<Arc<TwoRims>>,
}

impl Aperture {
    /// Prepares an outline, for densities accurate to 1e-7 of the peak.
    pub fn of(outline: &Outline) -> Aperture {
        let (low, high) = outline.bounds_mm();
        let frame = Frame {
            centre_mm: [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0],
            half_mm: [(high[0] - low[0]) / 2.0, (high[1] - low[1]) / 2.0],
        };
        Aperture {
            outline: outline.clone(),
            frame,
            area_mm2: outline.area_mm2(),
            tolerance: TOLERANCE,
            metric: Metric::SQUARE,
            exact: None,
            rims: None,
        }
    }

    /// Prepares the hole for one place on a film that may lean and bend, with no distance expanded: each
    /// of the hole's points has its own path and amplitude. The outline is the open hole in the plate.
    /// Grids and places are then on the film about the path's end, distances must be those along the
    /// path.
    pub fn along(outline: &Outline, path: Path) -> Aperture {
        let to_film = path.plate_to_film();
        let to_plate = to_film.inverted();
        Aperture {
            metric: Metric::of(path.across(), to_plate),
            exact: Some(Exact { path, to_plate, shift_mm: [0.0, 0.0], beside_mm: 0.0 }),
            ..Aperture::of(&outline.through(to_film))
        }
    }

    /// The same through a plate of some thickness, by two rims of this hole's outline, of which the ray to
    /// the path's end leaves open what the aperture was made of; an aperture without a path is left as it
    /// is. The fields and the densities of grids then have what the second rim does, and energies are shares
    /// of what passes both.
    #[must_use]
    pub fn between_rims(self, hole: &Outline, thickness_mm: f64) -> Aperture {
        let Some(exact) = self.exact else { return self };
        let (slope, to_film) = (exact.path.arriving(), exact.to_plate.inverted());
        let deep = (1.0 - slope[0] * slope[0] - slope[1] * slope[1]).sqrt();
        let [x, y] = slope.map(|sine| sine / deep * thickness_mm / 2.0);
        let rims = [hole.moved(x, y), hole.moved(-x, -y)].map(|rim| rim.through(to_film));
        let between = Between { thickness_mm, slope, to_plate: exact.to_plate };
        let rims = TwoRims::of([&rims[0], &rims[1]], between);
        let half_mm = self.frame.half_mm.map(|half| half + rims.margin_mm());
        let frame = Frame { half_mm, ..self.frame };
        Aperture { frame, rims: Some(Arc::new(rims)), ..self }
    }

    /// The same for grids and places about another place on the film, `shift_mm` from the path's end,
    /// which itself lies up to `beside_mm` from the subject's geometrical image along one axis of the
    /// film. An aperture without a path is left as it is.
    #[must_use]
    pub fn shifted(self, shift_mm: Point, beside_mm: f64) -> Aperture {
        let exact = self.exact.map(|exact| Exact { shift_mm, beside_mm, ..exact });
        Aperture { exact, ..self }
    }

    /// The same with another error allowed, as a share of the pattern's peak.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) unless it lies between 1e-13, below which rounding rules, and 0.01.
    pub fn with_tolerance(self, tolerance: f64) -> Result<Aperture, Error> {
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

    /// The middle of the rectangle that holds the outline, in mm.
    pub fn centre_mm(&self) -> Point {
        self.frame.centre_mm
    }

    /// Half the longer side of the rectangle that holds the outline, in mm.
    pub fn half_width_mm(&self) -> f64 {
        self.frame.half_mm[0].max(self.frame.half_mm[1])
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

    /// Whether all of the hole's shadow falls on places up to `film_reach_mm` from the middle, and so the
    /// pattern's peak.
    pub(super) fn shadow_falls_within(&self, distances: Distances, film_reach_mm: f64) -> bool {
        let shadow = distances.shadow_magnification() * self.metric.largest();
        let image = self.image_centroid_mm(distances);
        // The centroid may lie anywhere in the frame.
        let half = 2.0 * shadow * self.half_width_mm();
        image.iter().all(|c| c.abs() + half <= film_reach_mm)
    }

    pub(super) fn model_holds(&self, light: &Light, distances: Distances) -> Result<(), Error> {
        if self.exact.is_some() {
            return Ok(());
        }
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

    pub(super) fn exact(&self) -> Option<Exact> {
        self.exact
    }

    /// The weights at a quadrature's nodes with what both rims of a plate make of the wave, and how much
    /// light passes them, in mm²; None for a thin plate.
    pub(super) fn weights_between_rims(
        &self,
        quadrature: &Quadrature,
        wave: Wave,
    ) -> Option<(Array2<Complex64>, f64)> {
        let (rims, exact) = (self.rims.as_ref()?, self.exact?);
        let wavelength_mm = wave.spread_mm2 / exact.path.film_mm();
        let n = quadrature.order();
        let (moments, passed_mm2) = rims.moments(self.frame, n, wavelength_mm);
        let basis = basis(n);
        let part = |of: fn(&Complex64) -> f64| basis.t().dot(&moments.map(of)).dot(&basis);
        let (re, im) = (part(|m| m.re), part(|m| m.im));
        let weights = Array2::from_shape_fn(re.dim(), |at| Complex64::new(re[at], im[at]));
        Some((weights, passed_mm2))
    }
}

/// From moments to weights at the nodes: B_ji = (2j+1)/2 w_i P_j(ξ_i).
fn basis(n: usize) -> Array2<f64> {
    let gauss = Gauss::rule(n);
    let mut basis = legendre::polynomials(&gauss.nodes, &gauss.weights, n);
    for (j, mut row) in basis.axis_iter_mut(Axis(0)).enumerate() {
        row *= j as f64 + 0.5;
    }
    basis
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn an_error_that_cannot_be_is_refused() {
        let aperture = Aperture::of(&shapes::disc(0.3).unwrap());
        for bad in [0.0, -1.0, 1.0, 1e-16, f64::NAN] {
            assert!(aperture.clone().with_tolerance(bad).is_err());
        }
    }
}
