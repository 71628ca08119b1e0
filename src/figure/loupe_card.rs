//! The loupe card: how large a hole must look between graduation lines.

use super::Bench;
use crate::diagram::{Columns, Diagram, Drawing, Panel, Shows};
use crate::error::Error;
use crate::geometry::shapes;
use crate::quantity::Quantity;
use crate::verdict::target::target;

/// How many times a usual loupe enlarges.
const TIMES: f64 = 10.0;
/// Distance between graduation lines, in mm.
const GRADUATION: f64 = 1.0;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let target = target(&bench.camera);
    let band = target.good_enough();
    let length = |mm| Quantity::Length.write(mm);
    let holes =
        [("Smallest", band.low_mm), ("Best", target.diameter_mm), ("Largest", band.high_mm)];
    // Five lines, or more for a hole that hides them.
    let lines = 5.max(2 * (band.high_mm / GRADUATION).ceil() as usize + 1);
    let middle = (lines - 1) as f64 / 2.0;
    // About as high as wide, as a loupe's field is.
    let width = (lines as f64 - 0.4) * GRADUATION;
    let height = 0.75 * width;
    let panels = holes.map(|(words, diameter)| -> Result<Panel, Error> {
        // One line touches the hole.
        let line = |i: usize| GRADUATION * (i as f64 - middle) - diameter / 2.0;
        Ok(Panel {
            title: format!("{words}: {}, {:.1} to a mm", length(diameter), 1.0 / diameter),
            shows: Shows::Drawing(Drawing {
                span_mm: [width, height],
                openings: vec![shapes::disc(diameter)?],
                rims: Vec::new(),
                strokes: (0..lines).map(line).map(|x| [[x, -height / 2.0], [x, 0.0]]).collect(),
                magnified: Some(TIMES),
            }),
        })
    });
    Ok(Diagram {
        title: format!("Loupe card for {}", bench.camera.name),
        caption: "Hold it beside the loupe. From one black line to the next is a millimetre, as on a \
                  graduated loupe or a steel rule; the hole is right when it fills as much of that as \
                  the one in the middle. Printed 160 mm wide, the card is ten times as large as the \
                  metal. Look against a lamp, never the Sun."
            .into(),
        alternative: format!(
            "Three holes between lines one millimetre apart: {}, {} and {} wide.",
            length(band.low_mm),
            length(target.diameter_mm),
            length(band.high_mm)
        ),
        columns: Columns::Fixed(3),
        panels: panels.into_iter().collect::<Result<_, _>>()?,
    })
}
