//! The field on the film: two small matrix products a wavelength.
//!
//! U(X, Y) = Σ W g_y g_x exp(-iκ(x X + y Y)), κ = 2π/(λv), with the waves' curvature g folded into the
//! weights. Nodes and film positions are symmetric about 0, so the weights are folded into their four
//! parities over the positive nodes; cosines and sines then give all four quadrants of the film from
//! real products over one of them. A hole that is its own mirror image has parities that vanish: they
//! are left out.

use super::aperture::{Aperture, Quadrature};
use super::grid::{Grid, HalfRows, RowPair};
use super::light::Wave;
use crate::geometry::Point;
use ndarray::linalg::general_mat_mul;
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// Parities below this share of the largest are rounding, not shape.
const VANISHES: f64 = 1e-15;

/// A weighted grid with the curvature of one wavelength in it.
pub(super) struct Field<'a> {
    /// Along x and along y.
    nodes_mm: &'a [Vec<f64>; 2],
    weights: Array2<Complex64>,
    /// 2π/(λv), in rad/mm².
    kappa: f64,
    /// 1/((λv)² A): from |U|² to energy per mm².
    density: f64,
}

impl<'a> Field<'a> {
    pub(super) fn new(aperture: &Aperture, quadrature: &'a Quadrature, wave: Wave) -> Field<'a> {
        let weights = match Paths::of(aperture, quadrature) {
            Some(paths) => paths.along(quadrature.weights_mm2.mapv(Complex64::from), wave),
            None => curved(aperture, quadrature, wave),
        };
        Field::of(quadrature, weights, wave, aperture.area_mm2())
    }

    /// The same with paths that many wavelengths share, and with what the thickness of the plate does where
    /// the aperture has two rims.
    pub(super) fn along(
        aperture: &Aperture,
        quadrature: &'a Quadrature,
        paths: Option<&Paths>,
        wave: Wave,
    ) -> Field<'a> {
        let Some(paths) = paths else { return Field::new(aperture, quadrature, wave) };
        let (weights, passed_mm2) = aperture
            .weights_between_rims(quadrature, wave)
            .unwrap_or_else(|| (quadrature.weights_mm2.mapv(Complex64::from), aperture.area_mm2()));
        Field::of(quadrature, paths.along(weights, wave), wave, passed_mm2)
    }

