//! `gauge`: every measurement of a hole.

use crate::hole::{Hole, Sizes};
use serde::Serialize;

/// What is measured on a hole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The picture's scale; null when the hole came from no picture.
    pub scale: Option<ScaleAnswer>,
    /// The hole's sizes.
    pub hole: Sizes,
    /// What to bear in mind about them.
    pub warnings: Vec<String>,
}

/// The scale of a picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScaleAnswer {
    /// Millimetres to a pixel.
    pub mm_per_px: f64,
    /// Where that comes from.
    pub source: String,
    /// Expanded uncertainty over the value.
    pub relative_uncertainty: f64,
}

/// Measures a hole.
pub fn run(hole: &Hole) -> Answer {
    let picture = hole.picture.as_ref();
    Answer {
        scale: picture.map(|picture| ScaleAnswer {
            mm_per_px: picture.scale.mm_per_px,
            source: picture.scale.source.clone(),
            relative_uncertainty: picture.scale.relative_uncertainty,
        }),
        hole: Sizes::of(
            &hole.outline,
            &hole.size_uncertainty,
            picture.map(|picture| picture.traced.centroid_px),
        ),
        warnings: hole.warnings.clone(),
    }
}
