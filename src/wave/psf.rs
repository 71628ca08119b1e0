//! The point-spread function: energy per area on the film, wavelengths added.

use super::aperture::{Aperture, Quadrature};
use super::field::{Field, FilmField, Paths};
use super::grid::{Grid, RowPair};
use super::light::{Distances, Light, MM_PER_NM, Wave};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// What the fields of several wavelengths may take together: 1 GiB.
const MOST_BYTES: usize = 1 << 30;

/// Steps of a grid, along each axis, at which its brightest place is looked for.
const SAMPLED: usize = 8;

/// What a point of the subject becomes on the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Psf {
    /// Energy per mm² as a fraction of all that came through the hole: rows from low y to high,
    /// columns from low x, centred at index size / 2.
    pub density: Array2<f64>,
    pub(super) grid: Grid,
    pub(super) order: usize,
}

impl Aperture {
    /// The PSF in this light at these distances, by matrix products over the weighted grid: the route
    /// for the core and its rings. [`Aperture::wide_psf`] serves wider fields.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`].
    pub fn psf(&self, light: &Light, distances: Distances, grid: Grid) -> Result<Psf, Error> {
        Ok(self.prepared(&[(light, grid)], distances)?.psf(light, grid))
    }

    /// The PSFs in several lights, each on its own grid, by one weighted grid for them all.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`].
    pub fn psfs(&self, wanted: &[(&Light, Grid)], distances: Distances) -> Result<Vec<Psf>, Error> {
        let prepared = self.prepared(wanted, distances)?;
        Ok(wanted.iter().map(|(light, grid)| prepared.psf(light, *grid)).collect())
    }

    fn prepared(
        &self,
        wanted: &[(&Light, Grid)],
        distances: Distances,
    ) -> Result<Prepared<'_>, Error> {
        let reaches: Vec<_> =
            wanted.iter().map(|(light, grid)| (*light, grid.reach_mm())).collect();
        let quadrature = self.quadrature_where(&reaches, distances, |quadrature| {
            let brightest = |(light, grid): &(&Light, Grid)| {
                self.brightest_on(quadrature, light, distances, *grid)
            };
            wanted.iter().map(brightest).fold(1.0, f64::min)
        })?;
        let paths = Paths::of(self, &quadrature);
        Ok(Prepared { aperture: self, distances, quadrature, paths })
    }

    /// The complex field of one wavelength on a grid, in 1/mm: its squared modulus is the energy per mm², as
    /// [`Psf::density`]. Its phase is against the path through the hole's origin.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`].
    pub fn field(
        &self,
        wavelength_nm: f64,
        distances: Distances,
        grid: Grid,
    ) -> Result<Array2<Complex64>, Error> {
        let light = Light::single(wavelength_nm)?;
        let prepared = self.prepared(&[(&light, grid)], distances)?;
        Ok(prepared.field(distances.wave(wavelength_nm)).on(grid, self.centre_mm()))
    }

    /// Energy per mm² at single places on the film, in mm from the axis.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when a place is not finite.
    pub fn density_at(
        &self,
        light: &Light,
        distances: Distances,
        places_mm: &[Point],
    ) -> Result<Vec<f64>, Error> {
        let reach = reach_mm(places_mm)?;
        let quadrature = self.quadrature_where(&[(light, reach)], distances, |quadrature| {
            self.brightest_among(quadrature, light, distances, places_mm)
        })?;
        let fields: Vec<(Field, f64)> = light
            .lines()
            .iter()
            .map(|&(nm, share)| (Field::new(self, &quadrature, distances.wave(nm)), share))
            .collect();
        let density = |at: &Point| fields.iter().map(|(f, share)| share * f.density_at(*at)).sum();
        Ok(places_mm.par_iter().map(density).collect())
    }

    /// The brightest of a sample of a grid's places, as a share of all light in phase; 1, which asks for no
    /// more than the pattern's peak does, where that is among them.
    fn brightest_on(
        &self,
        quadrature: &Quadrature,
        light: &Light,
        distances: Distances,
        grid: Grid,
    ) -> f64 {
        let reach = grid.reach_mm();
        if self.shadow_falls_within(distances, reach) {
            return 1.0;
        }
        // Over the whole grid, and where the pattern's middle lies or comes nearest.
        let image = self.image_centroid_mm(distances);
        let along = |axis: usize| -> Vec<f64> {
            let even = (0..=SAMPLED).map(|i| (2.0 * i as f64 / SAMPLED as f64 - 1.0) * reach);
            even.chain([image[axis].clamp(-reach, reach)]).collect()
        };
        let (x, y) = (along(0), along(1));
        self.brightest(quadrature, light, distances, |field| {
            field.brightest(&x, &y, self.area_mm2())
        })
    }

    /// The same of single places.
    fn brightest_among(
        &self,
        quadrature: &Quadrature,
        light: &Light,
        distances: Distances,
        places_mm: &[Point],
    ) -> f64 {
        let step = places_mm.len().div_ceil(SAMPLED * SAMPLED).max(1);
        self.brightest(quadrature, light, distances, |field| {
            let some = places_mm.iter().step_by(step);
            let light = some.map(|at| field.at(*at).norm_sqr()).fold(0.0, f64::max);
            light / self.area_mm2().powi(2)
        })
    }

    /// The largest by one or two lines, which is less than the peak of them all only in the ratio in
    /// which wavelengths differ.
    fn brightest(
        &self,
        quadrature: &Quadrature,
        light: &Light,
        distances: Distances,
        of: impl Fn(&Field) -> f64,
    ) -> f64 {
        [light.shortest_nm(), light.mean_nm()]
            .into_iter()
            .take(light.lines().len())
            .map(|nm| of(&Field::new(self, quadrature, distances.wave(nm))))
            .fold(0.0, f64::max)
    }
}