    fn of(
        quadrature: &'a Quadrature,
        weights: Array2<Complex64>,
        wave: Wave,
        open_mm2: f64,
    ) -> Field<'a> {
        Field {
            nodes_mm: &quadrature.nodes_mm,
            weights,
            kappa: 2.0 * PI / wave.spread_mm2,
            density: 1.0 / (wave.spread_mm2.powi(2) * open_mm2),
        }
    }

    /// The field on a grid, in 1/mm, for nodes about `centre_mm`.
    pub(super) fn on(&self, grid: Grid, centre_mm: Point) -> Array2<Complex64> {
        let waves = |axis: usize| {
            let nodes = &self.nodes_mm[axis];
            Array2::from_shape_fn((grid.size(), nodes.len()), |(place, node)| {
                let at = (place as f64 - (grid.size() / 2) as f64) * grid.pitch_mm();
                Complex64::cis(-self.kappa * (nodes[node] + centre_mm[axis]) * at)
            })
        };
        waves(1).dot(&self.weights).dot(&waves(0).t()) * Complex64::from(self.density.sqrt())
    }

    /// The largest |U|² over the open area's square at all pairs of some x and y on the film: 1 where all
    /// light is in phase.
    pub(super) fn brightest(&self, x_mm: &[f64], y_mm: &[f64], area_mm2: f64) -> f64 {
        let waves = |axis: usize, places: &[f64]| {
            let nodes = &self.nodes_mm[axis];
            Array2::from_shape_fn((places.len(), nodes.len()), |(place, node)| {
                Complex64::cis(-self.kappa * nodes[node] * places[place])
            })
        };
        let field = waves(1, y_mm).dot(&self.weights).dot(&waves(0, x_mm).t());
        field.iter().map(Complex64::norm_sqr).fold(0.0, f64::max) / area_mm2.powi(2)
    }

    /// Energy per mm² at one place on the film.
    pub(super) fn density_at(&self, place_mm: Point) -> f64 {
        self.at(place_mm).norm_sqr() * self.density
    }

    /// U at one place on the film, in mm², by the plain double sum; without the phase of the nodes'
    /// own centre, which no density sees.
    pub(super) fn at(&self, [x_mm, y_mm]: Point) -> Complex64 {
        let waves = |axis: usize, at: f64| -> Vec<Complex64> {
            let nodes = self.nodes_mm[axis].iter();
            nodes.map(|node| Complex64::cis(-self.kappa * node * at)).collect()
        };
        let (of_x, of_y) = (waves(0, x_mm), waves(1, y_mm));
        let rows = self.weights.axis_iter(Axis(0)).zip(of_y).map(|(row, wave)| {
            row.iter().zip(&of_x).map(|(weight, wave)| weight * wave).sum::<Complex64>() * wave
        });
        rows.sum()
    }

    /// The field made ready for all rows of a film grid: summed over the nodes' x.
    pub(super) fn over(&self, grid: Grid) -> FilmField {
        let half = self.nodes_mm[0].len() / 2;
        let waves = |axis: usize| {
            let turn = self.kappa * grid.pitch_mm();
            let steps: Vec<f64> = self.nodes_mm[axis][half..].iter().map(|x| turn * x).collect();
            cosines_and_sines(&steps, grid.size() / 2 + 1)
        };
        let (cos, sin) = waves(1);
        // A hole as high as wide has one set of nodes.
        let across = (self.nodes_mm[0] != self.nodes_mm[1]).then(|| waves(0));
        let (cos_x, sin_x) = across.as_ref().map_or((&cos, &sin), |(cos, sin)| (cos, sin));
        let [even, odd, odd_y, odd_x] = self.parities();
        FilmField {
            even: even.map(|weights| weights.times(cos_x)),
            odd: odd.map(|weights| weights.times(sin_x)),
            odd_y: odd_y.map(|weights| weights.times(cos_x)),
            odd_x: odd_x.map(|weights| weights.times(sin_x)),
            cos,
            sin,
            density: self.density,
        }
    }

    /// The weights over positive nodes, by parity: even in both axes, odd in both, odd in y, odd in
    /// x. None where the hole has no such part.
    fn parities(&self) -> [Option<Complexes>; 4] {
        let half = self.nodes_mm[0].len() / 2;
        let part = |y_sign: f64, x_sign: f64| {
            Complexes::from(Array2::from_shape_fn((half, half), |(row, column)| {
                let (up, down) = (half + row, half - 1 - row);
                let (right, left) = (half + column, half - 1 - column);
                self.weights[[up, right]]
                    + self.weights[[up, left]] * x_sign
                    + self.weights[[down, right]] * y_sign
                    + self.weights[[down, left]] * (y_sign * x_sign)
            }))
        };
        let parts = [part(1.0, 1.0), part(-1.0, -1.0), part(-1.0, 1.0), part(1.0, -1.0)];
        let largest = parts.iter().map(Complexes::largest).fold(0.0, f64::max);
        parts.map(|part| (part.largest() > VANISHES * largest).then_some(part))
    }
}

/// The cosines and the sines of each step's first `count` multiples from nought on: (step, multiple). The
/// wave after many steps is one after a round number of them times one of the few first.
fn cosines_and_sines(steps: &[f64], count: usize) -> (Array2<f64>, Array2<f64>) {
    let together = (count as f64).sqrt().ceil() as usize;
    let mut tables = [(); 2].map(|()| Array2::zeros((steps.len(), count)));
    let [cosines, sines] = tables.each_mut().map(|table| table.rows_mut().into_iter());
    for (step, (mut cosines, mut sines)) in steps.iter().zip(cosines.zip(sines)) {
        let few: Vec<Complex64> = (0..together).map(|i| Complex64::cis(step * i as f64)).collect();
        let parts = cosines.axis_chunks_iter_mut(Axis(0), together);
        let parts = parts.into_iter().zip(sines.axis_chunks_iter_mut(Axis(0), together));
        for (part, (cosines, sines)) in parts.enumerate() {
            let first = Complex64::cis(step * (part * together) as f64);
            for ((cosine, sine), wave) in cosines.into_iter().zip(sines).zip(&few) {
                *cosine = first.re * wave.re - first.im * wave.im;
                *sine = first.re * wave.im + first.im * wave.re;
            }
        }
    }
    let [cosines, sines] = tables;
    (cosines, sines)
}

