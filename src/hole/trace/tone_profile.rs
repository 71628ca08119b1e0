//! The tone of single pixels against their distance from a smooth rim, bin by bin.
//!
//! The rim's contour is only a ruler here: smoothed along itself, so that a pixel's own noise does not
//! move the place it is measured from.

use super::edge_model::STEP;
use crate::geometry::signed_area;
use crate::hole::median::median;
use crate::raster::encode;
use ndarray::Array2;
use std::f64::consts::PI;

/// How far in and out pixels are taken, and where bins of a step end, in pixels.
const FROM: f64 = -8.0;
const FINE: f64 = 5.0;
const TO: f64 = 20.0;
/// Fewer pixels make no bin.
const LEAST_PIXELS: usize = 8;
/// A pixel this far up the tone curve is taken for clipped: 251 of 255.
pub(super) const CLIPPED: f64 = 0.985;
/// A bin with more clipped pixels than this is clipped: its mean is no measure of the light.
const CLIPPED_SHARE: f64 = 0.02;
/// Deeper than this in the hole the blur is spent, in pixels.
pub(super) const DEEP: f64 = 4.0;
/// Light beyond the metal that is this share of the step above it is another light.
const OTHER_LIGHT: f64 = 0.3;
/// The contour is smoothed along itself by this share of the radius, within these, in pixels (σ).
const SMOOTHED: f64 = 0.06;
const SMOOTHED_PX: [f64; 2] = [1.5, 6.0];

/// The mean tone of the pixels at a distance from the rim.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bin {
    /// Of its middle from the rim, towards the dark, in pixels.
    pub(super) at: f64,
    /// How many steps of the grid it is wide.
    pub(super) steps: usize,
    /// Its mean tone, and the standard error of that.
    pub(super) tone: f64,
    pub(super) error: f64,
    pub(super) clipped: bool,
}

/// The tone across a rim, from the light to the dark.
#[derive(Debug)]
pub(super) struct ToneProfile {
    pub(super) bins: Vec<Bin>,
    /// The light of the dark side.
    pub(super) ground: f64,
    /// The light deep in the bright side, 1 being the clip.
    pub(super) plateau: f64,
    /// The share of the pixels there that are clipped.
    pub(super) clipped_share: f64,
    /// Of the rim, in pixels: negative where the light lies around it.
    pub(super) radius: f64,
    /// How far the smooth rim lies outwards (from the light) of the contour that it was made from.
    pub(super) ruler_px: f64,
}

impl ToneProfile {
    /// From the light of one channel along a rim; `clip` is the light that the camera cannot tell from
    /// more, and `bright` whether the hole is the bright side. None of a rim too small, or when too few
    /// pixels are left.
    pub(super) fn of(
        light: &Array2<f32>,
        rim: &[[f64; 2]],
        clip: f64,
        bright: bool,
    ) -> Option<ToneProfile> {
        let ruler = Ruler::of(rim, bright)?;
        let tone = |value: f32| encode((f64::from(value) / clip).min(1.0));
        let mut pixels: Vec<(f64, f64)> = Vec::new();
        ruler.near(light.dim(), |row, column, distance| {
            pixels.push((distance, tone(light[[row, column]])));
        });
        let of_side = |within: &dyn Fn(f64) -> bool| -> Vec<f64> {
            pixels.iter().filter(|(s, _)| within(*s)).map(|(_, tone)| *tone).collect()
        };
        let deep = of_side(&|s| s < -DEEP);
        let mut far = of_side(&|s| s > 8.0);
        if deep.len() < LEAST_PIXELS || far.len() < LEAST_PIXELS {
            return None;
        }
        let clipped = deep.iter().filter(|tone| **tone > CLIPPED).count();
        let fifth = far.len() / 5;
        let ground = *far.select_nth_unstable_by(fifth, f64::total_cmp).1;
        let plateau = median(deep.iter().copied());
        let mut bins = binned(&pixels);
        let darkest = end_at_other_light(&mut bins, plateau);
        clip_within(&mut bins);
        Some(ToneProfile {
            bins,
            ground: crate::raster::decode(darkest.unwrap_or(ground)),
            plateau: crate::raster::decode(plateau),
            clipped_share: clipped as f64 / deep.len() as f64,
            radius: ruler.radius,
            ruler_px: ruler.shift,
        })
    }
}

