//! Why too small a hole loses twice: it spreads the light, and it makes the camera wait and shake.

use super::Bench;
use crate::camera::{Camera, Support, Timing};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::Point;
use crate::quantity::Quantity;
use crate::verdict::merit::quality_of_disc;
use crate::verdict::target::target;
use rayon::prelude::*;

const FROM_TO: [f64; 2] = [0.3, 2.2];
const SIZES: usize = 120;
/// Where the camera names no movement: a drift that at the best still size takes the image this share of
/// the hole's diameter.
const DRIFT: f64 = 0.6;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let still = Camera { support: None, ..bench.camera.clone() };
    let best_still = target(&still);
    let timing = Timing::of(&still);
    let film_mm = still.distances.film_mm();
    let time = |diameter: f64| timing.needed_s(film_mm / diameter, 1.0);
    let moving = match bench.camera.support {
        Some(_) => bench.camera.clone(),
        None => Camera { support: Some(drift(best_still.diameter_mm, &time)), ..still.clone() },
    };
    let best_moving = target(&moving);
    let [from, to] = FROM_TO.map(|factor| factor * best_still.diameter_mm);
    let over = |value: &(dyn Fn(f64) -> f64 + Sync)| -> Vec<Point> {
        let diameter = |i: usize| from + (to - from) * i as f64 / SIZES as f64;
        (0..=SIZES).into_par_iter().map(diameter).map(|d| [d, value(d)]).collect()
    };
    let losses = |camera: &Camera| over(&|d| best_still.quality - quality_of_disc(camera, d));
    let (lost_still, lost_moving) = (losses(&still), losses(&moving));
    let most = lost_moving.iter().map(|point| point[1]).fold(1.0, f64::max);
    let (metered, needed) = (over(&|d| timing.metered_s(film_mm / d)), over(&time));
    let ends = [metered[SIZES][1], needed[0][1]];
    let curve = |name: &str, points, line| Curve { name: name.into(), points, line };
    let length = |mm| Quantity::Length.write(mm);
    let x = || Axis::linear("diameter of the hole, mm", [from, to]);
    let words = movement(&moving, time(best_moving.diameter_mm));
    let so = if bench.camera.support.is_some() {
        format!("the camera moves: {words}. So the best size")
    } else {
        format!(
            "a camera may move; this one's file says nothing of it. Say that {words}: then the best size"
        )
    };
    Ok(Diagram {
        title: "Too small a hole loses twice".into(),
        caption: format!(
            "{}. Half the diameter asks for four times the time, and more where the emulsion tires \
             (reciprocity failure). While it waits, {so} grows from {} on a \
             rock to {}.",
            bench.setting(),
            length(best_still.diameter_mm),
            length(best_moving.diameter_mm),
        ),
        alternative: format!(
            "Two charts against the diameter: exposure times that fall steeply, and what is lost with and without \
             movement, least at {} and {}.",
            length(best_moving.diameter_mm),
            length(best_still.diameter_mm)
        ),
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "Time".into(),
                shows: Shows::Chart(Chart {
                    x: x(),
                    y: Axis::logarithmic("exposure, s", [0.8 * ends[0], 1.25 * ends[1]]),
                    curves: vec![
                        curve("by the meter", metered, Line::Second),
                        curve("the emulsion needs", needed, Line::First),
                    ],
                    marks: bench.mark().into_iter().collect(),
                    bands: Vec::new(),
                }),
            },
            Panel {
                title: "Lost".into(),
                shows: Shows::Chart(Chart {
                    x: x(),
                    y: Axis::linear("lost against the best steady hole, jnd", [0.0, most]),
                    curves: vec![
                        curve("camera steady", lost_still, Line::Second),
                        curve("camera moving", lost_moving, Line::First),
                    ],
                    marks: [
                        Mark {
                            x: best_still.diameter_mm,
                            words: format!("still: {}", length(best_still.diameter_mm)),
                        },
                        Mark {
                            x: best_moving.diameter_mm,
                            words: format!("moving: {}", length(best_moving.diameter_mm)),
                        },
                    ]
                    .into_iter()
                    .chain(bench.mark())
                    .collect(),
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

fn drift(best_mm: f64, time: &dyn Fn(f64) -> f64) -> Support {
    Support {
        drift_mm_per_s: DRIFT * best_mm / time(best_mm),
        sway: None,
        walk_mm2_per_s: 0.0,
        direction_rad: 0.0,
    }
}

/// What moves, in words, over an exposure of so long.
fn movement(camera: &Camera, time_s: f64) -> String {
    let Some(support) = &camera.support else { return "it is still".into() };
    let length = |mm| Quantity::Length.write(mm);
    let mut words = Vec::new();
    if support.drift_mm_per_s > 0.0 {
        let way = length(support.drift_mm_per_s * time_s);
        words.push(format!(
            "the image drifts by {way} in the {} of the best size",
            Quantity::Time.write(time_s)
        ));
    }
    if let Some(sway) = support.sway {
        words.push(format!("it sways by {}", length(sway.amplitude_mm)));
    }
    if support.walk_mm2_per_s > 0.0 {
        words.push(format!(
            "it wanders by {}",
            length((2.0 * support.walk_mm2_per_s * time_s).sqrt())
        ));
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn waiting_costs_small_holes_most() {
        let camera = Camera::demonstration().unwrap();
        let reciprocal = Camera {
            emulsion: crate::camera::Emulsion { reciprocity: None, ..camera.emulsion.clone() },
            ..camera
        };
        let hole = shapes::disc(0.35).unwrap();
        let drawn =
            draw(&Bench { camera: reciprocal, hole, named: true, diameter_mm: None }).unwrap();
        let charts: Vec<&Chart> = drawn
            .panels
            .iter()
            .filter_map(|panel| match &panel.shows {
                Shows::Chart(chart) => Some(chart),
                _ => None,
            })
            .collect();
        // t d² is the same for every hole (t = N²/(S 2^EV/100), N = v/d).
        for [d, t] in &charts[0].curves[1].points {
            let [first, at] = charts[0].curves[1].points[0];
            assert!((t * d * d / (at * first * first) - 1.0).abs() < 1e-9);
        }
        // Movement takes from every hole, from the smallest the most, and asks for a larger one.
        let taken = |i: usize| charts[1].curves[1].points[i][1] - charts[1].curves[0].points[i][1];
        assert!(taken(0) > taken(SIZES / 2) && taken(SIZES / 2) > taken(SIZES));
        assert!(taken(SIZES) >= -1e-9);
        assert!(charts[1].marks[1].x > charts[1].marks[0].x);
    }
}
