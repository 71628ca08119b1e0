//! A drawn camera that behaves as one in a telephone: a lens that is not quite in focus, shaken and
//! glowing, light beyond what the sensor holds, a colour mosaic, then all that is done to the picture
//! afterwards: tone curve, denoising, sharpening.
//!
//! Everything is drawn in the plane of the picture: the blur is a fan of rays, each of which lays the
//! hole's light down a little elsewhere.

use super::{Look, Random, blurred, lattice, open_area};
use crate::error::Error;
use crate::geometry::{Outline, clip::overlap};
use crate::raster::{Raster, decode, encode};
use ndarray::{Array2, Array3};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Samples to a pixel's side, before the sensor.
const FINE: usize = 2;
/// Rays of the lens.
const RAYS: usize = 96;
/// What diffraction and the sensor's cover glass blur, in pixels (σ).
const LEAST_BLUR_PX: f64 = 0.4;

/// A telephone's camera over a plate, and its lamp behind.
#[derive(Debug, Clone, PartialEq)]
pub struct Phone {
    /// Pixels of the square picture's side, 16..=2048.
    pub side_px: usize,
    /// The scale, in mm a pixel.
    pub mm_per_px: f64,
    /// Where the outline's origin lies, [column, row] in px.
    pub centre_px: [f64; 2],
    /// The light in the hole over the most that the sensor holds.
    pub exposure: f64,
    /// The light of the plate, over the same.
    pub plate: f64,
    /// The lamp's colour: red, green, blue; green is 1 as a rule.
    pub lamp: [f64; 3],
    /// Radius of the unfocused lens's spot, in px.
    pub defocus_px: f64,
    /// How far the lens's outer zones miss the inner ones' focus (spherical aberration), in px.
    pub spherical_px: f64,
    /// The lopsided part of the spot (coma), in px.
    pub coma_px: f64,
    /// The length of the hand's movement, in px.
    pub motion_px: f64,
    /// The share of the light that glows.
    pub glow: f64,
    /// How much of the light leans over the picture.
    pub lean: f64,
    /// Whether the lamp's wire is seen behind the hole.
    pub filament: bool,
    /// The tilt of the plate about the picture's vertical, in degrees.
    pub tilt_deg: f64,
    /// How far the far rim of a thick plate is seen moved, in px: its wall is seen, dimly lit.
    pub wall_px: f64,
    /// The width of a hair that lies across the hole, in px; 0 for none.
    pub hair_px: f64,
    /// Standard deviation of the noise at the most light that the sensor holds.
    pub noise: f64,
    /// Whether a colour mosaic is filled in.
    pub mosaic: bool,
    /// The contrast of the tone curve over that of sRGB: 0 for none.
    pub contrast: f64,
    /// Strength of the denoising, 0..1.
    pub denoise: f64,
    /// Strength of the sharpening, and its width in px (σ).
    pub sharpen: [f64; 2],
    /// What grain and noise are drawn from.
    pub seed: u64,
}

impl Default for Phone {
    /// A plain photo of 200 by 200 px, well exposed.
    fn default() -> Phone {
        Phone {
            side_px: 200,
            mm_per_px: 1e-3,
            centre_px: [100.0, 100.0],
            exposure: 0.6,
            plate: 0.01,
            lamp: [1.0; 3],
            defocus_px: 1.0,
            spherical_px: 0.0,
            coma_px: 0.0,
            motion_px: 0.0,
            glow: 0.02,
            lean: 0.0,
            filament: false,
            tilt_deg: 0.0,
            wall_px: 0.0,
            hair_px: 0.0,
            noise: 0.004,
            mosaic: true,
            contrast: 0.0,
            denoise: 0.0,
            sharpen: [0.0, 1.0],
            seed: 1,
        }
    }
}

