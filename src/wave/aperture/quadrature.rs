//! How fine a grid an aperture asks for, and the grid itself.
//!
//! The number of points follows from the largest phase of the integrand, and from the error that is asked for.

use super::{Aperture, basis};
use crate::error::Error;
use crate::wave::exact::Exact;
use crate::wave::legendre::Gauss;
use crate::wave::light::{Distances, Light, Wave};
use crate::wave::moments::{Fineness, moments};
use crate::wave::order::{LARGEST_ORDER, Phase};
use ndarray::Array2;
use std::f64::consts::PI;

/// The dimmest place that is computed to its own digits, in amplitude: below, rounding rules.
const DARKEST: f64 = 1e-7;

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

/// The number of points and the care along the edges that a computation needs.
#[derive(Clone, Copy)]
pub(in crate::wave) struct Demand {
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

impl Aperture {
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
    pub(in crate::wave) fn quadrature_where(
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

    /// The amplitude of the pattern's peak over that of all light in phase, at the least: a shadow is
    /// dimmer by 1 + πN.
    pub(in crate::wave) fn faintest(&self, wave: Wave) -> f64 {
        let r = self.half_width_mm();
        1.0 / (1.0 + PI * r * r * wave.curvature_per_mm2 * self.metric.largest())
    }

    /// What a wave asks of the grid, out to `film_reach_mm` from the middle of the places wanted, the
    /// brightest of which has this `amplitude` as a share of that of all light in phase.
    pub(in crate::wave) fn demand(&self, wave: Wave, film_reach_mm: f64, amplitude: f64) -> Demand {
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

    pub(in crate::wave) fn quadrature_for(&self, demand: &Demand) -> Result<Quadrature, Error> {
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
}
