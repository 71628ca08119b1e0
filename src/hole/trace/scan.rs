//! The holes of a scan that is too large to hold: found in the picture made smaller, and traced each in a
//! window of full resolution.

use super::every::every_hole;
use super::measured::rim_of;
use super::openings::{MOST_REDUCED, Opening, openings_in};
use super::{Traced, TracedSheet, no_opening};
use crate::error::Error;
use crate::raster::{Raster, Scan};
use ndarray::{Array2, Array3};

/// More pixels than these in all windows together would fill the memory that strips save.
const MOST_WINDOW_PX: usize = 50_000_000;

/// A window of the scan around an opening.
struct Cut {
    opening: Opening,
    /// First row and column.
    corner: [usize; 2],
    picture: Raster,
}

/// The holes of a scan, and the scan made smaller by a whole number of pixels.
pub(in super::super) struct TracedScan {
    pub(in super::super) sheet: TracedSheet,
    pub(in super::super) reduced: Raster,
    pub(in super::super) side: usize,
}

/// Traces every hole of a scan, as [`super::trace_every`] does those of a picture.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the scan is damaged, shows no hole, or holes that fill it.
pub(in super::super) fn trace_scan(scan: &Scan) -> Result<TracedScan, Error> {
    use rayon::prelude::*;
    let side = MOST_REDUCED;
    let light = reduced(scan, side)?;
    let found = openings_in(&light, side, [scan.rows(), scan.columns()]);
    let reduced = Raster { linear: light.insert_axis(ndarray::Axis(0)) };
    if found.openings.is_empty() {
        return Err(no_opening(&reduced, found.noise));
    }
    let (chosen, warnings) = every_hole(&found.openings).map_err(super::choice::Refusal::error)?;
    let mut cuts: Vec<Cut> = chosen.into_iter().map(|opening| cut(opening, scan)).collect();
    let pixels: usize = cuts.iter().map(|cut| cut.picture.rows() * cut.picture.columns()).sum();
    if pixels > MOST_WINDOW_PX {
        return Err(Error::damaged(
            format!("shows {} holes that fill most of it: too much to measure at once", cuts.len()),
            "cut the scan into parts",
        ));
    }
    fill(&mut cuts, scan)?;
    let whole_px = scan.rows() * scan.columns();
    let rim = |cut: &Cut| {
        let place =
            [0, 1].map(|axis: usize| cut.opening.centre[axis] + cut.corner[1 - axis] as f64);
        let traced =
            rim_of(&cut.picture, &cut.opening, None).map(|(traced, _)| moved(traced, cut.corner));
        (place, traced)
    };
    let holes = cuts.par_iter().map(rim).collect();
    let mut warnings = warnings;
    warnings
        .insert(0, format!("The scan of {} megapixels was read in strips.", whole_px / 1_000_000));
    Ok(TracedScan { sheet: TracedSheet { holes, warnings }, reduced, side })
}

/// The mean of the channels over squares of `side` pixels.
fn reduced(scan: &Scan, side: usize) -> Result<Array2<f32>, Error> {
    let (rows, columns) = (scan.rows() / side, scan.columns() / side);
    let mut light = Array2::<f32>::zeros((rows, columns));
    scan.each_strip(|first, strip| {
        let share = 1.0 / (strip.linear.dim().0 * side * side) as f32;
        for channel in strip.linear.outer_iter() {
            for (row, line) in channel.outer_iter().enumerate() {
                let Some(mut sums) = light.outer_iter_mut().nth((first + row) / side) else {
                    continue;
                };
                for (column, value) in line.iter().take(columns * side).enumerate() {
                    sums[column / side] += share * value;
                }
            }
        }
    })?;
    Ok(light)
}

/// An empty window for an opening: a little more around it than tracing looks at.
#[expect(clippy::needless_pass_by_value, reason = "each opening becomes its cut")]
fn cut(opening: Opening, scan: &Scan) -> Cut {
    let span = |[first, end]: [usize; 2]| end - first;
    let margin = span(opening.rows).max(span(opening.columns)) / 3 + 16;
    let around = |[first, end]: [usize; 2], most: usize| {
        [first.saturating_sub(margin), (end + margin).min(most)]
    };
    let (rows, columns) =
        (around(opening.rows, scan.rows()), around(opening.columns, scan.columns()));
    let corner = [rows[0], columns[0]];
    let less = |[first, end]: [usize; 2], by: usize| [first - by, end - by];
    let opening = Opening {
        centre: [opening.centre[0] - columns[0] as f64, opening.centre[1] - rows[0] as f64],
        rows: less(opening.rows, rows[0]),
        columns: less(opening.columns, columns[0]),
        ..opening
    };
    let picture = Raster { linear: Array3::zeros((scan.channels(), span(rows), span(columns))) };
    Cut { opening, corner, picture }
}

/// Reads the windows' pixels.
fn fill(cuts: &mut [Cut], scan: &Scan) -> Result<(), Error> {
    scan.each_strip(|first, strip| {
        let (_, rows, _) = strip.linear.dim();
        for cut in cuts.iter_mut() {
            let [top, left] = cut.corner;
            let (height, width) = (cut.picture.rows(), cut.picture.columns());
            for row in first.max(top)..(first + rows).min(top + height) {
                let planes = cut.picture.linear.outer_iter_mut().zip(strip.linear.outer_iter());
                for (mut window, light) in planes {
                    for column in 0..width {
                        window[[row - top, column]] = light[[row - first, left + column]];
                    }
                }
            }
        }
    })
}

fn moved(traced: Traced, [top, left]: [usize; 2]) -> Traced {
    let [left, top] = [left, top].map(|at| at as f64);
    let place = |[x, y]: [f64; 2]| [x + left, y + top];
    Traced {
        loops_px: traced
            .loops_px
            .iter()
            .map(|points| points.iter().map(|p| place(*p)).collect())
            .collect(),
        centroid_px: place(traced.centroid_px),
        ..traced
    }
}
