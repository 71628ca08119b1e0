//! A panel of curves: legend, marks and shaded ranges about the axes.

use super::{Axis, Chart};
use crate::error::Error;
use crate::plate::axes::{Axes, BENEATH_PLOT};
use crate::plate::canvas::{Anchor, FINE, Frame, GAP, LABEL, MARK, Plate, Stroke};
use crate::plate::ink::Colour;

/// What ticks take to the left of a chart.
const LEFT: f64 = 100.0;
/// Between a chart and the edge of its panel: half a tick's label.
const RIGHT: f64 = 26.0;
/// The sample of a line in the legend.
const SAMPLE: f64 = 52.0;
/// Between the words of a mark and what stands beside them, and from its line to them.
const APART: f64 = 20.0;
const BESIDE: f64 = 7.0;
/// Between the frame, whose highest tick has words half above it, and the words of the axis.
const ABOVE: f64 = 26.0;

/// An entry of the legend where it stands: from the left of the panel, and its row.
struct Entry<'a> {
    x: f64,
    row: usize,
    words: &'a str,
    sample: Sample,
}

/// A mark with its words: where its line is, the words' width, whether they end at the line or begin there, and their row above the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Placed {
    x: f64,
    width: f64,
    ends_there: bool,
    row: usize,
}

enum Sample {
    Line(Stroke),
    Band,
}

impl Chart {
    /// What stands above and beneath the frame, in a panel of this width.
    pub(super) fn around(&self, width: f64) -> Result<[f64; 2], Error> {
        let legend = self.legend(width)?.last().map_or(0, |entry| entry.row + 1);
        // Where the frame stands does not matter to how its marks are laid out.
        let axes = self.axes(Frame { x: 0.0, y: 0.0, width, height: 1.0 });
        let marks = self.placed(&axes)?.iter().map(|(mark, _)| mark.row + 1).max().unwrap_or(0);
        let height = (legend + 1) as f64 * LABEL.leading() + marks as f64 * MARK.leading();
        Ok([height + ABOVE, BENEATH_PLOT])
    }

    /// The axes in a body: their words stand above the frame, level.
    fn axes(&self, body: Frame) -> Axes<'_> {
        Axes {
            frame: Frame { x: body.x + LEFT, width: body.width - LEFT - RIGHT, ..body },
            left: LEFT,
            x: self.x.span,
            y: self.y.span,
            logarithmic: [&self.x, &self.y].map(|Axis { logarithmic, .. }| *logarithmic),
            x_label: &self.x.words,
            y_label: "",
        }
    }

    /// The marks within the frame, from the left, with their words.
    fn placed(&self, axes: &Axes<'_>) -> Result<Vec<(Placed, &str)>, Error> {
        let (left, right) = (axes.frame.x, axes.frame.right());
        let mut marks = Vec::new();
        for mark in &self.marks {
            let [x, _] = axes.place([mark.x, self.y.span[0]]);
            if (left - 1.0..=right + 1.0).contains(&x) {
                let width = MARK.width(&mark.words)? + BESIDE;
                marks.push((Placed { x, width, ends_there: false, row: 0 }, mark.words.as_str()));
            }
        }
        marks.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
        let mut places: Vec<Placed> = marks.iter().map(|mark| mark.0).collect();
        // The words of the highest tick stand to the left of the frame.
        lay_out(&mut places, [left, right + RIGHT]);
        Ok(places.into_iter().zip(marks.into_iter().map(|mark| mark.1)).collect())
    }

    fn legend(&self, width: f64) -> Result<Vec<Entry<'_>>, Error> {
        let curves = self.curves.iter().filter(|curve| !curve.name.is_empty());
        let curves = curves.map(|curve| (curve.name.as_str(), Sample::Line(curve.line.stroke())));
        let bands = self.bands.iter().map(|band| (band.words.as_str(), Sample::Band));
        let (mut entries, mut x, mut row) = (Vec::new(), 0.0, 0);
        for (words, sample) in curves.chain(bands) {
            let needed = SAMPLE + 12.0 + LABEL.width(words)?;
            if x > 0.0 && x + needed > width {
                (x, row) = (0.0, row + 1);
            }
            entries.push(Entry { x, row, words, sample });
            x += needed + 2.0 * GAP;
        }
        Ok(entries)
    }

    /// Draws the chart: the frame's body is `body`, what [`Chart::around`] says stands above it.
    pub(super) fn draw(&self, plate: &mut Plate, top: f64, body: Frame) -> Result<(), Error> {
        for entry in self.legend(body.width)? {
            let (x, y) = (body.x + entry.x, top + entry.row as f64 * LABEL.leading() + LABEL.size);
            match entry.sample {
                Sample::Line(stroke) => {
                    plate.line(&[[x, y - 8.0], [x + SAMPLE, y - 8.0]], stroke);
                }
                Sample::Band => {
                    let swatch = Frame { x, y: y - 20.0, width: SAMPLE, height: 24.0 };
                    plate.ground(swatch, Colour::Blue, 0.16);
                }
            }
            let room = body.width - entry.x - SAMPLE - 12.0;
            for line in LABEL.lines(entry.words, room, 1)? {
                plate.text([x + SAMPLE + 12.0, y], Anchor::Start, &LABEL, &line);
            }
        }
        let axes = self.axes(body);
        for band in &self.bands {
            let [low, high] = band.span.map(|x| axes.place([x, self.y.span[0]])[0]);
            let (left, right) = (low.max(axes.frame.x), high.min(axes.frame.right()));
            if right > left {
                let shaded = Frame { x: left, width: right - left, ..axes.frame };
                plate.ground(shaded, Colour::Blue, 0.16);
            }
        }
        axes.draw(plate)?;
        let marks = self.placed(&axes)?;
        let rows = marks.iter().map(|(mark, _)| mark.row + 1).max().unwrap_or(0) as f64;
        let at = [body.x, body.y - rows * MARK.leading() - ABOVE];
        for line in LABEL.lines(&self.y.words, body.width, 1)? {
            plate.text(at, Anchor::Start, &LABEL, &line);
        }
        draw_marks(plate, axes.frame, &marks);
        for curve in &self.curves {
            axes.curve(plate, curve.points.iter().copied(), curve.line.stroke())?;
        }
        Ok(())
    }
}