/// Bins of a step up to [`FINE`], of five beyond.
fn binned(pixels: &[(f64, f64)]) -> Vec<Bin> {
    let fine = ((FINE - FROM) / STEP).round() as usize;
    let coarse = (TO - FINE).round() as usize;
    let mut tones: Vec<Vec<f64>> = vec![Vec::new(); fine + coarse];
    for (s, tone) in pixels {
        let place = if *s < FINE { (s - FROM) / STEP } else { fine as f64 + (s - FINE) };
        if place >= 0.0 && (place as usize) < tones.len() {
            tones[place as usize].push(*tone);
        }
    }
    let mut bins: Vec<Bin> = Vec::new();
    for (i, tones) in tones.iter().enumerate().filter(|(_, tones)| tones.len() >= LEAST_PIXELS) {
        let (at, steps) = if i < fine {
            (FROM + STEP * (i as f64 + 0.5), 1)
        } else {
            (FINE + (i - fine) as f64 + 0.5, (1.0 / STEP).round() as usize)
        };
        let clipped = tones.iter().filter(|tone| **tone > CLIPPED).count() as f64;
        let (tone, error) = mean(tones);
        let clipped = clipped > CLIPPED_SHARE * tones.len() as f64;
        bins.push(Bin { at, steps, tone, error, clipped });
    }
    bins
}

/// What lies within a clipped bin is clipped too, whatever a speck in it says.
fn clip_within(bins: &mut [Bin]) {
    let last = bins.iter().rposition(|bin| bin.clipped);
    bins.iter_mut().take(last.map_or(0, |last| last + 1)).for_each(|bin| bin.clipped = true);
}

/// Ends the bins where it is darkest, if it grows light again beyond: the metal is narrow there, and another light
/// lies behind it. The tone at that place.
fn end_at_other_light(bins: &mut Vec<Bin>, plateau: f64) -> Option<f64> {
    let outside = bins.iter().enumerate().filter(|(_, bin)| bin.at > 0.0);
    let (place, darkest) = outside.min_by(|a, b| a.1.tone.total_cmp(&b.1.tone))?;
    let darkest = darkest.tone;
    let other = darkest + OTHER_LIGHT * (plateau - darkest);
    let is_other = bins[place..].iter().any(|bin| bin.tone > other);
    is_other.then(|| {
        bins.truncate(place + 1);
        darkest
    })
}

/// The mean without what lies four deviations off the median (dust, glints), and its standard error.
fn mean(tones: &[f64]) -> (f64, f64) {
    let middle = median(tones.iter().copied());
    let spread = 1.4826 * median(tones.iter().map(|tone| (tone - middle).abs()));
    let reach = (4.0 * spread).max(0.02);
    let kept: Vec<f64> =
        tones.iter().copied().filter(|tone| (tone - middle).abs() <= reach).collect();
    let count = kept.len().max(1) as f64;
    let mean = kept.iter().sum::<f64>() / count;
    let square = kept.iter().map(|tone| (tone - mean).powi(2)).sum::<f64>();
    (mean, (square / (count - 1.0).max(1.0) / count).sqrt())
}

/// A rim to measure distances from.
struct Ruler {
    points: Vec<[f64; 2]>,
    /// Unit vectors towards the dark.
    normals: Vec<[f64; 2]>,
    /// Where the contour runs along its smoothed self, and not round a burr.
    plain: Vec<bool>,
    radius: f64,
    shift: f64,
}

impl Ruler {
    fn of(rim: &[[f64; 2]], bright: bool) -> Option<Ruler> {
        let area = signed_area(rim);
        let radius = (area.abs() / PI).sqrt();
        if rim.len() < 16 || radius < 3.0 {
            return None;
        }
        let [least, most] = SMOOTHED_PX;
        let points = smoothed(rim, (SMOOTHED * radius).clamp(least, most));
        let side = area.signum() * if bright { 1.0 } else { -1.0 };
        let count = points.len();
        let normals: Vec<[f64; 2]> = (0..count)
            .map(|i| {
                let (a, b) = (points[(i + count - 1) % count], points[(i + 1) % count]);
                let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
                let length = dx.hypot(dy).max(1e-12);
                [side * dy / length, -side * dx / length]
            })
            .collect();
        let off: Vec<f64> = (0..count)
            .map(|i| {
                (points[i][0] - rim[i][0]) * normals[i][0]
                    + (points[i][1] - rim[i][1]) * normals[i][1]
            })
            .collect();
        let shift = median(off.iter().copied());
        let spread = 1.4826 * median(off.iter().map(|off| (off - shift).abs()));
        let plain = off.iter().map(|off| (off - shift).abs() < (3.5 * spread).max(0.25)).collect();
        let radius = if bright { radius } else { -radius };
        Some(Ruler { points, normals, plain, radius, shift })
    }

    /// Every pixel from [`FROM`] to [`TO`] of the plain rim, with its distance towards the dark.
    fn near(&self, (rows, columns): (usize, usize), mut each: impl FnMut(usize, usize, f64)) {
        let mut nearest = Array2::from_elem((rows, columns), (f32::INFINITY, u32::MAX));
        let span = |middle: f64, size: usize| {
            let first = (middle - TO - 1.0).clamp(0.0, size as f64) as usize;
            first..((middle + TO + 1.0).clamp(0.0, size as f64) as usize)
        };
        for (i, [x, y]) in self.points.iter().enumerate() {
            for row in span(*y, rows) {
                for column in span(*x, columns) {
                    let (dx, dy) = (column as f64 + 0.5 - x, row as f64 + 0.5 - y);
                    let square = (dx * dx + dy * dy) as f32;
                    let best = &mut nearest[[row, column]];
                    if square < best.0 {
                        *best = (square, i as u32);
                    }
                }
            }
        }
        for ((row, column), (_, i)) in nearest.indexed_iter() {
            let i = *i as usize;
            if self.plain.get(i) == Some(&true) {
                let s = self.distance([column as f64 + 0.5, row as f64 + 0.5], i);
                if (FROM..TO).contains(&s) {
                    each(row, column, s);
                }
            }
        }
    }

