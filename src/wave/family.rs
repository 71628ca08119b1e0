//! All wavelengths and distances of one hole: interpolation in the Fresnel number.
//!
//! In shadow coordinates ξ = X/m, m = v/z, the two phases of the diffraction integral become one,
//!
//! ```text
//! U = ∬_hole exp(iπ t (r² - 2 r·ξ)) d²r ,    t = 1/(λz)
//! ```
//!
//! so that a hole has one family of patterns, numbered by t (its Fresnel number is R² t). |U|² is
//! entire in t: some tens of Chebyshev nodes represent all of the family to rounding, and the PSF of
//! any spectrum, or a stack over wavelengths and distances, is a few weights on the nodes. The middle
//! of the film turns slower than its corners and needs fewer of them.
//!
//! How many: |U|² turns by π t ((r - ξ)² - (r' - ξ)²) for two points of the hole, and Chebyshev
//! coefficients of a wave fall beyond order = phase ([`order_for`]; `Trefethen`, ch. 8).

use super::aperture::Aperture;
use super::field::Field;
use super::grid::{Grid, RowPair};
use super::light::{Distances, Light, Wave};
use super::order::order_for;
use super::psf::Psf;
use crate::error::Error;
use crate::geometry::Point;
use ndarray::linalg::general_mat_mul;
use ndarray::parallel::prelude::*;
use ndarray::{Array1, Array2, Array3, ArrayView2, ArrayViewMut2, ArrayViewMut3, Axis};
use std::f64::consts::PI;

/// Samples of a row that share one number of coefficients.
const TILE: usize = 128;
/// Members that are summed together: a block of theirs and of the coefficients stays in fast caches.
const MEMBERS_TOGETHER: usize = 256;

/// The PSFs of one hole over ranges of wavelengths and distances.
#[derive(Debug, Clone, PartialEq)]
pub struct Family {
    /// The grid in the shadow's scale: on the film it is m times as large.
    grid: Grid,
    area_mm2: f64,
    order: usize,
    /// 1/(λz) at the middle and the half-width of the range, in mm⁻².
    middle_per_mm2: f64,
    half_per_mm2: f64,
    /// Chebyshev coefficients of |U|²/A²: (degree, row, column).
    coefficients: Array3<f64>,
    /// How many of them each tile needs: (row, tile).
    needed: Array2<usize>,
}

/// PSFs side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Energy per mm² as a fraction of all that came through: (member, row, column), each as in
    /// [`Psf::density`].
    pub density: Array3<f64>,
    /// The film grid of each member.
    pub grids: Vec<Grid>,
}

impl Aperture {
    /// Prepares the family that covers this light at all these distances. The grid is that of a
    /// subject far away; for a near one it is on the film as many times larger as the shadow is.
    ///
    /// # Errors
    /// As [`Aperture::quadrature`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when there are no distances, or the family would
    /// not fit into 2 GiB.
    pub fn family(
        &self,
        light: &Light,
        distances: &[Distances],
        grid: Grid,
    ) -> Result<Family, Error> {
        if self.exact().is_some() {
            return Err(Error::limit(
                "a family holds for waves in second order, and this hole has exact paths",
                "prepare it by Aperture::of, for the axis",
            ));
        }
        let (low, high) = range(light, distances)?;
        for each in distances {
            self.model_holds(light, *each)?;
        }
        let wave = |t: f64| Wave { spread_mm2: 1.0 / t, curvature_per_mm2: t };
        // A range of no width still has its one member on the middle node.
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        let count = self.family_nodes(light, distances, grid)?;
        grid.check_many(count)?;
        let faintest = self.faintest(wave(high));
        let quadrature =
            self.quadrature_for(&self.demand(wave(high), grid.reach_mm(), faintest))?;
        let mut values = Array3::zeros((count, grid.size(), grid.size()));
        values.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(i, mut film)| {
            let wave = wave(middle + half * node(i, count));
            let field = Field::new(self, &quadrature, wave).over(grid);
            for mut rows in RowPair::all(film.view_mut()) {
                // |U|²/A²: near 1 at the peak for every member.
                field.add_to(&mut rows, wave.spread_mm2.powi(2) / self.area_mm2());
            }
        });
        let dimmest =
            values.axis_iter(Axis(0)).map(|film| peak(&film)).fold(f64::INFINITY, f64::min);
        let needed = into_coefficients(&mut values, self.tolerance() * dimmest / 4.0);
        Ok(Family {
            grid,
            area_mm2: self.area_mm2(),
            order: quadrature.order(),
            middle_per_mm2: middle,
            half_per_mm2: half,
            coefficients: values,
            needed,
        })
    }

    /// How many patterns the [family](Aperture::family) of this light at these distances is made from.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when there are no distances.
    pub fn family_nodes(
        &self,
        light: &Light,
        distances: &[Distances],
        grid: Grid,
    ) -> Result<usize, Error> {
        let (low, high) = range(light, distances)?;
        let turn = PI * (high - low) / 2.0 * largest_difference(self, grid.reach_mm());
        Ok(order_for(turn, self.tolerance() / 8.0))
    }
}

