//! Why published best sizes differ: each is the best by a measure of its own.

use super::Bench;
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::Point;
use crate::quantity::{Quantity, significant};
use crate::verdict::target::target;
use crate::wave::analytic::{DiscOtf, disc_encircled, disc_on_axis};
use rayon::prelude::*;
use std::f64::consts::PI;

/// Constants c in d = c √(λz) between which the curves are drawn, and how fine.
const FROM_TO: [f64; 2] = [1.0, 2.5];
const STEPS: usize = 600;
/// The share of the light that the circle holds, and of contrast that is left.
const HELD: f64 = 0.8;
const LEFT: f64 = 0.5;
/// The least share of the best that is shown, in %.
const LEAST: f64 = 70.0;

/// A measure of how good a disc is, for one wavelength: more is better.
struct Measure {
    name: &'static str,
    of: fn(f64) -> f64,
    line: Line,
}

/// The Fresnel number of a disc is c²/4.
const MEASURES: [Measure; 4] = [
    Measure { name: "contrast: MTF50", of: mtf50, line: Line::First },
    Measure { name: "peak for the same light", of: peak, line: Line::Second },
    Measure { name: "circle of 80 % of the light", of: circle, line: Line::Third },
    Measure { name: "brightest centre", of: |c| disc_on_axis(c * c / 4.0), line: Line::Fourth },
];

/// The light in the middle over the light of all: like a Strehl ratio, of the far field's own unit.
fn peak(c: f64) -> f64 {
    disc_on_axis(c * c / 4.0) / (c * c)
}

/// One over the diameter that holds 80 % of the light, in units of v √(λ/z).
fn circle(c: f64) -> f64 {
    let held = |diameter: f64| disc_encircled(c * c / 4.0, PI * c * diameter / 2.0);
    let (mut low, mut high) = (0.1, 20.0);
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if held(middle) < HELD { low = middle } else { high = middle }
    }
    1.0 / low
}

/// The frequency at which contrast first falls to one half, in the same units.
fn mtf50(c: f64) -> f64 {
    let otf = DiscOtf::default();
    let contrast = |share: f64| otf.at(c * c / 4.0, share);
    let steps = 200;
    let first = (1..steps).find(|i| contrast(f64::from(*i) / f64::from(steps)) < LEFT);
    let end = f64::from(first.unwrap_or(steps)) / f64::from(steps);
    let (mut low, mut high) = (end - 1.0 / f64::from(steps), end);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if contrast(middle) > LEFT { low = middle } else { high = middle }
    }
    c * low
}

/// A measure over c, in % of its best, and where that is.
fn curve(measure: &Measure) -> (Vec<Point>, f64) {
    let [from, to] = FROM_TO;
    let values: Vec<Point> = (0..=STEPS)
        .into_par_iter()
        .map(|i| from + (to - from) * i as f64 / STEPS as f64)
        .map(|c| [c, (measure.of)(c)])
        .collect();
    let [best, most] =
        values.iter().fold([0.0; 2], |best, one| if one[1] > best[1] { *one } else { best });
    (values.iter().map(|[c, value]| [*c, 100.0 * value / most]).collect(), best)
}

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let target = target(camera);
    let found: Vec<(Vec<Point>, f64)> = MEASURES.iter().map(curve).collect();
    let curves = MEASURES.iter().zip(&found).map(|(measure, (points, best))| Curve {
        name: format!("{}, best at {best:.2}", measure.name),
        points: points.clone(),
        line: measure.line,
    });
    let mut marks: Vec<Mark> = target
        .published
        .iter()
        .map(|rule| Mark {
            x: rule.constant,
            words: format!("{}: {}", rule.author, significant(rule.constant, 3)),
        })
        .collect();
    marks.push(Mark {
        x: target.constant,
        words: format!("for the eye, here: {}", significant(target.constant, 3)),
    });
    let own =
        bench.mark().map(|mark| Mark { x: target.constant * mark.x / target.diameter_mm, ..mark });
    marks.extend(own);
    let length = |mm| Quantity::Length.write(mm);
    let rules = &target.published;
    let ends = rules.first().zip(rules.last());
    let here = ends.map_or(String::new(), |(least, most)| {
        let worst = rules.iter().filter_map(|rule| rule.loss_jnd).fold(0.0, f64::max);
        format!(
            " In {} they are {} to {}; the worst of them loses {worst:.1} jnd for the eye.",
            bench.setting(),
            length(least.diameter_mm),
            length(most.diameter_mm)
        )
    });
    let tops: Vec<String> = MEASURES
        .iter()
        .zip(&found)
        .map(|(measure, (_, best))| format!("{} at {best:.2}", measure.name))
        .collect();
    Ok(Diagram {
        title: "Published sizes differ because each is best at something else".into(),
        caption: format!(
            "The constant c of d = c √(λz), z the effective distance: four measures of a perfect disc in light of one \
             wavelength, in the middle of the film, each in % of its own best. They agree about light; each calls something else \
             the best, and all their tops are flat. Above: what was published.{here}"
        ),
        alternative: format!("Four curves with flat tops: {}.", tops.join("; ")),
        columns: Columns::Free,
        panels: vec![Panel {
            title: String::new(),
            shows: Shows::Chart(Chart {
                x: Axis::linear("constant c of the diameter, d = c √(λz)", FROM_TO),
                y: Axis::linear("% of its best", [LEAST, 100.0]),
                curves: curves.collect(),
                marks,
                bands: Vec::new(),
            }),
        }],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where each measure is best: the brightest centre at c = 2 (one zone); the peak where tan x = 2x, x = πc²/8 = 1.165561 (by
    /// hand, from the derivative of sin²x/x); the others computed elsewhere, by quadrature of Lommel's integral: 1.3765 and 1.7935.
    #[test]
    fn each_measure_has_its_own_best() {
        let best = |i: usize| curve(&MEASURES[i]).1;
        let step = (FROM_TO[1] - FROM_TO[0]) / STEPS as f64;
        let peak = (8.0 * 1.165_561_185_207_211_3 / PI).sqrt();
        for (i, expected) in [(0, 1.376_506), (1, peak), (2, 1.793_529), (3, 2.0)] {
            // Half a step of the curve, and a flat top's rounding.
            assert!((best(i) - expected).abs() < 0.51 * step + 1e-6, "{i}: {} {expected}", best(i));
        }
    }
}