    /// The distance of a place from the two sides that meet in the point next to it.
    fn distance(&self, at: [f64; 2], i: usize) -> f64 {
        let count = self.points.len();
        let to = |from: usize| {
            let (a, b) = (self.points[from], self.points[(from + 1) % count]);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let (px, py) = (at[0] - a[0], at[1] - a[1]);
            let share = ((px * dx + py * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
            (px - share * dx).hypot(py - share * dy)
        };
        let distance = to(i).min(to((i + count - 1) % count));
        let [nx, ny] = self.normals[i];
        distance.copysign((at[0] - self.points[i][0]) * nx + (at[1] - self.points[i][1]) * ny)
    }
}

/// A closed curve smoothed along itself by a Gaussian of `sigma_px`, point by point.
fn smoothed(points: &[[f64; 2]], sigma_px: f64) -> Vec<[f64; 2]> {
    let count = points.len();
    let length: f64 = (0..count)
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % count]);
            (b[0] - a[0]).hypot(b[1] - a[1])
        })
        .sum();
    let sigma = sigma_px * count as f64 / length;
    let reach = ((3.0 * sigma).ceil() as usize).min((count - 1) / 2);
    let weights: Vec<f64> =
        (0..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp()).collect();
    let sum = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    (0..count)
        .map(|i| {
            [0, 1].map(|axis: usize| {
                let pairs: f64 = (1..=reach)
                    .map(|k| {
                        let before = points[(i + count - k) % count][axis];
                        weights[k] * (before + points[(i + k) % count][axis])
                    })
                    .sum();
                (weights[0] * points[i][axis] + pairs) / sum
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn circle(radius: f64) -> Vec<[f64; 2]> {
        let count = (TAU * radius / 0.8) as usize;
        (0..count)
            .map(|i| {
                let angle = TAU * i as f64 / count as f64;
                [60.0 + radius * angle.cos(), 58.0 + radius * angle.sin()]
            })
            .collect()
    }

    /// On a disc whose tone is a straight line across the rim each bin holds the line: the bins of a
    /// hole run outwards, those of a dark spot inwards. A circle smoothed by σ shrinks by σ²/2R.
    #[test]
    fn bins_hold_the_tone_at_their_distance() {
        let radius = 30.0;
        let shrunk =
            (SMOOTHED * radius).clamp(SMOOTHED_PX[0], SMOOTHED_PX[1]).powi(2) / (2.0 * radius);
        for bright in [true, false] {
            let sign = if bright { 1.0 } else { -1.0 };
            let light = Array2::from_shape_fn((118, 121), |(row, column)| {
                let away = (column as f64 + 0.5 - 60.0).hypot(row as f64 + 0.5 - 58.0) - radius;
                crate::raster::decode((0.5 - 0.02 * sign * away).clamp(0.0, 1.0)) as f32
            });
            let profile = ToneProfile::of(&light, &circle(radius), 1.0, bright).unwrap();
            assert!((profile.ruler_px + sign * shrunk).abs() < 0.01, "{}", profile.ruler_px);
            assert!(profile.bins.len() > 60);
            for bin in &profile.bins {
                let truth = 0.5 - 0.02 * (bin.at + profile.ruler_px);
                // Pixels are unevenly spread in a bin: a tenth of its width.
                assert!((bin.tone - truth).abs() < 0.002 * bin.steps as f64, "{bin:?} {truth}");
            }
        }
    }

    /// A ring of metal 3 px wide with the lamp beyond it: the profile ends where the metal is darkest, and the lamp
    /// neither counts as ground nor makes all that lies within it clipped.
    #[test]
    fn a_lamp_behind_narrow_metal_is_left_out() {
        let light = Array2::from_shape_fn((118, 121), |(row, column)| {
            let away = (column as f64 + 0.5 - 60.0).hypot(row as f64 + 0.5 - 58.0) - 20.0;
            let metal = (away + 0.5).clamp(0.0, 1.0) - (away - 2.5).clamp(0.0, 1.0);
            (1.0 - 0.97 * metal) as f32
        });
        let profile = ToneProfile::of(&light, &circle(20.0), 1.0, true).unwrap();
        assert!(profile.ground < 0.2, "{}", profile.ground);
        assert!(profile.bins.iter().all(|bin| bin.at < 3.0));
        assert!(profile.bins.iter().any(|bin| !bin.clipped));
    }
}
