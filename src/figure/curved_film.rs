//! What bending the film does: distance, sharpness and light along the sheet.

use super::Bench;
use crate::camera::exposure::irradiance;
use crate::camera::{Axis as Bend, Camera, Film, Shape};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Panel, Shows};
use crate::error::Error;
use crate::geometry::Point;
use crate::quantity::Quantity;
use crate::verdict::merit::acutance_at;
use rayon::prelude::*;

/// Places along the sheet, to each side of its middle.
const PLACES: usize = 24;
/// A sheet in a tube is shown as far round as this at the most, in rad from the tube's middle: beyond it
/// the flat one would be endless.
const FARTHEST: f64 = 2.0;

/// What is drawn at each place along a sheet.
struct Along {
    distance_mm: Vec<Point>,
    sharpness: Vec<Point>,
    stops: Vec<Point>,
}

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let distance = bench.camera.distances.film_mm();
    let radius_mm = match bench.camera.film.shape {
        Shape::Cylinder { radius_mm, .. } => radius_mm,
        // The hole in the wall of a tube.
        Shape::Flat => distance / 2.0,
    };
    let film = bench.camera.film;
    let length = film.width_mm.max(film.height_mm);
    // What both can hold: the tube's sheet must not come round to the hole, nor the flat one be seen
    // from beside the plate.
    let width_mm = length.min(2.0 * FARTHEST * radius_mm).min(4.0 * distance);
    let sheet = |shape| {
        let mut camera = bench.camera.clone();
        camera.film = Film { width_mm, height_mm: film.width_mm.min(film.height_mm), shape };
        camera
    };
    let flat = along(&sheet(Shape::Flat), bench)?;
    let tube = along(&sheet(Shape::Cylinder { radius_mm, axis: Bend::Vertical }), bench)?;
    let half = width_mm / 2.0;
    let chart = |title: &str, words: &str, of: &dyn Fn(&Along) -> Vec<Point>| {
        let curve =
            |name: &str, along: &Along, line| Curve { name: name.into(), points: of(along), line };
        let curves =
            vec![curve("flat", &flat, Line::Second), curve("bent to a tube", &tube, Line::First)];
        let values = || curves.iter().flat_map(|curve| &curve.points).map(|point| point[1]);
        let (low, high) = values()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let spare = 0.08 * (high - low).max(0.02 * high.abs()).max(0.1);
        Panel {
            title: title.into(),
            shows: Shows::Chart(Chart {
                x: Axis::linear("place on the sheet, mm", [-half, half]),
                y: Axis::linear(words, [low - spare, high + spare]),
                curves,
                marks: Vec::new(),
                bands: Vec::new(),
            }),
        }
    };
    let end = |points: &[Point]| points.last().map_or(0.0, |point| point[1]);
    let [dark_flat, dark_tube] = [&flat, &tube].map(|along| -end(&along.stops));
    // What two circles a small step apart do not share grows as the step itself, and not as its square.
    let kink = if bench.camera.plate_mm > 0.0 {
        format!(
            " The kink in the middle is the metal's: its thickness of {} closes the hole by as much as the light is \
             oblique, the same to either side.",
            Quantity::Length.write(bench.camera.plate_mm)
        )
    } else {
        String::new()
    };
    Ok(Diagram {
        title: "Bending the film evens out the light".into(),
        caption: format!(
            "{}. The hole is {} from the middle of a sheet {} long, flat or bent with a radius of {}. \
             Towards its ends the flat sheet is farther from the hole and gets {dark_flat:.1} \
             stops less light, the bent one {dark_tube:.1} stops. Sharpness is what an eye sees in \
             the print, against the middle; the image of a point grows with the distance and is \
             stretched where light falls at an angle.{kink}",
            bench.setting(),
            Quantity::Length.write(distance),
            Quantity::Length.write(width_mm),
            Quantity::Length.write(radius_mm),
        ),
        alternative: format!(
            "Three charts along a sheet of film: distance from the hole, sharpness and light. The flat sheet \
             loses {dark_flat:.1} stops at its ends, the bent one {dark_tube:.1}."
        ),
        columns: Columns::Free,
        panels: vec![
            chart("Distance", "from the hole, mm", &|along| along.distance_mm.clone()),
            chart("Sharpness", "% of the middle", &|along| along.sharpness.clone()),
            chart("Light", "stops against the middle", &|along| along.stops.clone()),
        ],
    })
}

fn along(camera: &Camera, bench: &Bench) -> Result<Along, Error> {
    let half = camera.film.width_mm / 2.0;
    let places: Vec<f64> = (0..=2 * PLACES)
        .map(|i| half * (i as f64 / PLACES as f64 - 1.0).clamp(-1.0, 1.0))
        .collect();
    let middle = acutance_at(camera, &bench.hole, [0.0, 0.0])?;
    let found = places
        .into_par_iter()
        .map(|x| {
            let at = [x, 0.0];
            let quality = acutance_at(camera, &bench.hole, at)?;
            let light = irradiance(camera, &bench.hole, at)?;
            Ok([x, camera.place(at)?.distance_mm(), 100.0 * quality / middle, light.log2()])
        })
        .collect::<Result<Vec<_>, Error>>()?;
    // Where the plate closes the hole there is neither image nor light.
    let lit = || found.iter().filter(|place| place[2].is_finite() && place[3].is_finite());
    Ok(Along {
        distance_mm: found.iter().map(|place| [place[0], place[1]]).collect(),
        sharpness: lit().map(|place| [place[0], place[2]]).collect(),
        stops: lit().map(|place| [place[0], place[3]]).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// cos⁴ on flat film; on a tube with the hole in its wall, behind a thin plate, none at all.
    #[test]
    fn light_falls_as_geometry_says() {
        let mut camera = Camera::demonstration().unwrap();
        camera.plate_mm = 0.0;
        let (v, hole) = (camera.distances.film_mm(), shapes::disc(0.35).unwrap());
        let drawn = draw(&Bench { camera, hole, named: true, diameter_mm: None }).unwrap();
        let Shows::Chart(chart) = &drawn.panels[2].shows else { panic!("no chart") };
        for [x, stops] in &chart.curves[0].points {
            let expected = 4.0 * (x / v).atan().cos().log2();
            assert!((stops - expected).abs() < 1e-9, "{x}: {stops} {expected}");
        }
        assert!(chart.curves[1].points.iter().all(|[_, stops]| stops.abs() < 1e-9));
    }
}
