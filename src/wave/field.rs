//! The field on the film: two small matrix products a wavelength.
//!
//! U(X, Y) = Σ W g_y g_x exp(-iκ(x X + y Y)), κ = 2π/(λv), with the waves' curvature g folded into the
//! weights. Nodes and film positions are symmetric about 0, so the weights are folded into their four
//! parities over the positive nodes; cosines and sines then give all four quadrants of the film from
//! real products over one of them. A hole that is its own mirror image has parities that vanish: they
//! are left out.

use super::aperture::{Aperture, Quadrature};
use super::light::{Distances, MM_PER_NM};
use ndarray::{Array2, ArrayView1, Axis};
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// Parities below this share of the largest are rounding, not shape.
const VANISHES: f64 = 1e-15;

/// A weighted grid with the curvature of one wavelength in it.
pub(super) struct Field<'a> {
    nodes_mm: &'a [f64],
    weights: Array2<Complex64>,
    /// 2π/(λv), in rad/mm².
    kappa: f64,
    /// 1/((λv)² A): from |U|² to energy per mm².
    density: f64,
}

impl<'a> Field<'a> {
    pub(super) fn new(
        aperture: &Aperture,
        quadrature: &'a Quadrature,
        wavelength_nm: f64,
        distances: Distances,
    ) -> Field<'a> {
        let wavelength_mm = wavelength_nm * MM_PER_NM;
        let curvature = PI / (wavelength_mm * distances.effective_mm());
        let chirp = |centre: f64| -> Vec<Complex64> {
            let phase = |x: &f64| curvature * (x + centre).powi(2);
            quadrature.nodes_mm.iter().map(|x| Complex64::cis(phase(x))).collect()
        };
        let (x, y) = (chirp(aperture.centre_mm()[0]), chirp(aperture.centre_mm()[1]));
        let mut weights = quadrature.weights_mm2.mapv(|w| Complex64::new(w, 0.0));
        for ((row, column), weight) in weights.indexed_iter_mut() {
            *weight *= y[row] * x[column];
        }
        let spread = wavelength_mm * distances.film_mm();
        Field {
            nodes_mm: &quadrature.nodes_mm,
            weights,
            kappa: 2.0 * PI / spread,
            density: 1.0 / (spread * spread * aperture.area_mm2()),
        }
    }

    /// Energy per mm² at one place on the film, by the plain double sum.
    pub(super) fn density_at(&self, [x_mm, y_mm]: [f64; 2]) -> f64 {
        let waves = |at: f64| -> Vec<Complex64> {
            self.nodes_mm.iter().map(|node| Complex64::cis(-self.kappa * node * at)).collect()
        };
        let (of_x, of_y) = (waves(x_mm), waves(y_mm));
        let rows = self.weights.axis_iter(Axis(0)).zip(of_y).map(|(row, wave)| {
            row.iter().zip(&of_x).map(|(weight, wave)| weight * wave).sum::<Complex64>() * wave
        });
        rows.sum::<Complex64>().norm_sqr() * self.density
    }

    /// Adds energy per mm², times `share`, to a square film of odd or even size: rows from low y,
    /// centred at index size / 2, samples `pitch_mm` apart.
    pub(super) fn add_to(&self, film: &mut Array2<f64>, pitch_mm: f64, share: f64) {
        let centre = film.nrows() / 2;
        let half = self.nodes_mm.len() / 2;
        let nodes = &self.nodes_mm[half..];
        let angles = Array2::from_shape_fn((half, centre + 1), |(i, j)| {
            self.kappa * nodes[i] * pitch_mm * j as f64
        });
        let (cos, sin) = (angles.mapv(f64::cos), angles.mapv(f64::sin));
        let [even, odd, odd_y, odd_x] = self.parities();
        let quadrants = Quadrants {
            even: even.map(|weights| weights.between(&cos, &cos)),
            odd: odd.map(|weights| weights.between(&sin, &sin)),
            odd_y: odd_y.map(|weights| weights.between(&sin, &cos)),
            odd_x: odd_x.map(|weights| weights.between(&cos, &sin)),
        };
        quadrants.add_to(film, self.density * share);
    }

    /// The weights over positive nodes, by parity: even in both axes, odd in both, odd in y, odd in
    /// x. None where the hole has no such part.
    fn parities(&self) -> [Option<Complexes>; 4] {
        let half = self.nodes_mm.len() / 2;
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

    /// leftᵀ · self · right.
    fn between(&self, left: &Array2<f64>, right: &Array2<f64>) -> Complexes {
        let product = |part: &Array2<f64>| left.t().dot(&part.dot(right));
        Complexes { re: product(&self.re), im: product(&self.im) }
    }
}

/// The four parts of U over one quadrant of the film: U = even - odd - i (odd_y + odd_x) for
/// positive x and y; a part changes sign with each axis it is odd in.
struct Quadrants {
    even: Option<Complexes>,
    odd: Option<Complexes>,
    odd_y: Option<Complexes>,
    odd_x: Option<Complexes>,
}

impl Quadrants {
    fn add_to(&self, film: &mut Array2<f64>, density: f64) {
        let centre = film.nrows() / 2;
        let mut line_of_u = (vec![0.0; centre + 1], vec![0.0; centre + 1]);
        for (row, mut line) in film.outer_iter_mut().enumerate() {
            let k = row.abs_diff(centre);
            let y_sign = if row < centre { -1.0 } else { 1.0 };
            let (left, right) = line.as_slice_mut().unwrap_or_default().split_at_mut(centre);
            self.line(k, y_sign, 1.0, &mut line_of_u);
            for (sample, (re, im)) in right.iter_mut().zip(line_of_u.0.iter().zip(&line_of_u.1)) {
                *sample += density * (re * re + im * im);
            }
            self.line(k, y_sign, -1.0, &mut line_of_u);
            let outwards = line_of_u.0.iter().zip(&line_of_u.1).skip(1);
            for (sample, (re, im)) in left.iter_mut().rev().zip(outwards) {
                *sample += density * (re * re + im * im);
            }
        }
    }

    /// U along half a line of the film, outwards from the axis, as real and imaginary part.
    fn line(&self, k: usize, y_sign: f64, x_sign: f64, (re, im): &mut (Vec<f64>, Vec<f64>)) {
        re.fill(0.0);
        im.fill(0.0);
        if let Some(part) = &self.even {
            add(re, &part.re.row(k), 1.0);
            add(im, &part.im.row(k), 1.0);
        }
        if let Some(part) = &self.odd {
            add(re, &part.re.row(k), -y_sign * x_sign);
            add(im, &part.im.row(k), -y_sign * x_sign);
        }
        for (part, sign) in [(&self.odd_y, y_sign), (&self.odd_x, x_sign)] {
            if let Some(part) = part {
                // -i (re + i im) = im - i re
                add(re, &part.im.row(k), sign);
                add(im, &part.re.row(k), -sign);
            }
        }
    }
}

fn add(sum: &mut [f64], row: &ArrayView1<f64>, sign: f64) {
    for (sum, value) in sum.iter_mut().zip(row) {
        *sum += sign * value;
    }
}
