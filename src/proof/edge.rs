//! A straight edge in a picture: its spread function and its MTF, with their uncertainty.
//!
//! The method is the slanted edge of `ISO12233`: pixels are put in order by their distance from the
//! edge, gathered into bins of a quarter pixel, differentiated, windowed and transformed. The line itself is
//! found by moving each slice of the edge until it agrees with all of them. What the bins, the difference
//! and the pixel's own square take from contrast is divided out.
//!
//! The uncertainty is what the slices of the edge disagree by: the MTF is a sum over pixels (the
//! bins are means), so each slice's pixels, as far as they are off the common spread function, shift it by
//! a known amount, and slices err independently even where the grain of neighbouring pixels hangs together.

use crate::geometry::Point;
use ndarray::Array2;
use rustfft::num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Bins to a pixel (`ISO12233`).
const BINS: f64 = 4.0;
/// Slices along the edge.
const SLICES: usize = 16;
/// Student's t for 95 % with 15 degrees of freedom (computed with SciPy, 2.13145).
const STUDENT: f64 = 2.131;
/// Turns of finding the line: the third moves it by less than a thousandth of a pixel.
const TURNS: usize = 4;
/// The share of the half width, at either end, that gives the levels of dark and light.
const PLATEAU: f64 = 0.2;
/// Fewer pixels to an edge than this leave bins empty.
const FEWEST_PX: usize = 400;

/// Describes where an edge is looked for, in pixels: x to the right and y down, from the upper left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// A point that the edge runs through, about.
    pub middle_px: Point,
    /// The direction from dark to light, as a unit vector.
    pub normal: Point,
    /// How far the strip reaches from the edge, in px.
    pub half_width_px: f64,
    /// How far it reaches along the edge from its middle, in px.
    pub half_length_px: f64,
}

/// Describes an edge as it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// The strip, moved and turned on to the edge.
    pub strip: Strip,
    /// The light in bins of a quarter pixel, from the dark side to the light one.
    pub spread: Vec<f64>,
    /// The light of the dark and of the light side.
    pub levels: [f64; 2],
    /// How far the edge swings beyond its levels, over their difference: 0.04 and more where a picture was sharpened.
    pub overshoot: f64,
    /// The standard deviation of a pixel's light about the spread function, over the step.
    pub noise: f64,
    /// How far from the straight line the edge lies at most, slice by slice, in px.
    pub bow_px: f64,
    /// For each slice, how far it is off the spread function in each bin, as a share of all pixels there.
    off: Vec<Vec<f64>>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Pixel {
    /// Across the edge and along it, in px from the strip's middle.
    across: f64,
    along: f64,
    light: f64,
}

/// Describes contrast at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrast {
    /// The MTF.
    pub mtf: f64,
    /// Its expanded uncertainty (95 %).
    pub uncertainty: f64,
}

impl Edge {
    /// Measures the edge in a strip. `curve` makes light of a value and its place in px. None where there is no edge that runs through it from end to end.
    pub fn of(
        light: &Array2<f32>,
        curve: &dyn Fn(f64, Point) -> f64,
        strip: Strip,
    ) -> Option<Edge> {
        let mut strip = strip;
        let mut pixels = gathered(light, curve, &strip);
        if pixels.len() < FEWEST_PX {
            return None;
        }
        for _ in 0..TURNS {
            let spread = binned(&pixels, strip.half_width_px);
            let [shift, turn] = misfit(&pixels, &spread, &strip)?;
            strip = moved(&strip, shift, turn);
            pixels = gathered(light, curve, &strip);
            if pixels.len() < FEWEST_PX {
                return None;
            }
        }
        let spread = binned(&pixels, strip.half_width_px);
        let levels = levels(&spread);
        let step = levels[1] - levels[0];
        let residue = |pixel: &Pixel| pixel.light - at(&spread, pixel.across, strip.half_width_px);
        let squares: f64 = pixels.iter().map(|pixel| residue(pixel).powi(2)).sum();
        let noise = (squares / pixels.len() as f64).sqrt() / step;
        if !(step > 0.0 && noise < 0.5) {
            return None;
        }
        let bows = shifts(&pixels, &spread, &strip).into_iter().flatten();
        let bow_px = bows.fold(0.0, |most: f64, shift| most.max(shift[1].abs()));
        let off = slices_off(&pixels, &spread, &strip);
        let overshoot = overshoot(&spread, levels);
        Some(Edge { strip, spread, levels, overshoot, noise, bow_px, off })
    }

