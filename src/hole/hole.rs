//! The one door: a hole from a size, an outline, a photo, or several photos.

use super::scale::Scale;
use super::several::measured;
use super::source::{Photo, Size, Source};
use super::trace::{Traced, trace};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::Quantity;
use crate::raster::Raster;
use std::path::Path;
use std::sync::Arc;

/// Diameters outside these are no pinhole, but a slip of the unit.
const SMALLEST_MM: f64 = 0.005;
const LARGEST_MM: f64 = 20.0;
/// An outline longer than so many of its equivalent diameters is not a hole: a slit 3000 times as long as wide
/// is 49 of them long.
const LONGEST: f64 = 50.0;

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
    /// Whether it was a count or a size, of which nobody saw the rim; none of a traced hole.
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
    /// The hole that a source means: a disc of a size, an outline, or the hole in a photo. Several photos show
    /// one hole, and their sizes are combined.
    ///
    /// # Errors
    /// A fault when no hole can be traced in a photo, or its scale not be found; a limit when the diameter is
    /// outside 0.005 mm to 20 mm.
    pub fn of(source: &Source) -> Result<Hole, Error> {
        let hole = match source {
            Source::Diameter(size) => Hole::of_size(size, Stated::Size)?,
            Source::Count(size) => Hole::of_size(size, Stated::Count)?,
            Source::Outline(outline) => Hole {
                outline: outline.clone(),
                size_uncertainty: SizeUncertainty::default(),
                picture: None,
                photos: Vec::new(),
                stated: None,
                warnings: vec!["The outline file states no uncertainty; none is added.".into()],
            },
            Source::Scan(scan) => {
                return Err(Error::limit(
                    "has too many pixels to look for one hole in",
                    "cut out the part with the hole (up to 120 million pixels), or measure every hole of it",
                )
                .in_file(&scan.name));
            }
            Source::Photos { photos, one_scale } => match &photos[..] {
                [photo] => Hole::of_photo(photo)?,
                photos => measured(photos, *one_scale)?,
            },
        };
        plausible(&hole)?;
        Ok(hole)
    }

    pub(super) fn of_photo(photo: &Photo) -> Result<Hole, Error> {
        let (picture, warnings) = photo.opened()?;
        let scale = photo.scale_in(&picture)?;
        let mut hole = Hole::of_picture(picture, Path::new(&photo.name), scale, photo.place_px)
            .map_err(|why| why.in_file(&photo.name))?;
        hole.warnings.extend(warnings);
        Ok(hole)
    }

    fn of_size(size: &Size, stated: Stated) -> Result<Hole, Error> {
        Ok(Hole {
            outline: shapes::disc(size.diameter_mm)?,
            size_uncertainty: size.uncertainty,
            picture: None,
            photos: Vec::new(),
            stated: Some(stated),
            warnings: vec![match stated {
                Stated::Count => {
                    "The rim was not looked at: a round, clean hole is assumed.".into()
                }
                Stated::Size => "The rim was not looked at: a round, clean hole is assumed. Its size is taken to be \
                                 good to ±3 % unless you say more, as in \"0.34 ± 0.01 mm\"."
                    .into(),
            }],
        })
    }

    /// Traces the hole in a photo, the only one or that at a place (column, row) in pixels; `name` says
    /// in messages which photo it was.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when no hole can be traced, with the reason.
    pub fn of_picture(
        raster: Arc<Raster>,
        name: &Path,
        scale: Scale,
        at_px: Option<[f64; 2]>,
    ) -> Result<Hole, Error> {
        let traced = trace(&raster, at_px, name)?;
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

pub(super) fn plausible(hole: &Hole) -> Result<(), Error> {
    let diameter_mm = hole.outline.equivalent_diameter_mm();
    let (low, high) = hole.outline.bounds_mm();
    let length_mm = (high[0] - low[0]).hypot(high[1] - low[1]);
    if length_mm > LONGEST * diameter_mm {
        return Err(Error::limit(
            format!(
                "the outline is {} long, and its open area is that of a disc of {}",
                Quantity::Length.write(length_mm),
                Quantity::Length.write(diameter_mm)
            ),
            "check its numbers: a decimal point may be missing, or a vertex misplaced",
        ));
    }
    if (SMALLEST_MM..=LARGEST_MM).contains(&diameter_mm) {
        return Ok(());
    }
    Err(Error::limit(
        format!("a hole of {} is not a pinhole", Quantity::Length.write(diameter_mm)),
        format!("check the unit and the scale: {SMALLEST_MM} mm to {LARGEST_MM} mm are taken"),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_become_discs() {
        let of = |words: &str| Hole::of(&Source::of_words(words, None)?);
        let disc = of("0.34 mm").unwrap();
        assert!((disc.outline.equivalent_diameter_mm() - 0.34).abs() < 1e-9);
        assert!((of("4 per mm").unwrap().outline.equivalent_diameter_mm() - 0.25).abs() < 1e-9);
        assert!(of("34 mm").unwrap_err().to_string().contains("not a pinhole"));
    }
}
