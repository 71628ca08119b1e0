//! The plate as two rims a thickness apart.
//!
//! Light falls through the first rim as a plane wave along the ray, goes on through free space to the second
//! by its angular spectrum (`Goodman`, 3.10; evanescent waves are
//! left out), and is cut off there once more. The wall between the rims is taken as dark: what meets it is
//! lost. What passes both, over the plane wave's own phase, stands for the hole in the diffraction integral.
//!
//! Along a straight rim what passes has the amplitude of an edge's Fresnel diffraction, so that the hole
//! seems smaller by the complex width √(λt) exp(iπ/4)/2π all around, and √(λt)/(2π√2) times the rim's
//! length of the light is lost (integrals of `DLMF`, 7.2(iv), done for the tests of this file).
//!
//! The rims are sampled through bells ([`super::coverage`]), an eighth of √(λt) apart where that is not too
//! many; both samplings end smoothly at 3/8 of the sampling frequency, so that in their product nothing folds
//! back to the low frequencies that reach the film.

use super::coverage::Coverage;
use super::filter::Filter;
use super::fourier::good_length;
use super::legendre;
use super::light::MM_PER_NM;
use super::moments::Frame;
use crate::geometry::{Map, Outline, Point};
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// The wavelength by which the sampling is chosen, in mm.
const USUAL_MM: f64 = 550e-6;
/// Samples in √(λt).
const SAMPLES: f64 = 8.0;
/// Samples across the hole, at the least and at the most.
const ACROSS: [f64; 2] = [256.0, 900.0];
/// Cells beyond a rim where its sampling still rings, to 2e-9.
const RINGS: usize = 48;
/// Cells more that waves go aside between the rims: λt times half a cycle a cell, at the most 4 √(λt).
const ASIDE: usize = 48;

/// Cycles a cell from which on the samplings end.
const PASSED: f64 = 0.375;

/// A bound of what the sampling of a plate's two rims has wrong, as a share of the peak, for light along the
/// axis of the plate.
///
/// Waves finer than the sampling bring rim/(2π² Q A) of an amplitude where both rims coincide, Q where the
/// samplings end (the tail of an edge's spectrum, 1/(2πq)²), and by the turns exp(-iπλt q²) beyond Q a share
/// 1/(1 + 2πλtQ²) of it where they are apart; intensities have it twice.
pub fn rims_error(hole: &Outline, thickness_mm: f64, wavelength_nm: f64) -> f64 {
    let (low, high) = hole.bounds_mm();
    let across = (high[0] - low[0]).max(high[1] - low[1]);
    let finest = PASSED / pitch_mm(across, thickness_mm);
    let turns = wavelength_nm * MM_PER_NM * thickness_mm * finest * finest;
    let tail = hole.perimeter_mm() / hole.area_mm2() / (2.0 * PI * PI * finest);
    2.0 * tail / (1.0 + TAU * turns)
}

fn pitch_mm(across_mm: f64, thickness_mm: f64) -> f64 {
    let fine = (USUAL_MM * thickness_mm).sqrt() / SAMPLES;
    fine.clamp(across_mm / ACROSS[1], across_mm / ACROSS[0])
}

/// Two rims, sampled.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TwoRims {
    thickness_mm: f64,
    /// The sines of the light's direction along the plate's axes.
    slope: Point,
    /// From the samples' plane to the plate: frequencies go by its inverse, transposed.
    frequencies: Map,
    pitch_mm: f64,
    first_mm: Point,
    /// The spectrum of the first rim: (column, row).
    spectrum: Array2<Complex64>,
    /// How open each place of the second is: (row, column).
    second: Array2<f64>,
    /// The light of the first rim's waves that are finer than the samples, in mm².
    too_fine_mm2: f64,
}

/// How the light goes between the rims.
#[derive(Debug, Clone, Copy)]
pub(super) struct Between {
    pub(super) thickness_mm: f64,
    /// The sines of the light's direction along the plate's axes.
    pub(super) slope: Point,
    /// From the plane in which the rims are given to the plate.
    pub(super) to_plate: Map,
}

impl TwoRims {
    /// Rims, each moved along the ray to the plate's mid depth.
    pub(super) fn of([first, second]: [&Outline; 2], between: Between) -> TwoRims {
        let Between { thickness_mm, slope, to_plate } = between;
        let bounds = [first, second].map(Outline::bounds_mm);
        let low = [0, 1].map(|axis| bounds[0].0[axis].min(bounds[1].0[axis]));
        let high = [0, 1].map(|axis| bounds[0].1[axis].max(bounds[1].1[axis]));
        let across = (high[0] - low[0]).max(high[1] - low[1]);
        let pitch_mm = pitch_mm(across, thickness_mm);
        let margin = (RINGS + ASIDE) as f64 * pitch_mm;
        let size = [0, 1].map(|axis| {
            good_length(((high[axis] - low[axis] + 2.0 * margin) / pitch_mm) as usize + 2)
        });
        // Whole cells from a place that both samplings share.
        let first_mm = low.map(|low| low - margin);
        let sampled = |rim: &Outline| {
            let coverage = Coverage::on(rim, pitch_mm, first_mm, [size[1], size[0]]);
            let mut planner = FftPlanner::new();
            let rows =
                Filter::along(&mut planner, size[0]).applied(coverage.open.mapv(Complex64::from));
            let columns = Filter::along(&mut planner, size[1])
                .applied(rows.t().as_standard_layout().into_owned());
            columns.t().as_standard_layout().into_owned()
        };
        let (open, second) = (sampled(first), sampled(second).mapv(|open| open.re));
        let followed: f64 = open.iter().map(Complex64::norm_sqr).sum();
        TwoRims {
            too_fine_mm2: (first.area_mm2() - followed * pitch_mm * pitch_mm).max(0.0),
            thickness_mm,
            slope,
            frequencies: to_plate.inverted().transposed(),
            pitch_mm,
            first_mm,
            spectrum: transformed(open, &planned(size, true)),
            second,
        }
    }

