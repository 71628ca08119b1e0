//! A row of lines at full resolution: where each lies, and the pitch through all of them.

use super::search::Row;
use crate::geometry::solve;
use crate::raster::Raster;
use rayon::prelude::*;

/// Bands across the rule in which each line is looked at.
const BANDS: usize = 6;
/// Rounds in which direction and places are found from each other.
const ROUNDS: usize = 2;
/// Lines farther than this many standard deviations from the fit are left out.
const OUTLIER: f64 = 3.5;

/// A rule's lines, fitted.
#[derive(Debug, Clone)]
pub(super) struct Pitch {
    /// Pixels from line to line, square to them.
    pub(super) px: f64,
    /// Its standard uncertainty from the scatter of the lines.
    pub(super) uncertainty_px: f64,
    /// By how much the pitch differs between the ends of the row, over the pitch.
    pub(super) change_along: f64,
    /// By how much it differs between the lines' ends, over the pitch.
    pub(super) change_across: f64,
    /// Root mean square of what the fit leaves, over the pitch.
    pub(super) scatter: f64,
    pub(super) lines: usize,
    /// By how much the pitches of the lines' two edges differ, over the pitch.
    pub(super) edges_differ: f64,
    /// Each line from end to end, in pixels of the picture.
    pub(super) segments_px: Vec<[[f64; 2]; 2]>,
}

/// A line seen in a band: its number, the band's place across the rule, its place along it.
#[derive(Clone, Copy)]
struct Sight {
    number: f64,
    across: f64,
    place: f64,
    /// Where it begins and ends, half way up.
    edges: [f64; 2],
}

/// Fits a row whose places are given in pixels of the picture itself.
pub(super) fn fitted(picture: &Raster, row: &Row) -> Option<Pitch> {
    let mut row = row.clone();
    let mut pitch = None;
    for _ in 0..ROUNDS {
        let sights = sights(picture, &row);
        let fit = Fit::of(&sights)?;
        let side = |k: usize| {
            let moved: Vec<Sight> =
                sights.iter().map(|s| Sight { place: s.edges[k], ..*s }).collect();
            Fit::of(&moved).map(|fit| fit.pitch().px)
        };
        let mut found = fit.pitch();
        found.edges_differ = (side(0)? - side(1)?).abs() / found.px;
        found.segments_px = fit.segments(&row);
        // A place that moves with the band is a direction that is off.
        row.places = (0..row.places.len()).map(|n| fit.place(n as f64 - fit.middle, 0.0)).collect();
        row = row.turned(fit.terms[2]);
        pitch = Some(found);
    }
    pitch
}

fn sights(picture: &Raster, row: &Row) -> Vec<Sight> {
    let middle = (row.places.len() - 1) as f64 / 2.0;
    let spacing = row.spacing();
    let band = row.height / BANDS as f64;
    let seen = |(n, place): (usize, f64)| {
        (0..BANDS).filter_map(move |k| {
            let across = ((k as f64 + 0.5) / BANDS as f64 - 0.5) * row.height;
            let found = line_in_band(picture, row, place, (row.across + across, band), spacing)?;
            let [place, begins, ends] = found;
            Some(Sight { number: n as f64 - middle, across, place, edges: [begins, ends] })
        })
    };
    row.places.par_iter().copied().enumerate().flat_map_iter(seen).collect()
}

/// Where a line lies in one band: the middle of what stands out by more than half, and its two edges.
fn line_in_band(
    picture: &Raster,
    row: &Row,
    place: f64,
    (across, band): (f64, f64),
    spacing: f64,
) -> Option<[f64; 3]> {
    let (sin, cos) = row.angle.sin_cos();
    let reach = 0.45 * spacing;
    let step = (spacing / 60.0).clamp(0.25, 1.0);
    let count = (reach / step) as i32;
    let rows = (band.floor() as i32).max(1);
    let stride = (rows / 24).max(1);
    let mut profile = Vec::new();
    for k in -count..=count {
        let along = place + f64::from(k) * step;
        let (mut sum, mut seen) = (0.0, 0);
        for r in (0..rows).step_by(stride as usize) {
            let v = across + (f64::from(r) + 0.5) / f64::from(rows) * band - band / 2.0;
            if let Some(light) =
                picture.lightness_at([along * cos - v * sin, along * sin + v * cos])
            {
                (sum, seen) = (sum + light, seen + 1);
            }
        }
        profile.push((along, if seen > 0 { sum / f64::from(seen) } else { return None }));
    }
    let sign = if row.bright { 1.0 } else { -1.0 };
    let values = || profile.iter().map(|(_, light)| sign * light);
    let (low, high) =
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    let half = 0.5 * (low + high);
    let top = values().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?.0;
    let within = |i: &usize| sign * profile[*i].1 > half;
    let first = (0..=top).rev().take_while(within).last()?;
    let last = (top..profile.len()).take_while(within).last()?;
    if first == 0 || last + 1 == profile.len() {
        return None;
    }
    let (mut sum, mut weight) = (0.0, 0.0);
    for (along, light) in &profile[first..=last] {
        let above = sign * light - half;
        (sum, weight) = (sum + above * along, weight + above);
    }
    // Half way between two places of the profile, by a straight line.
    let crossing = |out: usize, within: usize| {
        let [(a, low), (b, high)] = [profile[out], profile[within]];
        let share = (half - sign * low) / (sign * high - sign * low);
        a + share.clamp(0.0, 1.0) * (b - a)
    };
    (weight > 0.0).then(|| [sum / weight, crossing(first - 1, first), crossing(last + 1, last)])
}

