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
use super::order::{LARGEST_ORDER, Phase};
use super::path::Path;
use super::two_rims::{Between, TwoRims};
use crate::error::Error;
use crate::geometry::{Map, Outline, Point};
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;
use std::sync::Arc;

/// The neglected phase at which the model's second-order expansion means nothing any more, in rad.
const LARGEST_NEGLECTED_PHASE: f64 = 1.0;

/// The dimmest place that is computed to its own digits, in amplitude: below, rounding rules.
const DARKEST: f64 = 1e-7;

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

/// An aperture whose waves take the very path to one place on the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Exact {
    pub(super) path: Path,
    /// From the aperture's plane, as the film's axes see it, back to the plate.
    pub(super) to_plate: Map,
    /// Where the middle of grids and places lies, on the film, from the path's end.
    shift_mm: Point,
    /// How far from the subject's geometrical image that is, along one axis of the film.
    beside_mm: f64,
}

impl Exact {
    /// 2π/λ, in rad per mm.
    pub(super) fn turn_per_mm(&self, wave: Wave) -> f64 {
        2.0 * PI * self.path.film_mm() / wave.spread_mm2
    }

    /// The distance from the hole to the path's end, in mm.
    pub(super) fn film_mm(&self) -> f64 {
        self.path.film_mm()
    }

    /// How much longer the path by a point, as the film's axes see it, is than the origin's, in mm, with the
    /// shift of grids; and its amplitude.
    pub(super) fn by(&self, seen: Point) -> (f64, f64) {
        let on_plate = self.to_plate.of(seen);
        let shift = (self.shift_mm[0] * seen[0] + self.shift_mm[1] * seen[1]) / self.path.film_mm();
        (self.path.longer_mm(on_plate) - shift, self.path.amplitude(on_plate))
    }

    /// What the light by a point brings against the origin's.
    pub(super) fn wave_at(&self, seen: Point, turn_per_mm: f64) -> Complex64 {
        let (longer_mm, amplitude) = self.by(seen);
        Complex64::from_polar(amplitude, turn_per_mm * longer_mm)
    }
}

/// Weights at the points of a square grid: the hole as the diffraction integral sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quadrature {
    /// Node positions along x and along y from [`Aperture::centre_mm`], in mm, symmetric about 0.
    pub nodes_mm: [Vec<f64>; 2],
    /// Weights in mm², (row of y, column of x). Some are negative; their sum is the open area.
    pub weights_mm2: Array2<f64>,
}

impl Quadrature {
    /// The number of nodes along each axis.
    pub fn order(&self) -> usize {
        self.nodes_mm[0].len()
    }
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

    /// How many points across the hole, on each axis, are right for this light out to
    /// `film_reach_mm` from the axis: what a PSF by [`Aperture::psf`] costs.
    pub fn order(&self, light: &Light, distances: Distances, film_reach_mm: f64) -> usize {
        let wave = distances.wave(light.shortest_nm());
        self.demand(wave, film_reach_mm, self.faintest(wave)).order
    }

    /// The weighted grid that is right for this light out to `film_reach_mm` from the axis, where the
    /// pattern's peak is among the places wanted.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when more than 2000 points across the hole would be needed, or the hole is so
    /// large for its distance that the model means nothing (neglected phase above 1 rad).
    pub fn quadrature(
        &self,
        light: &Light,
        distances: Distances,
        film_reach_mm: f64,
    ) -> Result<Quadrature, Error> {
        self.model_holds(light, distances)?;
        let wave = distances.wave(light.shortest_nm());
        self.quadrature_for(&self.demand(wave, film_reach_mm, self.faintest(wave)))
    }