    /// The MTF along the edge's normal at a frequency in cycles per pixel, below one half, as a window of the
    /// strip's width shows it: divided by the windowed area.
    pub fn contrast(&self, cycles_per_px: f64) -> Contrast {
        let count = self.spread.len();
        let half = self.strip.half_width_px;
        let weights = |frequency: f64| -> Vec<Complex64> {
            let wave: Vec<Complex64> = (0..count)
                .map(|i| {
                    let place = place(i, half);
                    Complex64::cis(-TAU * frequency * place) * window(place, half)
                })
                .collect();
            // Of each bin in the sum over differences of its neighbours.
            (0..count)
                .map(|i| {
                    let before = if i >= 2 { wave[i - 1] } else { Complex64::default() };
                    let after = if i + 2 < count { wave[i + 1] } else { Complex64::default() };
                    (before - after) / 2.0
                })
                .collect()
        };
        let (waves, flats) = (weights(cycles_per_px), weights(0.0));
        let sum = |weights: &[Complex64]| -> Complex64 {
            weights.iter().zip(&self.spread).map(|(weight, light)| weight * light).sum()
        };
        let area = sum(&flats).re;
        let turned = sum(&waves) / area;
        let correction = 1.0 / self.taken(cycles_per_px);
        let contrast = turned.norm();
        let direction =
            if contrast > 0.0 { turned.conj() / contrast } else { Complex64::new(1.0, 0.0) };
        // What each bin's light adds to the contrast.
        let part = waves
            .iter()
            .zip(&flats)
            .map(|(wave, flat)| (direction * (wave - turned * flat.re)).re / area);
        let part: Vec<f64> = part.collect();
        let slices = self
            .off
            .iter()
            .map(|off| off.iter().zip(&part).map(|(off, part)| off * part).sum::<f64>());
        let scatter =
            slices.map(|part| part * part).sum::<f64>() * SLICES as f64 / (SLICES - 1) as f64;
        Contrast { mtf: contrast * correction, uncertainty: STUDENT * scatter.sqrt() * correction }
    }

    /// What bins, difference and pixel take from contrast.
    fn taken(&self, f: f64) -> f64 {
        let [nx, ny] = self.strip.normal;
        sinc(f / BINS) * sinc(2.0 * f / BINS) * sinc(f * nx) * sinc(f * ny)
    }
}

/// The window about the edge: flat over the inner half, so that blur keeps its width, and from there to the ends a cosine's fall
/// (`Tukey`'s window). `ISO12233`'s falls from the middle on, and narrows what is wide.
fn window(place: f64, half: f64) -> f64 {
    let share = (2.0 * place.abs() / half - 1.0).clamp(0.0, 1.0);
    0.5 + 0.5 * (PI * share).cos()
}

/// What a window of this half width, in mm, makes of an OTF along a direction: the contrast that [`Edge::contrast`] would
/// find at each of these frequencies on a perfect picture. `otf` is given at 0, `step`, 2 `step` and so on, up to where it ends.
pub fn windowed(otf: &[Complex64], step: f64, half_mm: f64, frequencies: &[f64]) -> Vec<f64> {
    // The window is a box three quarters of its half width to each side, smoothed by an arch of a quarter: its transform is the
    // product of theirs. A product in space is a convolution in frequency.
    let (wide, arch) = (1.5 * half_mm, half_mm / 4.0);
    let window = |f: f64| {
        let x = 4.0 * arch * f;
        let smoothed = if (x.abs() - 1.0).abs() < 1e-6 {
            PI / 4.0
        } else {
            (PI * x / 2.0).cos() / (1.0 - x * x)
        };
        sinc(wide * f) * smoothed
    };
    let convolved = |f: f64| -> Complex64 {
        let last = otf.len() as i64 - 1;
        (-last..=last)
            .map(|i| {
                let value = otf[i.unsigned_abs() as usize];
                let value = if i < 0 { value.conj() } else { value };
                value * window(f - i as f64 * step)
            })
            .sum()
    };
    let area = convolved(0.0).norm();
    frequencies.iter().map(|f| convolved(*f).norm() / area).collect()
}

