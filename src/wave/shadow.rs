//! The OTF of a hole so wide that its own shadow hides what waves do: sums along the rim.
//!
//! At the frequency f the hole overlaps with itself shifted by Δ = λvf (see [`super::transfer`]). Where
//! no chord along f is shorter than Δ, each end of a chord is moved inwards by Δ/2, so that the overlap's
//! integral is the hole's own, by Green's theorem a sum over the edges, each turned by half the shift:
//!
//! ```text
//! H(f) = 1/A Σ_edges (κ × e)/(i κ²) exp(iκ·c) sinc(κ·e/2) exp(∓iπ m λ v f²) ,     κ = 2π m f
//! ```
//!
//! with e an edge, c its middle, m the magnification of the shadow; the upper sign where f points out of
//! the hole. The sums do not depend on the wavelength. What it costs does not grow with the hole, whose
//! waves are finer the larger it is; what it leaves out is the part of the chords that are shorter than Δ
//! ([`Shadow::left_out`]), which a hole of many Fresnel zones has only where f grazes its rim.

use super::grid::Grid;
use super::light::{Distances, Light, MM_PER_NM};
use super::psf::Psf;
use super::transfer::Chords;
use crate::geometry::{Outline, Point};
use ndarray::Array2;
use ndarray::parallel::prelude::*;
use rustfft::num_complex::Complex64;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;

/// Directions over half a turn, and strips in each, in which short chords are looked for.
const DIRECTIONS: usize = 12;
const STRIPS: usize = 512;

/// The square of a wave's turn over the hole, in rad², below which it is none.
const NOUGHT: f64 = 1e-12;

/// An outline's edges, as its shadow's OTF needs them.
#[derive(Debug, Clone)]
pub struct Shadow {
    outline: Outline,
    area_mm2: f64,
    distances: Distances,
}

/// One edge on its way along a row of frequencies: all in steps.
#[derive(Clone, Copy)]
struct Walker {
    /// exp(iκ·c), and by how much it turns from one frequency to the next.
    middle: Complex64,
    middle_step: Complex64,
    /// exp(iκ·e/2), and its step.
    half: Complex64,
    half_step: Complex64,
    edge: Point,
}

impl Shadow {
    /// The shadow of an outline that lies across the ray.
    pub fn of(outline: &Outline, distances: Distances) -> Shadow {
        Shadow { outline: outline.clone(), area_mm2: outline.area_mm2(), distances }
    }

    /// The largest share of the OTF that is left out or wrongly put in at frequencies up to this one across
    /// the ray, in line pairs per mm.
    pub fn left_out(&self, light: &Light, frequency_lp_per_mm: f64) -> f64 {
        let shift = light.mean_nm() * MM_PER_NM * self.distances.film_mm() * frequency_lp_per_mm;
        (0..DIRECTIONS)
            .map(|i| Chords::along(&self.outline, PI * i as f64 / DIRECTIONS as f64, STRIPS))
            .map(|chords| chords.shorter_than(shift))
            .fold(0.0, f64::max)
    }

    /// The OTF at `count` frequencies across the ray, `step` apart, the first of them `first`, in line pairs
    /// per mm; wavelengths added. Its phase is against the straight line through the outline's origin.
    pub fn otf(&self, light: &Light, first: Point, step: Point, count: usize) -> Vec<Complex64> {
        let enlarged = 2.0 * PI * self.distances.shadow_magnification();
        // Where a wave does not turn over the hole, the sums are rounding over nothing.
        let nought = NOUGHT / self.area_mm2;
        let mut walkers = self.walkers(first.map(|f| enlarged * f), step.map(|f| enlarged * f));
        (0..count)
            .map(|i| {
                let f = [0, 1].map(|axis| first[axis] + i as f64 * step[axis]);
                let sums = sums(&mut walkers, f.map(|f| enlarged * f), nought);
                self.of_all_lines(light, f[0] * f[0] + f[1] * f[1], sums)
            })
            .collect()
    }