impl Phone {
    /// The outline as this camera sees it, in mm: tilted, and what a thick plate leaves open.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when nothing of it is left open.
    pub fn seen(&self, outline: &Outline) -> Result<Outline, Error> {
        let across = self.tilt_deg.to_radians().cos();
        let tilted =
            |points: &Vec<[f64; 2]>| points.iter().map(|[x, y]| [x * across, *y]).collect();
        let tilted = Outline::new(outline.loops().iter().map(tilted).collect())?;
        if self.wall_px == 0.0 {
            return Ok(tilted);
        }
        let moved = [self.wall_px * self.mm_per_px, 0.0];
        overlap(&tilted, moved).ok_or_else(|| {
            Error::outline(
                "nothing of the hole is seen through so thick a plate",
                "look straighter",
            )
        })
    }

    /// The photo: the numbers of its file as light by the curve of sRGB, whatever its own curve was.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a side or scale that cannot be drawn; [`Damaged`](crate::Kind::Damaged) as [`Phone::seen`].
    pub fn photo(&self, outline: &Outline) -> Result<Raster, Error> {
        if !(16..=2048).contains(&self.side_px) {
            return Err(Error::limit(
                format!("a photo of {} px", self.side_px),
                "draw it 16 to 2048 px wide",
            ));
        }
        let mut random = Random(self.seed ^ 0x0070_686f_6e65);
        let light = self.on_sensor(outline, &mut random)?;
        let mut planes = self.recorded(&light, &mut random);
        for plane in &mut planes {
            plane.mapv_inplace(|light| self.toned(light));
            if self.denoise > 0.0 {
                *plane = denoised(plane, self.denoise);
            }
            sharpen(plane, self.sharpen);
        }
        let dim = (3, self.side_px, self.side_px);
        Ok(Raster {
            linear: Array3::from_shape_fn(dim, |(channel, row, column)| {
                decode(planes[channel][[row, column]].clamp(0.0, 1.0)) as f32
            }),
        })
    }

    /// Light on the sensor, 1 being the most that it holds.
    fn on_sensor(&self, outline: &Outline, random: &mut Random) -> Result<Array2<f64>, Error> {
        let look = Look {
            rows: self.side_px * FINE,
            columns: self.side_px * FINE,
            mm_per_px: self.mm_per_px / FINE as f64,
            centre_px: self.centre_px.map(|at| at * FINE as f64),
            ..Look::default()
        };
        super::check(&look)?;
        let mut open = open_area(&self.seen(outline)?, &look);
        if self.wall_px > 0.0 {
            let mouth = Phone { wall_px: 0.0, ..self.clone() }.seen(outline)?;
            let mouth = open_area(&mouth, &look);
            open.zip_mut_with(&mouth, |open, mouth| *open += 0.06 * (mouth - *open));
        }
        if self.hair_px > 0.0 {
            self.lay_hair(&mut open);
        }
        let share = self.through_lens(&open, random);
        let salt = random.next();
        Ok(Array2::from_shape_fn((self.side_px, self.side_px), |(row, column)| {
            let (x, y) = (column as f64, row as f64);
            let grain = 1.0 + 0.25 * lattice(salt, x / 7.0, y / 5.0);
            let open = share[[row, column]];
            self.lamp_at(x, y) * open + self.plate * grain * (1.0 - open).max(0.0)
        }))
    }

    /// The lamp's light at a place behind the hole.
    fn lamp_at(&self, x: f64, y: f64) -> f64 {
        let side = self.side_px as f64;
        let lean = 1.0 + self.lean * ((x - 0.7 * y) / side - 0.15);
        let wire = if self.filament {
            let off = (y - self.centre_px[1] + 0.3 * (x - self.centre_px[0])) / (0.08 * side);
            0.55 + 0.9 * (-off * off).exp()
        } else {
            1.0
        };
        self.exposure * lean * wire
    }

    fn lay_hair(&self, open: &mut Array2<f64>) {
        for ((row, column), open) in open.indexed_iter_mut() {
            let [x, y] = [column, row].map(|at| at as f64 / FINE as f64);
            let off = (y - self.centre_px[1]) - 0.4 * (x - self.centre_px[0]) - 3.0;
            *open *= (off.abs() - self.hair_px / 2.0 + 0.5).clamp(0.05, 1.0);
        }
    }

