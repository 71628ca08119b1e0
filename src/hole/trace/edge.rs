//! The profile of light across a rim: its blur, its levels close by, and how well its place is known.

use crate::geometry::signed_area;
use crate::hole::median::median;
use ndarray::Array2;
use std::f64::consts::PI;

/// Stretches into which a rim is cut, to see how alike it is all round.
const STRETCHES: usize = 24;
/// Neighbouring stretches see the same sheen and dirt: so many of them count as one sight.
const ALIKE: f64 = 3.0;
/// Places at which the rim is looked at.
const PLACES: usize = 720;
/// Where a blurred edge counts as spent: beyond 2.5 σ less than 0.7 % of it is left.
pub(super) const CLEAR_OF_BLUR: f64 = 2.5;
/// How well half way between two levels is known at the very rim, as a share of the step: sheen on the
/// bevel and veiling light lie closer to it than blur lets one look. Common practice, no source; the
/// stated intervals then hold as often as they should on drawn photos that have both (tests/photos).
const LEVEL_DOUBT: f64 = 0.012;
/// What pixels and their interpolation leave of a rim's mean place, in pixels: the area of sharp
/// drawn discs comes out 0.01 px of their radius short (measured; see tests/photos).
const PIXEL_DOUBT: f64 = 0.012;
/// What a camera does to a picture after the light (demosaic, denoising, sharpening, JPEG), of a rim's mean place: in
/// pixels, and as a share of the blur (σ), since a tone curve that is not sRGB moves half way in proportion to it. On
/// drawn phone photos, well exposed, the rim lay up to 0.2 px outwards, 0.06 px in the mean (tests/photos; no source).
const CAMERA_DOUBT: f64 = 0.06;
const CURVE_DOUBT: f64 = 0.05;
/// And this share of the blur more where the bright side is lighter than this of white: tone curves bend there.
const BENT_DOUBT: f64 = 0.12;
const BENT_FROM: f64 = 0.8;
/// A Gaussian edge passes 80 % and 20 % this many σ from half way: Φ⁻¹(0.8).
const FIFTH: f64 = 0.8416;

/// A rim's profile, from inside to outside.
pub(super) struct Edge {
    /// As the σ of a Gaussian, in pixels.
    pub(super) sigma_px: f64,
    /// The light close to the rim, in and outside it, on the scale of the openness.
    pub(super) inside: f64,
    pub(super) outside: f64,
    /// How far 80 % lies inside half way, over how far 20 % lies outside it: 1 on a Gaussian edge.
    balance: f64,
    /// Standard deviation of half way between the two levels over the stretches of the rim, as a
    /// share of the step.
    scatter: f64,
    /// How far the edge that keeps the light lies from the one at half way, in pixels: 0 where the
    /// blur is symmetric and the numbers are in proportion to the light.
    lean_px: f64,
}

impl Edge {
    /// From the profile along normals of `rim` in `open`. `sigma_px` is what is known of the blur.
    pub(super) fn of(open: &Array2<f32>, rim: &[[f64; 2]], sigma_px: f64) -> Option<Edge> {
        let radius = (signed_area(rim).abs() / PI).sqrt();
        let profiles = Profiles::of(open, rim, sigma_px, radius);
        let mean = profiles.mean();
        let (inside, outside) = profiles.levels(&mean, sigma_px)?;
        let step = inside - outside;
        if step.is_nan() || step <= 0.1 {
            return None;
        }
        let share = |value: f64| (value - outside) / step;
        let [within, beyond] =
            [mean.crossing(inside - 0.2 * step, true), mean.crossing(outside + 0.2 * step, false)];
        let half = mean.crossing(0.5 * (inside + outside), true);
        let sigma_px = (beyond - within) / (2.0 * FIFTH);
        let halves = profiles.halves(sigma_px);
        let reach = CLEAR_OF_BLUR * sigma_px + 1.0;
        let across: Vec<(f64, f64)> =
            mean.points().filter(|(t, _)| (t - half).abs() <= reach).collect();
        // What is open of the stretch, by the trapezium rule, against what half way says.
        let kept: f64 = across
            .windows(2)
            .map(|pair| 0.5 * (share(pair[0].1) + share(pair[1].1)) * mean.step)
            .sum();
        let lean_px = kept - (half - across.first()?.0);
        Some(Edge {
            sigma_px,
            inside,
            outside,
            balance: (half - within).max(mean.step / 4.0) / (beyond - half).max(mean.step / 4.0),
            scatter: deviation(&halves) / step,
            lean_px,
        })
    }

