//! Where a rule's lines are: the direction they share, and an even row of them along a strip.
//!
//! The limits below are rules of thumb, tried on drawn rules (common practice, no source).

use crate::hole::median::median;
use ndarray::Array2;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Directions told apart: a degree each over half a turn.
const DIRECTIONS: usize = 180;
/// Directions looked along.
const TRIED: usize = 6;
/// Directions nearer than this are one, in degrees.
const APART: usize = 4;
/// Strips across the picture, each half over the next.
const STRIPS: usize = 96;
/// Fewer even lines are an accident.
const LEAST_LINES: usize = 4;
/// A line may lie so far from its place in the row, in spacings.
const OFF: f64 = 0.12;
/// The lines of a row scatter by no more than this about even places, in spacings (root mean square).
const EVEN: f64 = 0.035;
/// Strips, each half over the next, through which lines go: with fewer they are dots.
const LEAST_STRIPS: usize = 3;
/// Lines of neighbouring strips are one if they lie no farther apart, in spacings.
const SAME_LINE: f64 = 0.15;
/// The change of spacing from one line to the next that perspective may bring.
const BEND: f64 = 0.004;
/// The weakest line of a row against the middle one.
const FAINTEST: f64 = 0.3;
/// Lines fainter than this share of the light's whole range are noise.
const LEAST_CONTRAST: f32 = 0.04;

/// A row of evenly spaced lines.
#[derive(Debug, Clone)]
pub(super) struct Row {
    /// The direction across the lines, from +x towards +y (down), in rad.
    pub(super) angle: f64,
    /// Places of the lines along that direction, in pixels of the picture searched.
    pub(super) places: Vec<f64>,
    /// Where the strip lies across it: its middle and height.
    pub(super) across: f64,
    pub(super) height: f64,
    /// Whether the lines are brighter than what is between them.
    pub(super) bright: bool,
}

impl Row {
    /// The mean spacing.
    pub(super) fn spacing(&self) -> f64 {
        match (self.places.first(), self.places.last()) {
            (Some(first), Some(last)) => (last - first) / (self.places.len() - 1) as f64,
            _ => 0.0,
        }
    }

    /// The row along its true direction, when its lines move by `lean` along it for each pixel across.
    pub(super) fn turned(mut self, lean: f64) -> Row {
        let (sin, cos) = lean.atan().sin_cos();
        let middle = 0.5 * (self.places[0] + self.places[self.places.len() - 1]);
        self.angle -= lean.atan();
        self.places.iter_mut().for_each(|place| *place = *place * cos - self.across * sin);
        self.across = self.across * cos + middle * sin;
        self
    }
}

/// Even rows of lines in all directions that edges have, those of most lines first.
pub(super) fn rows(light: &Array2<f32>) -> Vec<Row> {
    let angles = directions(light);
    let mut found: Vec<Row> =
        angles.into_par_iter().flat_map_iter(|angle| rows_along(light, angle)).collect();
    found.sort_by(|a, b| b.places.len().cmp(&a.places.len()).then(b.height.total_cmp(&a.height)));
    found
}

/// The directions across most edges, strongest first.
fn directions(light: &Array2<f32>) -> Vec<f64> {
    let (rows, columns) = light.dim();
    let counted = (1..rows.saturating_sub(1)).into_par_iter().fold(
        || vec![0.0f64; DIRECTIONS],
        |mut counts, row| {
            for column in 1..columns.saturating_sub(1) {
                let x = light[[row, column + 1]] - light[[row, column - 1]];
                let y = light[[row + 1, column]] - light[[row - 1, column]];
                let angle = f64::from(y).atan2(f64::from(x)).rem_euclid(PI);
                let bin = ((angle / PI * DIRECTIONS as f64) as usize).min(DIRECTIONS - 1);
                counts[bin] += f64::from(x.hypot(y));
            }
            counts
        },
    );
    let counts = counted
        .reduce(|| vec![0.0; DIRECTIONS], |a, b| a.iter().zip(&b).map(|(x, y)| x + y).collect());
    let around = |i: usize| [DIRECTIONS - 1, 0, 1].map(|k| counts[(i + k) % DIRECTIONS]);
    let smooth: Vec<f64> = (0..DIRECTIONS).map(|i| around(i).iter().sum()).collect();
    let mut order: Vec<usize> = (0..DIRECTIONS).collect();
    order.sort_by(|a, b| smooth[*b].total_cmp(&smooth[*a]));
    let mut chosen: Vec<usize> = Vec::new();
    for i in order {
        let apart = |j: &usize| {
            let off = i.abs_diff(*j);
            off.min(DIRECTIONS - off) >= APART
        };
        if chosen.len() < TRIED && chosen.iter().all(apart) {
            chosen.push(i);
        }
    }
    let middle = |i: usize| {
        let [before, at, after] = around(i);
        (i as f64 + 0.5 + (after - before) / (before + at + after).max(1e-30)) * PI
            / DIRECTIONS as f64
    };
    chosen.into_iter().map(middle).collect()
}

