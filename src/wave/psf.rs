//! The point-spread function: energy per area on the film, wavelengths added.

use super::aperture::{Aperture, Quadrature, order_for};
use super::field::Field;
use super::light::{Distances, Light, MM_PER_NM};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Relative to the largest possible amplitude; the intensity's error is about twice this.
const TOLERANCE: f64 = 1e-12;

/// 8192² samples are half a GB: beyond that a map of a point image serves nobody.
const LARGEST_GRID: usize = 8192;

/// The neglected phase at which the model's second-order expansion is no longer trusted, in rad:
/// intensities are then off by up to the same share.
const LARGEST_NEGLECTED_PHASE: f64 = 0.1;

/// A square grid on the film, centred at index size / 2 on the line through the hole's origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    size: usize,
    pitch_mm: f64,
}

impl Grid {
    /// `size` × `size` samples, `pitch_mm` apart.
    ///
    /// # Errors
    /// [`Error::Limit`] for a size of 0 or above 8192, or a pitch that is not positive and finite.
    pub fn new(size: usize, pitch_mm: f64) -> Result<Grid, Error> {
        if size == 0 || size > LARGEST_GRID {
            return Err(Error::limit(
                format!("a grid of {size} × {size} samples is beyond what is computed"),
                format!("ask for 1 to {LARGEST_GRID} samples a side"),
            ));
        }
        if !(pitch_mm > 0.0 && pitch_mm.is_finite()) {
            return Err(Error::limit(
                format!("a pitch of {pitch_mm} mm is no distance between samples"),
                "give a pitch above zero, as in \"2 um\"",
            ));
        }
        Ok(Grid { size, pitch_mm })
    }

    /// Samples a side.
    pub fn size(self) -> usize {
        self.size
    }

    /// Distance between samples, in mm.
    pub fn pitch_mm(self) -> f64 {
        self.pitch_mm
    }

    /// Distance from the axis to the outermost sample along one axis, in mm.
    pub fn reach_mm(self) -> f64 {
        (self.size / 2) as f64 * self.pitch_mm
    }
}

/// What a point of the subject becomes on the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Psf {
    /// Energy per mm² as a fraction of all that came through the hole: rows from low y to high,
    /// columns from low x, centred at index size / 2.
    pub density: Array2<f64>,
    grid: Grid,
    order: usize,
}

impl Psf {
    /// The PSF of an outline in this light at these distances.
    ///
    /// # Errors
    /// [`Error::Limit`] when the grid's reach would need more than 2000 points across the hole, or
    /// the hole is too large for its distance (neglected phase above 0.1 rad).
    pub fn of(
        outline: &Outline,
        light: &Light,
        distances: Distances,
        grid: Grid,
    ) -> Result<Psf, Error> {
        let aperture = Aperture::of(outline);
        let quadrature = quadrature_for(&aperture, light, distances, grid.reach_mm())?;
        let empty = || Array2::zeros((grid.size, grid.size));
        let density = light
            .lines()
            .par_iter()
            .fold(empty, |mut film, &(wavelength_nm, share)| {
                Field::new(&aperture, &quadrature, wavelength_nm, distances).add_to(
                    &mut film,
                    grid.pitch_mm,
                    share,
                );
                film
            })
            .reduce_with(|one, other| one + other)
            .unwrap_or_else(empty);
        Ok(Psf { density, grid, order: quadrature.nodes_mm.len() })
    }

    /// Energy per mm² at single places on the film, in mm from the axis.
    ///
    /// # Errors
    /// As [`Psf::of`].
    pub fn density_at(
        outline: &Outline,
        light: &Light,
        distances: Distances,
        places_mm: &[Point],
    ) -> Result<Vec<f64>, Error> {
        let aperture = Aperture::of(outline);
        let reach = places_mm.iter().flatten().fold(0.0f64, |most, c| most.max(c.abs()));
        let quadrature = quadrature_for(&aperture, light, distances, reach)?;
        let fields: Vec<(Field, f64)> = light
            .lines()
            .iter()
            .map(|&(nm, share)| (Field::new(&aperture, &quadrature, nm, distances), share))
            .collect();
        let density = |at: &Point| fields.iter().map(|(f, share)| share * f.density_at(*at)).sum();
        Ok(places_mm.par_iter().map(density).collect())
    }

    /// The film grid.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// Points across the hole that the tolerance asked for.
    pub fn order(&self) -> usize {
        self.order
    }

    /// The share of the energy that falls on the grid, each sample standing for its own square.
    pub fn energy_on_grid(&self) -> f64 {
        self.density.sum() * self.grid.pitch_mm * self.grid.pitch_mm
    }

    /// The highest sample, in energy per mm².
    pub fn peak(&self) -> f64 {
        self.density.iter().copied().fold(0.0, f64::max)
    }
}

/// The share of the energy outside a circle of `radius_mm` on the film, far from the shadow:
/// λ v P/(2π² A R). Every edge throws light outwards as R⁻³, so a long rim P costs contrast.
/// For a disc it is the 2/(πw) that follows from 1 - E = J0² + J1² (Born & Wolf 8.5).
pub fn energy_beyond(outline: &Outline, light: &Light, film_mm: f64, radius_mm: f64) -> f64 {
    let rim = outline.perimeter_mm() / outline.area_mm2();
    light.mean_nm() * MM_PER_NM * film_mm * rim / (2.0 * PI * PI * radius_mm)
}

fn quadrature_for(
    aperture: &Aperture,
    light: &Light,
    distances: Distances,
    film_reach_mm: f64,
) -> Result<Quadrature, Error> {
    let shortest = light.shortest_nm();
    let neglected = distances.neglected_phase_rad(aperture.half_width_mm(), shortest);
    if neglected > LARGEST_NEGLECTED_PHASE {
        return Err(Error::limit(
            format!(
                "a hole {:.3} mm wide is too large for an effective distance of {:.3} mm: \
                 the model would drop a phase of {neglected:.1e} rad",
                2.0 * aperture.half_width_mm(),
                distances.effective_mm()
            ),
            "use a smaller hole or a longer distance; up to 0.1 rad the model holds",
        ));
    }
    let phase = aperture.phase_rad(shortest, distances, film_reach_mm);
    aperture.quadrature(order_for(phase, TOLERANCE))
}