    /// How far beyond the rims' own bounds the samples ring, in mm.
    pub(super) fn margin_mm(&self) -> f64 {
        RINGS as f64 * self.pitch_mm
    }

    /// What passes both rims at this wavelength: (row, column), and how much light that is, in mm².
    fn passed(&self, wavelength_mm: f64) -> (Array2<Complex64>, f64) {
        let (columns, rows) = self.spectrum.dim();
        let mut spectrum = self.spectrum.clone();
        let frequency = |i: usize, count: usize| {
            let step = if 2 * i <= count { i as f64 } else { i as f64 - count as f64 };
            step / (count as f64 * self.pitch_mm)
        };
        spectrum.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(
            |(column, mut line)| {
                for (row, value) in line.iter_mut().enumerate() {
                    let of = [frequency(column, columns), frequency(row, rows)];
                    *value *= self.travelled(self.frequencies.of(of), wavelength_mm);
                }
            },
        );
        let mut wave = transformed(spectrum, &planned([rows, columns], false));
        let scale = 1.0 / (rows * columns) as f64;
        let mut light = 0.0;
        for (wave, open) in wave.iter_mut().zip(&self.second) {
            *wave *= scale;
            light += open * wave.norm_sqr();
            *wave *= *open;
        }
        // Of the finest waves, which go far aside between the rims, half goes outwards.
        let finest = PASSED / self.pitch_mm;
        let aside = wavelength_mm * self.thickness_mm * finest * finest;
        let fine = self.too_fine_mm2 * (1.0 - (1.0 - (-aside).exp()) / 2.0);
        (wave, light * self.pitch_mm * self.pitch_mm + fine)
    }

    /// What a wave of this frequency across the plate gains on its way, over the plane wave along the ray and
    /// the shift of the ray itself.
    fn travelled(&self, frequency: Point, wavelength_mm: f64) -> Complex64 {
        let along = self.slope.map(|sine| sine / wavelength_mm);
        let whole = wavelength_mm.powi(-2);
        let [x, y] = [0, 1].map(|axis| frequency[axis] + along[axis]);
        let deep = whole - x * x - y * y;
        if deep <= 0.0 {
            return Complex64::default();
        }
        let ray = (whole - along[0] * along[0] - along[1] * along[1]).sqrt();
        let shift = (frequency[0] * along[0] + frequency[1] * along[1]) / ray;
        Complex64::cis(TAU * self.thickness_mm * (deep.sqrt() - ray + shift))
    }

    /// The moments ∬ T P_j P_k dA of what passes, in the frame, in mm²: (row k of y, column j of x), `order`
    /// of each; and how much light passes, in mm².
    pub(super) fn moments(
        &self,
        frame: Frame,
        order: usize,
        wavelength_mm: f64,
    ) -> (Array2<Complex64>, f64) {
        let (passed, light) = self.passed(wavelength_mm);
        let polynomials = |axis: usize, count: usize| {
            let place = |i: usize| {
                let at = self.first_mm[axis] + i as f64 * self.pitch_mm;
                (at - frame.centre_mm[axis]) / frame.half_mm[axis]
            };
            let places: Vec<f64> = (0..count).map(place).collect();
            // Beyond the frame nothing rings any more, and polynomials grow without end.
            let inside: Vec<f64> =
                places.iter().map(|x| if x.abs() <= 1.0 { self.pitch_mm } else { 0.0 }).collect();
            let places: Vec<f64> = places.iter().map(|x| x.clamp(-1.0, 1.0)).collect();
            legendre::polynomials(&places, &inside, order)
        };
        let (rows, columns) = passed.dim();
        let (of_y, of_x) = (polynomials(1, rows), polynomials(0, columns));
        let part = |of: fn(&Complex64) -> f64| of_y.dot(&passed.map(of).dot(&of_x.t()));
        let (re, im) = (part(|wave| wave.re), part(|wave| wave.im));
        let moments = Array2::from_shape_fn(re.dim(), |at| Complex64::new(re[at], im[at]));
        (moments, light)
    }
}

type Plans = [Arc<dyn Fft<f64>>; 2];

