//! How far the samples of a PSF may be from the light itself.

use crate::camera::PointImage;
use crate::error::Error;
use crate::wave::Grid;
use serde::Serialize;

/// Above this sum an answer says so, and names the largest part.
const WORTH_A_WARNING: f64 = 1e-3;
/// Above this one a verdict on the hole could change (common practice, no source).
const DOUBTFUL: f64 = 0.05;

/// Bounds of the errors of a PSF's samples, each as a share of the peak.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct TotalError {
    /// The sums themselves: what [`PointImage`] was asked for.
    pub numerics: f64,
    /// What the second-order expansion of distances drops: it touches the MTF and the circles alone, for
    /// the samples take their exact paths.
    pub dropped_phase: f64,
    /// The straight map of each tile of film, off the axis and for wide patches.
    pub film_patch_map: f64,
    /// The distance between the lines of a continuous spectrum.
    pub spectral_step: f64,
    /// The plate's thickness for light along the axis, which is computed for a thin plate.
    pub plate_thickness: f64,
    /// Polarisation and the metal's own edge, which a scalar wave does not know.
    pub vector_effects: f64,
    /// All of them together.
    pub sum: f64,
    /// The key of the largest.
    pub largest: &'static str,
}

impl TotalError {
    /// The errors of a point image on a grid.
    ///
    /// # Errors
    /// As [`PointImage::spectral_error`].
    pub fn of(image: &PointImage, grid: Grid) -> Result<TotalError, Error> {
        let parts = [
            ("numerics", image.tolerance()),
            ("dropped_phase", image.dropped_from_contrast()),
            ("film_patch_map", image.map_error(grid)),
            ("spectral_step", image.spectral_error(grid)?),
            ("plate_thickness", image.plate_error()),
            ("vector_effects", image.vector_error()),
        ];
        let [
            numerics,
            dropped_phase,
            film_patch_map,
            spectral_step,
            plate_thickness,
            vector_effects,
        ] = parts.map(|part| part.1);
        let largest =
            parts.iter().fold(
                ("numerics", 0.0),
                |largest, part| {
                    if part.1 > largest.1 { *part } else { largest }
                },
            );
        Ok(TotalError {
            numerics,
            dropped_phase,
            film_patch_map,
            spectral_step,
            plate_thickness,
            vector_effects,
            sum: parts.iter().map(|part| part.1).sum(),
            largest: largest.0,
        })
    }

    /// Whether the sum is so large that a verdict on the hole may not rest on the samples.
    pub fn is_doubtful(&self) -> bool {
        self.sum > DOUBTFUL
    }

    /// What is to be said where the sum is not small.
    pub fn remark(&self) -> Option<String> {
        let because = match self.largest {
            "numerics" => "the sums",
            "dropped_phase" => "the hole, which is large for its distances",
            "film_patch_map" => "the slant and size of the piece of film",
            "spectral_step" => "the steps between the spectrum's lines",
            "plate_thickness" => "the thickness of the plate, which is computed as a thin one",
            _ => "the hole's own edge, which is a fair part of so small a hole",
        };
        (self.sum > WORTH_A_WARNING).then(|| {
            format!(
                "These figures may be off by up to {:.1} % of the peak. Most of that comes from {because}.",
                100.0 * self.sum.min(1.0)
            )
        })
    }
}
