//! A drawn scan of an invented strip of holes.

use super::{Look, NeedleHole, Random, photograph};
use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::Raster;
use std::f64::consts::TAU;

const COLUMNS: usize = 6;
const ROWS: usize = 4;
/// From hole to hole, in mm.
const APART_MM: f64 = 2.5;

/// An invented strip of 24 holes of 0.2 to 0.5 mm, scanned at 2400 dpi: the picture, its mm to a
/// pixel, and the true diameters (of the disc of the same area) in mm, in the order one reads.
///
/// # Errors
/// None in practice: the forms are fixed and sound.
pub fn demonstration_scan() -> Result<(Raster, f64, Vec<f64>), Error> {
    let mm_per_px = 25.4 / 2400.0;
    let mut random = Random(11);
    let (mut loops, mut diameters_mm) = (Vec::new(), Vec::new());
    for row in 0..ROWS {
        for column in 0..COLUMNS {
            let diameter_mm = 0.2 + 0.3 * random.uniform();
            let form = NeedleHole {
                oval: 0.05 * random.uniform(),
                oval_at: TAU * random.uniform(),
                burr: (0.6 * random.uniform() - 0.25).max(0.0),
                burr_at: TAU * random.uniform(),
                seed: (100 + row * COLUMNS + column) as u64,
            };
            let [x, y] = [column, row].map(|at| at as f64 * APART_MM);
            let stray = [0.2 * random.uniform(), 0.2 * random.uniform()];
            let hole = form.outline(diameter_mm)?.moved(x + stray[0], -y - stray[1]);
            diameters_mm.push(hole.equivalent_diameter_mm());
            loops.extend(hole.loops().to_vec());
        }
    }
    let side = |count: usize| (count as f64 * APART_MM / mm_per_px) as usize;
    let first = APART_MM / 2.0 / mm_per_px;
    let look = Look {
        rows: side(ROWS),
        columns: side(COLUMNS),
        mm_per_px,
        centre_px: [first, first],
        blur_px: 0.9,
        fall_off: 0.1,
        wear: 0.5,
        noise: 0.006,
        seed: 3,
        ..Look::default()
    };
    Ok((photograph(&Outline::new(loops)?, &look)?, mm_per_px, diameters_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hole::{Scale, Sheet};
    use std::sync::Arc;

    #[test]
    fn every_hole_of_the_strip_is_measured_as_drawn() {
        let (raster, mm_per_px, truth) = demonstration_scan().unwrap();
        let scale = Scale::read(&format!("{} px = 1 mm", 1.0 / mm_per_px)).unwrap();
        let sheet = Sheet::of_picture(Arc::new(raster), scale).unwrap();
        assert_eq!(sheet.holes.len(), truth.len(), "{:?}", sheet.warnings);
        for (found, truth) in sheet.holes.iter().zip(truth) {
            let size = found.hole.as_ref().unwrap().outline.equivalent_diameter_mm();
            assert!((size / truth - 1.0).abs() < 0.01, "{size} {truth}");
        }
    }
}
