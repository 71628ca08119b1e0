//! A panel of curves: legend, marks and shaded ranges about the axes.

use super::{Axis, Chart};
use crate::error::Error;
use crate::plate::axes::{Axes, BENEATH_PLOT};
use crate::plate::canvas::{Anchor, FINE, Frame, GAP, LABEL, MARK, Plate, Stroke};
use crate::plate::ink::Colour;

/// What ticks and words take to the left of a chart.
const LEFT: f64 = 128.0;
/// Between a chart and the edge of its panel: half a tick's label.
const RIGHT: f64 = 26.0;
/// The sample of a line in the legend.
const SAMPLE: f64 = 52.0;
/// Between the words of neighbouring marks.
const APART: f64 = 26.0;
/// From the frame to the words of a mark.
const LEADER: f64 = 16.0;

/// An entry of the legend where it stands: from the left of the panel, and its row.
struct Entry<'a> {
    x: f64,
    row: usize,
    words: &'a str,
    sample: Sample,
}

enum Sample {
    Line(Stroke),
    Band,
}

impl Chart {
    /// What stands above and beneath the frame, in a panel of this width.
    pub(super) fn around(&self, width: f64) -> Result<[f64; 2], Error> {
        let rows = self.legend(width)?.last().map_or(0, |entry| entry.row + 1);
        let mut marks = 0.0f64;
        for mark in &self.marks {
            marks = marks.max(MARK.width(&mark.words)? + LEADER + 8.0);
        }
        Ok([rows as f64 * LABEL.leading() + marks + 0.75 * GAP, BENEATH_PLOT])
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
        let axes = Axes {
            frame: Frame { x: body.x + LEFT, width: body.width - LEFT - RIGHT, ..body },
            left: LEFT,
            x: self.x.span,
            y: self.y.span,
            logarithmic: [&self.x, &self.y].map(|Axis { logarithmic, .. }| *logarithmic),
            x_label: &self.x.words,
            y_label: &self.y.words,
        };
        for band in &self.bands {
            let [low, high] = band.span.map(|x| axes.place([x, self.y.span[0]])[0]);
            let (left, right) = (low.max(axes.frame.x), high.min(axes.frame.right()));
            if right > left {
                let shaded = Frame { x: left, width: right - left, ..axes.frame };
                plate.ground(shaded, Colour::Blue, 0.16);
            }
        }
        axes.draw(plate)?;
        self.draw_marks(plate, &axes);
        for curve in &self.curves {
            axes.curve(plate, curve.points.iter().copied(), curve.line.stroke())?;
        }
        Ok(())
    }

    /// Lines at the marks with their words upright above them, pushed apart where they are close.
    fn draw_marks(&self, plate: &mut Plate, axes: &Axes<'_>) {
        let frame = axes.frame;
        let mut marks: Vec<(f64, &str)> = self
            .marks
            .iter()
            .map(|mark| (axes.place([mark.x, self.y.span[0]])[0], mark.words.as_str()))
            .filter(|(x, _)| (frame.x - 1.0..=frame.right() + 1.0).contains(x))
            .collect();
        marks.sort_by(|a, b| a.0.total_cmp(&b.0));
        let places: Vec<f64> = marks.iter().map(|mark| mark.0).collect();
        let stroke = Stroke { colour: Colour::Grey, width: 1.5, dashes: "5 5", cased: false };
        for ((x, words), spread) in marks.iter().zip(spread(&places, APART, frame.right())) {
            plate.line(&[[*x, frame.bottom()], [*x, frame.y]], stroke);
            let foot = frame.y - LEADER;
            plate.line(&[[*x, frame.y], [spread, foot]], Stroke { width: 1.0, ..FINE });
            let at = [spread + 0.36 * MARK.size, foot - 4.0];
            plate.turned_text(at, -90.0, Anchor::Start, &MARK, words);
        }
    }
}

/// Places no closer than `apart`, near those given in rising order, none beyond `last`.
fn spread(places: &[f64], apart: f64, last: f64) -> Vec<f64> {
    let mut spread = places.to_vec();
    for at in 1..spread.len() {
        spread[at] = spread[at].max(spread[at - 1] + apart);
    }
    let mut limit = last;
    for place in spread.iter_mut().rev() {
        *place = place.min(limit);
        limit = *place - apart;
    }
    spread
}
