//! This hole in this camera, at a place on the film: the one door to a PSF, an OTF or encircled energy.
//!
//! The hole is clipped by the plate's thickness, foreshortened as the ray sees it, and lights a film
//! that need not stand square to the ray; the emulsion and what moves are factors on the OTF. So every
//! command, the picture and the verdict see the same light.
//!
//! PSFs take the exact path through each point of the hole to the film, which is cut into tiles where one
//! map would not do (`patch`). OTFs and circles rest on distances expanded to second order about the ray
//! through the hole's middle; what they drop first is cubic, (2π/λ) x³ sin θ cos² θ /(2R²), a coma-like
//! phase below 0.01 rad for good holes, whose square is what contrast loses by it.

mod contrast;
mod error;
mod pixels;

pub use contrast::Along;

use super::blur::Blur;
use super::description::{Camera, PlateModel};
use super::film::{Film, Place};
use super::patch::{Patch, Rims};
use crate::error::Error;
use crate::geometry::{Map, Outline, Point, clip};
use crate::quantity::Quantity;
use crate::wave::{Aperture, Distances, Grid, Light, Psf, TOLERANCE};
use ndarray::Array2;
use rustfft::num_complex::Complex64;

/// What the map of a tile of film may drop, over the numerics' own tolerance and within bounds, as a share
/// of the peak: it is a phase here and there and not the whole sum.
const MAP_OVER_TOLERANCE: f64 = 1000.0;
const LEAST_MAP: f64 = 1e-3;

/// The least that rims are taken apart, as a share of the hole, where only the way they close it counts.
const LEAST_APART: f64 = 1e-3;

/// The image of a point at one place on the film.
#[derive(Debug, Clone, PartialEq)]
pub struct PointImage {
    /// Where on the film.
    pub place: Place,
    /// The share of the hole's area that the plate leaves open to the ray.
    pub open: f64,
    /// What is open of the hole, in the plate.
    hole: Outline,
    film: Film,
    /// The same as it lies across the ray.
    seen: Outline,
    film_to_ray: Map,
    /// Along the ray.
    distances: Distances,
    light: Light,
    tolerance: f64,
    in_one_piece: bool,
    plate_mm: f64,
    /// Where the camera's plate is taken for two rims.
    rims: Option<Rims>,
    blur: Blur,
}

/// What is left open of a hole for the ray to a place, in the plane of the plate: the plate's two rims,
/// taken about its mid depth. None where the plate's thickness closes it.
pub fn opening(camera: &Camera, hole: &Outline, place: &Place) -> Option<Outline> {
    let apart = rims_apart_mm(camera, place);
    clip::overlap(hole, place.tilt().map(|c| c * apart))
}

/// How far apart the ray to a place sees the plate's two rims, in mm.
pub fn rims_apart_mm(camera: &Camera, place: &Place) -> f64 {
    camera.plate_mm * place.hole_angle_rad().tan()
}

/// The share of a hole's area that the plate closes to the ray to a place, for each mm that it sees the rims
/// apart: it changes slowly over the film, where the share itself begins as a cone.
pub fn closed_per_mm(camera: &Camera, hole: &Outline, place: &Place) -> f64 {
    let apart = rims_apart_mm(camera, place).max(LEAST_APART * hole.equivalent_diameter_mm());
    let open = clip::overlap(hole, place.tilt().map(|c| c * apart));
    (1.0 - open.map_or(0.0, |open| open.area_mm2()) / hole.area_mm2()) / apart
}

impl PointImage {
    /// In the middle of the film.
    pub fn on_axis(camera: &Camera, hole: &Outline) -> PointImage {
        PointImage::through(camera, hole, camera.middle(), hole)
    }