    /// The same for several lights, each out to its own reach, and for places whose brightest may be far
    /// below the pattern's peak: `brightest` finds it by a quadrature, as a share of what all light in phase
    /// would give there.
    pub(super) fn quadrature_where(
        &self,
        wanted: &[(&Light, f64)],
        distances: Distances,
        brightest: impl Fn(&Quadrature) -> f64,
    ) -> Result<Quadrature, Error> {
        for (light, _) in wanted {
            self.model_holds(light, distances)?;
        }
        let waves =
            || wanted.iter().map(|(light, reach)| (distances.wave(light.shortest_nm()), *reach));
        let demand = |amplitude: f64| {
            let each = waves().map(|(wave, reach)| self.demand(wave, reach, amplitude));
            each.fold(Demand::NONE, Demand::and)
        };
        let mut amplitude = waves().map(|(wave, _)| self.faintest(wave)).fold(1.0, f64::min);
        let mut quadrature = self.quadrature_for(&demand(amplitude))?;
        // A dim place is known to half of itself after one or two passes, an entirely dark one never.
        for _ in 0..3 {
            let found = brightest(&quadrature).sqrt();
            if found >= amplitude || amplitude <= DARKEST {
                break;
            }
            amplitude = (found / 2.0).max(DARKEST);
            quadrature = self.quadrature_for(&demand(amplitude))?;
        }
        Ok(quadrature)
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

    /// The amplitude of the pattern's peak over that of all light in phase, at the least: a shadow is
    /// dimmer by 1 + πN.
    pub(super) fn faintest(&self, wave: Wave) -> f64 {
        let r = self.half_width_mm();
        1.0 / (1.0 + PI * r * r * wave.curvature_per_mm2 * self.metric.largest())
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

    /// What a wave asks of the grid, out to `film_reach_mm` from the middle of the places wanted, the
    /// brightest of which has this `amplitude` as a share of that of all light in phase.
    pub(super) fn demand(&self, wave: Wave, film_reach_mm: f64, amplitude: f64) -> Demand {
        let [rx, ry] = self.frame.half_mm;
        let (curvature, metric) = (wave.curvature_per_mm2, self.metric);
        let beside = metric.apply(self.centre_mm());
        let beyond =
            |exact: Exact| exact.beside_mm + exact.shift_mm[0].abs().max(exact.shift_mm[1].abs());
        let reach = film_reach_mm + self.exact.map_or(0.0, beyond);
        let higher = self.exact.map_or(0.0, |exact| self.higher_rad(wave, exact));
        let along = |r: f64, other: f64, beside: f64, form: f64| {
            let shadow = beside.abs() + other * metric.xy.abs();
            let linear = 2.0 * PI * r * (reach / wave.spread_mm2 + shadow * curvature);
            Phase { linear, quadratic: PI * r * r * curvature * form, higher }
        };
        let phases = [along(rx, ry, beside[0], metric.xx), along(ry, rx, beside[1], metric.yy)];
        let rim = rx.max(ry) * self.outline.perimeter_mm() / self.area_mm2;
        // All edges' errors may add up: a slit has few, and they do not cancel.
        let edges = self.tolerance * amplitude / (4.0 * rim);
        Demand {
            // Intensities err by twice the amplitudes' share, each of two axes by its own; as much is
            // left for the edges.
            order: phases
                .map(|phase| phase.order(self.tolerance * amplitude / 8.0))
                .into_iter()
                .fold(0, usize::max),
            fineness: Fineness {
                turn: phases
                    .map(|phase| phase.linear + 2.0 * phase.quadratic + 4.0 * phase.higher)
                    .into_iter()
                    .fold(0.0, f64::max),
                tolerance: edges.max(1e-15),
            },
        }
    }

    /// By how much the phases of two points of the hole differ at the most, at the mean wavelength, out to
    /// `film_reach_mm` from the middle of the places wanted, in rad: what a spectrum's lines must follow.
    pub fn turn_rad(&self, light: &Light, distances: Distances, film_reach_mm: f64) -> f64 {
        let wave = distances.wave(light.mean_nm());
        2.0 * self.demand(wave, film_reach_mm, 1.0).fineness.turn
    }

    /// The most that the path's terms beyond the second order turn the wave, over the frame.
    fn higher_rad(&self, wave: Wave, exact: Exact) -> f64 {
        let ([x, y], [rx, ry]) = (self.centre_mm(), self.frame.half_mm);
        let corners = [[x - rx, y - ry], [x - rx, y + ry], [x + rx, y - ry], [x + rx, y + ry]];
        let farthest = corners
            .into_iter()
            .map(|corner| exact.to_plate.of(corner))
            .fold(0.0, |most: f64, [x, y]| most.max(x.hypot(y)));
        let film_mm = exact.path.film_mm();
        let wavelength_mm = wave.spread_mm2 / film_mm;
        // The ray to a place beside the image is another one: the second order changes in its proportion.
        let turned = farthest * farthest / film_mm * 2.0 * exact.beside_mm / film_mm;
        2.0 * PI / wavelength_mm * (exact.path.beyond_second_order_mm(farthest) + turned)
    }

    pub(super) fn quadrature_for(&self, demand: &Demand) -> Result<Quadrature, Error> {
        let n = demand.order;
        if n > LARGEST_ORDER {
            return Err(Error::limit(
                format!("this hole and film would need {n} points across the hole"),
                format!("ask for a smaller film area or hole: the limit is {LARGEST_ORDER}"),
            ));
        }
        let basis = basis(n);
        // Moments are (k of y, j of x), so the weights come out as (y, x).
        let moments = moments(&self.outline, self.frame, n, demand.fineness);
        let weights_mm2 = basis.t().dot(&moments).dot(&basis);
        let nodes = Gauss::rule(n).nodes;
        let nodes_mm = self.frame.half_mm.map(|half| nodes.iter().map(|x| x * half).collect());
        Ok(Quadrature { nodes_mm, weights_mm2 })
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

/// The number of points and the care along the edges that a computation needs.
#[derive(Clone, Copy)]
pub(super) struct Demand {
    order: usize,
    fineness: Fineness,
}

impl Demand {
    const NONE: Demand = Demand { order: 2, fineness: Fineness { turn: 0.0, tolerance: 1.0 } };

    /// What serves both.
    fn and(self, other: Demand) -> Demand {
        let (one, two) = (self.fineness, other.fineness);
        Demand {
            order: self.order.max(other.order),
            fineness: Fineness {
                turn: one.turn.max(two.turn),
                tolerance: one.tolerance.min(two.tolerance),
            },
        }
    }
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
                .map(|((row, column), w)| w * f(grid.nodes_mm[0][column], grid.nodes_mm[1][row]))
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
    fn an_error_that_cannot_be_is_refused() {
        let aperture = Aperture::of(&shapes::disc(0.3).unwrap());
        for bad in [0.0, -1.0, 1.0, 1e-16, f64::NAN] {
            assert!(aperture.clone().with_tolerance(bad).is_err());
        }
    }
}