    /// The hole's light by rays, glow and pixels.
    fn through_lens(&self, open: &Array2<f64>, random: &mut Random) -> Array2<f64> {
        let (rows, columns) = open.dim();
        let core = blurred(&laid(open, &self.rays(random)), LEAST_BLUR_PX * FINE as f64);
        let mut light = Array2::<f64>::zeros((rows / FINE, columns / FINE));
        for ((row, column), value) in core.indexed_iter() {
            light[[row / FINE, column / FINE]] += value / (FINE * FINE) as f64;
        }
        let halo = [(3.0, 0.5), (8.0, 0.3), (22.0, 0.2)]
            .iter()
            .map(|(reach, share)| blurred(&light, *reach) * *share)
            .reduce(|a, b| a + b);
        match halo {
            Some(halo) => light * (1.0 - self.glow) + halo * self.glow,
            None => light,
        }
    }

    /// Where the rays of a point fall, in fine samples: evenly over the pupil, on a sunflower's spiral,
    /// and over the time.
    fn rays(&self, random: &mut Random) -> Vec<[f64; 2]> {
        let heading = TAU * random.uniform();
        let bend = random.uniform() - 0.5;
        let ray = |i: usize| {
            let zone = ((i as f64 + 0.5) / RAYS as f64).sqrt();
            let angle = 2.399_963 * i as f64;
            let time = (0.618_034 * i as f64).fract() - 0.5;
            let miss = self.defocus_px * zone + self.spherical_px * zone.powi(3);
            let coma = self.coma_px * zone * zone;
            let (hand, bearing) = (self.motion_px * time, heading + bend * time);
            let x = miss * angle.cos() + coma * (2.0 * angle).cos() / 3.0 + hand * bearing.cos();
            let y = miss * angle.sin() + coma * (2.0 * angle).sin() / 3.0 + hand * bearing.sin();
            [x * FINE as f64, y * FINE as f64]
        };
        (0..RAYS).map(ray).collect()
    }

    /// Red, green and blue as they are worked out of the sensor's numbers.
    fn recorded(&self, light: &Array2<f64>, random: &mut Random) -> [Array2<f64>; 3] {
        let mut caught = |value: f64, channel: usize| {
            let value = value * self.lamp[channel];
            let grain = self.noise * value.clamp(0.003, 1.0).sqrt() * random.normal();
            (value + grain).clamp(0.0, 1.0)
        };
        if !self.mosaic {
            return [0, 1, 2].map(|channel: usize| light.mapv(|value| caught(value, channel)));
        }
        let mut raw = light.clone();
        for ((row, column), value) in raw.indexed_iter_mut() {
            *value = caught(*value, colour_of(row, column));
        }
        filled(&raw)
    }

    /// The tone of light: sRGB, steeper in its middle.
    fn toned(&self, light: f64) -> f64 {
        let tone = encode(light);
        tone + self.contrast * (tone * tone * (3.0 - 2.0 * tone) - tone)
    }
}

/// A field laid down where each of the rays falls, between samples; dark comes in at the frame.
fn laid(field: &Array2<f64>, rays: &[[f64; 2]]) -> Array2<f64> {
    let mut taps = BTreeMap::<(isize, isize), f64>::new();
    for [dx, dy] in rays {
        let (left, top) = (dx.floor(), dy.floor());
        let (fx, fy) = (dx - left, dy - top);
        for (down, right, weight) in [
            (0, 0, (1.0 - fx) * (1.0 - fy)),
            (0, 1, fx * (1.0 - fy)),
            (1, 0, (1.0 - fx) * fy),
            (1, 1, fx * fy),
        ] {
            let to = (top as isize + down, left as isize + right);
            *taps.entry(to).or_default() += weight / rays.len() as f64;
        }
    }
    let (rows, columns) = field.dim();
    let kept = |by: isize, count: usize| {
        let by_so_much = by.unsigned_abs().min(count);
        if by >= 0 {
            (by_so_much..count, 0..count - by_so_much)
        } else {
            (0..count - by_so_much, by_so_much..count)
        }
    };
    let mut sum = Array2::zeros((rows, columns));
    for ((down, right), weight) in taps {
        let ((to_rows, rows), (to_columns, columns)) = (kept(down, rows), kept(right, columns));
        for (to, from) in to_rows.zip(rows) {
            let (mut to, from) = (sum.row_mut(to), field.row(from));
            let to = to.iter_mut().take(to_columns.end).skip(to_columns.start);
            let from = from.iter().take(columns.end).skip(columns.start);
            to.zip(from).for_each(|(to, from)| *to += weight * from);
        }
    }
    sum
}