    /// How much steeper the bright half of the edge is than its dark half: 1 on a Gaussian edge, less
    /// where its top is cut off. `bright` when the hole is the bright side.
    pub(super) fn balance(&self, bright: bool) -> f64 {
        if bright { self.balance } else { 1.0 / self.balance }
    }

    /// Standard uncertainties of the rim, in pixels, for noise as a share of the step and the hole's
    /// radius.
    ///
    /// One over the slope of a Gaussian edge is √(2π) σ a unit of light. Of the mean place: each
    /// stretch as long as the blur is an independent sight of the noise; the levels are as uncertain
    /// as they differ round the rim, and [`LEVEL_DOUBT`]; the two places of the edge (half way, and that which keeps the
    /// light) bound where it is when the numbers are not quite in proportion to light (uniform between
    /// them: `JCGM100`, 4.3.7); a tenth of the correction for blur; what cameras do to a picture, whose bright side
    /// has the light `top`; and pixels.
    pub(super) fn uncertainty_px(&self, noise: f64, radius_px: f64, top: f64) -> RimUncertainty {
        let slope = (2.0 * PI).sqrt() * self.sigma_px;
        let sights = (2.0 * PI * radius_px / (2.0 * self.sigma_px).max(1.0)).max(1.0);
        let mean_px = (noise * slope / sights.sqrt())
            .hypot(slope * self.scatter * (ALIKE / STRETCHES as f64).sqrt())
            .hypot(slope * LEVEL_DOUBT)
            .hypot(self.lean_px / 3f64.sqrt())
            .hypot(0.1 * self.sigma_px * self.sigma_px / (2.0 * radius_px))
            .hypot(PIXEL_DOUBT)
            .hypot(CAMERA_DOUBT)
            .hypot(self.sigma_px * if top > BENT_FROM { BENT_DOUBT } else { CURVE_DOUBT });
        let place_px = (noise * slope).hypot(slope * self.scatter).hypot(4.0 * PIXEL_DOUBT);
        RimUncertainty { mean_px, place_px }
    }
}

/// Standard uncertainties of a rim's place, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimUncertainty {
    /// Of its mean place: the whole rim may lie so much farther out or in.
    pub mean_px: f64,
    /// Of a single place on it.
    pub place_px: f64,
}

/// Light across the rim at places t outwards from it, in pixels.
struct Profile {
    first: f64,
    step: f64,
    values: Vec<f64>,
}

impl Profile {
    fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.values.iter().enumerate().map(|(k, value)| (self.first + k as f64 * self.step, *value))
    }

    /// Where the profile passes a level nearest to the rim, sought from it inwards or outwards and
    /// then the other way.
    fn crossing(&self, level: f64, inwards: bool) -> f64 {
        let middle = (-self.first / self.step).round() as isize;
        let last = self.values.len() as isize - 1;
        let passes = |k: isize| {
            let (a, b) = (self.values[k as usize], self.values[k as usize + 1]);
            (a >= level && b < level)
                .then(|| self.first + (k as f64 + (a - level) / (a - b)) * self.step)
        };
        let near = (0..=last).flat_map(|off| {
            if inwards {
                [middle - off - 1, middle + off]
            } else {
                [middle + off, middle - off - 1]
            }
        });
        near.filter(|k| (0..last).contains(k)).find_map(passes).unwrap_or(if inwards {
            self.first
        } else {
            -self.first
        })
    }

    /// The mean of what lies between two places.
    fn level(&self, from: f64, to: f64) -> Option<f64> {
        let (mut sum, mut count) = (0.0, 0usize);
        for (_, value) in self.points().filter(|(t, _)| (from..=to).contains(t)) {
            (sum, count) = (sum + value, count + 1);
        }
        (count > 0).then(|| sum / count as f64)
    }
}

/// One profile for each stretch of the rim.
struct Profiles {
    stretches: Vec<Profile>,
    radius: f64,
}