/// The weights with the waves' curvature in second order.
fn curved(aperture: &Aperture, quadrature: &Quadrature, wave: Wave) -> Array2<Complex64> {
    let metric = aperture.metric();
    let [centre_x, centre_y] = aperture.centre_mm();
    let turn = PI * wave.curvature_per_mm2;
    let [of_x, of_y] = &quadrature.nodes_mm;
    let chirp = |nodes: &[f64], centre: f64, form: f64| -> Vec<Complex64> {
        nodes.iter().map(|x| Complex64::cis(turn * form * (x + centre).powi(2))).collect()
    };
    let (x, y) = (chirp(of_x, centre_x, metric.xx), chirp(of_y, centre_y, metric.yy));
    let mut weights = quadrature.weights_mm2.mapv(|w| Complex64::new(w, 0.0));
    for ((row, column), weight) in weights.indexed_iter_mut() {
        *weight *= y[row] * x[column];
    }
    if metric.xy != 0.0 {
        for ((row, column), weight) in weights.indexed_iter_mut() {
            let product = (of_x[column] + centre_x) * (of_y[row] + centre_y);
            *weight *= Complex64::cis(2.0 * turn * metric.xy * product);
        }
    }
    weights
}

/// What the light by each node of a quadrature brings against the origin's.
pub(super) struct Paths {
    film_mm: f64,
    /// How much longer its path is, in mm, and its amplitude: (row of y, column of x).
    by_node: Array2<(f64, f64)>,
}

impl Paths {
    /// The paths of an aperture that has them.
    pub(super) fn of(aperture: &Aperture, quadrature: &Quadrature) -> Option<Paths> {
        let exact = aperture.exact()?;
        let [centre_x, centre_y] = aperture.centre_mm();
        let [of_x, of_y] = &quadrature.nodes_mm;
        let by_node = Array2::from_shape_fn(quadrature.weights_mm2.dim(), |(row, column)| {
            exact.by([of_x[column] + centre_x, of_y[row] + centre_y])
        });
        Some(Paths { film_mm: exact.film_mm(), by_node })
    }

    /// The weights with each node's own path and amplitude.
    fn along(&self, mut weights: Array2<Complex64>, wave: Wave) -> Array2<Complex64> {
        let turn_per_mm = 2.0 * PI * self.film_mm / wave.spread_mm2;
        weights.zip_mut_with(&self.by_node, |weight, (longer_mm, amplitude)| {
            *weight *= Complex64::from_polar(*amplitude, turn_per_mm * longer_mm);
        });
        weights
    }
}

/// A complex matrix as its real and imaginary parts: real products are what the machine does fast.
struct Complexes {
    re: Array2<f64>,
    im: Array2<f64>,
}

impl From<Array2<Complex64>> for Complexes {
    fn from(values: Array2<Complex64>) -> Self {
        Complexes { re: values.mapv(|w| w.re), im: values.mapv(|w| w.im) }
    }
}

impl Complexes {
    fn largest(&self) -> f64 {
        self.re.iter().chain(&self.im).fold(0.0, |most, value| value.abs().max(most))
    }

    /// self · right, the real part's columns first and the imaginary part's after them: one matrix,
    /// so that the larger product over it is one as well.
    fn times(&self, right: &Array2<f64>) -> Array2<f64> {
        let mut product = Array2::zeros((self.re.nrows(), 2 * right.ncols()));
        let (mut re, mut im) = product.view_mut().split_at(Axis(1), right.ncols());
        general_mat_mul(1.0, &self.re, right, 0.0, &mut re);
        general_mat_mul(1.0, &self.im, right, 0.0, &mut im);
        product
    }
}

/// The field of one wavelength on a film grid, but for the sum over the nodes' y.
///
/// U = even - odd - i (odd_y + odd_x) for positive x and y; a part changes sign with each axis it is
/// odd in.
pub(super) struct FilmField {
    /// cos, sin κ y Y: (node, row of the film upwards from its middle).
    cos: Array2<f64>,
    sin: Array2<f64>,
    even: Option<Array2<f64>>,
    odd: Option<Array2<f64>>,
    odd_y: Option<Array2<f64>>,
    odd_x: Option<Array2<f64>>,
    density: f64,
}