/// Of a mosaic of red and green over green and blue.
fn colour_of(row: usize, column: usize) -> usize {
    (row % 2) + (column % 2)
}

/// A mosaic filled in: green along the smaller slope, the others by their difference from green.
fn filled(raw: &Array2<f64>) -> [Array2<f64>; 3] {
    let (rows, columns) = raw.dim();
    let at = |row: isize, column: isize| {
        // Mirrored at the frame, which keeps the mosaic's order.
        let mirrored = |at: isize, count: usize| {
            let last = count as isize - 1;
            (if at < 0 {
                -at
            } else if at > last {
                2 * last - at
            } else {
                at
            }) as usize
        };
        [mirrored(row, rows), mirrored(column, columns)]
    };
    let green = Array2::from_shape_fn((rows, columns), |(row, column)| {
        if colour_of(row, column) == 1 {
            return raw[[row, column]];
        }
        let (r, c) = (row as isize, column as isize);
        let [up, down] = [raw[at(r - 1, c)], raw[at(r + 1, c)]];
        let [left, right] = [raw[at(r, c - 1)], raw[at(r, c + 1)]];
        match ((up - down).abs(), (left - right).abs()) {
            (v, h) if v < 0.8 * h => 0.5 * (up + down),
            (v, h) if h < 0.8 * v => 0.5 * (left + right),
            _ => 0.25 * (up + down + left + right),
        }
    });
    let other = |colour: usize| {
        Array2::from_shape_fn((rows, columns), |(row, column)| {
            let (r, c) = (row as isize, column as isize);
            let (mut sum, mut count) = (0.0, 0.0);
            for down in -1..=1 {
                for right in -1..=1 {
                    let near = at(r + down, c + right);
                    if colour_of(near[0], near[1]) == colour {
                        sum += raw[near] - green[near];
                        count += 1.0;
                    }
                }
            }
            if colour_of(row, column) == colour {
                return raw[[row, column]];
            }
            (green[[row, column]] + sum / f64::max(count, 1.0)).clamp(0.0, 1.0)
        })
    };
    let (red, blue) = (other(0), other(2));
    [red, green, blue]
}

/// Means over near pixels of like tone (a bilateral filter; `TomasiManduchi1998`).
fn denoised(plane: &Array2<f64>, strength: f64) -> Array2<f64> {
    let (rows, columns) = plane.dim();
    Array2::from_shape_fn((rows, columns), |(row, column)| {
        let own = plane[[row, column]];
        let (mut sum, mut weights) = (0.0, 0.0);
        for r in row.saturating_sub(2)..(row + 3).min(rows) {
            for c in column.saturating_sub(2)..(column + 3).min(columns) {
                let (down, right) = (r as f64 - row as f64, c as f64 - column as f64);
                let off = (plane[[r, c]] - own) / 0.06;
                let weight = (-0.5 * ((down * down + right * right) / 1.7 + off * off)).exp();
                (sum, weights) = (sum + weight * plane[[r, c]], weights + weight);
            }
        }
        own + strength * (sum / weights - own)
    })
}

/// Adds what a blur takes away, held within a sixth of the tones.
fn sharpen(plane: &mut Array2<f64>, [strength, width_px]: [f64; 2]) {
    if strength > 0.0 {
        let soft = blurred(plane, width_px);
        plane.zip_mut_with(&soft, |tone, soft| {
            *tone += (strength * (*tone - soft)).clamp(-0.16, 0.16);
        });
    }
}