    /// At a place on the film, in mm from its middle.
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`]; [`BeyondLimit`](crate::Kind::BeyondLimit) where the plate is so thick that it closes
    /// the hole for this ray.
    pub fn at(camera: &Camera, hole: &Outline, at_mm: Point) -> Result<PointImage, Error> {
        let place = camera.place(at_mm)?;
        let Some(open) = opening(camera, hole, &place) else {
            let (low, high) = hole.bounds_mm();
            let width = (high[0] - low[0]).max(high[1] - low[1]);
            return Err(Error::limit(
                format!(
                    "no light comes to ({}, {}): the plate of {} closes the hole at {:.0} degrees",
                    Quantity::Length.write(at_mm[0]),
                    Quantity::Length.write(at_mm[1]),
                    Quantity::Length.write(camera.plate_mm),
                    place.hole_angle_rad().to_degrees()
                ),
                format!(
                    "light passes up to {:.0} degrees; use thinner metal or look nearer the middle",
                    (width / camera.plate_mm).atan().to_degrees().floor()
                ),
            ));
        };
        Ok(PointImage::through(camera, &open, place, hole))
    }

    /// Where the light reaches the film at all; otherwise as [`PointImage::at`].
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`].
    pub fn where_lit(
        camera: &Camera,
        hole: &Outline,
        at_mm: Point,
    ) -> Result<Option<PointImage>, Error> {
        let place = camera.place(at_mm)?;
        let open = opening(camera, hole, &place);
        Ok(open.map(|open| PointImage::through(camera, &open, place, hole)))
    }

    fn through(camera: &Camera, open: &Outline, place: Place, hole: &Outline) -> PointImage {
        PointImage {
            hole: open.clone(),
            film: camera.film,
            seen: open.through(place.plate_to_ray()),
            film_to_ray: place.film_to_ray(),
            open: open.area_mm2() / hole.area_mm2(),
            distances: camera.distances_along(&place),
            light: camera.light.clone(),
            tolerance: TOLERANCE,
            in_one_piece: false,
            plate_mm: camera.plate_mm,
            rims: (camera.plate_model == PlateModel::TwoPlane)
                .then(|| Rims { hole: hole.clone(), thickness_mm: camera.plate_mm }),
            blur: Blur::of(camera, hole),
            place,
        }
    }

    /// The same in other light.
    #[must_use]
    pub fn in_light(self, light: &Light) -> PointImage {
        PointImage { light: light.clone(), ..self }
    }

    /// The same with another error of the PSF allowed, as a share of its peak: between 1e-13 and 0.01.
    #[must_use]
    pub fn with_tolerance(self, tolerance: f64) -> PointImage {
        PointImage { tolerance: tolerance.clamp(1e-13, 0.01), ..self }
    }

    /// The same with one map all over the film about the place, without the fall of the light there, by a
    /// thin plate: what every point about it becomes, as a picture takes it.
    #[must_use]
    pub fn in_one_piece(self) -> PointImage {
        PointImage { in_one_piece: true, rims: None, ..self }
    }

    /// The light.
    pub fn light(&self) -> &Light {
        &self.light
    }

    /// The distances along the ray.
    pub fn distances(&self) -> Distances {
        self.distances
    }

    /// The open hole with the exact path through each of its points to this place on the film.
    pub fn aperture(&self) -> Aperture {
        self.patch().aperture()
    }

    fn patch(&self) -> Patch<'_> {
        Patch {
            hole: &self.hole,
            rims: self.rims.as_ref(),
            film: self.film,
            place: self.place,
            distances: self.distances,
            tolerance: self.tolerance,
            map_tolerance: (!self.in_one_piece)
                .then(|| (MAP_OVER_TOLERANCE * self.tolerance).max(LEAST_MAP)),
        }
    }

    /// The PSF on the film about the geometrical image, with what the emulsion and the movement spread.
    ///
    /// # Errors
    /// As [`Aperture::psf`] and [`Psf::spread`]: the grid or the hole is beyond the model's limits.
    pub fn psf(&self, grid: Grid) -> Result<Psf, Error> {
        if self.blur.is_none() {
            return self.sharp_psf(grid);
        }
        Psf::spread(
            grid,
            self.finest_mm(),
            self.room_mm(grid),
            |fine| self.sharp_psf(fine),
            |f| self.blur.transfer(f),
        )
    }

    /// Samples a side of the grid that [`PointImage::psf`] computes on: more than are asked for where what spreads the
    /// light needs room about them.
    ///
    /// # Errors
    /// As [`PointImage::psf`], for grids beyond its limit.
    pub fn samples_a_side(&self, grid: Grid) -> Result<usize, Error> {
        if self.blur.is_none() {
            return Ok(grid.size());
        }
        Ok(grid.finer(self.finest_mm(), self.room_mm(grid))?.size())
    }

    fn room_mm(&self, grid: Grid) -> f64 {
        grid.reach_mm() / 2.0 + self.blur.extent_mm()
    }

    fn sharp_psf(&self, grid: Grid) -> Result<Psf, Error> {
        self.patch().psf(&self.light, grid)
    }

    /// The Strehl ratio: the light at the centroid over that of all light in phase.
    ///
    /// # Errors
    /// As [`Aperture::strehl_ratio`].
    pub fn strehl_ratio(&self) -> Result<f64, Error> {
        self.aperture().strehl_ratio(&self.light, self.distances)
    }

    /// The complex field on a grid for each wavelength of the light, in 1/mm: its squared modulus is the
    /// energy per mm² of that wavelength alone, as a fraction of what comes through. Phases are against
    /// the path through the hole's origin, the place's own map holding all over the grid.
    ///
    /// # Errors
    /// As [`Aperture::field`].
    pub fn fields(&self, grid: Grid) -> Result<Vec<Array2<Complex64>>, Error> {
        let aperture = self.patch().between_rims(&self.place);
        let lines = self.light.lines().iter();
        lines.map(|(nm, _)| aperture.field(*nm, self.distances, grid)).collect()
    }

    /// The same hole `factor` times as large in the middle of the film: what changes is the time that
    /// it needs, and with it how far things move. The directions are scaled by themselves
    /// ([`Along::scaled`]).
    #[must_use]
    pub fn scaled(&self, factor: f64) -> PointImage {
        PointImage {
            hole: self.hole.scaled(factor),
            rims: self.rims.as_ref().map(|rims| Rims { hole: rims.hole.scaled(factor), ..*rims }),
            seen: self.seen.scaled(factor),
            blur: self.blur.scaled(factor),
            ..self.clone()
        }
    }

    /// What the emulsion and the movement spread.
    pub fn blur(&self) -> &Blur {
        &self.blur
    }
}
