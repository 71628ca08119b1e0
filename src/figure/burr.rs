//! What a burr does to the light.

use super::Bench;
use super::detail::Detail;
use super::maps::{Brightness, map, pair, point};
use crate::camera::PointImage;
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Drawing, Line, Panel, Picture, Shows};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::hole::{Side, burrs, without_burrs};
use crate::quantity::{Quantity, jnd, significant};
use crate::verdict::merit::quality;
use crate::wave::{Chords, Distances, Light, Spread};

/// The burr of a hole that has none, in shares of the radius and in rad: a coarse one.
const DEPTH: f64 = 0.6;
const HALF_WIDTH: f64 = 0.25;
const DIRECTION: f64 = 0.6;
/// How much more than the hole its drawing shows.
const AROUND: f64 = 1.15;
/// How far the map of a point and the star reach, in extents of the point image.
const POINT: f64 = 1.2;
const STAR: f64 = 4.0;
/// Wavelengths that stand for all, strips of the hole, and points of the curve of an edge.
const LINES: usize = 7;
const STRIPS: usize = 512;
const POINTS: usize = 200;

/// A hole as it is and without its burrs, and the direction of the deepest one.
struct Pair {
    burred: Outline,
    clean: Outline,
    direction_rad: f64,
    depth_mm: f64,
    /// Whether the burr is the hole's own.
    own: bool,
}

impl Pair {
    fn of(hole: &Outline) -> Result<Pair, Error> {
        if let Some(burr) = burrs(hole).into_iter().find(|burr| burr.side == Side::Inward) {
            return Ok(Pair {
                burred: hole.clone(),
                clean: without_burrs(hole)?,
                direction_rad: burr.angle_deg.to_radians(),
                depth_mm: burr.depth_mm,
                own: true,
            });
        }
        let diameter = hole.equivalent_diameter_mm();
        let depth_mm = DEPTH * diameter / 2.0;
        Ok(Pair {
            burred: shapes::burred_disc(diameter, DIRECTION, HALF_WIDTH, depth_mm)?,
            clean: shapes::disc(diameter)?,
            direction_rad: DIRECTION,
            depth_mm,
            own: false,
        })
    }
}

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let holes = Pair::of(&bench.hole)?;
    let extent = PointImage::on_axis(camera, &holes.clean).extent_mm();
    let side_by_side = |show: &dyn Fn(&Outline) -> Result<Picture, Error>| {
        Ok::<_, Error>(Shows::Picture(pair([show(&holes.burred)?, show(&holes.clean)?])))
    };
    let one = |reach_mm: f64, brightness| {
        side_by_side(&|hole| {
            let psf = point(camera, hole, reach_mm)?;
            Ok(map(&psf, psf.peak(), brightness))
        })
    };
    let detail = Detail::of(camera)?;
    let light = camera.light.condensed(LINES);
    let reach = 1.5 * extent;
    let across = |hole: &Outline| edge(hole, holes.direction_rad, &light, camera.distances, reach);
    let (with, without) = (across(&holes.burred), across(&holes.clean));
    let places = with.iter().zip(&without);
    let change = places.map(|(a, b)| (a[1] - b[1]).abs()).fold(0.0, f64::max);
    let difference: Vec<Point> =
        with.iter().zip(&without).map(|(a, b)| [a[0], 100.0 * (a[1] - b[1])]).collect();
    let tallest = 110.0 * change;
    let change = significant(100.0 * change, 2);
    let (low, high) = holes.clean.bounds_mm();
    let span = AROUND * low.iter().chain(&high).fold(0.0f64, |most, c| most.max(c.abs())) * 2.0;
    let loss = jnd(quality(camera, &holes.clean) - quality(camera, &holes.burred));
    let depth = Quantity::Length.write(holes.depth_mm);
    let size = Quantity::Length.write(holes.clean.equivalent_diameter_mm());
    let whose = if holes.own {
        format!(
            "The hole on the bench, {size} without its burrs; the deepest reaches {depth} into it."
        )
    } else {
        format!(
            "The hole on the bench has no burr: here is a disc of its size, {size}, with an invented one of \
             {depth}."
        )
    };
    let panels = vec![
        Panel {
            title: "The hole; dashed: its burr cut off".into(),
            shows: Shows::Drawing(Drawing {
                span_mm: [2.0 * span, span],
                openings: vec![holes.burred.clone()],
                rims: vec![(holes.clean.clone(), Line::Second)],
                strokes: Vec::new(),
                magnified: None,
            }),
        },
        Panel {
            title: "A point: with the burr, without".into(),
            shows: one(POINT * extent, Brightness::Linear)?,
        },
        Panel {
            title: "A bright star (logarithmic): with, without".into(),
            shows: one(STAR * extent, Brightness::Logarithmic)?,
        },
        Panel {
            title: "A detail: with, without".into(),
            shows: side_by_side(&|hole| detail.through(camera, hole))?,
        },
        Panel {
            title: "What the burr changes of an edge".into(),
            shows: Shows::Chart(Chart {
                x: Axis::linear("place on the film, mm", [-reach, reach]),
                y: Axis::linear("with less without, % of the step", [-tallest, tallest]),
                curves: vec![Curve { name: String::new(), points: difference, line: Line::Third }],
                marks: Vec::new(),
                bands: Vec::new(),
            }),
        },
    ];
    Ok(Diagram {
        title: "What a burr does".into(),
        caption: format!(
            "{whose} In {} that costs {loss} for the eye, and the light across an \
             edge changes by {change} % of its step at the most. What a burr throws aside is \
             faint: it shows around a bright star, here over four decades. Each map is drawn to \
             its own peak. The edge runs across the direction of the deepest burr and is the \
             hole's light alone; the detail is of an invented landscape, {} wide on the film.",
            bench.setting(),
            Quantity::Length.write(detail.width_mm()),
        ),
        alternative: format!(
            "A hole with a burr of {depth}, and beside each other the image of a point, a star with its rays, \
             and a detail of a picture with the burr and without it; a curve of what it changes of an edge, \
             {change} % at the most."
        ),
        columns: Columns::Free,
        panels,
    })
}

