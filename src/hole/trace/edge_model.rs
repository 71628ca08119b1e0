//! The edge of a hole as a camera writes it: light, glow, clip, tone curve, then what is done to the
//! picture after the clip.
//!
//! Along the normal x of the rim, outwards from the light and in pixels, the light is
//!
//! ```text
//!     I(x) = B + (L - c) C(x) + c H(x),        1 = the clip,
//! ```
//!
//! with the ground B, the light in the hole L, the core of the blur C, and a glow of height c. The core
//! is a Gaussian edge of width w, Φ(-x/w - w/2R) at a rim of radius R (the first term in w/R of the
//! blurred disc), mixed with an edge of wide wings or of an unfocused lens. The camera clips I at 1, takes
//! its tone, softens it (demosaic, denoise) and sharpens it, in this order.

use crate::raster::encode;
use std::f64::consts::PI;

/// Places on the normal, in pixels: each a middle of the bins of a profile.
pub(super) const STEP: f64 = 0.2;
pub(super) const FIRST: f64 = -13.9;
const PLACES: usize = 175;
/// What a pixel, focus and interpolation blur at least, in pixels (σ).
const PIXEL_BLUR: f64 = 0.65;
/// Of the softening after the clip, in pixels (σ).
const SOFTENED_BY: f64 = 0.55;

/// Where the tone is a half.
pub(super) const PLACE: usize = 0;
/// ln of the slope there, as the width of a Gaussian edge with L = 1.
pub(super) const SLOPE: usize = 1;
/// ln L.
pub(super) const LIGHT: usize = 2;
/// Share of wide wings; below 0 of an unfocused lens.
pub(super) const WINGS: usize = 3;
/// B.
pub(super) const GROUND: usize = 4;
/// ln c.
pub(super) const GLOW: usize = 5;
/// ln of the glow's reach k, in pixels.
pub(super) const REACH: usize = 6;
/// Strength of the sharpening.
pub(super) const HALO: usize = 7;
/// ln of its width, in pixels (σ).
pub(super) const HALO_WIDTH: usize = 8;
/// The tone curve's departure from sRGB, as a power less one.
pub(super) const CURVE: usize = 9;
/// Share of the softening.
pub(super) const SOFT: usize = 10;
/// All of them.
pub(super) const COUNT: usize = 11;

/// The parameters of an edge, in the order of the numbers above.
pub(super) type Parameters = [f64; COUNT];

/// ln of the width of the Gaussian core, in pixels.
pub(super) fn log_width(p: &Parameters) -> f64 {
    p[SLOPE] + hazard(half_at(p[LIGHT])).ln() - 0.8f64.ln()
}

/// Where the edge is, outwards from the ruler, in pixels.
pub(super) fn edge_at(p: &Parameters) -> f64 {
    let z = half_at(p[LIGHT]);
    p[PLACE] - p[SLOPE].exp() * hazard(z) / 0.8 * z
}

/// Where a Gaussian edge of the light L (its logarithm is given) is a half, in widths: Φ(-z) = 1/2L.
///
/// What a photo fixes, whatever L, are the place and the slope of that level, not edge and width.
fn half_at(log_light: f64) -> f64 {
    let share = 0.5 * (-log_light).exp();
    // By Newton's rule on ln Φ(-z), which is concave: from the left it never overshoots.
    let mut z = 0.0;
    for _ in 0..40 {
        let step = (normal(-z) / share).ln() / hazard(z);
        z += step;
        if step.abs() < 1e-12 {
            break;
        }
    }
    z
}

/// φ(z)/Φ(-z).
fn hazard(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt() / normal(-z)
}

/// Φ.
fn normal(z: f64) -> f64 {
    0.5 * libm::erfc(-z / 2f64.sqrt())
}

/// The model for a rim of some radius.
pub(super) struct EdgeModel {
    /// In pixels; negative where the light lies around the rim and not in it.
    radius: f64,
    glow: GlowTable,
}

impl EdgeModel {
    pub(super) fn new(radius: f64) -> EdgeModel {
        EdgeModel { radius, glow: GlowTable::new(radius) }
    }

    /// The tone at every place of the grid.
    pub(super) fn tones(&self, p: &Parameters) -> Vec<f64> {
        let light = self.light(p);
        let power = 1.0 + p[CURVE];
        let mut tone: Vec<f64> =
            light.iter().map(|light| encode(light.clamp(0.0, 1.0)).powf(power)).collect();
        mix(&mut tone, SOFTENED_BY, p[SOFT]);
        mix(&mut tone, p[HALO_WIDTH].exp(), -p[HALO]);
        tone
    }

