//! Panels of pictures and of outlines.

use super::{Drawing, Panel, Picture, Shows};
use crate::error::Error;
use crate::plate::axes::{BAR_HEIGHT, scale_bar};
use crate::plate::canvas::{
    Anchor, FINE, Frame, GAP, LABEL, PANEL, Plate, SOLID, Sampling, Stroke,
};
use crate::plate::ink::Colour;
use crate::quantity::significant;

/// How high a chart is against its width, and how high at the most.
const CHART: f64 = 0.58;
const HIGHEST_CHART: f64 = 600.0;
/// What a panel needs: its heading's lines, the heights between them and its body and beneath it, and the
/// body's height for a width of one.
pub(super) struct Needs {
    heading: Vec<String>,
    pub(super) over: f64,
    pub(super) beneath: f64,
    pub(super) aspect: f64,
}

impl Needs {
    pub(super) fn heading_height(&self) -> f64 {
        self.heading.len() as f64 * PANEL.leading()
    }
}

impl Panel {
    /// `per_mm` is how many units of the drawing make a mm of its print; none for what is not printed.
    pub(super) fn needs(&self, width: f64, per_mm: Option<f64>) -> Result<Needs, Error> {
        let heading =
            if self.title.is_empty() { Vec::new() } else { PANEL.lines(&self.title, width, 3)? };
        let bar = GAP + BAR_HEIGHT;
        let (over, beneath, aspect) = match &self.shows {
            Shows::Chart(chart) => {
                let [over, under] = chart.around(width)?;
                (over, under, CHART.min(HIGHEST_CHART / width))
            }
            Shows::Picture(picture) => {
                let (columns, rows) = picture.image.dimensions();
                let aspect = f64::from(rows) / f64::from(columns.max(1));
                (GAP / 2.0, picture.scale.map_or(0.0, |_| bar), aspect)
            }
            Shows::Drawing(drawing) => {
                let narrower = drawing.width(width, per_mm) / width;
                (GAP / 2.0, bar, narrower * drawing.span_mm[1] / drawing.span_mm[0])
            }
        };
        Ok(Needs { heading, over, beneath, aspect })
    }

    /// Draws the panel from `top` down; the headings of its row end at `under`, and the bodies begin at
    /// `body.y`.
    pub(super) fn draw(
        &self,
        plate: &mut Plate,
        needs: &Needs,
        [top, under]: [f64; 2],
        body: Frame,
        per_mm: Option<f64>,
    ) -> Result<(), Error> {
        for (index, line) in needs.heading.iter().enumerate() {
            let y = top + index as f64 * PANEL.leading() + PANEL.size;
            plate.text([body.x, y], Anchor::Start, &PANEL, line);
        }
        // What has no legend begins under the headings, and may be as much higher.
        let y = under + needs.over;
        let free = Frame { y, height: body.bottom() - y, ..body };
        match &self.shows {
            Shows::Chart(chart) => chart.draw(plate, under, body),
            Shows::Picture(picture) => {
                let (columns, rows) = picture.image.dimensions();
                let frame = fitted(free, f64::from(rows) / f64::from(columns.max(1)));
                picture.draw(plate, frame, body.width)
            }
            Shows::Drawing(drawing) => {
                let narrow = Frame { width: drawing.width(free.width, per_mm), ..free };
                let frame = fitted(narrow, drawing.span_mm[1] / drawing.span_mm[0]);
                drawing.draw(plate, frame, body.width, per_mm)
            }
        }
    }
}

/// The largest frame of an aspect in a body, at its left.
fn fitted(body: Frame, aspect: f64) -> Frame {
    let width = body.width.min(body.height / aspect);
    Frame { width, height: width * aspect, ..body }
}

/// The scale bar under a frame; what it has to add is left out where the room is too narrow.
fn bar(
    plate: &mut Plate,
    frame: Frame,
    room: f64,
    mm_per_unit: f64,
    add: &str,
) -> Result<(), Error> {
    let longest = frame.width / 3.0;
    let widest = longest.max(60.0) + GAP + LABEL.width(&format!("0.005 mm{add}"))?;
    let at = [frame.x, frame.bottom() + GAP / 2.0];
    scale_bar(plate, at, longest, mm_per_unit, &LABEL, if widest > room { "" } else { add });
    Ok(())
}

impl Picture {
    fn draw(&self, plate: &mut Plate, frame: Frame, room: f64) -> Result<(), Error> {
        let sampling = if self.smooth { Sampling::Smooth } else { Sampling::Squares };
        plate.picture(frame, &self.image, sampling)?;
        plate.border(frame, Stroke { width: 1.0, ..FINE });
        let Some((width_mm, add)) = self.scale else { return Ok(()) };
        let units_per_mm = frame.width / width_mm;
        let ring = Stroke { colour: Colour::White, width: 2.0, dashes: "6 6", cased: false };
        plate.clipped(frame, |plate| {
            let circles = self.circles_mm.iter();
            circles.for_each(|radius| plate.circle(frame.centre(), radius * units_per_mm, ring));
            Ok(())
        })?;
        bar(plate, frame, room, 1.0 / units_per_mm, add)
    }
}

impl Drawing {
    /// How wide it is where there is so much room.
    fn width(&self, room: f64, per_mm: Option<f64>) -> f64 {
        let wanted = self.magnified.zip(per_mm);
        wanted.map_or(room, |(times, per_mm)| times * per_mm * self.span_mm[0]).min(room)
    }

    fn draw(
        &self,
        plate: &mut Plate,
        frame: Frame,
        room: f64,
        per_mm: Option<f64>,
    ) -> Result<(), Error> {
        let units_per_mm = frame.width / self.span_mm[0];
        let [x, y] = frame.centre();
        let place = |[across, up]: [f64; 2]| [x + across * units_per_mm, y - up * units_per_mm];
        plate.ground(frame, Colour::Metal, 1.0);
        plate.clipped(frame, |plate| {
            for opening in &self.openings {
                let loops = opening.loops().iter();
                let rims: Vec<Vec<_>> =
                    loops.map(|rim| rim.iter().map(|point| place(*point)).collect()).collect();
                plate.opening(&rims);
            }
            for (rim, line) in &self.rims {
                for points in rim.loops() {
                    let points: Vec<_> = points.iter().map(|point| place(*point)).collect();
                    plate.ring(&points, line.stroke());
                }
            }
            let graduation =
                Stroke { colour: Colour::Black, width: 3.0, dashes: SOLID, cased: false };
            for ends in &self.strokes {
                plate.line(&ends.map(place), graduation);
            }
            Ok(())
        })?;
        plate.border(frame, Stroke { width: 1.0, ..FINE });
        // Where there was no room for all of it, it says what it came to.
        let times = self.magnified.and(per_mm).map(|per_mm| units_per_mm / per_mm);
        let add = times.map_or(String::new(), |times| match significant(times, 2) {
            one if one == "1" => ", true size".into(),
            times => format!(", × {times}"),
        });
        bar(plate, frame, room, 1.0 / units_per_mm, &add)
    }
}
