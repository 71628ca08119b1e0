//! Chance that comes out the same every time: throws of dice, and smooth noise over the plane.

/// Numbers without order, from a seed.
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    /// A number from `low` to `high`.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        low + (high - low) * (mixed(self.0) >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// The finishing step of the SplitMix64 generator (`Steele2014`, fig. 16).
fn mixed(number: u64) -> u64 {
    let number = (number ^ (number >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let number = (number ^ (number >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    number ^ (number >> 31)
}

/// The whole number at or below a place: a cast is several times as quick as the library's rounding.
fn whole(place: f64) -> i64 {
    let cut = place as i64;
    cut.wrapping_sub(i64::from(cut as f64 > place))
}

/// The height of the lattice's point, in 0..1.
fn lattice(column: i64, line: i64) -> f64 {
    let seed = (column as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (line as u64).wrapping_mul(0xD1B5_4A32_D192_ED03);
    (mixed(seed) >> 40) as f64 * (1.0 / (1u64 << 24) as f64)
}

fn ease(part: f64) -> f64 {
    part * part * (3.0 - 2.0 * part)
}

fn blend(from: f64, to: f64, part: f64) -> f64 {
    from + (to - from) * part
}

/// Noise along one line of the plane, column by column of the lattice.
struct Line {
    line: i64,
    down: f64,
}

impl Line {
    fn at(y: f64) -> Line {
        let line = whole(y);
        Line { line, down: ease(y - line as f64) }
    }

    fn height(&self, column: i64) -> f64 {
        blend(lattice(column, self.line), lattice(column, self.line.wrapping_add(1)), self.down)
    }
}

/// Smooth noise in 0..1 with a hill or hollow to about each unit square.
pub(super) fn noise(x: f64, y: f64) -> f64 {
    let (line, column) = (Line::at(y), whole(x));
    blend(line.height(column), line.height(column.wrapping_add(1)), ease(x - column as f64))
}

/// Adds noise of some strength to places along a line of the plane, `step` apart from `x` on: as [`noise`],
/// but the lattice's columns are looked up once each.
fn add_along(to: &mut [f64], strength: f64, x: f64, step: f64, y: f64) {
    let line = Line::at(y);
    let mut column = whole(x);
    let (mut left, mut right) = (line.height(column), line.height(column.wrapping_add(1)));
    for (i, value) in to.iter_mut().enumerate() {
        let x = x + step * i as f64;
        let here = whole(x);
        if here != column {
            left = if here == column.wrapping_add(1) { right } else { line.height(here) };
            right = line.height(here.wrapping_add(1));
            column = here;
        }
        *value += strength * blend(left, right, ease(x - column as f64));
    }
}

/// The layers of noise upon noise: their scale, their strength and how far each is shifted, or their
/// lattices would meet at the origin.
fn layers(count: u32) -> impl Iterator<Item = (f64, f64, f64)> {
    let whole = 2.0 - 2.0 * 0.5f64.powi(count as i32);
    (0..count).map(move |layer| {
        let scale = f64::from(1u32 << layer);
        (scale, 1.0 / (scale * whole), 17.3 * f64::from(layer))
    })
}

/// Noise upon noise, each layer half as large and half as strong; in 0..1, about 0.5.
pub(super) fn layered(x: f64, y: f64, count: u32) -> f64 {
    let each = |(scale, strength, shift)| strength * noise(x * scale + shift, y * scale - shift);
    layers(count).map(each).sum()
}

/// The same at places along a line of the plane, `step` apart from `x` on, into `to`.
pub(super) fn layered_along(to: &mut [f64], x: f64, step: f64, y: f64, count: u32) {
    to.fill(0.0);
    for (scale, strength, shift) in layers(count) {
        add_along(to, strength, x * scale + shift, step * scale, y * scale - shift);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn along_a_line_noise_is_the_same() {
        let mut line = vec![0.0; 300];
        for (x, step, y) in
            [(-3.7, 0.013, 2.5), (10.0, 0.9, -8.25), (0.2, 3.1, 0.0), (5.0, -0.4, 1.1)]
        {
            for count in [1, 3, 6] {
                layered_along(&mut line, x, step, y, count);
                for (i, found) in line.iter().enumerate() {
                    let truth = layered(x + step * i as f64, y, count);
                    assert!((found - truth).abs() < 1e-9, "{x} {step} {i}: {found} {truth}");
                }
            }
        }
    }
}
