//! The image of a point as the hole grows, from the far field to its own shadow.

use super::Bench;
use super::maps::{Brightness, map, point};
use crate::camera::{Camera, PointImage};
use crate::diagram::{Columns, Diagram, Panel, Picture, Shows};
use crate::error::Error;
use crate::geometry::shapes;
use crate::quantity::{Quantity, significant};
use crate::verdict::target::target;
use crate::wave::{MM_PER_NM, Psf, fresnel_number};

/// Fresnel numbers of the smallest and the largest hole, as long as the best lies well between them, and how
/// far at least.
const FROM_TO: [f64; 2] = [0.1, 6.0];
const BESIDE_THE_BEST: f64 = 4.0;
/// Holes below the best one and above it.
const SMALLER: i32 = 2;
const LARGER: i32 = 4;
/// How far a map reaches over the farthest point image.
const ROOM: f64 = 1.2;

/// One of the holes.
struct Step {
    diameter_mm: f64,
    /// At the mean wavelength.
    fresnel_number: f64,
    psf: Psf,
}

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let steps = steps(camera)?;
    let brightest = steps.iter().map(|step| step.psf.peak()).fold(0.0, f64::max);
    let size = |step: &Step| Quantity::Length.write(step.diameter_mm);
    let number = |step: &Step| significant(step.fresnel_number, 2);
    // The hole's own size on each map: what the light would be that went straight on.
    let shadow = camera.distances.shadow_magnification() / 2.0;
    let shown = |step: &Step, peak: f64, brightness| Picture {
        circles_mm: vec![shadow * step.diameter_mm],
        ..map(&step.psf, peak, brightness)
    };
    let best = SMALLER as usize;
    let in_proportion = steps.iter().enumerate().map(|(i, step)| Panel {
        title: format!(
            "{}, N={}{}",
            size(step),
            number(step),
            if i == best { ", best" } else { "" }
        ),
        shows: Shows::Picture(map(&step.psf, step.psf.peak(), Brightness::Linear)),
    });
    let logarithmic = steps.iter().map(|step| Panel {
        title: format!("{}, log", size(step)),
        shows: Shows::Picture(shown(step, brightest, Brightness::Logarithmic)),
    });
    let panels: Vec<Panel> = in_proportion.chain(logarithmic).collect();
    let last = &steps[steps.len() - 1];
    Ok(Diagram {
        title: "A hole grows: from the far field to its own shadow".into(),
        caption: format!(
            "A point seen by {} through perfect discs, all on one scale. N is the Fresnel number \
             (radius²/λz) at the mean wavelength of its light, {:.0} nm. First each map in \
             proportion to its own peak. Then the logarithm over four decades, at one brightness, \
             each hole open as long as its f-number needs, so that all give the same light; the \
             dashed circle is the shadow of straight rays. At N={} the light spreads far beyond \
             it, at N={} it fills it; between them lies the best for the eye, {}.",
            camera.name,
            camera.light.mean_nm(),
            number(&steps[0]),
            number(last),
            size(&steps[best]),
        ),
        alternative: format!(
            "Two rows of {} maps. From left to right a wide spot shrinks, is smallest near {}, and grows into \
             a disc with an even rim as large as the hole.",
            steps.len(),
            size(&steps[best])
        ),
        columns: Columns::Fixed(steps.len()),
        panels,
    })
}

/// Discs by even ratios of the Fresnel number up to the best one and on from it, on one grid.
fn steps(camera: &Camera) -> Result<Vec<Step>, Error> {
    let (nm, z) = (camera.light.mean_nm(), camera.distances.effective_mm());
    let best = fresnel_number(target(camera).diameter_mm / 2.0, nm, z);
    let first = FROM_TO[0].min(best / BESIDE_THE_BEST);
    let last = FROM_TO[1].max(best * BESIDE_THE_BEST);
    let number = |i: i32| {
        let (end, share) = if i < 0 {
            (first, f64::from(-i) / f64::from(SMALLER))
        } else {
            (last, f64::from(i) / f64::from(LARGER))
        };
        best * (end / best).powf(share)
    };
    let holes = (-SMALLER..=LARGER)
        .map(|i| {
            let diameter_mm = 2.0 * (number(i) * nm * MM_PER_NM * z).sqrt();
            Ok((diameter_mm, number(i), shapes::disc(diameter_mm)?))
        })
        .collect::<Result<Vec<_>, Error>>()?;
    let extent = |hole| PointImage::on_axis(camera, hole).extent_mm();
    let reach_mm = ROOM * holes.iter().map(|(_, _, hole)| extent(hole)).fold(0.0, f64::max);
    let step = |(diameter_mm, fresnel_number, hole)| {
        Ok(Step { diameter_mm, fresnel_number, psf: point(camera, &hole, reach_mm)? })
    };
    holes.into_iter().map(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::analytic::disc_on_axis;
    use std::f64::consts::PI;

    /// In the middle each wavelength has 4 sin²(πN/2) of the open wave (`BornWolf`, 8.2), which carries 1/A
    /// to the mm² for a distant subject.
    #[test]
    fn the_middle_of_each_follows_the_zones() {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = crate::wave::Light::single(550.0).unwrap();
        let steps = steps(&camera).unwrap();
        assert_eq!(steps.len(), 7);
        assert!((steps[0].fresnel_number - 0.1).abs() < 1e-12);
        assert!((steps[6].fresnel_number - 6.0).abs() < 1e-12);
        assert!((steps[2].diameter_mm - target(&camera).diameter_mm).abs() < 1e-9);
        for step in &steps {
            let radius = step.diameter_mm / 2.0;
            let of_one = |&(nm, share): &(f64, f64)| {
                let n = fresnel_number(radius, nm, camera.distances.effective_mm());
                share * disc_on_axis(n) / (PI * radius * radius)
            };
            let theory: f64 = camera.light.lines().iter().map(of_one).sum();
            let middle = step.psf.grid().size() / 2;
            let found = step.psf.density[[middle, middle]];
            // The zones are those of paraxial paths, and here paths are exact: k a⁴/8z³ is 1.3e-4 rad at the most.
            assert!((found - theory).abs() < 3e-4 * step.psf.peak(), "{found} {theory}");
        }
    }
}
