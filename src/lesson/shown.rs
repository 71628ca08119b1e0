//! What lessons show in the same way: the image of a point as a map.

use crate::figure::diagram::Picture;
use crate::wave::Psf;
use image::{Rgb, RgbImage};

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

/// A map of the light of a point, y up; `peak` is the density that is drawn brightest.
pub(super) fn map(psf: &Psf, peak: f64, brightness: Brightness) -> Picture {
    let (rows, columns) = psf.density.dim();
    let image = RgbImage::from_fn(columns as u32, rows as u32, |column, row| {
        let light = psf.density[[rows - 1 - row as usize, column as usize]];
        let colour = colorous::INFERNO.eval_continuous(brightness.of(light / peak));
        Rgb([colour.r, colour.g, colour.b])
    });
    let width_mm = columns as f64 * psf.grid().pitch_mm();
    Picture { image, smooth: true, scale: Some((width_mm, " on the film")), circles_mm: Vec::new() }
}