    /// The light on the sensor, before the clip.
    fn light(&self, p: &Parameters) -> Vec<f64> {
        let core = self.core(p);
        let (edge, full, glow) =
            (edge_at(p), p[LIGHT].exp(), p[GLOW].exp().min(0.5 * p[LIGHT].exp()));
        let line = self.glow.line(p[REACH]);
        places()
            .zip(core)
            .map(|(s, core)| {
                let halo = line.at(s - edge, p[REACH].exp());
                p[GROUND] + (full - glow) * core + glow * halo
            })
            .collect()
    }

    fn core(&self, p: &Parameters) -> Vec<f64> {
        let (w, edge) = (log_width(p).exp(), edge_at(p));
        let curvature = w / (2.0 * self.radius);
        let [wide, unfocused] = shares(p[WINGS]);
        // A disc of this radius has the variance w² with the pixel's.
        let disc = 2.0 * (w * w - PIXEL_BLUR * PIXEL_BLUR).max(0.04).sqrt();
        let mut spot: Vec<f64> = places()
            .map(|s| {
                let u = ((s - edge + w * curvature) / disc).clamp(-1.0, 1.0);
                0.5 - (u * (1.0 - u * u).sqrt() + u.asin()) / PI
            })
            .collect();
        mix(&mut spot, PIXEL_BLUR, 1.0);
        places()
            .zip(spot)
            .map(|(s, spot)| {
                let x = s - edge;
                let gauss = normal(-x / w - curvature);
                // The integral of Student's density with four degrees of freedom.
                let y = (x + w * curvature) / (1.8 * w);
                let student = 0.5 - y * (y * y + 1.5) / (2.0 * (y * y + 1.0).powf(1.5));
                gauss + wide * (student - gauss) + unfocused * (spot - gauss)
            })
            .collect()
    }
}

/// The shares of wide wings and of an unfocused spot for a parameter that runs from one to the other:
/// both are small in its middle, and smooth, so that a fit can pass it.
fn shares(wings: f64) -> [f64; 2] {
    let far = (wings * wings + 0.01).sqrt();
    [0.5 * (far + wings), 0.5 * (far - wings)]
}

/// The places of the grid.
pub(super) fn places() -> impl Iterator<Item = f64> {
    (0..PLACES).map(|k| FIRST + STEP * k as f64)
}

/// Moves values by a share of the way to their Gaussian mean of `sigma_px`.
fn mix(values: &mut [f64], sigma_px: f64, share: f64) {
    if share == 0.0 {
        return;
    }
    let reach = (3.2 * sigma_px / STEP).ceil() as usize;
    let weights: Vec<f64> =
        (0..=reach).map(|k| (-0.5 * (k as f64 * STEP / sigma_px).powi(2)).exp()).collect();
    let sum = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    // Beyond the ends the ends' own values go on.
    let count = values.len();
    let (first, last) = (values[0], values[count - 1]);
    let mut long = vec![first; reach];
    long.extend_from_slice(values);
    long.resize(count + 2 * reach, last);
    for (i, value) in values.iter_mut().enumerate() {
        let around = &long[i..=i + 2 * reach];
        let pairs: f64 =
            (1..=reach).map(|k| weights[k] * (around[reach - k] + around[reach + k])).sum();
        *value += share * ((weights[0] * around[reach] + pairs) / sum - *value);
    }
}

/// The glow of a lit disc, blurred by a Gaussian, at distances from its rim, for a ladder of reaches.
struct GlowTable {
    lines: Vec<Vec<f64>>,
}

const GLOW_REACHES: usize = 14;
const GLOW_FIRST: f64 = 0.4;
const GLOW_LAST: f64 = 3.6;
const GLOW_PLACES: usize = 49;
const GLOW_FROM: f64 = -24.0;

/// The glow for one reach.
struct GlowLine {
    values: Vec<f64>,
}

impl GlowTable {
    fn new(radius: f64) -> GlowTable {
        let line = |k: f64| -> Vec<f64> {
            (0..GLOW_PLACES)
                .map(|i| {
                    let x = GLOW_FROM + i as f64;
                    if radius > 0.0 {
                        blurred_disc(radius + x, radius, k)
                    } else {
                        1.0 - blurred_disc(-radius - x, -radius, k)
                    }
                })
                .collect()
        };
        let rung =
            |i: usize| GLOW_FIRST + (GLOW_LAST - GLOW_FIRST) * i as f64 / (GLOW_REACHES - 1) as f64;
        GlowTable { lines: (0..GLOW_REACHES).map(|i| line(rung(i).exp())).collect() }
    }

