//! A drawn photo of an invented hole, as a loupe over a light box would give it.
//!
//! Nothing here was ever photographed or measured: the hole, the plate, its scratches and its dust
//! are invented, for the built-in demonstration and for tests that must know the true outline.

mod phone;
mod scan;

use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::raster::Raster;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Array3, Axis};
pub use phone::Phone;
pub use scan::demonstration_scan;
use std::f64::consts::TAU;

/// How a photo is drawn: its scale and place, and how plate and light look.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Rows of the picture, 1..=4096.
    pub rows: usize,
    /// Columns of the picture, 1..=4096.
    pub columns: usize,
    /// The scale, in mm a pixel.
    pub mm_per_px: f64,
    /// Where the outline's origin lies, [column, row] in px from the picture's upper left corner;
    /// a pixel's middle is at half numbers.
    pub centre_px: [f64; 2],
    /// Light through the hole, 0..1.
    pub light: f64,
    /// Light off the plate: red, green, blue, 0..1.
    pub plate: [f64; 3],
    /// Standard deviation of the blur, in px.
    pub blur_px: f64,
    /// How much darker the corners are than the middle, 0..1; the light also leans by a third of it.
    pub fall_off: f64,
    /// Grain, scratches, dust and sheen of the plate: 0 for a plain plate, 1 as a brushed one is.
    pub wear: f64,
    /// Standard deviation of the noise at full light; it falls with the root of the light.
    pub noise: f64,
    /// What the scratches, dust and noise are drawn from: the same seed, the same picture.
    pub seed: u64,
}

impl Default for Look {
    /// A brushed brass plate of 900 by 900 px at 1/1000 mm a pixel, a little out of focus.
    fn default() -> Look {
        Look {
            rows: 900,
            columns: 900,
            mm_per_px: 1e-3,
            centre_px: [450.0, 450.0],
            light: 0.8,
            plate: [0.060, 0.046, 0.025],
            blur_px: 1.3,
            fall_off: 0.35,
            wear: 1.0,
            noise: 0.008,
            seed: 1,
        }
    }
}

/// An invented hole and its photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Demonstration {
    /// The true outline, in mm, its centroid at the origin.
    pub outline: Outline,
    /// Its photo.
    pub raster: Raster,
    /// The photo's scale, in mm a pixel.
    pub mm_per_px: f64,
}

/// The demonstration: a hole of 0.350 mm made with a needle, slightly oval, with one burr at the
/// upper right. It is invented.
///
/// # Errors
/// None in practice: the form is fixed and sound.
pub fn demonstration() -> Result<Demonstration, Error> {
    let form = NeedleHole { oval: 0.028, oval_at: 2.6, burr: 0.3, burr_at: 0.72, seed: 7 };
    let outline = form.outline(0.35)?;
    let look = Look { centre_px: [441.3, 458.6], ..Look::default() };
    let raster = photograph(&outline, &look)?;
    Ok(Demonstration { outline, raster, mm_per_px: look.mm_per_px })
}

/// A hole made with a needle: an oval with slight lobes, a rim rough to a few thousandths, and a burr
/// that leans a little to one side.
struct NeedleHole {
    /// Height of the oval over the radius, and its direction.
    oval: f64,
    oval_at: f64,
    /// Depth of the burr over the radius, 0 for none, and its direction.
    burr: f64,
    burr_at: f64,
    /// What the roughness is drawn from.
    seed: u64,
}

