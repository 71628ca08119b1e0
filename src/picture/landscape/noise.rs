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

/// The finishing step of the SplitMix64 generator (Steele, Lea and Flood 2014, OOPSLA, fig. 16).
fn mixed(number: u64) -> u64 {
    let number = (number ^ (number >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let number = (number ^ (number >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    number ^ (number >> 31)
}

/// Smooth noise in 0..1 with a hill or hollow to about each unit square.
pub(super) fn noise(x: f64, y: f64) -> f64 {
    let (column, row) = (x.floor(), y.floor());
    let ease = |part: f64| part * part * (3.0 - 2.0 * part);
    let (across, down) = (ease(x - column), ease(y - row));
    let corner = |i: i64, j: i64| {
        let place = (column as i64).wrapping_add(i) as u64;
        let line = (row as i64).wrapping_add(j) as u64;
        let seed =
            place.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ line.wrapping_mul(0xD1B5_4A32_D192_ED03);
        (mixed(seed) >> 40) as f64 / (1u64 << 24) as f64
    };
    let blend = |from: f64, to: f64, part: f64| from + (to - from) * part;
    blend(
        blend(corner(0, 0), corner(1, 0), across),
        blend(corner(0, 1), corner(1, 1), across),
        down,
    )
}

/// Noise upon noise, each layer half as large and half as strong; in 0..1, about 0.5.
pub(super) fn layered(x: f64, y: f64, layers: u32) -> f64 {
    let (mut sum, mut whole, mut strength, mut scale) = (0.0, 0.0, 1.0, 1.0);
    for layer in 0..layers {
        // Each layer shifted, or their lattices would meet at the origin.
        let shift = 17.3 * f64::from(layer);
        sum += strength * noise(x * scale + shift, y * scale - shift);
        whole += strength;
        strength *= 0.5;
        scale *= 2.0;
    }
    sum / whole
}