/// The rows along a direction that go on through several strips, as lines do and scratches do not.
fn rows_along(light: &Array2<f32>, angle: f64) -> Vec<Row> {
    let strips = Strips::of(light, angle);
    let mut groups: Vec<Vec<Row>> = Vec::new();
    for bright in [true, false] {
        let mut before: Vec<Row> = Vec::new();
        for k in 0..STRIPS {
            match strips.row(k, bright) {
                Some(row) if before.last().is_some_and(|last| goes_on(last, &row)) => {
                    before.push(row);
                }
                other => {
                    groups.push(std::mem::take(&mut before));
                    before.extend(other);
                }
            }
        }
        groups.push(before);
    }
    groups.into_iter().filter(|group| group.len() >= LEAST_STRIPS).filter_map(joined).collect()
}

/// Whether two rows of neighbouring strips have most of their lines in common.
fn goes_on(a: &Row, b: &Row) -> bool {
    let spacing = a.spacing();
    let common = |place: &&f64| a.places.iter().any(|p| (p - **place).abs() < SAME_LINE * spacing);
    (b.spacing() / spacing - 1.0).abs() < 0.03
        && 3 * b.places.iter().filter(common).count() >= 2 * a.places.len().min(b.places.len())
}

/// The longest of the rows, over the strips of all of them, along the direction that keeps its lines
/// in place from strip to strip.
fn joined(group: Vec<Row>) -> Option<Row> {
    let (first, last) = (group.first()?, group.last()?);
    let (across, height) =
        (0.5 * (first.across + last.across), last.across - first.across + first.height / 2.0);
    let lean = group.windows(2).map(|pair| shift(&pair[0], &pair[1])).sum::<f64>()
        / (last.across - first.across);
    let longest = group.into_iter().max_by_key(|row| row.places.len())?;
    let moved = lean * (across - longest.across);
    let places = longest.places.iter().map(|place| place + moved).collect();
    Some(Row { across, height, places, ..longest }.turned(lean))
}

/// How far the lines of one row lie from those of another, in the middle.
fn shift(a: &Row, b: &Row) -> f64 {
    let nearest = |place: &f64| {
        let off = |p: &&f64| (*p - place).abs();
        a.places.iter().min_by(|p, q| off(p).total_cmp(&off(q))).map(|p| place - p)
    };
    // A line of which the other row has none is no pair.
    let paired = |shift: &f64| shift.abs() < SAME_LINE * a.spacing();
    median(b.places.iter().filter_map(nearest).filter(paired))
}

/// The mean light along a direction, in strips.
struct Strips {
    angle: f64,
    /// Where the first strip and the first place lie.
    first: [f64; 2],
    height: f64,
    /// For each strip the light at each pixel along the direction, not a number beyond the picture.
    profiles: Vec<Vec<f32>>,
    contrast: f32,
}

impl Strips {
    fn of(light: &Array2<f32>, angle: f64) -> Strips {
        let (rows, columns) = light.dim();
        let (sin, cos) = angle.sin_cos();
        let corners =
            [[0.0, 0.0], [columns as f64, 0.0], [0.0, rows as f64], [columns as f64, rows as f64]];
        let along = corners.map(|[x, y]| x * cos + y * sin);
        let across = corners.map(|[x, y]| y * cos - x * sin);
        let least = |values: &[f64; 4]| values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = |values: &[f64; 4]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let first = [least(&along), least(&across)];
        let length = (most(&along) - first[0]).ceil() as usize + 1;
        let half = ((most(&across) - first[1]) / (STRIPS + 1) as f64).max(1.0);
        // Half strips, of which each two neighbours make a strip.
        let mut sums = vec![vec![(0.0f32, 0u32); length]; STRIPS + 2];
        for ((row, column), value) in light.indexed_iter() {
            let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
            let strip = ((y * cos - x * sin - first[1]) / half) as usize;
            let place = (x * cos + y * sin - first[0]) as usize;
            let sum = &mut sums[strip.min(STRIPS + 1)][place.min(length - 1)];
            *sum = (sum.0 + value, sum.1 + 1);
        }
        let profile = |k: usize| {
            let pairs = sums[k].iter().zip(&sums[k + 1]);
            pairs
                .map(|(a, b)| match a.1 + b.1 {
                    // At the picture's corners a strip is cut: a few pixels are no mean.
                    count if f64::from(count) < 0.5 * half => f32::NAN,
                    count => (a.0 + b.0) / count as f32,
                })
                .collect()
        };
        let brightest = light.iter().copied().fold(0.0, f32::max);
        Strips {
            angle,
            first,
            height: 2.0 * half,
            profiles: (0..STRIPS).map(profile).collect(),
            contrast: LEAST_CONTRAST * brightest,
        }
    }

