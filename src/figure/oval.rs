//! An oval hole: sharp one way, soft the other.

use super::Bench;
use super::maps::{Brightness, map, point};
use crate::camera::{Camera, PointImage};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Drawing, Line, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::quantity::{Quantity, jnd, significant};
use crate::verdict::merit::quality;
use crate::verdict::target::target;
use std::f64::consts::FRAC_PI_2;

/// Length over width.
const RATIO: f64 = 1.5;
/// How much more than the hole its drawing shows, and how far the map reaches in extents of the image.
const AROUND: f64 = 1.3;
const REACH: f64 = 1.2;
/// Wavelengths that stand for all, strips of the hole, points of a curve, and how far the curves go in
/// shares of the disc's cut-off: beyond, nothing is left.
const LINES: usize = 7;
const STRIPS: usize = 512;
const POINTS: usize = 160;
const FARTHEST: f64 = 0.8;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let target = target(camera);
    let disc = shapes::disc(target.diameter_mm)?;
    let [length, width] = axes(target.diameter_mm);
    let oval = shapes::ellipse(length, width)?;
    let image = PointImage::on_axis(camera, &oval);
    let psf = point(camera, &oval, REACH * image.extent_mm())?;
    let curves = [
        ("along the oval", &oval, 0.0, Line::First),
        ("across the oval", &oval, FRAC_PI_2, Line::Second),
        ("the best disc", &disc, 0.0, Line::Third),
    ];
    let round = PointImage::on_axis(camera, &disc);
    let finest = FARTHEST * round.cut_off_lp_per_mm(&round.along(0.0, STRIPS));
    let curves = curves.map(|(name, hole, direction, line)| Curve {
        name: name.into(),
        points: mtf(camera, hole, direction, finest),
        line,
    });
    let [along, across, any] = curves.each_ref().map(|curve| significant(half(&curve.points), 3));
    let loss = jnd(target.quality - quality(camera, &oval));
    let [length, width] = [length, width].map(|mm| Quantity::Length.write(mm));
    let best = Quantity::Length.write(target.diameter_mm);
    let span = AROUND * RATIO.sqrt() * target.diameter_mm;
    Ok(Diagram {
        title: "An oval hole images differently along its two axes".into(),
        caption: format!(
            "An oval of {length} by {width} in {}, of the same area as its best disc, {best}. Half \
             the contrast is left at {along} line pairs per mm along the oval, at {across} across \
             it, and at {any} with the disc: along each axis the oval images like a disc of that \
             width, too large or too small. For the eye it loses {loss}.",
            bench.setting(),
        ),
        alternative: format!(
            "An oval hole, the image of a point through it, and three curves of contrast: half is left at \
             {along} line pairs per mm along the oval, {across} across it and {any} with the best disc."
        ),
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "The oval; dashed: the best disc".into(),
                shows: Shows::Drawing(Drawing {
                    span_mm: [span, span],
                    openings: vec![oval],
                    rims: vec![(disc, Line::Second)],
                    strokes: Vec::new(),
                    magnified: None,
                }),
            },
            Panel {
                title: "The image of a point".into(),
                shows: Shows::Picture(map(&psf, psf.peak(), Brightness::Linear)),
            },
            Panel {
                title: "What is left of contrast (MTF)".into(),
                shows: Shows::Chart(Chart {
                    x: Axis::linear("line pairs per mm on the film", [0.0, finest]),
                    y: Axis::linear("contrast", [0.0, 1.0]),
                    curves: curves.to_vec(),
                    marks: Vec::new(),
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

/// Length and width of an oval of a disc's area.
fn axes(diameter_mm: f64) -> [f64; 2] {
    [diameter_mm * RATIO.sqrt(), diameter_mm / RATIO.sqrt()]
}

/// Contrast of lines that follow each other in a direction.
fn mtf(camera: &Camera, hole: &Outline, direction_rad: f64, finest: f64) -> Vec<Point> {
    let image = PointImage::on_axis(camera, hole).in_light(&camera.light.condensed(LINES));
    let along = image.along(direction_rad, STRIPS);
    let frequency = |i: usize| finest * i as f64 / POINTS as f64;
    (0..=POINTS).map(|i| [frequency(i), image.otf(&along, frequency(i)).norm()]).collect()
}

/// Where a curve of contrast first falls to a half, by straight lines between its points.
fn half(curve: &[Point]) -> f64 {
    let fall = curve.windows(2).find(|two| two[1][1] < 0.5);
    fall.map_or(f64::INFINITY, |two| {
        let [[x0, y0], [x1, y1]] = [two[0], two[1]];
        x0 + (x1 - x0) * (y0 - 0.5) / (y0 - y1)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::analytic::DiscOtf;
    use crate::wave::{MM_PER_NM, fresnel_number};

    /// Stretching a hole across a direction changes nothing of its OTF along it: both the overlap's integral
    /// and the area grow alike. So an ellipse has along each axis the OTF of the disc as wide, here in closed
    /// form (`Goodman`, 6.3-6.4) and with all wavelengths.
    #[test]
    fn an_oval_is_two_discs() {
        let camera = Camera::demonstration().unwrap();
        let sizes = axes(0.38);
        assert!((sizes[0] * sizes[1] / 0.38f64.powi(2) - 1.0).abs() < 1e-12);
        let oval = shapes::ellipse(sizes[0], sizes[1]).unwrap();
        let closed = DiscOtf::default();
        for (direction, width) in [(0.0, sizes[0]), (FRAC_PI_2, sizes[1])] {
            for [f, found] in mtf(&camera, &oval, direction, 5.0).into_iter().step_by(10) {
                let of_one = |&(nm, share): &(f64, f64)| {
                    let sigma = f * nm * MM_PER_NM * camera.distances.film_mm() / width;
                    let n = fresnel_number(width / 2.0, nm, camera.distances.effective_mm());
                    share * closed.at(n, sigma)
                };
                let theory: f64 = camera.light.lines().iter().map(of_one).sum();
                // Seven wavelengths for all; an OTF has a kink where it ends, at high frequencies.
                assert!((found - theory.abs()).abs() < 1e-3, "{direction} {f}: {found} {theory}");
            }
        }
    }
}
