//! How much contrast and how much light a hole keeps together, beside the best disc.

use super::Bench;
use crate::camera::PointImage;
use crate::diagram::{Axis, Band, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Point, shapes};
use crate::quantity::{Quantity, significant};
use crate::verdict::merit::eye::acutance_weight as eye;
use crate::verdict::target::target;
use std::f64::consts::FRAC_PI_2;

/// Strips of the hole along each direction: right to 1e-5.
const STRIPS: usize = 256;
const POINTS: usize = 200;
/// What the circles that are marked hold of the light.
const HELD: f64 = 0.8;

pub(crate) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let best_mm = target(camera).diameter_mm;
    let this = PointImage::on_axis(camera, &bench.hole);
    let best = PointImage::on_axis(camera, &shapes::disc(best_mm)?);
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let [low, high] = seen().map(|cycles| cycles * per_cycle);
    let limit = (1.35 * high).min(best.cut_off_lp_per_mm(&best.along(0.0, STRIPS)));
    let mtf = |image: &PointImage, direction: f64| -> Vec<Point> {
        let along = image.along(direction, STRIPS);
        let frequency = |i: usize| limit * i as f64 / POINTS as f64;
        (0..=POINTS).map(frequency).map(|f| [f, image.otf(&along, f).norm()]).collect()
    };
    let of_best = format!("best disc, {}", Quantity::Length.write(best_mm));
    let curve = |name: &str, points, line| Curve { name: name.into(), points, line };
    let circles = [this.encircled(), best.encircled()];
    let held = circles.each_ref().map(|circle| circle.diameter_mm(HELD));
    let widest = 2.2 * held[0].max(held[1]);
    let energy = |i: usize| -> Vec<Point> {
        let diameter = |step: usize| widest * step as f64 / POINTS as f64;
        (0..=POINTS).map(diameter).map(|d| [d, 100.0 * circles[i].within(d)]).collect()
    };
    let [held_here, held_best] = held.map(|mm| Quantity::Length.write(mm));
    let share = 100.0 * HELD;
    Ok(Diagram {
        title: "Contrast and light that this hole keeps together".into(),
        caption: format!(
            "{}, in the middle of the film. The shaded frequencies are those that the eye sees best in the \
             print (at least half of its weight). {share:.0} % of a point's light falls in a circle of \
             {held_here} here, of {held_best} through the best disc. The hole's equivalent diameter is {}.",
            bench.setting(),
            Quantity::Length.write(bench.hole.equivalent_diameter_mm())
        ),
        alternative: format!(
            "Two charts: contrast falling with the fineness of lines for this hole and the best disc, and the \
             light inside circles growing with their diameter, {share:.0} % at {held_here} and {held_best}."
        ),
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "MTF: contrast of lines".into(),
                shows: Shows::Chart(Chart {
                    x: Axis::linear("line pairs per mm on the film", [0.0, limit]),
                    y: Axis::linear("contrast", [0.0, 1.0]),
                    curves: vec![
                        curve("upright lines", mtf(&this, 0.0), Line::First),
                        curve("level lines", mtf(&this, FRAC_PI_2), Line::Third),
                        curve(&of_best, mtf(&best, 0.0), Line::Second),
                    ],
                    marks: Vec::new(),
                    bands: vec![Band {
                        span: [low, high],
                        words: format!(
                            "seen best: {} to {} lp/mm",
                            significant(low, 2),
                            significant(high, 2)
                        ),
                    }],
                }),
            },
            Panel {
                title: "Light inside a circle".into(),
                shows: Shows::Chart(Chart {
                    x: Axis::linear("diameter of the circle on the film, mm", [0.0, widest]),
                    y: Axis::linear("light inside, %", [0.0, 100.0]),
                    curves: vec![
                        curve("this hole", energy(0), Line::First),
                        curve(&of_best, energy(1), Line::Second),
                    ],
                    marks: vec![
                        Mark { x: held[0], words: format!("{share:.0} %: {held_here}") },
                        Mark { x: held[1], words: format!("best: {held_best}") },
                    ],
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

/// The cycles per degree between which the eye's weight is at least half of its highest.
fn seen() -> [f64; 2] {
    // ν^0.8 exp(-0.2 ν) is highest at 0.8/0.2 = 4.
    const HIGHEST: f64 = 4.0;
    let half = eye(HIGHEST) / 2.0;
    let crossing = |mut below: f64, mut above: f64| {
        for _ in 0..60 {
            let middle = (below + above) / 2.0;
            if eye(middle) < half { below = middle } else { above = middle }
        }
        above
    };
    [crossing(0.0, HIGHEST), crossing(40.0, HIGHEST)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::wave::Light;
    use crate::wave::analytic::disc_encircled;

    /// At the ends of the range the weight is half of what it is at 4 cycles per degree, where its
    /// derivative is 0.
    #[test]
    fn the_eye_sees_best_about_four_cycles() {
        let [low, high] = seen();
        assert!(low < 4.0 && high > 4.0);
        assert!(
            (eye(low) / eye(4.0) - 0.5).abs() < 1e-9 && (eye(high) / eye(4.0) - 0.5).abs() < 1e-9
        );
        assert!(eye(3.99) < eye(4.0) && eye(4.01) < eye(4.0));
    }

    /// The curve of a disc's light against Lommel's series, in light of one wavelength.
    #[test]
    fn circles_hold_what_the_series_says() {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = Light::single(550.0).unwrap();
        camera.emulsion.blur_mm = 0.0;
        let (d, z) = (0.3, camera.distances.effective_mm());
        let hole = shapes::disc(d).unwrap();
        let drawn =
            draw(&Bench { camera: camera.clone(), hole, named: true, diameter_mm: None }).unwrap();
        let Shows::Chart(chart) = &drawn.panels[1].shows else { panic!("no chart") };
        let n = d * d / 4.0 / (550e-6 * z);
        let v = camera.distances.film_mm();
        for [diameter, light] in chart.curves[0].points.iter().skip(20).step_by(30) {
            let w = std::f64::consts::PI * d * (diameter / 2.0) / (550e-6 * v);
            let expected = 100.0 * disc_encircled(n, w);
            // Encircled energy from the OTF of a polygon is right to 1e-4.
            assert!((light - expected).abs() < 0.05, "{diameter}: {light} {expected}");
        }
    }
}