/// Lines at the marks up to their words.
fn draw_marks(plate: &mut Plate, frame: Frame, marks: &[(Placed, &str)]) {
    let stroke = Stroke { colour: Colour::Grey, width: 1.5, dashes: "5 5", cased: false };
    for (mark, words) in marks {
        plate.line(&[[mark.x, frame.bottom()], [mark.x, frame.y]], stroke);
        let foot = frame.y - mark.row as f64 * MARK.leading() - 0.4 * GAP;
        let top = foot - 0.72 * MARK.size;
        plate.line(&[[mark.x, frame.y], [mark.x, top]], Stroke { width: 1.0, ..FINE });
        let (x, anchor) = if mark.ends_there {
            (mark.x - BESIDE, Anchor::End)
        } else {
            (mark.x + BESIDE, Anchor::Start)
        };
        plate.text([x, foot], anchor, &MARK, words);
    }
}

impl Placed {
    /// From where to where the words reach.
    fn reach(&self) -> [f64; 2] {
        if self.ends_there { [self.x - self.width, self.x] } else { [self.x, self.x + self.width] }
    }

    /// Whether the words lie across a place.
    fn covers(&self, x: f64) -> bool {
        let [left, right] = self.reach();
        (left - APART / 2.0..right + APART / 2.0).contains(&x)
    }

    /// Whether these words must stand above the other's: its line would run through them, or both would touch.
    fn is_above(&self, other: &Placed) -> bool {
        let ([left, right], [from, to]) = (self.reach(), other.reach());
        self.covers(other.x)
            || !other.covers(self.x)
                && self.x < other.x
                && left < to + APART
                && from < right + APART
    }
}

/// Turns the words of marks, which stand in rising order, so that none leaves the room, and gives them rows from
/// the frame up, so that no line runs through words.
fn lay_out(marks: &mut [Placed], [left, right]: [f64; 2]) {
    for mark in marks.iter_mut() {
        mark.ends_there = mark.x + mark.width > right && mark.x - mark.width > left;
    }
    // Where two would each lie across the other's line, the left one is turned too.
    for right_one in (0..marks.len()).rev() {
        for left_one in (0..right_one).rev() {
            let (one, other) = (marks[left_one], marks[right_one]);
            if one.covers(other.x) && other.covers(one.x) && one.x - one.width > left {
                marks[left_one].ends_there = true;
            }
        }
    }
    // Each turn settles one row at least.
    for _ in 0..marks.len() {
        for i in 0..marks.len() {
            // Of two that would each be above the other, as at one place, the left one is.
            let is_above = |j: &usize| {
                let (one, other) = (&marks[i], &marks[*j]);
                *j != i && one.is_above(other) && !(*j < i && other.is_above(one))
            };
            let below = (0..marks.len()).filter(is_above);
            marks[i].row = below.map(|j| marks[j].row + 1).max().unwrap_or(0).min(marks.len());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Many marks close together, in the middle and at the right end: no words touch, none leave the room, no line runs through words.
    #[test]
    fn words_of_marks_stand_apart() {
        let room = [0.0, 700.0];
        for places in [
            vec![300.0, 310.0, 335.0, 420.0, 423.0],
            vec![100.0, 560.0, 600.0, 640.0, 690.0],
            vec![20.0, 30.0, 40.0],
            vec![400.0, 620.0],
            vec![300.0, 300.0, 301.0],
        ] {
            let mut marks: Vec<Placed> = places
                .iter()
                .map(|x| Placed { x: *x, width: 240.0, ends_there: false, row: 0 })
                .collect();
            lay_out(&mut marks, room);
            for (i, one) in marks.iter().enumerate() {
                let [from, to] = one.reach();
                assert!(from >= room[0] && to <= room[1], "{marks:?}");
                for (j, other) in marks.iter().enumerate().filter(|(j, _)| *j != i) {
                    let [left, right] = other.reach();
                    let touch = one.row == other.row && from < right && left < to;
                    let crossed = other.row >= one.row && from < other.x && other.x < to;
                    assert!(!touch && !crossed, "{i} {j}: {marks:?}");
                }
            }
        }
    }
}
