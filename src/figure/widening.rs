//! The image of a point and a picture while the hole is widened, frame by frame.

use super::Bench;
use super::detail::Detail;
use super::maps::{Brightness, map};
use crate::camera::PointImage;
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Point, shapes};
use crate::quantity::Quantity;
use crate::verdict::merit::quality_of_disc;
use crate::verdict::target::target;
use crate::wave::Grid;
use rayon::prelude::*;

/// Diameters over the best one, from the first frame to the last, in equal ratios.
const FROM_TO: [f64; 2] = [0.3, 3.0];
const FRAMES: usize = 24;
/// Samples of the map to each side of its middle.
const SAMPLES: usize = 100;
/// The error of their light, as a share of the peak: what the map to the film may drop is a thousand times as much, one
/// of the 256 steps of brightness.
const TOLERANCE: f64 = 4e-6;

pub(super) fn draw(bench: &Bench) -> Result<Vec<Diagram>, Error> {
    let camera = &bench.camera;
    let best = target(camera);
    let ratio = (FROM_TO[1] / FROM_TO[0]).powf(1.0 / (FRAMES - 1) as f64);
    let sizes: Vec<f64> =
        (0..FRAMES).map(|i| best.diameter_mm * FROM_TO[0] * ratio.powi(i as i32)).collect();
    let losses: Vec<Point> =
        sizes.par_iter().map(|&d| [d, best.quality - quality_of_disc(camera, d)]).collect();
    let scene = Detail::of(camera)?;
    let frame = |&diameter: &f64| frame(bench, diameter, best.diameter_mm, &losses, &scene);
    sizes.par_iter().map(frame).collect()
}

fn frame(
    bench: &Bench,
    diameter: f64,
    best_mm: f64,
    losses: &[Point],
    scene: &Detail,
) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let hole = shapes::disc(diameter)?;
    // As wide in every frame as the largest shadow and a half.
    let half_mm = 0.75 * FROM_TO[1] * best_mm * camera.distances.shadow_magnification();
    let grid = Grid::new(2 * SAMPLES + 1, half_mm / SAMPLES as f64)?;
    let psf = PointImage::on_axis(camera, &hole).with_tolerance(TOLERANCE).psf(grid)?;
    let side = match diameter / best_mm {
        ratio if ratio < 0.8 => "too small",
        ratio if ratio > 1.25 => "too large",
        _ => "about the best",
    };
    let size = Quantity::Length.write(diameter);
    let most = losses.iter().map(|point| point[1]).fold(1.0, f64::max);
    let ends = FROM_TO.map(|factor| factor * best_mm);
    Ok(Diagram {
        title: format!("{size}: {side}"),
        caption: format!(
            "{}: a perfect disc while it is widened. Too small, and diffraction spreads the light of a \
             point; too large, and the hole's own shadow does. The image of a point is drawn to its own brightest; \
             the picture is a detail of one scene at equal exposure, {} wide on the film.",
            bench.setting(),
            Quantity::Length.write(scene.width_mm())
        ),
        alternative: format!(
            "A disc of {size}, {side}: the image of a point, a detail of a picture and the curve of what is lost."
        ),
        columns: Columns::Fixed(3),
        panels: vec![
            Panel {
                title: "A point".into(),
                shows: Shows::Picture(map(&psf, psf.peak(), Brightness::Linear)),
            },
            Panel {
                title: "A picture".into(),
                shows: Shows::Picture(scene.through(camera, &hole)?),
            },
            Panel {
                title: "Lost".into(),
                shows: Shows::Chart(Chart {
                    x: Axis::logarithmic("diameter, mm", ends),
                    y: Axis::linear("lost against the best, jnd", [0.0, most]),
                    curves: vec![Curve {
                        name: String::new(),
                        points: losses.to_vec(),
                        line: Line::First,
                    }],
                    marks: std::iter::once(Mark { x: diameter, words: "now".into() })
                        .chain(bench.mark())
                        .collect(),
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;

    /// The frames pass the best size, and the mark of each stands on the curve at its own diameter.
    #[test]
    fn frames_grow_and_pass_the_best() {
        let camera = Camera::demonstration().unwrap();
        let best = target(&camera).diameter_mm;
        let frames = draw(&Bench {
            camera,
            hole: shapes::disc(0.3).unwrap(),
            named: true,
            diameter_mm: None,
        })
        .unwrap();
        assert_eq!(frames.len(), FRAMES);
        let charts: Vec<&Chart> = frames
            .iter()
            .filter_map(|frame| match &frame.panels[2].shows {
                Shows::Chart(chart) => Some(chart),
                _ => None,
            })
            .collect();
        let curve = &charts[0].curves[0].points;
        let top = curve.iter().min_by(|a, b| a[1].total_cmp(&b[1])).unwrap();
        // Between two frames at the most: a tenth of its size.
        assert!((top[0] / best - 1.0).abs() < 0.11, "{} {best}", top[0]);
        for (chart, point) in charts.iter().zip(curve) {
            assert!((chart.marks[0].x / point[0] - 1.0).abs() < 1e-12);
        }
    }
}