    fn walkers(&self, first: Point, step: Point) -> Vec<Walker> {
        let dot = |a: Point, b: Point| a[0] * b[0] + a[1] * b[1];
        self.outline
            .edges()
            .map(|(a, b)| {
                let middle = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
                let half = [(b[0] - a[0]) / 2.0, (b[1] - a[1]) / 2.0];
                Walker {
                    middle: Complex64::cis(dot(first, middle)),
                    middle_step: Complex64::cis(dot(step, middle)),
                    half: Complex64::cis(dot(first, half)),
                    half_step: Complex64::cis(dot(step, half)),
                    edge: [2.0 * half[0], 2.0 * half[1]],
                }
            })
            .collect()
    }

    /// The two sums, of edges that f leaves the hole by and of the others, with each line's own shift.
    fn of_all_lines(&self, light: &Light, squared: f64, sums: Option<[Complex64; 2]>) -> Complex64 {
        let Some([out, into]) = sums else { return Complex64::from(1.0) };
        let turn = PI * self.distances.shadow_magnification() * self.distances.film_mm() * squared;
        light
            .lines()
            .iter()
            .map(|&(nm, share)| {
                let shift = Complex64::cis(turn * nm * MM_PER_NM);
                share * (out * shift.conj() + into * shift)
            })
            .sum::<Complex64>()
            / self.area_mm2
    }
}

/// The sums over the edges at κ, in mm²; None where its square is no more than `nought`, where they are the
/// area. The walkers go on.
fn sums(walkers: &mut [Walker], kappa: Point, nought: f64) -> Option<[Complex64; 2]> {
    let squared = kappa[0] * kappa[0] + kappa[1] * kappa[1];
    let (mut out, mut into) = (Complex64::default(), Complex64::default());
    for walker in walkers {
        let [x, y] = walker.edge;
        // Positive where κ points out of the hole: loops run anticlockwise about what is open.
        let flux = kappa[0] * y - kappa[1] * x;
        let angle = (kappa[0] * x + kappa[1] * y) / 2.0;
        let sinc = if angle.abs() < 1e-6 { 1.0 } else { walker.half.im / angle };
        let part = walker.middle * (flux * sinc);
        if flux > 0.0 {
            out += part;
        } else {
            into += part;
        }
        walker.middle *= walker.middle_step;
        walker.half *= walker.half_step;
    }
    let scale = -Complex64::i() / squared;
    (squared > nought).then(|| [out * scale, into * scale])
}

impl Psf {
    /// The PSF on a grid of an odd number of samples from its OTF at frequencies up to `most` cycles a
    /// sample along each axis, which `otf_row` gives: for a frequency along y, at `count` frequencies along
    /// x from a first one on, `step` apart, all in line pairs per mm. The samples are one period of a
    /// repeated picture: what lies beyond them comes back on the other side.
    pub fn from_otf(
        grid: Grid,
        most: f64,
        otf_row: impl Fn(f64, f64, f64, usize) -> Vec<Complex64> + Sync,
    ) -> Psf {
        let size = grid.size();
        let step = 1.0 / (size as f64 * grid.pitch_mm());
        let last = (most * size as f64) as usize;
        let low = -(last as f64) * step;
        let rows: Vec<Vec<Complex64>> = (0..=last)
            .into_par_iter()
            .map(|row| otf_row(row as f64 * step, low, step, 2 * last + 1))
            .collect();
        let mut spectrum = Array2::<Complex64>::zeros((size, size));
        let wrapped = |i: isize| i.rem_euclid(size as isize) as usize;
        for (row, values) in rows.iter().enumerate() {
            for (column, value) in values.iter().enumerate() {
                let (x, y) = (column as isize - last as isize, row as isize);
                spectrum[[wrapped(y), wrapped(x)]] += value;
                if row > 0 {
                    // A real picture's spectrum.
                    spectrum[[wrapped(-y), wrapped(-x)]] += value.conj();
                }
            }
        }
        let fft = FftPlanner::new().plan_fft_forward(size);
        transform(&mut spectrum, &*fft);
        let mut samples = spectrum.t().as_standard_layout().into_owned();
        transform(&mut samples, &*fft);
        let middle = (size / 2) as isize;
        // Transposed once: rows are those of x.
        let density = Array2::from_shape_fn((size, size), |(row, column)| {
            let place = |i: usize| wrapped(i as isize - middle);
            samples[[place(column), place(row)]].re * step * step
        });
        Psf { density, grid, order: 0 }
    }
}