impl Profiles {
    fn of(open: &Array2<f32>, rim: &[[f64; 2]], sigma_px: f64, radius: f64) -> Profiles {
        let step = (0.2 * sigma_px).clamp(0.2, 1.0);
        let reach = (CLEAR_OF_BLUR + 2.0) * sigma_px + 4.0;
        let (inwards, outwards) =
            ((reach.min(0.95 * radius) / step).ceil() as usize, (reach / step).ceil() as usize);
        let first = -(inwards as f64) * step;
        let count = inwards + outwards + 1;
        let turn = signed_area(rim).signum();
        // Normals over a few vertices: single edges of the contour zigzag.
        let span = (rim.len() / 100).clamp(2, 8);
        let stride = rim.len().div_ceil(PLACES);
        let places: Vec<usize> = (0..rim.len()).step_by(stride.max(1)).collect();
        let profile = |stretch: &[usize]| {
            let mut sums = vec![(0.0, 0usize); count];
            for &i in stretch {
                let [a, b] = [(i + rim.len() - span) % rim.len(), (i + span) % rim.len()];
                let (dx, dy) = (rim[b][0] - rim[a][0], rim[b][1] - rim[a][1]);
                let length = dx.hypot(dy);
                if length < 1e-9 {
                    continue;
                }
                let normal = [turn * dy / length, -turn * dx / length];
                for (k, sum) in sums.iter_mut().enumerate() {
                    let t = first + k as f64 * step;
                    let at = [0, 1].map(|axis: usize| rim[i][axis] + t * normal[axis]);
                    if let Some(value) = sampled(open, at) {
                        *sum = (sum.0 + value, sum.1 + 1);
                    }
                }
            }
            let values = sums.iter().map(|(sum, count)| sum / *count as f64).collect();
            Profile { first, step, values }
        };
        let length = places.len().div_ceil(STRETCHES).max(1);
        Profiles { stretches: places.chunks(length).map(profile).collect(), radius }
    }

    /// The middle value of the stretches at each place: burrs and dust beside the rim drop out.
    fn mean(&self) -> Profile {
        let [first, step, count] =
            self.stretches.first().map_or([0.0; 3], |p| [p.first, p.step, p.values.len() as f64]);
        let values = (0..count as usize)
            .map(|k| median(self.stretches.iter().map(|p| p.values[k]).filter(|v| v.is_finite())));
        Profile { first, step, values: values.collect() }
    }

    /// Where the level inside is read; none in a hole too small for one.
    fn inside_band(&self, sigma_px: f64) -> Option<(f64, f64)> {
        let near = CLEAR_OF_BLUR * sigma_px;
        let far = (near + band(sigma_px)).min(0.9 * self.radius);
        (far > near + 0.5).then_some((-far, -near))
    }

    /// Light close by, in and outside the rim.
    fn levels(&self, mean: &Profile, sigma_px: f64) -> Option<(f64, f64)> {
        let near = CLEAR_OF_BLUR * sigma_px;
        let outside = mean.level(near, near + band(sigma_px))?;
        let inside = match self.inside_band(sigma_px) {
            Some((far, near)) => mean.level(far, near)?,
            None => 1.0,
        };
        Some((inside, outside))
    }

    /// Half way between the levels of each stretch.
    fn halves(&self, sigma_px: f64) -> Vec<f64> {
        let near = CLEAR_OF_BLUR * sigma_px;
        let half = |profile: &Profile| {
            let outside = profile.level(near, near + band(sigma_px))?;
            let inside = match self.inside_band(sigma_px) {
                Some((far, near)) => profile.level(far, near)?,
                None => 1.0,
            };
            Some(0.5 * (inside + outside)).filter(|half| half.is_finite())
        };
        self.stretches.iter().filter_map(half).collect()
    }
}

/// How wide a band levels are read in, in pixels.
fn band(sigma_px: f64) -> f64 {
    (1.5 * sigma_px).max(2.0)
}

/// The standard deviation, by the median of the absolute departures from the median, so that a burr
/// or a glint on a few stretches does not count for all: 1.4826 of it on a normal distribution.
fn deviation(values: &[f64]) -> f64 {
    let middle = median(values.iter().copied());
    1.4826 * median(values.iter().map(|value| (value - middle).abs()))
}

/// The value between four pixel centres; None outside them.
pub(super) fn sampled(open: &Array2<f32>, [x, y]: [f64; 2]) -> Option<f64> {
    let (rows, columns) = open.dim();
    let (u, v) = (x - 0.5, y - 0.5);
    if u < 0.0 || v < 0.0 || u >= (columns - 1) as f64 || v >= (rows - 1) as f64 {
        return None;
    }
    let (i, j) = (u as usize, v as usize);
    let (s, t) = (u - i as f64, v - j as f64);
    let at = |row: usize, column: usize| f64::from(open[[row, column]]);
    let (top, bottom) =
        ((1.0 - s) * at(j, i) + s * at(j, i + 1), (1.0 - s) * at(j + 1, i) + s * at(j + 1, i + 1));
    Some((1.0 - t) * top + t * bottom)
}
