//! A hole, and what is known of it.

use super::scale::Scale;
use super::trace::{Traced, trace};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::Raster;
use std::sync::Arc;

/// A hole, and how well its size is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// Its outline in mm, y up: about its centroid when it comes from a photo, in its own frame from
    /// a file, a disc from a size or count.
    pub outline: Outline,
    /// How well its size is known.
    pub size_uncertainty: SizeUncertainty,
    /// The photo it was traced in; of several, the one that shows it best.
    pub picture: Option<Picture>,
    /// What each of several photos said; none of a single one.
    pub photos: Vec<PhotoSize>,
    /// Whether it was a count, a size or a screen, of which nobody saw the rim; none of a traced hole or of a shape.
    pub stated: Option<Stated>,
    /// What to bear in mind.
    pub warnings: Vec<String>,
}

/// How a size is known where no rim was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stated {
    /// A count under the loupe.
    Count,
    /// A size that somebody states.
    Size,
    /// A zone plate or a photon sieve that somebody states: it gathers light like a lens, and has not one rim.
    Screen,
}

/// A photo with the hole traced in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The photo, in linear light.
    pub raster: Arc<Raster>,
    /// What was traced.
    pub traced: Traced,
    /// Its scale.
    pub scale: Scale,
}

/// The size that one photo of a hole gives.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoSize {
    /// The photo.
    pub file: String,
    /// The diameter of the disc of the same area, in mm.
    pub equivalent_diameter_mm: f64,
    /// Its expanded uncertainty (k = 2), in mm.
    pub uncertainty_mm: f64,
}

impl Hole {
    /// Traces the hole in a photo, the only one or that at a place (column, row) in pixels.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when no hole can be traced, with the reason.
    pub fn of_picture(
        raster: Arc<Raster>,
        scale: Scale,
        at_px: Option<[f64; 2]>,
    ) -> Result<Hole, Error> {
        let traced = trace(&raster, at_px)?;
        Hole::of_traced(raster, traced, scale)
    }

    pub(super) fn of_traced(
        raster: Arc<Raster>,
        traced: Traced,
        scale: Scale,
    ) -> Result<Hole, Error> {
        let outline = traced.outline(scale.mm_per_px)?;
        Ok(Hole {
            outline,
            size_uncertainty: SizeUncertainty {
                relative: scale.relative_uncertainty,
                edge_mm: 2.0 * traced.rim_uncertainty.mean_px * scale.mean_mm_per_px(),
                rim_mm: 2.0 * traced.rim_uncertainty.place_px * scale.mean_mm_per_px(),
                blur_mm: traced.blur_px * scale.mean_mm_per_px(),
            },
            photos: Vec::new(),
            stated: None,
            warnings: [&traced.warnings[..], &scale.warnings].concat(),
            picture: Some(Picture { raster, traced, scale }),
        })
    }

    /// Whether the rim was looked at: not by a count or a size.
    pub fn is_rim_seen(&self) -> bool {
        self.stated.is_none()
    }

    /// The expanded uncertainty (k = 2) of its equivalent diameter, in mm.
    pub fn diameter_uncertainty_mm(&self) -> f64 {
        self.size_uncertainty.of_diameter(self.outline.equivalent_diameter_mm())
    }
}
