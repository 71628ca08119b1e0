//! What figures show in the same way: the image of a point as a map, and two pictures as one.

use crate::camera::{Camera, PointImage};
use crate::diagram::Picture;
use crate::error::Error;
use crate::geometry::Outline;
use crate::wave::{Grid, Psf};
use image::{Rgb, RgbImage, imageops};

/// Samples of a map from its middle to its edge: more than it has pixels in a figure of several.
const SAMPLES: usize = 160;
/// The line between two pictures that stand for one, as a share of their width, and its colour, which is
/// seen on light and on dark ground.
const LINE_BETWEEN: f64 = 0.02;
const GREY: Rgb<u8> = Rgb([128; 3]);

/// How light becomes brightness on a map.
#[derive(Debug, Clone, Copy)]
pub(super) enum Brightness {
    /// In proportion.
    Linear,
    /// By its logarithm, four decades down from the brightest.
    Logarithmic,
}

impl Brightness {
    /// 0 to 1 for a share of the brightest.
    fn of(self, share: f64) -> f64 {
        const DECADES: f64 = 4.0;
        match self {
            Brightness::Linear => share.clamp(0.0, 1.0),
            Brightness::Logarithmic => {
                let along = 1.0 + share.log10() / DECADES;
                if along.is_finite() { along.clamp(0.0, 1.0) } else { 0.0 }
            }
        }
    }
}

/// The grid of a map that reaches so far from its middle, in mm.
pub(super) fn grid(reach_mm: f64) -> Result<Grid, Error> {
    Grid::new(2 * SAMPLES + 1, reach_mm / SAMPLES as f64)
}

/// The image of a point in the middle of the film, out to `reach_mm` to each side.
pub(super) fn point(camera: &Camera, hole: &Outline, reach_mm: f64) -> Result<Psf, Error> {
    PointImage::on_axis(camera, hole).psf(grid(reach_mm)?)
}

/// A map of the light of a point, y up; `peak` is the density that is drawn brightest.
pub(super) fn map(psf: &Psf, peak: f64, brightness: Brightness) -> Picture {
    let (rows, columns) = psf.density.dim();
    let image = RgbImage::from_fn(columns as u32, rows as u32, |column, row| {
        let light = psf.density[[rows - 1 - row as usize, column as usize]];
        let colour = colorous::INFERNO.eval_continuous(brightness.of(light / peak));
        Rgb([colour.r, colour.g, colour.b])
    });
    let width_mm = columns as f64 * psf.grid().pitch_mm();
    Picture {
        image,
        smooth: true,
        scale: Some((width_mm, " on the film")),
        circles_mm: Vec::new(),
        samples: vec![psf.density.clone()],
    }
}

/// Two pictures of one scale and one size side by side.
pub(super) fn pair([left, right]: [Picture; 2]) -> Picture {
    let (columns, rows) = left.image.dimensions();
    let line = ((f64::from(columns) * LINE_BETWEEN).round() as u32).max(1);
    let width = columns + line + right.image.width();
    let mut image = RgbImage::from_pixel(width, rows, GREY);
    imageops::replace(&mut image, &left.image, 0, 0);
    imageops::replace(&mut image, &right.image, i64::from(columns + line), 0);
    let wider = f64::from(width) / f64::from(columns.max(1));
    let scale = left.scale.map(|(width_mm, on)| (width_mm * wider, on));
    let samples = [left.samples, right.samples].concat();
    Picture { image, scale, circles_mm: Vec::new(), samples, ..left }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_keeps_the_scale_of_its_parts() {
        let picture = |level| Picture {
            image: RgbImage::from_pixel(100, 50, Rgb([level; 3])),
            smooth: true,
            scale: Some((2.0, "")),
            circles_mm: Vec::new(),
            samples: Vec::new(),
        };
        let both = pair([picture(7), picture(9)]);
        assert_eq!(both.image.dimensions(), (202, 50));
        assert!((both.scale.unwrap().0 - 4.04).abs() < 1e-12);
        let level = |x| both.image.get_pixel(x, 20).0[0];
        assert_eq!([level(99), level(100), level(101), level(102)], [7, 128, 128, 9]);
    }
}