/// sin πx/(πx).
fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-9 { 1.0 } else { (PI * x).sin() / (PI * x) }
}

/// The middle of a bin, in px from the edge.
fn place(bin: usize, half: f64) -> f64 {
    (bin as f64 + 0.5) / BINS - half
}

fn bin(across: f64, half: f64) -> usize {
    (((across + half) * BINS) as usize).min(bins(half) - 1)
}

fn bins(half: f64) -> usize {
    ((2.0 * half * BINS) as usize).max(8)
}

fn slice(along: f64, half_length: f64) -> usize {
    let share = (along + half_length) / (2.0 * half_length);
    ((share * SLICES as f64).max(0.0) as usize).min(SLICES - 1)
}

/// The pixels of a strip.
fn gathered(light: &Array2<f32>, curve: &dyn Fn(f64, Point) -> f64, strip: &Strip) -> Vec<Pixel> {
    let ([nx, ny], [x, y]) = (strip.normal, strip.middle_px);
    let (rows, columns) = light.dim();
    let [high, wide] = [(ny, nx), (nx, ny)].map(|(across, along)| {
        strip.half_width_px * across.abs() + strip.half_length_px * along.abs() + 1.0
    });
    let range = |middle: f64, reach: f64, most: usize| {
        let low = (middle - reach).floor().max(0.0) as usize;
        low.min(most)..((middle + reach).ceil().max(0.0) as usize).min(most)
    };
    let mut pixels = Vec::new();
    for row in range(y, high, rows) {
        for column in range(x, wide, columns) {
            let (dx, dy) = (column as f64 + 0.5 - x, row as f64 + 0.5 - y);
            let (across, along) = (dx * nx + dy * ny, dy * nx - dx * ny);
            if across.abs() < strip.half_width_px && along.abs() < strip.half_length_px {
                pixels.push(Pixel {
                    across,
                    along,
                    light: curve(
                        f64::from(light[[row, column]]),
                        [column as f64 + 0.5, row as f64 + 0.5],
                    ),
                });
            }
        }
    }
    pixels
}

/// The mean light of each bin; an empty one takes that between its neighbours.
fn binned(pixels: &[Pixel], half: f64) -> Vec<f64> {
    let count = bins(half);
    let mut sums = vec![(0.0, 0.0); count];
    for pixel in pixels {
        let (sum, number) = &mut sums[bin(pixel.across, half)];
        *sum += pixel.light;
        *number += 1.0;
    }
    let known: Vec<usize> = (0..count).filter(|i| sums[*i].1 > 0.0).collect();
    let mean = |i: usize| sums[i].0 / sums[i].1;
    (0..count)
        .map(|i| {
            let next = known.partition_point(|k| *k < i);
            match (known.get(next), next.checked_sub(1).map(|before| known[before])) {
                (Some(k), _) if *k == i => mean(i),
                (Some(after), Some(before)) => {
                    let share = (i - before) as f64 / (after - before) as f64;
                    mean(before) * (1.0 - share) + mean(*after) * share
                }
                (Some(only), None) => mean(*only),
                (None, Some(only)) => mean(only),
                (None, None) => 0.0,
            }
        })
        .collect()
}

/// The spread function between the middles of its bins.
fn at(spread: &[f64], across: f64, half: f64) -> f64 {
    let place = (across + half) * BINS - 0.5;
    let low = (place.max(0.0) as usize).min(spread.len() - 2);
    let share = (place - low as f64).clamp(0.0, 1.0);
    spread[low] * (1.0 - share) + spread[low + 1] * share
}

/// The mean light at either end.
fn levels(spread: &[f64]) -> [f64; 2] {
    let count = ((spread.len() as f64 * PLATEAU / 2.0) as usize).max(1);
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    [mean(&spread[..count]), mean(&spread[spread.len() - count..])]
}

/// How far the light, smoothed over a pixel, swings beyond the levels next to the edge.
fn overshoot(spread: &[f64], [dark, light]: [f64; 2]) -> f64 {
    let side = BINS as usize;
    let smooth =
        spread.windows(2 * side + 1).map(|part| part.iter().sum::<f64>() / part.len() as f64);
    let (low, high) = smooth.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)));
    ((high - light).min(dark - low) / (light - dark)).max(0.0)
}