fn transform(rows: &mut Array2<Complex64>, fft: &dyn Fft<f64>) {
    let scratch = || vec![Complex64::default(); fft.get_inplace_scratch_len()];
    rows.outer_iter_mut().into_par_iter().for_each_init(scratch, |scratch, mut row| {
        if let Some(row) = row.as_slice_mut() {
            fft.process_with_scratch(row, scratch);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::analytic::DiscOtf;
    use crate::wave::fresnel_number;

    /// A disc of many zones against the closed form, up to a tenth of the cut-off; near and far.
    #[test]
    fn a_wide_disc_follows_the_closed_form() {
        let (d, nm, film) = (4.0, 550.0, 100.0);
        let light = Light::single(nm).unwrap();
        let closed = DiscOtf::default();
        for subject in [f64::INFINITY, 150.0] {
            let distances = Distances::new(subject, film).unwrap();
            let n = fresnel_number(d / 2.0, nm, distances.effective_mm());
            let shadow = Shadow::of(&shapes::disc(d).unwrap(), distances);
            let step = 0.05;
            let along = [0.6 * step, 0.8 * step];
            let cut_off = d / (nm * 1e-6 * film);
            let found = shadow.otf(&light, [0.0, 0.0], along, 140);
            for (i, found) in found.iter().enumerate() {
                let f = i as f64 * step;
                let error = (found - closed.at(n, f / cut_off)).norm();
                // Short chords, and that the disc is a polygon of its own area.
                let bound = shadow.left_out(&light, f) + 2e-5;
                assert!(error < bound && bound < 1e-3, "{f}: {error:e} {bound:e}");
            }
        }
    }

    /// All light is on the samples, which are a period: the OTF at nought is 1 wherever rounding puts it.
    #[test]
    fn no_light_is_lost() {
        let light = Light::single(550.0).unwrap();
        let shadow = Shadow::of(&shapes::disc(3.0).unwrap(), Distances::distant(100.0).unwrap());
        let grid = Grid::new(45, 0.0793).unwrap();
        let psf = Psf::from_otf(grid, 0.75, |y, first, step, count| {
            shadow.otf(&light, [first, y], [step, 0.0], count)
        });
        assert!((psf.energy_on_grid() - 1.0).abs() < 1e-9, "{}", psf.energy_on_grid());
        // In the middle of a shadow the light is even: 1/A, but for the rim's fringes.
        let middle = psf.density[[22, 22]] * PI * 1.5 * 1.5;
        assert!((middle - 1.0).abs() < 0.3, "{middle}");
    }

    /// A hole of no symmetry against strips of itself.
    #[test]
    fn a_wide_burred_hole_follows_its_strips() {
        let hole = shapes::burred_disc(3.0, 0.4, 0.5, 0.1).unwrap();
        let light = Light::new(&[(450.0, 1.0), (600.0, 2.0)]).unwrap();
        let distances = Distances::new(500.0, 60.0).unwrap();
        let shadow = Shadow::of(&hole, distances);
        let chords = Chords::along(&hole, 1.1, 4096);
        let (sin, cos) = 1.1f64.sin_cos();
        let centroid = hole.centroid_mm();
        let along = centroid[0] * cos + centroid[1] * sin;
        let turn = 2.0 * PI * distances.shadow_magnification() * along;
        for f in [0.1, 0.4, 1.3, 2.9] {
            let found = shadow.otf(&light, [f * cos, f * sin], [0.0, 0.0], 1)[0];
            let truth = chords.otf(&light, distances, f) * Complex64::cis(turn * f);
            let bound = shadow.left_out(&light, f) + 1e-4;
            assert!((found - truth).norm() < bound, "{f}: {found} {truth} {bound:e}");
        }
    }
}