/// place = start + pitch n + lean v + bend n² + fan n v.
struct Fit {
    terms: [f64; 5],
    pitch_variance: f64,
    residual: f64,
    middle: f64,
    height: f64,
    lines: usize,
}

fn terms_of(number: f64, across: f64) -> [f64; 5] {
    [1.0, number, across, number * number, number * across]
}

impl Fit {
    fn of(sights: &[Sight]) -> Option<Fit> {
        let mut kept: Vec<Sight> = sights.to_vec();
        let mut fit = Fit::once(&kept)?;
        for _ in 0..3 {
            let reach = OUTLIER * fit.residual.max(1e-3);
            let near = |s: &&Sight| (s.place - fit.place(s.number, s.across)).abs() <= reach;
            let better: Vec<Sight> = kept.iter().filter(near).copied().collect();
            if better.len() == kept.len() || better.len() < sights.len() / 2 {
                break;
            }
            kept = better;
            fit = Fit::once(&kept)?;
        }
        Some(fit)
    }

    fn once(sights: &[Sight]) -> Option<Fit> {
        let (mut normal, mut right) = ([[0.0; 5]; 5], [0.0; 5]);
        let middle = sights.iter().map(|s| s.number).fold(0.0, f64::max);
        let height = 2.0 * sights.iter().map(|s| s.across.abs()).fold(0.0, f64::max);
        // Numbers and places of like size keep the equations well conditioned.
        let unit = [middle.max(1.0), height.max(1.0)];
        let scaled = |s: &Sight| terms_of(s.number / unit[0], s.across / unit[1]);
        for sight in sights {
            let t = scaled(sight);
            for a in 0..5 {
                right[a] += t[a] * sight.place;
                (0..5).for_each(|b| normal[a][b] += t[a] * t[b]);
            }
        }
        let solved = solve(normal, right)?;
        let left =
            |s: &Sight| s.place - scaled(s).iter().zip(solved).map(|(t, c)| t * c).sum::<f64>();
        let freedom = sights.len() as f64 - 5.0;
        if freedom < 1.0 {
            return None;
        }
        let variance = sights.iter().map(|s| left(s).powi(2)).sum::<f64>() / freedom;
        let mut second = [0.0; 5];
        second[1] = 1.0;
        // Bands of one line see the same flaws of it: they count as one sight.
        let pitch_variance = solve(normal, second)?[1] * variance * BANDS as f64;
        let [start, pitch, lean, bend, fan] = solved;
        let [n, v] = unit;
        Some(Fit {
            terms: [start, pitch / n, lean / v, bend / (n * n), fan / (n * v)],
            pitch_variance: pitch_variance / (n * n),
            residual: variance.sqrt(),
            middle,
            height,
            lines: (2.0 * middle) as usize + 1,
        })
    }

    fn place(&self, number: f64, across: f64) -> f64 {
        terms_of(number, across).iter().zip(self.terms).map(|(t, c)| t * c).sum()
    }

    /// The lines from end to end, for a row along whose direction they were seen.
    fn segments(&self, row: &Row) -> Vec<[[f64; 2]; 2]> {
        let (sin, cos) = row.angle.sin_cos();
        let end = |number: f64, across: f64| {
            let (along, across) = (self.place(number, across), row.across + across);
            [along * cos - across * sin, along * sin + across * cos]
        };
        let half = 0.5 * row.height;
        let line = |n: usize| {
            let number = n as f64 - self.middle;
            [end(number, -half), end(number, half)]
        };
        (0..self.lines).map(line).collect()
    }

    fn pitch(&self) -> Pitch {
        let [_, along, lean, bend, fan] = self.terms;
        // Measured along a direction that is off by the lean, a pitch is too long by its secant.
        let px = along / lean.hypot(1.0);
        Pitch {
            px,
            uncertainty_px: self.pitch_variance.sqrt(),
            change_along: 4.0 * bend * self.middle / px,
            change_across: fan * self.height / px,
            scatter: self.residual / px,
            lines: self.lines,
            edges_differ: 0.0,
            segments_px: Vec::new(),
        }
    }
}