impl Family {
    /// How many nodes the range of Fresnel numbers asked for.
    pub fn nodes(&self) -> usize {
        self.coefficients.len_of(Axis(0))
    }

    /// The PSF in this light at these distances.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when a wavelength or distance is outside the family's range.
    pub fn psf(&self, light: &Light, distances: Distances) -> Result<Psf, Error> {
        let mut weights = Array2::zeros((1, self.nodes()));
        for &(nm, share) in light.lines() {
            weights.row_mut(0).scaled_add(share, &self.weights(nm, distances)?);
        }
        let mut density = self.grid.dark();
        self.sum(&weights.view(), density.view_mut().insert_axis(Axis(0)));
        let grid = self.grid.scaled(distances.shadow_magnification());
        Ok(Psf { density, grid, order: self.order })
    }

    /// The PSFs of single wavelengths, each at its own distances.
    ///
    /// # Errors
    /// As [`Family::psf`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when the stack would not fit into 2 GiB.
    pub fn stack(&self, members: &[(f64, Distances)]) -> Result<Stack, Error> {
        self.grid.check_many(members.len())?;
        let size = self.grid.size();
        let mut density = Array3::zeros((members.len(), size, size));
        self.fill(members, density.view_mut())?;
        let grids = members.iter().map(|(_, d)| self.grid.scaled(d.shadow_magnification()));
        Ok(Stack { density, grids: grids.collect() })
    }

    /// Writes such a stack over an array that is there already: for one stack after another, fresh
    /// memory costs as much time as the sums.
    ///
    /// # Errors
    /// As [`Family::psf`]; [`BeyondLimit`](crate::Kind::BeyondLimit) unless the array is (member, row, column) of the grid.
    pub fn fill(
        &self,
        members: &[(f64, Distances)],
        density: ArrayViewMut3<f64>,
    ) -> Result<(), Error> {
        let shape = (members.len(), self.grid.size(), self.grid.size());
        if density.dim() != shape {
            return Err(Error::limit(
                format!("an array of {:?} does not hold a stack of {shape:?}", density.dim()),
                "give it as many members, rows and columns as the stack has",
            ));
        }
        let mut weights = Array2::zeros((members.len(), self.nodes()));
        for (&(nm, distances), mut row) in members.iter().zip(weights.rows_mut()) {
            row.assign(&self.weights(nm, distances)?);
        }
        self.sum(&weights.view(), density);
        Ok(())
    }

    /// Chebyshev polynomials at a member's place, times what makes |U|²/A² an energy density.
    fn weights(&self, wavelength_nm: f64, distances: Distances) -> Result<Array1<f64>, Error> {
        let wave = distances.wave(wavelength_nm);
        let beside = wave.curvature_per_mm2 - self.middle_per_mm2;
        // The ends belong to the range, whatever rounding makes of them.
        if beside.abs() > self.half_per_mm2 + 1e-12 * self.middle_per_mm2 {
            return Err(Error::limit(
                format!("{wavelength_nm} nm at these distances is outside the prepared range"),
                "prepare the family for all wavelengths and distances that will be asked for",
            ));
        }
        let place = if self.half_per_mm2 > 0.0 { beside / self.half_per_mm2 } else { 0.0 };
        let angle = place.clamp(-1.0, 1.0).acos();
        let scale = self.area_mm2 / wave.spread_mm2.powi(2);
        Ok((0..self.nodes()).map(|k| scale * (k as f64 * angle).cos()).collect())
    }

    /// Adds up coefficients for many members: weights (member, degree) into (member, row, column).
    fn sum(&self, weights: &ArrayView2<f64>, mut density: ArrayViewMut3<f64>) {
        let chunks = weights.axis_chunks_iter(Axis(0), MEMBERS_TOGETHER).into_par_iter();
        density
            .axis_chunks_iter_mut(Axis(0), MEMBERS_TOGETHER)
            .into_par_iter()
            .zip(chunks)
            .for_each(|(mut members, weights)| {
                let rows = members.axis_iter_mut(Axis(1)).into_par_iter().enumerate();
                // Summed in a block of its own and copied from there: members lie so far apart that a
                // product straight into their rows would miss the caches.
                let block = || Array2::zeros((weights.nrows(), TILE));
                rows.for_each_init(block, |block, (row, members)| {
                    self.sum_row(row, &weights, block, members);
                });
            });
    }