impl FilmField {
    /// What one takes in memory, at most: two tables of waves and four parts twice as wide.
    pub(super) fn bytes(order: usize, grid: Grid) -> usize {
        order / 2 * (grid.size() / 2 + 1) * 10 * size_of::<f64>()
    }

    /// Adds energy per mm², times `share`, to some rows of the film and their mirror images.
    pub(super) fn add_to(&self, rows: &mut RowPair, share: f64) {
        let scale = (self.density * share).sqrt();
        let range = rows.first..rows.first + rows.count();
        // (row, 2 × column) of each part, scaled so that its square is an energy density.
        let part = |part: &Option<Array2<f64>>, waves: &Array2<f64>| -> Option<Array2<f64>> {
            let waves = waves.slice_axis(Axis(1), range.clone().into());
            part.as_ref().map(|part| {
                let mut product = Array2::zeros((range.len(), part.ncols()));
                general_mat_mul(scale, &waves.t(), part, 0.0, &mut product);
                product
            })
        };
        let parts = [
            part(&self.even, &self.cos),
            part(&self.odd, &self.sin),
            part(&self.odd_y, &self.sin),
            part(&self.odd_x, &self.cos),
        ];
        let half = self.cos.ncols();
        let none = vec![0.0; 2 * half];
        let mut quadrants = [(); 4].map(|()| vec![0.0; half]);
        for k in 0..range.len() {
            let rows_of = parts.each_ref().map(|part| part.as_ref().map(|part| part.row(k)));
            let slices = rows_of
                .each_ref()
                .map(|row| row.as_ref().and_then(|row| row.as_slice()).unwrap_or(&none));
            let alike = rows_of[1..].iter().all(Option::is_none);
            if alike {
                squared(slices[0], &mut quadrants[0]);
            } else {
                unlike(slices, &mut quadrants);
            }
            let quadrant = |i: usize| quadrants[if alike { 0 } else { i }].as_slice();
            rows.add(
                k,
                HalfRows {
                    above_right: quadrant(0),
                    above_left: quadrant(1),
                    below_right: quadrant(2),
                    below_left: quadrant(3),
                },
            );
        }
    }
}

/// |U|² of a field that is even in both axes: the four quadrants are alike.
fn squared(even: &[f64], light: &mut [f64]) {
    let (re, im) = even.split_at(even.len() / 2);
    for ((to, re), im) in light.iter_mut().zip(re).zip(im) {
        *to = re * re + im * im;
    }
}

/// |U|² in the four quadrants: with P, M = even ∓ odd, S, D = -i (odd_y ± odd_x), U is P + S above
/// right, M + D above left, M - D below right and P - S below left.
fn unlike([even, odd, odd_y, odd_x]: [&[f64]; 4], quadrants: &mut [Vec<f64>; 4]) {
    let half = even.len() / 2;
    // All cut to one length, so that the loop below runs without a check at each step.
    let [(e_re, e_im), (o_re, o_im), (y_re, y_im), (x_re, x_im)] =
        [even, odd, odd_y, odd_x].map(|part| (&part[..half], &part[half..2 * half]));
    let [above_right, above_left, below_right, below_left] =
        quadrants.each_mut().map(|quadrant| &mut quadrant[..half]);
    for j in 0..half {
        let (p_re, p_im) = (e_re[j] - o_re[j], e_im[j] - o_im[j]);
        let (m_re, m_im) = (e_re[j] + o_re[j], e_im[j] + o_im[j]);
        // -i (re + i im) = im - i re
        let (s_re, s_im) = (y_im[j] + x_im[j], -y_re[j] - x_re[j]);
        let (d_re, d_im) = (y_im[j] - x_im[j], x_re[j] - y_re[j]);
        above_right[j] = (p_re + s_re).powi(2) + (p_im + s_im).powi(2);
        above_left[j] = (m_re + d_re).powi(2) + (m_im + d_im).powi(2);
        below_right[j] = (m_re - d_re).powi(2) + (m_im - d_im).powi(2);
        below_left[j] = (p_re - s_re).powi(2) + (p_im - s_im).powi(2);
    }
}
