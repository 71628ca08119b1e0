//! Over-exposed photos on which the constants of the edge's model were chosen, drawn in the frequency
//! domain: the outline's exact spectrum sampled finely, the blur's transfer function in closed form.
//!
//! The photos that judge them are drawn elsewhere and by other means (`phone`).

use super::draw::Random;
use foramen::raster::{Raster, Transfer};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use rustfft::{FftPlanner, num_complex::Complex};
use std::f64::consts::{PI, TAU};

/// Fine samples to a pixel's side.
const FINE: usize = 4;

/// The core of a blur, by its transfer function at a spatial frequency (cycles a pixel).
#[derive(Debug, Clone, Copy)]
enum Core {
    Gauss(f64),
    /// Moffat's profile with exponent 2.5: (1 + x) exp(-x), x = 2π a f.
    Wide(f64),
    /// With exponent 3.5.
    Wings(f64),
    /// An unfocused lens: a disc of this radius, with a Gaussian.
    Disc(f64, f64),
    /// A narrow Gaussian and a share of a wide one.
    Two(f64, f64, f64),
    /// A Gaussian moved over a length in a direction.
    Moved(f64, f64, f64),
}

#[derive(Debug, Clone, Copy)]
enum Glow {
    None,
    Gauss(f64, f64),
    Exponential(f64, f64),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Tone {
    Srgb,
    Power,
    Contrast(f64),
    BentTop,
}

/// A camera on its stand: the same for all photos of a set-up.
#[derive(Debug, Clone)]
pub(crate) struct Stand {
    pub(crate) diameter_px: f64,
    form: [f64; 4],
    core: Core,
    glow: Glow,
    ground: f64,
    gains: [f64; 3],
    noise: f64,
    lean: f64,
    tone: Tone,
    soft: f64,
    median: bool,
    halo: Option<(f64, f64)>,
    quality: Option<u8>,
}

impl Stand {
    pub(crate) fn of(seed: u64) -> Stand {
        let mut r = Random(seed.wrapping_mul(0x9e6c_63d0_876a_9d2b) ^ 77);
        let sigma = r.within(0.7, 1.8);
        let core = match r.within(0.0, 7.0) as usize {
            0 | 1 => Core::Gauss(sigma),
            2 => Core::Wide(1.1 * sigma),
            3 => Core::Wings(1.6 * sigma),
            4 => Core::Disc(1.8 * sigma, 0.5),
            5 => Core::Two(0.8 * sigma, 2.0 * sigma, r.within(0.1, 0.35)),
            _ => Core::Moved(0.8 * sigma, 2.0 * sigma, r.within(0.0, PI)),
        };
        let (share, reach) = (r.spread(0.008, 0.05), r.spread(4.0, 16.0));
        let glow = match r.within(0.0, 4.0) as usize {
            0 => Glow::None,
            1 => Glow::Exponential(share, 0.6 * reach),
            _ => Glow::Gauss(share, reach),
        };
        let grey = r.chance(0.5);
        let gains = if grey { [1.0; 3] } else { [r.within(0.7, 1.1), 1.0, r.within(0.6, 1.0)] };
        let tone = match r.within(0.0, 6.0) as usize {
            0 => Tone::Power,
            1 => Tone::Contrast(r.within(0.0, 0.1)),
            2 => Tone::BentTop,
            _ => Tone::Srgb,
        };
        Stand {
            diameter_px: r.spread(45.0, 160.0),
            form: [
                r.within(0.0, 0.05),
                r.within(0.0, TAU),
                r.within(0.0, 0.015),
                r.within(0.0, TAU),
            ],
            core,
            glow,
            ground: r.spread(0.002, 0.05),
            gains,
            noise: r.spread(0.001, 0.015),
            lean: r.within(0.0, 0.08),
            tone,
            soft: if r.chance(0.6) { r.within(0.2, 1.0) } else { 0.0 },
            median: r.chance(0.25),
            halo: r.chance(0.45).then(|| (r.within(0.2, 0.9), r.within(0.8, 2.2))),
            quality: r.chance(0.7).then(|| r.within(80.0, 97.0) as u8),
        }
    }

    fn radius(&self, angle: f64) -> f64 {
        let [oval, at, lobes, phase] = self.form;
        1.0 + oval * (2.0 * angle - at).cos() + lobes * (3.0 * angle - phase).cos()
    }