impl NeedleHole {
    fn outline(&self, equivalent_diameter_mm: f64) -> Result<Outline, Error> {
        let mut random = Random(self.seed);
        let roughness: Vec<(f64, f64)> = (9..40)
            .map(|k| (0.0045 * random.uniform() / f64::from(k).sqrt(), TAU * random.uniform()))
            .collect();
        let shape = shapes::polar(2400, |angle| {
            let lobes = self.oval * (2.0 * (angle - self.oval_at)).cos()
                + 0.006 * (3.0 * angle + 1.0).cos()
                + 0.003 * (5.0 * angle).cos();
            let rough = roughness
                .iter()
                .zip(9..)
                .map(|((a, phase), k)| a * (f64::from(k) * angle + phase).cos());
            let off = (angle - self.burr_at + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            let side = if off > 0.0 { 0.15 } else { 0.10 };
            let burr = self.burr * (1.0 - (off / side).abs()).max(0.0).powf(1.25);
            (1.0 + lobes + rough.sum::<f64>()) * (1.0 - burr)
        })?;
        let scale = equivalent_diameter_mm / shape.equivalent_diameter_mm();
        Ok(shape.scaled(scale).centred())
    }
}

/// The photo of a hole in linear light, three channels; y of the outline up, rows of the picture
/// down.
///
/// Plate and light are mixed by the exact open area of each pixel, then blurred. Dust stays clear of
/// the rim by a fifth of the hole's diameter, so that the outline is the true one.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a picture without pixels or longer than 4096, or a scale or blur that is
/// no positive number.
pub fn photograph(outline: &Outline, look: &Look) -> Result<Raster, Error> {
    check(look)?;
    let open = blurred(&open_area(outline, look), look.blur_px);
    let radius_px = outline.equivalent_diameter_mm() / 2.0 / look.mm_per_px;
    // Near the hole the plate is dented: the share of light within a fifth of a radius tells where.
    let near = blurred(&open, (0.16 * radius_px).min(60.0));
    let mut random = Random(look.seed);
    let mut plate = brushed(look, &mut random);
    scratch(&mut plate, look, &mut random);
    sheen(&mut plate, &near, look.wear);
    dust(&mut plate, &near, look, &mut random);
    let plate = blurred(&plate, look.blur_px / 2.0);
    let dim = (3, look.rows, look.columns);
    let mut linear = Array3::<f32>::zeros(dim);
    linear.axis_iter_mut(Axis(1)).into_par_iter().enumerate().for_each(|(row, mut linear)| {
        // Each row goes on where the one before it ends.
        let mut random = random.after(row * look.columns * 3 * Random::TO_A_NORMAL);
        for column in 0..look.columns {
            let (share, halo) = (open[[row, column]], 0.006 * near[[row, column]]);
            let lit = lighting(look, row, column);
            for channel in 0..3 {
                let metal = look.plate[channel] * plate[[row, column]];
                let light = lit * (share * look.light + (1.0 - share) * metal + look.wear * halo);
                let grain = look.noise * light.max(0.002).sqrt() * random.normal();
                linear[[channel, column]] = (light + grain).max(0.0) as f32;
            }
        }
    });
    Ok(Raster { linear })
}

fn check(look: &Look) -> Result<(), Error> {
    let sides = 1..=4096;
    if !sides.contains(&look.rows) || !sides.contains(&look.columns) {
        return Err(Error::limit(
            format!("a photo of {} by {} px", look.columns, look.rows),
            "draw it 1 to 4096 px long and wide",
        ));
    }
    let scale = look.mm_per_px > 0.0 && look.mm_per_px.is_finite();
    if !scale || !(0.0..=100.0).contains(&look.blur_px) {
        return Err(Error::limit(
            format!("a scale of {} mm/px with a blur of {} px", look.mm_per_px, look.blur_px),
            "give a scale above zero and a blur of 0 to 100 px",
        ));
    }
    Ok(())
}

/// The open part of each pixel, exactly: (row, column), 0..1.
///
/// Every edge adds, in each row it crosses, the area between itself and the row's right end, with
/// the sign of its direction (the trapezium rule of area, pixel by pixel).
fn open_area(outline: &Outline, look: &Look) -> Array2<f64> {
    let (rows, columns) = (look.rows as f64, look.columns as f64);
    let to_px = |[x, y]: [f64; 2]| {
        [look.centre_px[0] + x / look.mm_per_px, look.centre_px[1] - y / look.mm_per_px]
    };
    // What each pixel's own strip of edge leaves open, and what it opens in all pixels to its right.
    let mut open = Array2::<f64>::zeros((look.rows, look.columns));
    let mut right = Array2::<f64>::zeros((look.rows, look.columns + 1));
    for (a, b) in outline.edges() {
        let (a, b) = (to_px(a), to_px(b));
        // Rows run down, so an opening's edge that goes down has the opening on its right.
        let (sign, top, bottom) = if a[1] <= b[1] { (1.0, a, b) } else { (-1.0, b, a) };
        let slope = (bottom[0] - top[0]) / (bottom[1] - top[1]);
        let (first, last) = (top[1].clamp(0.0, rows), bottom[1].clamp(0.0, rows));
        for row in first as usize..(last.ceil() as usize) {
            let (y0, y1) = (first.max(row as f64), last.min(row as f64 + 1.0));
            let x = |y: f64| (top[0] + (y - top[1]) * slope).clamp(0.0, columns);
            let (left_x, right_x) = (x(y0).min(x(y1)), x(y0).max(x(y1)));
            let height = sign * (y1 - y0);
            let width = right_x - left_x;
            let cells = left_x as usize..=(right_x as usize).min(look.columns);
            for column in cells {
                let (from, to) = (left_x.max(column as f64), right_x.min(column as f64 + 1.0));
                let part = if width > 0.0 { (to - from).max(0.0) / width } else { 1.0 };
                if column < look.columns {
                    open[[row, column]] +=
                        height * part * (column as f64 + 1.0 - (from + to) / 2.0);
                    right[[row, column + 1]] += height * part;
                }
            }
        }
    }
    for row in 0..look.rows {
        let mut opened = 0.0;
        for column in 0..look.columns {
            opened += right[[row, column]];
            let share = open[[row, column]] + opened;
            open[[row, column]] = share.clamp(0.0, 1.0);
        }
    }
    open
}

/// A Gaussian blur; beyond the border the border's value goes on.
fn blurred(values: &Array2<f64>, sigma_px: f64) -> Array2<f64> {
    if sigma_px < 0.05 {
        return values.clone();
    }
    let reach = (3.5 * sigma_px).ceil() as usize;
    let half: Vec<f64> =
        (0..=reach).map(|k| (-0.5 * (k as f64 / sigma_px).powi(2)).exp()).collect();
    let sum = half[0] + 2.0 * half[1..].iter().sum::<f64>();
    let along = |line: Vec<f64>| -> Vec<f64> {
        let last = line.len().saturating_sub(1);
        (0..line.len())
            .map(|i| {
                let pairs = (1..=reach)
                    .map(|k| half[k] * (line[i.saturating_sub(k)] + line[(i + k).min(last)]));
                (half[0] * line[i] + pairs.sum::<f64>()) / sum
            })
            .collect()
    };
    let mut result = values.clone();
    for direction in [Axis(0), Axis(1)] {
        result.axis_iter_mut(direction).into_par_iter().for_each(|mut line| {
            let blurred = along(line.to_vec());
            line.iter_mut().zip(blurred).for_each(|(to, from)| *to = from);
        });
    }
    result
}

/// The evenness of the light at a pixel: 1 in the middle, less towards the corners, leaning.
fn lighting(look: &Look, row: usize, column: usize) -> f64 {
    let x = 2.0 * (column as f64 + 0.5) / look.columns as f64 - 1.0;
    let y = 2.0 * (row as f64 + 0.5) / look.rows as f64 - 1.0;
    1.0 - look.fall_off * (x * x + y * y) / 2.0 - look.fall_off / 6.0 * (0.6 * x + 0.8 * y)
}

/// The plate's own brightness, about 1: streaks along the brushing over a soft unevenness.
fn brushed(look: &Look, random: &mut Random) -> Array2<f64> {
    let (sin, cos) = 0.42f64.sin_cos();
    let salt = random.next();
    Array2::from_shape_fn((look.rows, look.columns), |(row, column)| {
        let (x, y) = (column as f64, row as f64);
        let (along, across) = (x * cos + y * sin, y * cos - x * sin);
        let streaks: f64 = [(140.0, 1.6, 0.20), (260.0, 4.5, 0.16), (420.0, 14.0, 0.12)]
            .iter()
            .zip(0u64..)
            .map(|((length, width, depth), octave)| {
                depth * lattice(salt.wrapping_add(octave), along / length, across / width)
            })
            .sum();
        let uneven = 0.18 * lattice(salt.wrapping_add(9), x / 210.0, y / 210.0);
        1.0 + look.wear * (streaks + uneven)
    })
}

/// Single scratches: most along the brushing, some across it, bright or dark.
fn scratch(plate: &mut Array2<f64>, look: &Look, random: &mut Random) {
    for i in 0..46 {
        let stray = if i % 4 == 0 { 2.6 } else { 0.16 };
        let angle = 0.42 + stray * (random.uniform() - 0.5);
        let length = (0.05 + 0.4 * random.uniform().powi(2)) * look.columns as f64;
        let start = [random.uniform() * look.columns as f64, random.uniform() * look.rows as f64];
        let strength = look.wear * (random.uniform() * 1.3 - 0.45);
        let bend = (random.uniform() - 0.5) * 0.3;
        let steps = length as usize;
        for step in 0..steps {
            let t = step as f64 / length;
            let turned = angle + bend * t;
            let at = [start[0] + step as f64 * turned.cos(), start[1] + step as f64 * turned.sin()];
            // Pressed hardest in its middle.
            let pressed = strength * (t * (1.0 - t) * 4.0).sqrt();
            splat(plate, at, 0.6, pressed * 0.9);
        }
    }
}

/// The dent around the hole catches the light of a lamp at the upper left: bright on the far side,
/// which faces the lamp, dark on the near one; and the bevel at the very rim shines all round.
/// `near` falls from the hole outwards and is a half at the rim.
fn sheen(plate: &mut Array2<f64>, near: &Array2<f64>, wear: f64) {
    let (rows, columns) = near.dim();
    for row in 1..rows.saturating_sub(1) {
        for column in 1..columns.saturating_sub(1) {
            let dx = near[[row, column + 1]] - near[[row, column - 1]];
            let dy = near[[row + 1, column]] - near[[row - 1, column]];
            let slope = dx.hypot(dy);
            if slope < 1e-9 {
                continue;
            }
            let share = near[[row, column]];
            let facing = -(0.6 * dx + 0.8 * dy) / slope;
            let dent = (2.0 * share).min(1.0);
            let bevel = (-((share - 0.47) / 0.07).powi(2)).exp();
            let shine = dent * (0.95 * facing.max(0.0).powi(2) - 0.55 * (-facing).max(0.0))
                + bevel * (0.35 + 0.55 * facing);
            plate[[row, column]] *= 1.0 + wear * shine;
        }
    }
}

/// Dust: small round specks, bright and dark, clear of the hole.
fn dust(plate: &mut Array2<f64>, near: &Array2<f64>, look: &Look, random: &mut Random) {
    let (rows, columns) = near.dim();
    for i in 0..26 {
        let at = [random.uniform() * columns as f64, random.uniform() * rows as f64];
        let size = 0.9 + 2.6 * random.uniform().powi(3);
        let strength = if i % 3 == 0 { 1.0 + random.uniform() } else { -0.75 };
        let clear =
            near[[(at[1] as usize).min(rows - 1), (at[0] as usize).min(columns - 1)]] < 1e-3;
        if clear {
            splat(plate, at, size, look.wear * strength);
        }
    }
}

/// Adds a soft round spot of `strength` (a part of the plate's brightness) and `sigma_px`.
fn splat(plate: &mut Array2<f64>, [x, y]: [f64; 2], sigma_px: f64, strength: f64) {
    let (rows, columns) = plate.dim();
    let reach = 3.0 * sigma_px;
    let span = |middle: f64, end: usize| {
        (middle - reach).clamp(0.0, end as f64) as usize
            ..(middle + reach).clamp(0.0, end as f64) as usize
    };
    for row in span(y, rows) {
        for column in span(x, columns) {
            let (dx, dy) = (column as f64 + 0.5 - x, row as f64 + 0.5 - y);
            let spot = strength * (-0.5 * (dx * dx + dy * dy) / (sigma_px * sigma_px)).exp();
            let value = &mut plate[[row, column]];
            *value = (*value + spot).clamp(0.1, 2.6);
        }
    }
}

/// Smooth noise in -1..1: random values on a lattice of unit squares, eased between.
fn lattice(salt: u64, x: f64, y: f64) -> f64 {
    let corner = |i: f64, j: f64| {
        let cell = (i as i64 as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15)
            ^ (j as i64 as u64).rotate_left(32);
        2.0 * Random(cell.wrapping_add(salt.wrapping_mul(0xd1b5_4a32_d192_ed03))).uniform() - 1.0
    };
    let (i, j) = (x.floor(), y.floor());
    let ease = |t: f64| t * t * (3.0 - 2.0 * t);
    let (u, v) = (ease(x - i), ease(y - j));
    let mix = |a: f64, b: f64, t: f64| a + t * (b - a);
    let upper = mix(corner(i, j), corner(i + 1.0, j), u);
    let lower = mix(corner(i, j + 1.0), corner(i + 1.0, j + 1.0), u);
    mix(upper, lower, v)
}

/// A small generator, the same on every machine (SplitMix64; `Steele2014`).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    /// Numbers that go into a normal one.
    const TO_A_NORMAL: usize = 2;
    const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

    /// What it is after so many more numbers.
    fn after(&self, numbers: usize) -> Random {
        Random(self.0.wrapping_add(Random::STEP.wrapping_mul(numbers as u64)))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(Random::STEP);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly in 0..1.
    pub(in crate::hole) fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal, mean 0, standard deviation 1 (`BoxMuller1958`).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (TAU * self.uniform()).cos()
    }
}

#[cfg(test)]
#[path = "specimen_tests.rs"]
mod tests;
