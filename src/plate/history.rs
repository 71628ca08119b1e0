//! The plate of a hole's history: its diameter after each pass, and the sizes that are good enough.

use super::axes::{Axes, BENEATH_PLOT, LEFT_OF_PLOT, MEASURED, REFERENCE};
use super::canvas::{Anchor, Frame, GAP, LABEL, MARGIN, Plate, ROOM, Stroke, bytes};
use super::ink::Colour;
use crate::error::Error;

const HEIGHT: f64 = 620.0;
/// Room for so many passes at least, so that their numbers are whole and there is a way to go.
const FEWEST: f64 = 8.0;
/// More than this lie closer than their marks are wide.
const MOST: usize = 60;
/// Radius of a diameter's mark.
const MARK: f64 = 7.0;
/// Half the width of an error bar's end.
const BAR_END: f64 = 9.0;
/// Between the words that say what is drawn how, across.
const COLUMN: f64 = ROOM / 3.0;

/// Describes a diameter that was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The diameter, in mm.
    pub diameter_mm: f64,
    /// Its uncertainty, in mm, expanded (k = 2).
    pub uncertainty_mm: f64,
}

/// Tells what the plate of a history shows.
#[derive(Debug, Clone, Copy)]
pub struct History<'a> {
    /// The diameters, in the order of the passes.
    pub measured: &'a [Measured],
    /// The best diameter, in mm.
    pub target_mm: f64,
    /// The smallest and the largest diameter that are good enough, in mm.
    pub band_mm: [f64; 2],
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Draws the diameters against the passes with their uncertainties, the best diameter as a line and the
/// good sizes as a band, as the bytes of a PNG file. Of more than 60 diameters the last 60 are
/// drawn, under their own numbers.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for no diameters, for lengths that are not between 1e-6 mm and 1000 mm (an
/// uncertainty may be 0), and for a band whose low end is above its high end.
pub fn history(history: &History<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(history)?)
}

fn drawn(history: &History<'_>) -> Result<String, Error> {
    history.check()?;
    let first = history.measured.len().saturating_sub(MOST);
    let shown = &history.measured[first..];
    let mut plate = Plate::new(history.title)?;
    draw_key(&mut plate);
    let begin = first as f64 + 0.5;
    let axes = Axes {
        frame: Frame {
            x: MARGIN + LEFT_OF_PLOT,
            y: plate.bottom,
            width: ROOM - LEFT_OF_PLOT - 2.0 * GAP,
            height: HEIGHT,
        },
        left: LEFT_OF_PLOT,
        logarithmic: [false; 2],
        x: [begin, begin + FEWEST.max(shown.len() as f64)],
        y: history.span_mm(shown),
        x_label: "pass",
        y_label: "diameter, mm",
    };
    let [low, high] = history.band_mm;
    let [left, right] = axes.x;
    plate.ground(between(axes.place([left, high]), axes.place([right, low])), Colour::Blue, 0.14);
    axes.draw(&mut plate)?;
    let target = [[left, history.target_mm], [right, history.target_mm]];
    axes.curve(&mut plate, target.into_iter(), REFERENCE)?;
    let numbered =
        || shown.iter().enumerate().map(|(index, found)| ((first + index + 1) as f64, found));
    axes.curve(&mut plate, numbered().map(|(pass, found)| [pass, found.diameter_mm]), MEASURED)?;
    for (pass, found) in numbered() {
        let ends = [-1.0, 1.0].map(|side| found.diameter_mm + side * found.uncertainty_mm);
        draw_mark(
            &mut plate,
            axes.place([pass, found.diameter_mm]),
            ends.map(|mm| axes.place([pass, mm])[1]),
        );
    }
    plate.bottom = axes.frame.bottom() + BENEATH_PLOT;
    plate.svg(history.caption)
}

impl History<'_> {
    fn check(&self) -> Result<(), Error> {
        let [low, high] = self.band_mm;
        let is_length = |mm: &f64| (1e-6..=1e3).contains(mm);
        let sizes = self.measured.iter().map(|found| found.diameter_mm);
        let lengths = sizes.chain([self.target_mm, low, high]).all(|mm| is_length(&mm));
        let known = self.measured.iter().all(|found| (0.0..=1e3).contains(&found.uncertainty_mm));
        if self.measured.is_empty() || !lengths || !known || low > high {
            return Err(Error::limit(
                "the diameters to draw are missing or out of range",
                "give one diameter at least, all lengths between 0.000001 and 1000 mm",
            ));
        }
        Ok(())
    }

    /// The span of diameters that holds everything, and a little more.
    fn span_mm(&self, shown: &[Measured]) -> [f64; 2] {
        let ends = shown.iter().flat_map(|found| {
            [found.diameter_mm - found.uncertainty_mm, found.diameter_mm + found.uncertainty_mm]
        });
        let all = ends.chain(self.band_mm).chain([self.target_mm]);
        let (low, high) =
            all.fold((f64::INFINITY, 0.0f64), |(low, high), mm| (low.min(mm), high.max(mm)));
        // Where all are one, a tenth to each side is something to look at.
        let room = if high - low < 1e-3 * high { 0.1 * high } else { 0.07 * (high - low) };
        // Nothing is smaller than nothing, unless its uncertainty says so.
        [(low - room).max(low.min(0.0)), high + room]
    }
}

/// What is drawn how, in a line above the plot.
fn draw_key(plate: &mut Plate) {
    let y = plate.bottom + LABEL.leading();
    let x = |column: f64| MARGIN + column * COLUMN;
    let sample = |left: f64| [[left, y - 8.0], [left + 60.0, y - 8.0]];
    plate.line(&sample(x(0.0)), MEASURED);
    draw_mark(plate, [x(0.0) + 30.0, y - 8.0], [y - 22.0, y + 6.0]);
    plate.line(&sample(x(1.0)), REFERENCE);
    plate.ground(between([x(2.0), y - 22.0], [x(2.0) + 60.0, y + 6.0]), Colour::Blue, 0.14);
    for (column, words) in
        [(0.0, "this hole, ± its uncertainty"), (1.0, "the best size"), (2.0, "good enough")]
    {
        plate.text([x(column) + 60.0 + GAP, y], Anchor::Start, &LABEL, words);
    }
    plate.bottom = y + 2.0 * GAP;
}

/// A diameter's mark and its error bar between two heights.
fn draw_mark(plate: &mut Plate, [x, y]: [f64; 2], ends: [f64; 2]) {
    let bar = Stroke { width: 2.0, ..MEASURED };
    plate.line(&ends.map(|end| [x, end]), bar);
    for end in ends {
        plate.line(&[[x - BAR_END, end], [x + BAR_END, end]], bar);
    }
    plate.disc([x, y], MARK, MEASURED);
}

/// The rectangle between its upper left and its lower right corner.
fn between([x, y]: [f64; 2], [right, bottom]: [f64; 2]) -> Frame {
    Frame { x, y, width: right - x, height: bottom - y }
}

#[cfg(test)]
#[path = "history_tests.rs"]
mod tests;