    fn line(&self, log_reach: f64) -> GlowLine {
        let at = (log_reach - GLOW_FIRST) / (GLOW_LAST - GLOW_FIRST) * (GLOW_REACHES - 1) as f64;
        let at = at.clamp(0.0, (GLOW_REACHES - 1) as f64 - 1e-9);
        let (low, share) = (at as usize, at.fract());
        let pairs = self.lines[low].iter().zip(&self.lines[low + 1]);
        GlowLine { values: pairs.map(|(a, b)| a + share * (b - a)).collect() }
    }
}

impl GlowLine {
    /// Half the blurred disc, half an edge that falls exponentially, as scattered light does.
    fn at(&self, x: f64, reach: f64) -> f64 {
        let at = (x - GLOW_FROM).clamp(0.0, (GLOW_PLACES - 1) as f64 - 1e-9);
        let (low, share) = (at as usize, at.fract());
        let disc = self.values[low] + share * (self.values[low + 1] - self.values[low]);
        let steep = 0.5 * (-x.abs() / (0.7 * reach)).exp();
        0.5 * (disc + if x > 0.0 { steep } else { 1.0 - steep })
    }
}

/// The light at a distance from the middle of a disc blurred by a Gaussian k: over lines across it,
/// by the midpoint rule.
fn blurred_disc(r: f64, radius: f64, k: f64) -> f64 {
    const LINES: usize = 60;
    let (from, to) = ((-radius).max(r - 5.0 * k), radius.min(r + 5.0 * k));
    if to <= from {
        return 0.0;
    }
    let step = (to - from) / LINES as f64;
    let line = |i: usize| {
        let x = from + (i as f64 + 0.5) * step;
        let half = (radius * radius - x * x).max(0.0).sqrt();
        let weight = (-0.5 * ((x - r) / k).powi(2)).exp() / ((2.0 * PI).sqrt() * k);
        weight * (1.0 - libm::erfc(half / (2f64.sqrt() * k)))
    };
    (0..LINES).map(line).sum::<f64>() * step
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On the axis of a disc blurred by a Gaussian the light is 1 - exp(-R²/2k²): the integral of a
    /// Rayleigh density. Midpoint rule of 60 lines: 0.1 %.
    #[test]
    fn middle_of_a_blurred_disc() {
        for (radius, k) in [(10.0f64, 4.0f64), (10.0, 10.0), (40.0, 12.0)] {
            let truth = 1.0 - (-0.5 * radius * radius / (k * k)).exp();
            assert!((blurred_disc(0.0, radius, k) - truth).abs() < 1e-3);
        }
    }

    /// Φ⁻¹(0.75) = 0.674490 and Φ⁻¹(0.95) = 1.644854 (tables of the normal distribution): L = 2, 10.
    #[test]
    fn half_level_lies_where_tables_say() {
        assert!((half_at(2f64.ln()) - 0.674_490).abs() < 1e-6);
        assert!((half_at(10f64.ln()) - 1.644_854).abs() < 1e-6);
        assert!(half_at(0.0).abs() < 1e-12);
    }

    /// A Gaussian edge at 0 of width 1.2 and light 4, without ground, glow and anything after the clip,
    /// but for a twentieth each of the two other cores.
    #[test]
    fn a_plain_edge_is_gaussian_cut_at_the_clip() {
        let (w, light): (f64, f64) = (1.2, 4.0);
        let z = half_at(light.ln());
        let mut p = [0.0; COUNT];
        (p[PLACE], p[SLOPE], p[LIGHT]) = (w * z, (0.8 * w / hazard(z)).ln(), light.ln());
        p[GLOW] = -30.0;
        (p[REACH], p[HALO_WIDTH]) = (2.0, 0.3);
        assert!(edge_at(&p).abs() < 1e-9 && (log_width(&p) - w.ln()).abs() < 1e-9);
        let model = EdgeModel::new(1e9);
        for (s, tone) in places().zip(model.tones(&p)) {
            let truth = encode((light * normal(-s / w)).min(1.0));
            // A twentieth of wide wings is 0.05 · 4 · 0.1 of light at most, in the dark.
            assert!((tone - truth).abs() < 0.03, "{s}: {tone} {truth}");
        }
    }
}
