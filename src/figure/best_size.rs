//! Why the best hole is neither large nor small.

use super::Bench;
use crate::diagram::{Axis, Band, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::quantity::Quantity;
use crate::verdict::quality::quality_of_disc;
use crate::verdict::target::target;
use rayon::prelude::*;

/// Diameters over the best one between which the curve is drawn, and how many.
const FROM_TO: [f64; 2] = [0.3, 2.6];
const SIZES: usize = 160;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let target = target(camera);
    let [from, to] = FROM_TO.map(|factor| factor * target.diameter_mm);
    let points = (0..=SIZES).into_par_iter().map(|i| {
        let diameter = from + (to - from) * i as f64 / SIZES as f64;
        [diameter, 100.0 * quality_of_disc(camera, diameter) / target.quality]
    });
    let length = |mm| Quantity::Length.write(mm);
    let mut marks = vec![Mark {
        x: target.diameter_mm,
        words: format!("best here: {}", length(target.diameter_mm)),
    }];
    for rule in &target.published {
        let words = format!("{}: {}", rule.author, length(rule.diameter_mm));
        marks.push(Mark { x: rule.diameter_mm, words });
    }
    let band = target.good_enough();
    let best = length(target.diameter_mm);
    Ok(Diagram {
        title: "The best hole is neither large nor small".into(),
        caption: format!(
            "{}: what an eye sees in the print, against the diameter of a perfect disc. A smaller hole \
             spreads light by diffraction, a larger one by its own shadow; between them lies {best}. The top \
             is flat: from {} to {} nobody loses more than 5 %.",
            camera.name,
            length(band.low_mm),
            length(band.high_mm)
        ),
        alternative: format!(
            "A curve that rises to its top at {best} and falls again on both sides."
        ),
        columns: Columns::Free,
        panels: vec![Panel {
            title: String::new(),
            shows: Shows::Chart(Chart {
                x: Axis::linear("diameter of the hole, mm", [from, to]),
                y: Axis::linear("sharpness, % of the best", [0.0, 105.0]),
                curves: vec![Curve {
                    name: "sharpness".into(),
                    points: points.collect(),
                    line: Line::First,
                }],
                marks,
                bands: vec![Band {
                    span: [band.low_mm, band.high_mm],
                    words: "loses at most 5 %".into(),
                }],
            }),
        }],
    })
}