    /// The photo with this light in the hole over the clip, and the diameter of the disc of the hole's
    /// area in pixels.
    pub(crate) fn photo(&self, light: f64, seed: u64) -> (Raster, f64) {
        let mut r = Random(seed.wrapping_mul(0xa076_1d64_78bd_642f) ^ 5);
        let side = ((self.diameter_px * 1.6) as usize + 60).next_multiple_of(8);
        let middle = side as f64 / 2.0;
        let centre = [middle + r.within(-4.0, 4.0), middle + r.within(-4.0, 4.0)];
        // ∫ r²/2 of the three terms.
        let [oval, _, lobes, _] = self.form;
        let mean_square = 1.0 + 0.5 * oval * oval + 0.5 * lobes * lobes;
        let unit = 0.5 * self.diameter_px / mean_square.sqrt();
        let open = self.blurred(side, centre, unit);
        let mut planes: [Vec<f64>; 3] = std::array::from_fn(|_| Vec::with_capacity(side * side));
        for (i, share) in open.iter().enumerate() {
            let (x, y) =
                ((i % side) as f64 / side as f64 - 0.5, (i / side) as f64 / side as f64 - 0.5);
            let lit = 1.0 + self.lean * (x + 0.5 * y);
            for (plane, gain) in planes.iter_mut().zip(self.gains) {
                let level = gain * (self.ground + (light * lit - self.ground) * share);
                let grain = self.noise * level.max(0.002).sqrt() * normal(&mut r);
                plane.push(self.toned((level + grain).clamp(0.0, 1.0)));
            }
        }
        for plane in &mut planes {
            if self.median {
                *plane = medians(plane, side);
            }
            mix(plane, side, 0.55, self.soft);
            if let Some((strength, width)) = self.halo {
                mix(plane, side, width, -strength);
            }
        }
        (self.filed(&planes, side), self.diameter_px)
    }

    fn toned(&self, light: f64) -> f64 {
        let tone = foramen::raster::encode(light);
        match self.tone {
            Tone::Srgb => tone,
            Tone::Power => light.powf(1.0 / 2.2),
            Tone::Contrast(depth) => tone - depth * (TAU * tone).sin() / TAU * 2.0,
            Tone::BentTop if tone > 0.8 => {
                let u = (tone - 0.8) / 0.2;
                0.8 + 0.2 * (1.35 * u - 0.35 * u * u)
            }
            Tone::BentTop => tone,
        }
    }

    /// The open share of each pixel after blur and glow.
    fn blurred(&self, side: usize, [cx, cy]: [f64; 2], unit: f64) -> Vec<f64> {
        let fine = side * FINE;
        let mut field: Vec<Complex<f64>> = (0..fine * fine)
            .map(|i| {
                let (x, y) = ((i % fine) as f64, (i / fine) as f64);
                let (dx, dy) = ((x + 0.5) / FINE as f64 - cx, (y + 0.5) / FINE as f64 - cy);
                let rim = unit * self.radius(dy.atan2(dx));
                // Coverage of a fine sample: linear across the rim.
                Complex::new(((rim - dx.hypot(dy)) * FINE as f64 + 0.5).clamp(0.0, 1.0), 0.0)
            })
            .collect();
        transform(&mut field, fine, false);
        for (i, value) in field.iter_mut().enumerate() {
            let frequency = |k: usize| {
                let k = if k > fine / 2 { k as f64 - fine as f64 } else { k as f64 };
                k / side as f64
            };
            let (fx, fy) = (frequency(i % fine), frequency(i / fine));
            let pixel = sinc(fx) * sinc(fy) / (sinc(fx / FINE as f64) * sinc(fy / FINE as f64));
            *value *= pixel * self.transfer(fx, fy) / (fine * fine) as f64;
        }
        transform(&mut field, fine, true);
        // The fine sample in a pixel's middle does not exist for an even count: the mean of four.
        let at = |row: usize, column: usize| field[row * fine + column].re;
        let half = FINE / 2;
        (0..side * side)
            .map(|i| {
                let (row, column) = ((i / side) * FINE + half, (i % side) * FINE + half);
                0.25 * (at(row, column)
                    + at(row - 1, column)
                    + at(row, column - 1)
                    + at(row - 1, column - 1))
            })
            .collect()
    }