/// For each slice with enough of an edge in it: where it is along the edge, how far its edge is off the
/// line, and how well that is known: the sum of squared slopes.
fn shifts(pixels: &[Pixel], spread: &[f64], strip: &Strip) -> Vec<Option<[f64; 3]>> {
    let half = strip.half_width_px;
    // By the slope over a pixel, which noise of single bins does not reach.
    let slope = |across: f64| at(spread, across + 0.5, half) - at(spread, across - 0.5, half);
    let mut sums = vec![[0.0; 3]; SLICES];
    for pixel in pixels {
        let (steep, off) = (slope(pixel.across), pixel.light - at(spread, pixel.across, half));
        let part = &mut sums[slice(pixel.along, strip.half_length_px)];
        part[0] -= off * steep;
        part[1] += steep * steep;
        part[2] += pixel.along * steep * steep;
    }
    sums.into_iter()
        .map(|[off, steep, along]| (steep > 0.0).then(|| [along / steep, off / steep, steep]))
        .collect()
}

/// For each slice, how far its light is off the spread function in each bin, as its part of the bin's mean. A mean is
/// drawn to the slices that it is made of: what is left is made larger by the share that a slice has in it.
fn slices_off(pixels: &[Pixel], spread: &[f64], strip: &Strip) -> Vec<Vec<f64>> {
    let half = strip.half_width_px;
    let mut sums = vec![vec![(0.0, 0.0); spread.len()]; SLICES];
    for pixel in pixels {
        let (off, count) =
            &mut sums[slice(pixel.along, strip.half_length_px)][bin(pixel.across, half)];
        *off += pixel.light - at(spread, pixel.across, half);
        *count += 1.0;
    }
    let all: Vec<f64> =
        (0..spread.len()).map(|i| sums.iter().map(|slice| slice[i].1).sum()).collect();
    let part = |(i, (off, count)): (usize, &(f64, f64))| {
        let others = 1.0 - count / all[i];
        if others > 0.0 { off / all[i] / others.sqrt() } else { 0.0 }
    };
    sums.iter().map(|slice| slice.iter().enumerate().map(part).collect()).collect()
}

/// How far the line must be moved along its normal, in px, and turned, so that all slices agree. None where there is
/// nothing steep.
fn misfit(pixels: &[Pixel], spread: &[f64], strip: &Strip) -> Option<[f64; 2]> {
    let (mut a, mut b, mut c, mut p, mut q) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for [along, shift, weight] in shifts(pixels, spread, strip).into_iter().flatten() {
        // A slice cannot be trusted to be further off than a few pixels at once.
        let shift = shift.clamp(-8.0, 8.0);
        a += weight;
        b += weight * along;
        c += weight * along * along;
        p += weight * shift;
        q += weight * along * shift;
    }
    let determinant = a * c - b * b;
    if determinant <= 0.0 {
        return None;
    }
    let turn = (a * q - b * p) / determinant;
    // The common function is centred on its own middle: half the light lies on either side.
    let [dark, light] = levels(spread);
    let middle = (dark + light) / 2.0;
    let crossing =
        spread.windows(2).enumerate().filter(|(_, two)| two[0] < middle && two[1] >= middle);
    let nearest = crossing
        .map(|(i, two)| {
            place(i, strip.half_width_px) + (middle - two[0]) / (two[1] - two[0]) / BINS
        })
        .min_by(|one, other| one.abs().total_cmp(&other.abs()))?;
    Some([nearest, turn.clamp(-0.2, 0.2)])
}

/// The strip moved along its normal, and turned so that its far end (along) moves across by `turn` a pixel.
fn moved(strip: &Strip, shift: f64, turn: f64) -> Strip {
    let ([nx, ny], [x, y]) = (strip.normal, strip.middle_px);
    // An edge at across = turn · along has the normal n - turn · t, with t = (-ny, nx).
    let (tx, ty) = (nx + turn * ny, ny - turn * nx);
    let length = tx.hypot(ty);
    Strip {
        middle_px: [x + shift * nx, y + shift * ny],
        normal: [tx / length, ty / length],
        ..*strip
    }
}

#[cfg(test)]
#[path = "edge_tests.rs"]
mod tests;
