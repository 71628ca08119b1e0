//! Compact spots that differ from the ground about them.

use crate::geometry::Point;
use ndarray::Array2;

/// The least difference from the ground, over it, that counts where a whole picture has no more.
const FAINTEST: f64 = 0.02;
/// The part of the picture that is taken to be darker than the middle of a dark octagon.
const DARKEST: f64 = 0.02;
/// The shares of the strongest relief that are tried, each seven tenths of the one before.
const SHARES: [f32; 6] = [0.5, 0.35, 0.25, 0.175, 0.12, 0.085];

/// Tells whether spots are darker or brighter than their ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Dark,
    Bright,
}

/// A spot: pixels that hang together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Blob {
    pub(super) middle_px: Point,
    pub(super) area_px: f64,
    /// 1 for a disc however it is stretched, 0.995 for an octagon, 0.955 for a square, less for what has gaps or arms.
    pub(super) compactness: f64,
}

/// How far each pixel is off the mean of the square of `side` pixels about it, over that mean; as a positive number
/// where it is off in the sense that is looked for. What lies outside the picture counts for nothing.
pub(super) fn relief(
    light: &Array2<f32>,
    side: usize,
    tone: Tone,
    outside: Option<&Array2<bool>>,
) -> Array2<f32> {
    let (rows, columns) = light.dim();
    let is_outside = |at: (usize, usize)| outside.is_some_and(|outside| outside[at]);
    // Sums of light and of pixels from the upper left corner (`Crow1984`).
    let mut sums = Array2::<[f64; 2]>::from_elem((rows + 1, columns + 1), [0.0; 2]);
    for row in 0..rows {
        let mut line = [0.0; 2];
        for column in 0..columns {
            if !is_outside((row, column)) {
                line = [line[0] + f64::from(light[[row, column]]), line[1] + 1.0];
            }
            let above = sums[[row, column + 1]];
            sums[[row + 1, column + 1]] = [above[0] + line[0], above[1] + line[1]];
        }
    }
    let half = side / 2;
    Array2::from_shape_fn((rows, columns), |(row, column)| {
        let (top, bottom) = (row.saturating_sub(half), (row + half + 1).min(rows));
        let (left, right) = (column.saturating_sub(half), (column + half + 1).min(columns));
        let sum = |of: usize| {
            sums[[bottom, right]][of] - sums[[top, right]][of] - sums[[bottom, left]][of]
                + sums[[top, left]][of]
        };
        let mean = sum(0) / sum(1).max(1.0);
        let is_counted = mean > 0.0 && !is_outside((row, column));
        let off = if is_counted { f64::from(light[[row, column]]) / mean - 1.0 } else { 0.0 };
        match tone {
            Tone::Dark => -off as f32,
            Tone::Bright => off as f32,
        }
    })
}

/// What lies about the picture on the scanner: pixels as dark as the spots that are looked for, or darker (or as bright), that hang
/// together with the border of the scan. The level between them and the rest parts all pixels into the two even
/// classes that differ most (`Otsu1979`).
pub(super) fn outside(light: &Array2<f32>, tone: Tone) -> Array2<bool> {
    let level = parting_level(light);
    let is_like = |value: f32| match tone {
        Tone::Dark => value < level,
        Tone::Bright => value > level,
    };
    let (rows, columns) = light.dim();
    let mut outside = Array2::from_elem((rows, columns), false);
    let mut stack: Vec<(usize, usize)> = (0..rows)
        .flat_map(|row| [(row, 0), (row, columns - 1)])
        .chain((0..columns).flat_map(|column| [(0, column), (rows - 1, column)]))
        .collect();
    while let Some(at) = stack.pop() {
        if outside[at] || !is_like(light[at]) {
            continue;
        }
        outside[at] = true;
        stack.extend(neighbours(at).into_iter().filter(|next| next.0 < rows && next.1 < columns));
    }
    outside
}

fn parting_level(light: &Array2<f32>) -> f32 {
    const CLASSES: usize = 256;
    let most = light.iter().copied().fold(1e-6, f32::max);
    let mut counts = [0.0f64; CLASSES];
    for value in light {
        counts[((value / most).max(0.0) * (CLASSES - 1) as f32) as usize] += 1.0;
    }
    let all: f64 = counts.iter().sum();
    let total: f64 = counts.iter().enumerate().map(|(i, count)| i as f64 * count).sum();
    let (mut below, mut sum, mut best) = (0.0, 0.0, (0.0, 0));
    for (i, count) in counts.iter().enumerate() {
        below += count;
        sum += i as f64 * count;
        let above = all - below;
        if below > 0.0 && above > 0.0 {
            let between = below * above * (sum / below - (total - sum) / above).powi(2);
            best = if between > best.0 { (between, i) } else { best };
        }
    }
    (best.1 as f32 + 1.0) / (CLASSES - 1) as f32 * most
}

/// The four pixels beside one; those beyond the upper left lie far beyond the lower right.
fn neighbours((row, column): (usize, usize)) -> [(usize, usize); 4] {
    [
        (row.wrapping_sub(1), column),
        (row + 1, column),
        (row, column.wrapping_sub(1)),
        (row, column + 1),
    ]
}

