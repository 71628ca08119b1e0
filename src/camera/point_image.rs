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

use super::blur::Blur;
use super::description::Camera;
use super::film::{Film, Place};
use super::patch::Patch;
use super::shake::sinc;
use crate::error::Error;
use crate::geometry::{Map, Outline, Point, clip};
use crate::quantity::Quantity;
use crate::wave::{Aperture, Chords, Distances, Encircled, Grid, Light, MM_PER_NM, Psf, TOLERANCE};
use ndarray::Array2;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// What the map of a tile of film may drop, over the numerics' own tolerance and within bounds, as a share
/// of the peak: it is a phase here and there and not the whole sum.
const MAP_OVER_TOLERANCE: f64 = 1000.0;
const LEAST_MAP: f64 = 1e-3;

/// Directions over half a turn for encircled energy: the OTF repeats after it, and a lobe of order n
/// needs more than n.
const DIRECTIONS: usize = 24;
/// Strips of the hole in each of them.
const STRIPS: usize = 256;

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
    blur: Blur,
}

/// What is left open of a hole for the ray to a place, in the plane of the plate: the plate's two rims,
/// taken about its mid depth. None where the plate's thickness closes it.
pub fn opening(camera: &Camera, hole: &Outline, place: &Place) -> Option<Outline> {
    let apart = camera.plate_mm * place.hole_angle_rad().tan();
    clip::overlap(hole, place.tilt().map(|c| c * apart))
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

    /// The same with one map all over the film about the place, and without the fall of the light there:
    /// what every point about it becomes, as a picture takes it.
    #[must_use]
    pub fn in_one_piece(self) -> PointImage {
        PointImage { in_one_piece: true, ..self }
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
            film: self.film,
            place: self.place,
            distances: self.distances,
            tolerance: self.tolerance,
            map_tolerance: (!self.in_one_piece)
                .then(|| (MAP_OVER_TOLERANCE * self.tolerance).max(LEAST_MAP)),
        }
    }

    /// What the distance between a spectrum's lines changes on this grid, as a share of the peak.
    ///
    /// # Errors
    /// As [`Aperture::density_at`].
    pub fn spectral_error(&self, grid: Grid) -> Result<f64, Error> {
        self.patch().spectral_error(&self.light, grid)
    }

    /// What the map of the film's tiles drops on this grid, as a share of the peak: a bound.
    pub fn map_error(&self, grid: Grid) -> f64 {
        self.patch().map_error(&self.light, grid)
    }

    /// The PSF on the film about the geometrical image, with what the emulsion and the movement spread.
    ///
    /// # Errors
    /// As [`Aperture::psf`] and [`Psf::spread`]: the grid or the hole is beyond the model's limits.
    pub fn psf(&self, grid: Grid) -> Result<Psf, Error> {
        if self.blur.is_none() {
            return self.sharp_psf(grid);
        }
        let room_mm = grid.reach_mm() / 2.0 + self.blur.extent_mm();
        Psf::spread(
            grid,
            self.finest_mm(),
            room_mm,
            |fine| self.sharp_psf(fine),
            |f| self.blur.transfer(f),
        )
    }

    /// The mean of that PSF over square pixels, the grid's own samples in their middles, as a sum over the
    /// samples of a picture takes it: what is finer than such samples can show fades out, or it would pass
    /// for coarser contrast.
    ///
    /// # Errors
    /// As [`PointImage::psf`].
    pub fn psf_on_pixels(&self, grid: Grid) -> Result<Psf, Error> {
        let pixel = |f: f64| sinc(f * grid.pitch_mm()) * shown(f.abs() * grid.pitch_mm());
        Psf::spread(
            grid,
            self.finest_mm(),
            self.blur.extent_mm(),
            |fine| self.sharp_psf(fine),
            |f| self.blur.transfer(f) * pixel(f[0]) * pixel(f[1]),
        )
    }

    /// Samples no farther apart than this hold all of the PSF: its frequencies end at width/(λR).
    pub fn finest_mm(&self) -> f64 {
        let wave = self.light.shortest_nm() * MM_PER_NM * self.distances.film_mm();
        wave / (4.0 * self.aperture().half_width_mm())
    }

    fn sharp_psf(&self, grid: Grid) -> Result<Psf, Error> {
        self.patch().psf(&self.light, grid)
    }

    /// What is needed of the OTF along a direction on the film, in rad anticlockwise from its x.
    pub fn along(&self, direction_rad: f64, strips: usize) -> Along {
        let (sin, cos) = direction_rad.sin_cos();
        // A step on the film d is M d across the ray: a wave f·d is one of M⁻ᵀ f there.
        let [x, y] = self.film_to_ray.inverted().transposed().of([cos, sin]);
        Along {
            chords: Chords::along(&self.seen, y.atan2(x), strips),
            stretch: x.hypot(y),
            direction: [cos, sin],
        }
    }

    /// The OTF along a direction, at a frequency on the film in line pairs per mm, with the centroid's
    /// phase taken out.
    pub fn otf(&self, along: &Along, frequency_lp_per_mm: f64) -> Complex64 {
        let frequency = along.direction.map(|c| c * frequency_lp_per_mm);
        let seen = frequency_lp_per_mm * along.stretch;
        along.chords.otf(&self.light, self.distances, seen) * self.blur.transfer(frequency)
    }

    /// The frequency from which on nothing is left along a direction, in line pairs per mm on the film.
    pub fn cut_off_lp_per_mm(&self, along: &Along) -> f64 {
        along.chords.cut_off_lp_per_mm(&self.light, self.distances) / along.stretch
    }

    /// The energy in circles on the film about the point image's centroid.
    pub fn encircled(&self) -> Encircled {
        // A shadow's OTF turns as often as its rim is far in fringes.
        let shadow = self.distances.shadow_magnification() * self.seen.equivalent_diameter_mm();
        let cut = |strips: usize| -> Vec<Along> {
            let direction = |i: usize| self.along(PI * i as f64 / DIRECTIONS as f64, strips);
            (0..DIRECTIONS).map(direction).collect()
        };
        let cut_off = cut(8).iter().map(|d| self.cut_off_lp_per_mm(d)).fold(0.0, f64::max);
        let turns = cut_off * shadow;
        let directions = cut(STRIPS + (8.0 * turns).min(4096.0) as usize);
        Encircled::from_mean_otf(cut_off, turns, |f| {
            directions.iter().map(|d| self.otf(d, f).re).sum::<f64>() / DIRECTIONS as f64
        })
    }

    /// The radius of the first dark ring of a far disc of the open area at the mean wavelength, plus the
    /// hole's own shadow, drawn out by the slant of the film: a length that the point image never much
    /// exceeds, in mm. For choosing grids.
    pub fn extent_mm(&self) -> f64 {
        let diameter = self.seen.equivalent_diameter_mm();
        let film_mm = self.distances.film_mm();
        // First zero of J1 over π: DLMF 10.21.
        let ring = 1.219_67 * self.light.mean_nm() * MM_PER_NM * film_mm / diameter;
        let shadow = self.distances.shadow_magnification() * diameter / 2.0;
        (ring + shadow) / self.place.film_angle_rad().cos() + self.blur.extent_mm()
    }

    /// The largest phase that the model drops for this hole, in rad.
    pub fn neglected_phase_rad(&self) -> f64 {
        let (low, high) = self.seen.bounds_mm();
        let radius = (high[0] - low[0]).max(high[1] - low[1]) / 2.0;
        let fourth = self.distances.neglected_phase_rad(radius, self.light.shortest_nm());
        fourth + self.cubic_phase_rad()
    }

    /// The term of third order, π a³ sin θ cos² θ/(λR²), with both distances' share.
    fn cubic_phase_rad(&self) -> f64 {
        let (sin, cos) = self.place.hole_angle_rad().sin_cos();
        let (low, high) = self.seen.bounds_mm();
        // The outline is foreshortened already: x = x'/cos θ, and so the sine over the cosine.
        let a = (high[0] - low[0]) / 2.0;
        let wave = self.light.shortest_nm() * MM_PER_NM;
        let inverse = self.distances.film_mm().powi(-2) - self.distances.subject_mm().powi(-2);
        PI * a.powi(3) * sin / cos * inverse.abs() / wave
    }

    /// What contrast and circles lose by the phases that their second-order expansion drops: the fourth
    /// order as it is, of the third, which turns the image more than it blurs it, half the square.
    pub fn dropped_from_contrast(&self) -> f64 {
        let cubic = self.cubic_phase_rad();
        self.neglected_phase_rad() - cubic + cubic * cubic / 2.0
    }

    /// The error that the sums may have, as a share of the peak.
    pub fn tolerance(&self) -> f64 {
        self.tolerance
    }

    /// A bound of what the plate's thickness t changes along the axis, as a share of the peak. The near
    /// rim throws light by √(λt) beyond itself, and the far rim cuts it off: behind a straight edge the
    /// shadow holds 1/(2π) of that width (∫ of its intensity, DLMF 7.2(iv), from memory), along all of the rim.
    /// Light and amplitude that are lost change the pattern in this proportion.
    pub fn plate_error(&self) -> f64 {
        let wave = self.light.longest_nm() * MM_PER_NM;
        (wave * self.plate_mm).sqrt() * self.rim_per_mm() / TAU
    }

    /// A bound of what a scalar wave leaves out, as a share of the peak: at each edge light of the two
    /// polarisations differs over a strip λ/2π wide (J. B. Keller, J. Opt. Soc. Am. 52, 116 (1962), from
    /// memory), in opposite senses, so that half of it counts. For a disc it is 1/(ka).
    pub fn vector_error(&self) -> f64 {
        self.light.longest_nm() * MM_PER_NM / TAU * self.rim_per_mm() / 2.0
    }

    /// The length of the rim over the open area, in 1/mm.
    fn rim_per_mm(&self) -> f64 {
        self.hole.perimeter_mm() / self.hole.area_mm2()
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
        let aperture = self.aperture();
        let lines = self.light.lines().iter();
        lines.map(|(nm, _)| aperture.field(*nm, self.distances, grid)).collect()
    }

    /// The complex OTF at `size` by `size` frequencies, rows from low to high along y, columns along x,
    /// zero at index size / 2, with the centroid's phase taken out; and the step between them, in line
    /// pairs per mm. The outermost lie at the cut-off.
    pub fn otf_map(&self, size: usize) -> (Array2<Complex64>, f64) {
        let cut_off = (0..DIRECTIONS)
            .map(|i| self.along(PI * i as f64 / DIRECTIONS as f64, STRIPS))
            .map(|along| self.cut_off_lp_per_mm(&along))
            .fold(0.0, f64::max);
        let middle = size / 2;
        let step = cut_off / middle.max(1) as f64;
        let at = |row: usize, column: usize| {
            let [x, y] = [column, row].map(|i| (i as f64 - middle as f64) * step);
            let frequency = x.hypot(y);
            if frequency > cut_off {
                return Complex64::default();
            }
            self.otf(&self.along(y.atan2(x), STRIPS), frequency)
        };
        let rows: Vec<Vec<Complex64>> = (0..size)
            .into_par_iter()
            .map(|row| (0..size).map(|column| at(row, column)).collect())
            .collect();
        let map = Array2::from_shape_fn((size, size), |(row, column)| rows[row][column]);
        (map, step)
    }

    /// The same hole `factor` times as large in the middle of the film: what changes is the time that
    /// it needs, and with it how far things move. The directions are scaled by themselves
    /// ([`Along::scaled`]).
    #[must_use]
    pub fn scaled(&self, factor: f64) -> PointImage {
        PointImage {
            hole: self.hole.scaled(factor),
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

/// How much of a wave of so many cycles a pixel is kept: all up to 0.45, nothing from 0.75 on, which would
/// come back as 0.25. In between it falls as a squared cosine, gently enough not to ring.
fn shown(cycles: f64) -> f64 {
    const WHOLE: f64 = 0.45;
    const NONE: f64 = 0.75;
    let beyond = ((cycles - WHOLE) / (NONE - WHOLE)).clamp(0.0, 1.0);
    (beyond * PI / 2.0).cos().powi(2)
}

/// The hole cut along one direction on the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    chords: Chords,
    /// Frequencies across the ray to those on the film.
    stretch: f64,
    direction: Point,
}

impl Along {
    /// The same of the hole `factor` times as large.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Along {
        Along { chords: self.chords.scaled(factor), ..self.clone() }
    }
}