    /// The longest even row of bright or of dark lines in a strip.
    fn row(&self, k: usize, bright: bool) -> Option<Row> {
        let places = longest_even(&lines(&self.profiles[k], self.contrast, bright))?;
        Some(Row {
            angle: self.angle,
            places: places.into_iter().map(|place| place + self.first[0]).collect(),
            across: self.first[1] + (k as f64 / 2.0 + 0.5) * self.height,
            height: self.height,
            bright,
        })
    }
}

/// A line in a profile: its place, and how far it stands out.
#[derive(Debug, Clone, Copy)]
struct Line {
    place: f64,
    height: f32,
}

/// The tops of a profile that stand out on both sides by `least`, each at the middle of what is above
/// half its height. With `bright` false, of the profile turned over.
fn lines(profile: &[f32], least: f32, bright: bool) -> Vec<Line> {
    let value = |i: usize| if bright { profile[i] } else { -profile[i] };
    let known: Vec<usize> = (0..profile.len()).filter(|&i| profile[i].is_finite()).collect();
    let mut found = Vec::new();
    let (mut low, mut top): (Option<f32>, Option<(usize, f32)>) = (None, None);
    // A top counts once the profile has come down from it by `least`, having risen as much before.
    for &i in &known {
        let v = value(i);
        match (low, top) {
            (None, _) => low = Some(v),
            (Some(base), None) if v > base + least => top = Some((i, v)),
            (Some(base), None) => low = Some(base.min(v)),
            (Some(_), Some((_, high))) if v > high => top = Some((i, v)),
            (Some(base), Some((at, high))) if v < high - least => {
                let foot = base.max(v);
                found.push((at, high, foot));
                (low, top) = (Some(v), None);
            }
            _ => {}
        }
    }
    let middle = |(at, high, foot): (usize, f32, f32)| {
        let half = 0.5 * (high + foot);
        let within = |i: &usize| value(*i) > half;
        let first = (0..=at).rev().take_while(within).last().unwrap_or(at);
        let last = (at..profile.len()).take_while(within).last().unwrap_or(at);
        let (mut sum, mut weight) = (0.0, 0.0);
        for i in first..=last {
            let above = f64::from(value(i) - half).max(1e-12);
            (sum, weight) = (sum + above * (i as f64 + 0.5), weight + above);
        }
        Line { place: sum / weight, height: high - foot }
    };
    found.into_iter().map(middle).collect()
}

/// The most lines that follow each other evenly and stand out alike.
fn longest_even(lines: &[Line]) -> Option<Vec<f64>> {
    let mut longest: Vec<f64> = Vec::new();
    for start in 0..lines.len().saturating_sub(LEAST_LINES - 1) {
        let mut row = vec![lines[start], lines[start + 1]];
        for next in &lines[start + 2..] {
            let spacing = (row[row.len() - 1].place - row[0].place) / (row.len() - 1) as f64;
            let off = next.place - row[row.len() - 1].place - spacing;
            if off.abs() > OFF * spacing {
                break;
            }
            row.push(*next);
        }
        if row.len() >= LEAST_LINES && row.len() > longest.len() && is_even(&row) {
            longest = row.iter().map(|line| line.place).collect();
        }
    }
    (!longest.is_empty()).then_some(longest)
}

/// Whether the lines stand out alike and lie on even places.
fn is_even(row: &[Line]) -> bool {
    let middle = median(row.iter().map(|line| f64::from(line.height)));
    let count = row.len() as f64;
    let spacing = (row[row.len() - 1].place - row[0].place) / (count - 1.0);
    let places: Vec<f64> =
        row.iter().enumerate().map(|(i, line)| line.place - i as f64 * spacing).collect();
    let mean = places.iter().sum::<f64>() / count;
    let scatter = (places.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / count).sqrt();
    // Perspective bends a row smoothly; what is left of it here is judged at full resolution.
    scatter < EVEN * spacing.max(1.0) + BEND * count * spacing / 8.0
        && row.iter().all(|line| f64::from(line.height) >= FAINTEST * middle)
}