/// The reliefs above which a pixel may belong to a spot, the most likely first; none for a picture without contrast. Half of
/// the strongest relief is right where nothing stands out more than the octagons; what lies about the picture, as a dark
/// scanner's lid, stands out more than octagons in fog.
pub(super) fn thresholds(relief: &Array2<f32>) -> Vec<f32> {
    let mut some: Vec<f32> =
        relief.iter().step_by((relief.len() / 100_000).max(1)).copied().collect();
    some.sort_by(f32::total_cmp);
    let high = some.get(((1.0 - DARKEST) * some.len() as f64) as usize).copied().unwrap_or(0.0);
    let faintest = 0.5 * FAINTEST;
    SHARES.map(|share| share * high).into_iter().filter(|one| f64::from(*one) > faintest).collect()
}

/// The spots above a threshold, but for those that the picture's border cuts.
pub(super) fn blobs(relief: &Array2<f32>, threshold: f32) -> Vec<Blob> {
    let (rows, columns) = relief.dim();
    let mut seen = Array2::from_elem((rows, columns), false);
    let mut found = Vec::new();
    let mut stack = Vec::new();
    for start in 0..rows * columns {
        let start = (start / columns, start % columns);
        if seen[start] || relief[start] <= threshold {
            continue;
        }
        seen[start] = true;
        stack.push(start);
        let mut moments = Moments::default();
        let mut cut = false;
        while let Some((row, column)) = stack.pop() {
            moments.add(row, column);
            cut |= row == 0 || column == 0 || row + 1 == rows || column + 1 == columns;
            for next in neighbours((row, column)) {
                if next.0 < rows && next.1 < columns && !seen[next] && relief[next] > threshold {
                    seen[next] = true;
                    stack.push(next);
                }
            }
        }
        if !cut {
            found.push(moments.blob());
        }
    }
    found
}

/// Sums over the pixels of a spot.
#[derive(Default)]
struct Moments {
    count: f64,
    first: [f64; 2],
    second: [f64; 3],
}

impl Moments {
    fn add(&mut self, row: usize, column: usize) {
        let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
        self.count += 1.0;
        self.first[0] += x;
        self.first[1] += y;
        self.second[0] += x * x;
        self.second[1] += x * y;
        self.second[2] += y * y;
    }

    fn blob(&self) -> Blob {
        let [x, y] = self.first.map(|sum| sum / self.count);
        let [xx, xy, yy] = self.second.map(|sum| sum / self.count);
        // Each pixel is a square and not a point.
        let square = 1.0 / 12.0;
        let (xx, xy, yy) = (xx - x * x + square, xy - x * y, yy - y * y + square);
        // A disc has the area 4π √det of its second moments, and an ellipse too.
        let disc = 4.0 * std::f64::consts::PI * (xx * yy - xy * xy).max(0.0).sqrt();
        Blob { middle_px: [x, y], area_px: self.count, compactness: self.count / disc }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spots_are_found_with_their_form() {
        let mut light = Array2::from_elem((120, 200), 0.8f32);
        for ((row, column), value) in light.indexed_iter_mut() {
            // The ground is lit from one side.
            *value *= 1.0 - column as f32 / 400.0;
            let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
            let disc = (x - 40.0).hypot(y - 60.0) < 12.0;
            let square = (x - 150.0).abs() < 10.0 && (y - 60.0).abs() < 10.0;
            let cross = (x - 95.0).abs() < 2.0 && (y - 60.0).abs() < 14.0
                || (x - 95.0).abs() < 14.0 && (y - 60.0).abs() < 2.0;
            if disc || square || cross {
                *value *= 0.2;
            }
        }
        let relief = relief(&light, 71, Tone::Dark, None);
        let found = blobs(&relief, thresholds(&relief)[0]);
        let near = |x: f64| found.iter().find(|b| (b.middle_px[0] - x).abs() < 0.5).unwrap();
        assert!((near(40.0).compactness - 1.0).abs() < 0.01, "{found:?}");
        // 144/(16 π²) of its square, by hand.
        assert!((near(150.0).compactness - 0.955).abs() < 0.005, "{found:?}");
        assert!(near(95.0).compactness < 0.7, "{found:?}");
        assert_eq!(near(150.0).area_px, 400.0);
    }

    /// A dark lid about a bright sheet is outside, and a dark spot in the sheet is not.
    #[test]
    fn what_lies_about_the_picture_is_outside() {
        let light = Array2::from_shape_fn((60, 80), |(row, column)| {
            let in_sheet = (6..54).contains(&row) && (9..71).contains(&column);
            let in_spot = (25..35).contains(&row) && (30..40).contains(&column);
            if !in_sheet || in_spot { 0.1f32 } else { 0.7 }
        });
        let lid = outside(&light, Tone::Dark);
        assert_eq!(lid.iter().filter(|is| **is).count(), 60 * 80 - 48 * 62);
        assert!(lid[[0, 0]] && !lid[[30, 35]] && !lid[[10, 20]]);
        assert!(outside(&light, Tone::Bright).iter().all(|is| !is));
    }

    #[test]
    fn a_flat_picture_has_none() {
        let light = Array2::from_elem((50, 50), 0.5f32);
        assert!(thresholds(&relief(&light, 11, Tone::Dark, None)).is_empty());
    }
}