/// An aperture's weighted grid for some lights and grids, with the path by each of its nodes.
struct Prepared<'a> {
    aperture: &'a Aperture,
    distances: Distances,
    quadrature: Quadrature,
    paths: Option<Paths>,
}

impl Prepared<'_> {
    fn field(&self, wave: Wave) -> Field<'_> {
        Field::along(self.aperture, &self.quadrature, self.paths.as_ref(), wave)
    }

    fn psf(&self, light: &Light, grid: Grid) -> Psf {
        let mut density = grid.dark();
        let order = self.quadrature.order();
        // As many wavelengths side by side as threads can use and memory holds.
        let together = rayon::current_num_threads().min(MOST_BYTES / FilmField::bytes(order, grid));
        for lines in light.lines().chunks(together.max(1)) {
            let fields: Vec<(FilmField, f64)> = lines
                .par_iter()
                .map(|&(nm, share)| (self.field(self.distances.wave(nm)).over(grid), share))
                .collect();
            RowPair::all(density.view_mut()).into_par_iter().for_each(|mut rows| {
                for (field, share) in &fields {
                    field.add_to(&mut rows, *share);
                }
            });
        }
        Psf { density, grid, order }
    }
}

impl Aperture {
    /// The wave at single places on the film, as a share of the one that would be there without the
    /// plate: its squared modulus is the irradiance over the open wave's, and a screen of the hole's
    /// shape leaves 1 less it (Babinet). With t = 1/(λz) and ξ = X/m the open wave is
    /// (i/t) exp(-iπ t ξ²) in the units of the diffraction integral.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when a place is not finite.
    pub fn amplitude_at(
        &self,
        wavelength_nm: f64,
        distances: Distances,
        places_mm: &[Point],
    ) -> Result<Vec<Complex64>, Error> {
        let reach = reach_mm(places_mm)?;
        let quadrature = self.quadrature(&Light::single(wavelength_nm)?, distances, reach)?;
        let wave = distances.wave(wavelength_nm);
        let field = Field::new(self, &quadrature, wave);
        let [centre_x, centre_y] = self.centre_mm();
        let metric = self.metric();
        let enlarged = metric.determinant().sqrt();
        let share = |&[x, y]: &Point| {
            let beside = -2.0 * PI * (centre_x * x + centre_y * y) / wave.spread_mm2;
            let seen_mm2 = metric.on_film([x, y]);
            let open = PI * seen_mm2 / distances.shadow_magnification() / wave.spread_mm2;
            let i_over_t = Complex64::i() / wave.curvature_per_mm2;
            field.at([x, y]) * Complex64::cis(beside + open) * enlarged / i_over_t
        };
        Ok(places_mm.par_iter().map(share).collect())
    }
}

impl Psf {
    /// The film grid.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// Points across the hole, on each axis, that the tolerance asked for.
    pub fn order(&self) -> usize {
        self.order
    }

    /// The share of the energy that falls on the grid, each sample standing for its own square.
    pub fn energy_on_grid(&self) -> f64 {
        self.density.sum() * self.grid.pitch_mm() * self.grid.pitch_mm()
    }

    /// The highest sample, in energy per mm².
    pub fn peak(&self) -> f64 {
        self.density.iter().copied().fold(0.0, f64::max)
    }
}

/// How far from the axis the places reach along one axis.
fn reach_mm(places_mm: &[Point]) -> Result<f64, Error> {
    if let Some([x, y]) = places_mm.iter().find(|place| !place.iter().all(|c| c.is_finite())) {
        return Err(Error::limit(
            format!("({x} mm, {y} mm) is not a place on the film"),
            "give finite places, in mm from the axis",
        ));
    }
    Ok(places_mm.iter().flatten().fold(0.0, |most, c| most.max(c.abs())))
}

/// The share of the energy outside a circle of `radius_mm` on the film, far from the shadow:
/// λ v P/(2π² A R). Every edge throws light outwards as R⁻³, so a long rim P costs contrast.
/// For a disc it is the 2/(πw) that follows from 1 - E = J0² + J1² (`BornWolf`, 8.5).
pub fn energy_beyond(outline: &Outline, light: &Light, film_mm: f64, radius_mm: f64) -> f64 {
    let rim = outline.perimeter_mm() / outline.area_mm2();
    light.mean_nm() * MM_PER_NM * film_mm * rim / (2.0 * PI * PI * radius_mm)
}