/// Transforms along a row of the first size and along one of the second.
fn planned(size: [usize; 2], forward: bool) -> Plans {
    let mut planner = FftPlanner::new();
    size.map(|length| {
        if forward { planner.plan_fft_forward(length) } else { planner.plan_fft_inverse(length) }
    })
}

/// The transform along rows, then along columns, whose rows it returns.
fn transformed(mut values: Array2<Complex64>, plans: &Plans) -> Array2<Complex64> {
    along_rows(&mut values, &plans[0]);
    let mut turned = values.t().as_standard_layout().into_owned();
    along_rows(&mut turned, &plans[1]);
    turned
}

fn along_rows(values: &mut Array2<Complex64>, plan: &Arc<dyn Fft<f64>>) {
    let scratch = || vec![Complex64::default(); plan.get_inplace_scratch_len()];
    values.axis_iter_mut(Axis(0)).into_par_iter().for_each_init(scratch, |scratch, mut row| {
        if let Some(row) = row.as_slice_mut() {
            plan.process_with_scratch(row, scratch);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn upright(hole: &Outline, thickness_mm: f64) -> TwoRims {
        let between = Between { thickness_mm, slope: [0.0, 0.0], to_plate: Map::IDENTITY };
        TwoRims::of([hole, hole], between)
    }

    fn sum(rims: &TwoRims, wavelength_mm: f64) -> (Complex64, f64) {
        let (wave, light) = rims.passed(wavelength_mm);
        (wave.sum() * rims.pitch_mm * rims.pitch_mm, light)
    }

    /// Along a rim that is straight over √(λt) the amplitude that goes straight on is less by
    /// √(λt) exp(iπ/4)/2π of its length, and the light by √(λt)/(2π√2): ∫_0^∞ (1 - E) dξ and ∫_0^∞ |E(-ξ)|² dξ
    /// for E(ξ) = ∫_{-∞}^ξ exp(iπ s²) ds/√i, in closed form (order of integration changed) and by numbers.
    #[test]
    fn a_rim_costs_what_an_edge_does() {
        for (d, t, nm) in [(0.36, 0.05, 550.0), (0.36, 0.1, 450.0), (0.3, 0.02, 650.0)] {
            let hole = shapes::disc(d).unwrap();
            let (wavelength, area, rim) = (nm * 1e-6, hole.area_mm2(), hole.perimeter_mm());
            let (amplitude, light) = sum(&upright(&hole, t), wavelength);
            let width = (wavelength * t).sqrt();
            let lost = Complex64::cis(PI / 4.0) * width / TAU * rim / area;
            let light_lost = width / (TAU * 2f64.sqrt()) * rim / area;
            // The rim's curvature adds λt/d² by its order.
            let curved = wavelength * t / (d * d);
            let found = 1.0 - amplitude / area;
            println!("{found} {lost}; {} {light_lost}", 1.0 - light / area);
            assert!((found - lost).norm() < curved + 2e-5, "{d} {t}: {found} {lost}");
            let found = 1.0 - light / area;
            assert!((found - light_lost).abs() < curved + 2e-5, "{d} {t}: {found} {light_lost}");
        }
    }

    /// Without thickness the moments are the hole's own.
    #[test]
    fn thin_metal_is_no_second_rim() {
        let hole = shapes::burred_disc(0.3, 0.4, 0.3, 0.08).unwrap();
        let rims = upright(&hole, 1e-9);
        let half = 0.15 + rims.margin_mm() + 0.02;
        let frame = Frame { centre_mm: [0.0, 0.0], half_mm: [half, half] };
        let (moments, light) = rims.moments(frame, 3, 550e-6);
        let centroid = hole.centroid_mm();
        let area = hole.area_mm2();
        // What is finer than the samples.
        let allowed = rims_error(&hole, 1e-9, 550.0);
        assert!((moments[[0, 0]].re / area - 1.0).abs() < allowed, "{}", moments[[0, 0]]);
        assert!((light / area - 1.0).abs() < allowed && allowed < 2e-3, "{light} {area}");
        let x = moments[[0, 1]].re * half / area;
        assert!((x - centroid[0]).abs() < 2e-5 && moments[[1, 0]].im.abs() < 1e-6, "{x}");
    }

    /// Oblique light between rims that a ray sees apart passes their overlap, less what an edge costs.
    #[test]
    fn oblique_light_passes_the_overlap() {
        let hole = shapes::rectangle(0.3, 0.3).unwrap();
        let (t, sine) = (0.05, 0.5f64);
        let apart = t * sine / (1.0 - sine * sine).sqrt();
        let rims = [hole.moved(apart / 2.0, 0.0), hole.moved(-apart / 2.0, 0.0)];
        let between = Between { thickness_mm: t, slope: [sine, 0.0], to_plate: Map::IDENTITY };
        let (_, light) = sum(&TwoRims::of([&rims[0], &rims[1]], between), 550e-6);
        let left = 0.3 * (0.3 - apart);
        assert!(light < left && light > 0.93 * left, "{light} {left}");
    }
}