    fn transfer(&self, fx: f64, fy: f64) -> f64 {
        let f = fx.hypot(fy);
        let gauss = |sigma: f64| (-2.0 * (PI * sigma * f).powi(2)).exp();
        let core = match self.core {
            Core::Gauss(sigma) => gauss(sigma),
            Core::Wide(a) => (1.0 + TAU * a * f) * (-TAU * a * f).exp(),
            Core::Wings(a) => {
                let x = TAU * a * f;
                (1.0 + x + x * x / 3.0) * (-x).exp()
            }
            Core::Disc(radius, sigma) => {
                let x = TAU * radius * f;
                let disc = if x < 1e-6 { 1.0 } else { 2.0 * libm::j1(x) / x };
                disc * gauss(sigma)
            }
            Core::Two(narrow, wide, share) => (1.0 - share) * gauss(narrow) + share * gauss(wide),
            Core::Moved(sigma, length, angle) => {
                sinc(length * (fx * angle.cos() + fy * angle.sin())) * gauss(sigma)
            }
        };
        match self.glow {
            Glow::None => core,
            Glow::Gauss(share, reach) => (1.0 - share) * core + share * gauss(reach),
            Glow::Exponential(share, reach) => {
                (1.0 - share) * core + share * (1.0 + (TAU * reach * f).powi(2)).powf(-1.5)
            }
        }
    }

    fn filed(&self, planes: &[Vec<f64>; 3], side: usize) -> Raster {
        let picture = RgbImage::from_fn(side as u32, side as u32, |x, y| {
            let i = y as usize * side + x as usize;
            Rgb([0, 1, 2].map(|c: usize| (planes[c][i].clamp(0.0, 1.0) * 255.0).round() as u8))
        });
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("photo");
        let mut bytes = Vec::new();
        match self.quality {
            Some(quality) => {
                JpegEncoder::new_with_quality(&mut bytes, quality).encode_image(&picture).unwrap();
            }
            None => bytes = foramen::raster::png(&picture).unwrap(),
        }
        std::fs::write(&path, bytes).unwrap();
        foramen::files::picture(&path, Transfer::ByFile, foramen::files::Memory::default())
            .unwrap()
            .raster
    }
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-9 { 1.0 } else { (PI * x).sin() / (PI * x) }
}

fn normal(random: &mut Random) -> f64 {
    (-2.0 * (1.0 - random.within(0.0, 1.0)).ln()).sqrt() * (TAU * random.within(0.0, 1.0)).cos()
}

fn transform(field: &mut Vec<Complex<f64>>, side: usize, inverse: bool) {
    let mut planner = FftPlanner::new();
    let plan =
        if inverse { planner.plan_fft_inverse(side) } else { planner.plan_fft_forward(side) };
    for _ in 0..2 {
        plan.process(field);
        *field = (0..side * side).map(|i| field[(i % side) * side + i / side]).collect();
    }
}

fn medians(plane: &[f64], side: usize) -> Vec<f64> {
    (0..plane.len())
        .map(|i| {
            let (row, column) = (i / side, i % side);
            let mut near = [0.0; 9];
            for (k, value) in near.iter_mut().enumerate() {
                let r = (row + k / 3).saturating_sub(1).min(side - 1);
                let c = (column + k % 3).saturating_sub(1).min(side - 1);
                *value = plane[r * side + c];
            }
            near.sort_by(f64::total_cmp);
            near[4]
        })
        .collect()
}

/// Moves a plane by a share of the way to its Gaussian mean.
fn mix(plane: &mut [f64], side: usize, sigma: f64, share: f64) {
    if share == 0.0 {
        return;
    }
    let reach = (3.5 * sigma).ceil() as i64;
    let weights: Vec<f64> =
        (-reach..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let last = side as i64 - 1;
    let along = |from: &[f64], down: bool| -> Vec<f64> {
        (0..from.len())
            .map(|i| {
                let (row, column) = ((i / side) as i64, (i % side) as i64);
                let near = (-reach..=reach).zip(&weights).map(|(k, w)| {
                    let (r, c) = if down { (row + k, column) } else { (row, column + k) };
                    w * from[(r.clamp(0, last) * side as i64 + c.clamp(0, last)) as usize]
                });
                near.sum::<f64>() / sum
            })
            .collect()
    };
    let smooth = along(&along(plane, false), true);
    plane.iter_mut().zip(smooth).for_each(|(to, from)| *to += share * (from - *to));
}
