//! One scene through holes from too small to too large, and through the one on the bench.

use super::Bench;
use super::detail::Detail;
use crate::diagram::{Columns, Diagram, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::jnd;
use crate::quantity::{Quantity, significant};
use crate::verdict::merit::quality;
use crate::verdict::target::target;
use rayon::prelude::*;

/// Diameters over the best one: by even ratios, as far that nobody takes the ends for good.
const FACTORS: [(&str, f64); 5] =
    [("Tiny", 0.4), ("Small", 0.632), ("Best", 1.0), ("Large", 1.58), ("Huge", 2.5)];

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let target = target(camera);
    let mut holes: Vec<(&str, Outline)> = FACTORS
        .iter()
        .map(|&(words, factor)| Ok((words, shapes::disc(factor * target.diameter_mm)?)))
        .collect::<Result<_, Error>>()?;
    let (whose, sixth) = if bench.named {
        ("Yours", "yours, the one on the bench")
    } else {
        ("With a burr", "an invented one with a burr")
    };
    holes.push((whose, bench.hole.clone()));
    let detail = Detail::of(camera)?;
    let width = Quantity::Length.write(detail.width_mm());
    let length = |hole: &Outline| Quantity::Length.write(hole.equivalent_diameter_mm());
    let lost = |hole: &Outline| jnd(target.quality - quality(camera, hole));
    let panels: Vec<Panel> = holes
        .par_iter()
        .map(|(words, hole)| {
            let title = format!("{words}: {}, {} lost", length(hole), lost(hole));
            Ok(Panel { title, shows: Shows::Picture(detail.through(camera, hole)?) })
        })
        .collect::<Result<_, Error>>()?;
    let titles: Vec<&str> = panels.iter().map(|panel| panel.title.as_str()).collect();
    let alternative = format!("The same farmhouse six times: {}.", titles.join("; "));
    Ok(Diagram {
        title: "One scene through a hole that grows".into(),
        caption: format!(
            "A detail of an invented landscape, {width} wide on the film of {}, through five perfect discs and \
             through {sixth}, all at the same brightness, for which by the meter the \
             smallest disc is open {} times as long as the largest. Beside each size stands what it loses against the best, in just-noticeable differences (jnd). All of the detail is drawn by the image of a point in the middle of the \
             film. Too small a hole blurs by diffraction, too large a one by its own shadow.",
            bench.setting(),
            significant((FACTORS[4].1 / FACTORS[0].1).powi(2), 2),
        ),
        alternative,
        columns: Columns::Free,
        panels,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::raster::decode;

    /// Of one scene at one brightness the sharpest picture has the steepest edges: the sum of squared
    /// steps between neighbours, which has no part in how the best size is found.
    #[test]
    fn the_best_hole_has_the_steepest_edges() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.4 * target(&camera).diameter_mm).unwrap();
        let drawn = draw(&Bench { camera, hole, named: true, diameter_mm: None }).unwrap();
        let measured: Vec<[f64; 2]> = drawn
            .panels
            .iter()
            .map(|panel| {
                let Shows::Picture(picture) = &panel.shows else { panic!("no picture") };
                let light =
                    |x: u32, y: u32| decode(f64::from(picture.image.get_pixel(x, y).0[1]) / 255.0);
                let (columns, rows) = picture.image.dimensions();
                let mut sums = [0.0; 2];
                for (x, y) in (0..rows).flat_map(|y| (1..columns).map(move |x| (x, y))) {
                    sums[0] += (light(x, y) - light(x - 1, y)).powi(2);
                    sums[1] += light(x, y);
                }
                sums
            })
            .collect();
        let best = measured[2];
        for (i, [edges, light]) in measured.iter().enumerate() {
            println!("{i}: edges {:.3}, light {:.4}", edges / best[0], light / best[1]);
            assert!(i == 2 || *edges < 0.95 * best[0], "{i}");
            // What a wide kernel carries over the detail's border, and rounding to 255 levels.
            assert!((light / best[1] - 1.0).abs() < 0.03, "{i}");
        }
        // The hole on the bench is the smallest of the five.
        assert!((measured[5][0] / measured[0][0] - 1.0).abs() < 1e-6);
    }
}