/// The light across an edge that is dark below and 1 above, along a direction.
fn edge(
    hole: &Outline,
    direction_rad: f64,
    light: &Light,
    distances: Distances,
    reach_mm: f64,
) -> Vec<Point> {
    let chords = Chords::along(hole, direction_rad, STRIPS);
    let spread = Spread::along(&chords, light, distances);
    let place = |i: usize| reach_mm * (2.0 * i as f64 / POINTS as f64 - 1.0);
    (0..=POINTS).map(|i| [place(i), spread.edge_at(place(i))]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::figure::maps::grid;

    /// The edge is the light of a point on one side of a line, added up on a map: no OTF has part in it.
    #[test]
    fn an_edge_is_the_sum_of_its_points() {
        let camera = Camera::demonstration().unwrap();
        let burred = shapes::burred_disc(0.35, 0.0, 0.3, 0.1).unwrap();
        let light = camera.light.condensed(LINES);
        let reach = 6.0;
        let image = PointImage::on_axis(&camera, &burred).in_light(&light);
        let psf = image.psf(grid(reach).unwrap()).unwrap();
        let (pitch, middle) = (psf.grid().pitch_mm(), psf.grid().size() / 2);
        let [centroid, _] = {
            let shift = camera.distances.shadow_magnification();
            burred.centroid_mm().map(|c| c * shift)
        };
        let curve = edge(&burred, 0.0, &light, camera.distances, 0.5);
        for (i, [x, lit]) in curve.iter().enumerate().step_by(20) {
            // An edge that begins at 0 lights x by all points that lie within x of it.
            let sum: f64 = psf
                .density
                .indexed_iter()
                .map(|((_, column), density)| {
                    let left = (column as f64 - middle as f64 - 0.5) * pitch - centroid;
                    density * pitch * pitch * ((x - left) / pitch).clamp(0.0, 1.0)
                })
                .sum();
            // Half of the light that falls beyond the map, λvP/(2π²AR) by its inscribed circle: 0.5 %.
            println!("{i} {x}: {lit} {sum}");
            assert!((lit - sum).abs() < 6e-3, "{x}: {lit} {sum}");
        }
    }

    #[test]
    fn a_hole_without_a_burr_is_given_one() {
        let disc = shapes::disc(0.4).unwrap();
        let given = Pair::of(&disc).unwrap();
        assert!(!given.own && given.burred.area_mm2() < given.clean.area_mm2());
        // What is found on the hole that was given one is that burr, but for the smooth rim's own error.
        let found = Pair::of(&given.burred).unwrap();
        assert!(found.own && (found.depth_mm / given.depth_mm - 1.0).abs() < 0.02);
        assert!((found.clean.area_mm2() / disc.area_mm2() - 1.0).abs() < 0.01);
    }
}