    fn sum_row(
        &self,
        row: usize,
        weights: &ArrayView2<f64>,
        block: &mut Array2<f64>,
        mut members: ArrayViewMut2<f64>,
    ) {
        let coefficients = self.coefficients.index_axis(Axis(1), row);
        let tiles = coefficients.axis_chunks_iter(Axis(1), TILE).zip(self.needed.row(row));
        for ((tile, &needed), mut out) in tiles.zip(members.axis_chunks_iter_mut(Axis(1), TILE)) {
            let tile = tile.slice_axis(Axis(0), (..needed).into());
            let weights = weights.slice_axis(Axis(1), (..needed).into());
            let mut block = block.slice_axis_mut(Axis(1), (..tile.ncols()).into());
            general_mat_mul(1.0, &weights, &tile, 0.0, &mut block);
            out.assign(&block);
        }
    }
}

/// The least and the largest 1/(λz), in mm⁻².
fn range(light: &Light, distances: &[Distances]) -> Result<(f64, f64), Error> {
    let mut range = (f64::INFINITY, 0.0f64);
    for each in distances {
        for &(nm, _) in light.lines() {
            let t = each.wave(nm).curvature_per_mm2;
            range = (range.0.min(t), range.1.max(t));
        }
    }
    if distances.is_empty() {
        return Err(Error::limit("a family needs distances", "give at least one pair of them"));
    }
    Ok(range)
}

/// The i-th of `count` Chebyshev nodes on -1..1.
fn node(i: usize, count: usize) -> f64 {
    (PI * (i as f64 + 0.5) / count as f64).cos()
}

fn peak(film: &ArrayView2<f64>) -> f64 {
    film.iter().copied().fold(0.0, f64::max)
}

/// Turns values at the nodes into Chebyshev coefficients, in place, and says how many of them each
/// tile needs for an error of `tolerance`.
fn into_coefficients(values: &mut Array3<f64>, tolerance: f64) -> Array2<usize> {
    let (count, rows, columns) = values.dim();
    // c_k = (2 - δ_k0)/n Σ_i f_i cos(πk (i + 1/2)/n).
    let cosines = Array2::from_shape_fn((count, count), |(k, i)| {
        let scale = if k == 0 { 1.0 } else { 2.0 } / count as f64;
        scale * (PI * k as f64 * (i as f64 + 0.5) / count as f64).cos()
    });
    let mut needed = Array2::zeros((rows, columns.div_ceil(TILE)));
    let rows = values.axis_iter_mut(Axis(1)).into_par_iter();
    rows.zip(needed.axis_iter_mut(Axis(0))).for_each(|(mut row, mut needed)| {
        let coefficients = cosines.dot(&row);
        row.assign(&coefficients);
        let tiles = coefficients.axis_chunks_iter(Axis(1), TILE);
        for (tile, needed) in tiles.zip(&mut needed) {
            let mut left_out = 0.0;
            let largest = |k: &usize| tile.row(*k).iter().fold(0.0f64, |m, c| m.max(c.abs()));
            *needed = (1..count)
                .rev()
                .find(|k| {
                    left_out += largest(k);
                    left_out > tolerance
                })
                .map_or(1, |k| k + 1);
        }
    });
    needed
}

/// The most by which (r - ξ)² differs between two points r of the hole, for any ξ on a square film
/// that reaches to `reach_mm`, in mm². As a function of ξ it is convex: a corner has the most. A film
/// aslant is first made square to the ray, and the hole with it.
fn largest_difference(aperture: &Aperture, reach_mm: f64) -> f64 {
    let root = aperture.metric().root();
    let outline = aperture.outline().through(root);
    let square = root.inverted().transposed();
    let (low, high) = outline.bounds_mm();
    let corners = [[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]];
    let difference = |sign: Point| -> f64 {
        let at = square.of(sign.map(|s| s * reach_mm));
        let farthest = outline.edges().map(|(a, _)| squared(a, at)).fold(0.0, f64::max);
        // Over a hole, or in the nearest corner of the box around it.
        let nearest = squared([at[0].clamp(low[0], high[0]), at[1].clamp(low[1], high[1])], at);
        farthest - nearest
    };
    corners.into_iter().map(difference).fold(0.0, f64::max)
}

fn squared(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2)
}
