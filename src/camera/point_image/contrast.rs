//! The OTF of a point image, by the overlap of the hole with itself, and the circles that follow from it.

use super::PointImage;
use crate::geometry::Point;
use crate::wave::{Chords, Encircled};
use ndarray::Array2;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;
use std::f64::consts::PI;

/// Directions over half a turn for encircled energy: the OTF repeats after it, and a lobe of order n
/// needs more than n.
const DIRECTIONS: usize = 24;
/// Strips of the hole in each of them.
const STRIPS: usize = 256;

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

impl PointImage {
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
}
