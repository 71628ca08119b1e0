//! Why the best hole is neither large nor small.

use super::Bench;
use crate::diagram::{Axis, Band, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::Point;
use crate::quantity::Quantity;
use crate::quantity::jnd;
use crate::verdict::merit::{quality, quality_of_disc};
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
        [diameter, target.quality - quality_of_disc(camera, diameter)]
    });
    let points: Vec<Point> = points.collect();
    let worst = points.iter().map(|point| point[1]).fold(1.0, f64::max);
    let length = |mm| Quantity::Length.write(mm);
    let mut marks = vec![Mark {
        x: target.diameter_mm,
        words: format!("best here: {}", length(target.diameter_mm)),
    }];
    for rule in &target.published {
        let words = format!("{}: {}", rule.author, length(rule.diameter_mm));
        marks.push(Mark { x: rule.diameter_mm, words });
    }
    let mut yours = String::new();
    if let Some(mark) = bench.mark() {
        let (own, lost) = (mark.x, jnd(target.quality - quality(camera, &bench.hole)));
        marks.push(mark);
        yours = format!(" Yours, {} wide, loses {lost} with its form.", length(own));
    }
    let band = target.good_enough();
    let best = length(target.diameter_mm);
    Ok(Diagram {
        title: "The best hole is neither large nor small".into(),
        caption: format!(
            "{}: what an eye can tell in the print, against the diameter of a perfect disc. A smaller hole \
             spreads light by diffraction, a larger one by its own shadow; between them lies {best}. The top \
             is flat: from {} to {} no eye can tell the difference (less than 1 jnd).{yours}",
            bench.setting(),
            length(band.low_mm),
            length(band.high_mm)
        ),
        alternative: format!(
            "A curve that falls to nothing at {best} and rises again on both sides."
        ),
        columns: Columns::Free,
        panels: vec![Panel {
            title: String::new(),
            shows: Shows::Chart(Chart {
                x: Axis::linear("diameter of the hole, mm", [from, to]),
                y: Axis::linear("lost against the best, jnd", [0.0, worst]),
                curves: vec![Curve { name: "loss".into(), points, line: Line::First }],
                marks,
                bands: vec![Band {
                    span: [band.low_mm, band.high_mm],
                    words: "less than 1 jnd".into(),
                }],
            }),
        }],
    })
}
