//! What the thickness of the metal does to light along the ray: diffraction at both rims.

use super::Bench;
use crate::camera::{Camera, PlateModel, PointImage};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Panel, Shows};
use crate::error::Error;
use crate::geometry::Outline;
use crate::quantity::Quantity;
use crate::wave::{Grid, Light};

/// Thicknesses that are compared, in mm, and their lines.
const THICKNESSES: [(f64, Line); 3] =
    [(0.05, Line::Third), (0.1, Line::Second), (0.3, Line::First)];
/// Samples to each side of the middle.
const SAMPLES: usize = 32;
/// How far out the light is drawn, in extents of the point image.
const REACH: f64 = 1.4;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let hole = bench.hole.centred();
    let light = Light::single(bench.camera.light.mean_nm().round())?;
    let camera = Camera { light, ..bench.camera.clone() };
    let image = PointImage::on_axis(&camera, &hole);
    let pitch_mm = REACH * image.extent_mm() / SAMPLES as f64;
    let grid = Grid::new(2 * SAMPLES + 1, pitch_mm)?;
    let across = |plate_mm: f64, plate_model: PlateModel| {
        let camera = Camera { plate_mm, plate_model, ..camera.clone() };
        profile(&camera, &hole, grid)
    };
    let thin = across(0.0, PlateModel::Thin)?;
    let peak = thin.iter().map(|point| point[1]).fold(0.0, f64::max);
    let mut whole = vec![curve("no thickness", Line::Quiet, &thin, |_, light| light / peak)];
    let mut changes = Vec::new();
    let mut most = 0.0f64;
    for (plate_mm, line) in THICKNESSES {
        let thick = across(plate_mm, PlateModel::TwoPlane)?;
        let name = Quantity::Length.write(plate_mm);
        whole.push(curve(&name, line, &thick, |_, light| light / peak));
        let change = curve(&name, line, &thick, |i, light| 100.0 * (light - thin[i][1]) / peak);
        most = change.points.iter().fold(most, |most, point| most.max(point[1].abs()));
        changes.push(change);
    }
    let far = grid.reach_mm();
    let thickest = Quantity::Length.write(THICKNESSES[2].0);
    // A whole per cent that holds all curves.
    let span = most.ceil();
    let along = || Axis::linear("distance from the middle, in mm", [-far, far]);
    Ok(Diagram {
        title: "Thick metal diffracts light twice".into(),
        caption: format!(
            "Light of {:.0} nm through a hole {} wide, along a line across the film: through metal without \
             thickness, and through two rims a thickness apart. Each rim bends light, and the wall between \
             them takes what meets it. The image of a point changes by up to {most:.1} % of its peak for {thickest}.",
            camera.light.mean_nm(),
            Quantity::Length.write(hole.equivalent_diameter_mm()),
        ),
        alternative: format!(
            "Curves of light across a point image for four thicknesses of metal, which nearly coincide, and their \
             differences, which reach {most:.1} % of the peak for {thickest}."
        ),
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "Light across the image of a point".into(),
                shows: Shows::Chart(Chart {
                    x: along(),
                    y: Axis::linear("light, share of the peak", [0.0, 1.1]),
                    curves: whole,
                    marks: Vec::new(),
                    bands: Vec::new(),
                }),
            },
            Panel {
                title: "What the thickness changes".into(),
                shows: Shows::Chart(Chart {
                    x: along(),
                    y: Axis::linear("change, % of the peak", [-span, span]),
                    curves: changes,
                    marks: Vec::new(),
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

/// The light along the film's x through the middle: (place in mm, energy per mm²).
fn profile(camera: &Camera, hole: &Outline, grid: Grid) -> Result<Vec<[f64; 2]>, Error> {
    let psf = PointImage::on_axis(camera, hole).psf(grid)?;
    let place = |i: usize| (i as f64 - SAMPLES as f64) * grid.pitch_mm();
    Ok((0..grid.size()).map(|i| [place(i), psf.density[[SAMPLES, i]]]).collect())
}

fn curve(name: &str, line: Line, profile: &[[f64; 2]], value: impl Fn(usize, f64) -> f64) -> Curve {
    let points = profile.iter().enumerate().map(|(i, [place, light])| [*place, value(i, *light)]);
    Curve { name: name.into(), points: points.collect(), line }
}
