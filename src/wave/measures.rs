//! What a PSF amounts to: the energy inside a window, the Strehl ratio, where its middle lies.

use super::aperture::Aperture;
use super::legendre::Gauss;
use super::light::{Distances, Light};
use super::order::order_for;
use crate::error::Error;
use crate::geometry::Point;
use std::f64::consts::{PI, TAU};

/// A window on the film about the middle of the point image ([`Aperture::image_centroid_mm`]).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Window {
    /// A circle of this diameter, in mm: encircled energy.
    Circle(f64),
    /// An upright square with sides of this length, in mm: ensquared energy, a pixel's share.
    Square(f64),
}

impl Aperture {
    /// The centroid of the point image, in mm: exactly that of the open area, m = 1 + v/u times as
    /// far out. It is the only moment that a sharp-edged hole's PSF has: the energy beyond a radius
    /// falls as 1/R, so that mean squares grow without end. (The OTF's slope at 0; `Goodman`, ch. 6.)
    pub fn image_centroid_mm(&self, distances: Distances) -> Point {
        self.metric()
            .apply(self.outline().centroid_mm())
            .map(|c| c * distances.shadow_magnification())
    }

    /// The share of the energy inside a window, to the aperture's tolerance.
    ///
    /// The density is a smooth wave, so that Gauss points over the window integrate it exactly once
    /// they outnumber its phase; [`super::Encircled`] is quicker for many circles, to 1e-5.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when the window's size is not above zero.
    pub fn energy_within(
        &self,
        light: &Light,
        distances: Distances,
        window: Window,
    ) -> Result<f64, Error> {
        let (Window::Circle(size) | Window::Square(size)) = window;
        if !(size > 0.0 && size.is_finite()) {
            return Err(Error::limit(
                format!("a window of {size} mm holds nothing"),
                "give a size above zero",
            ));
        }
        let half = size / 2.0;
        // |U|² turns twice as fast as U: by 2κR a mm along each axis of the film.
        let spread = distances.wave(light.shortest_nm()).spread_mm2;
        let turn = 4.0 * PI * self.half_width_mm() * half / spread;
        let points = match window {
            Window::Circle(_) => circle(half, turn * 2f64.sqrt(), self.tolerance()),
            Window::Square(_) => square(half, turn, self.tolerance()),
        };
        let [x, y] = self.image_centroid_mm(distances);
        let places: Vec<Point> = points.iter().map(|(p, _)| [x + p[0], y + p[1]]).collect();
        let density = self.density_at(light, distances, &places)?;
        Ok(density.iter().zip(&points).map(|(e, (_, weight))| e * weight).sum())
    }

    /// The density at the centroid over that of a lens-like, all-in-phase image of the same hole,
    /// A/(λv)², energies of all wavelengths added: the Strehl ratio (`BornWolf`, 9.1.3).
    /// For a disc it is (sin(πN/2)/(πN/2))².
    ///
    /// # Errors
    /// As [`Aperture::quadrature`].
    pub fn strehl_ratio(&self, light: &Light, distances: Distances) -> Result<f64, Error> {
        let found = self.density_at(light, distances, &[self.image_centroid_mm(distances)])?;
        let in_phase: f64 = light
            .lines()
            .iter()
            .map(|&(nm, share)| share * self.area_mm2() / distances.wave(nm).spread_mm2.powi(2))
            .sum();
        Ok(found.iter().sum::<f64>() / in_phase)
    }
}

/// Places with weights in mm²: Gauss points on both axes.
fn square(half: f64, turn: f64, tolerance: f64) -> Vec<(Point, f64)> {
    let rule = Gauss::rule(order_for(turn, tolerance));
    let axis: Vec<(f64, f64)> = rule.on(-half, half).collect();
    axis.iter()
        .flat_map(|(y, weight)| axis.iter().map(move |(x, w)| ([*x, *y], w * weight)))
        .collect()
}

/// The same in a circle: Gauss points outwards, even steps around, as many as the phase at each
/// radius asks for (a wave's harmonics J_k fall beyond order k = phase).
fn circle(half: f64, turn: f64, tolerance: f64) -> Vec<(Point, f64)> {
    let outwards = Gauss::rule(order_for(turn / 2.0, tolerance));
    let mut points = Vec::new();
    for (radius, weight) in outwards.on(0.0, half) {
        let around = 2 * order_for(turn * radius / half, tolerance);
        for i in 0..around {
            let (sin, cos) = (TAU * i as f64 / around as f64).sin_cos();
            points.push(([radius * cos, radius * sin], weight * radius * TAU / around as f64));
        }
    }
    points
}
