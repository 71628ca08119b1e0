//! The one door: a hole from a size, an outline, a photo, or several photos.

use super::hole::{Hole, Stated};
use super::several::measured;
use super::shape::Shape;
use super::source::{Photo, Size, Source};
use super::trace::trace_with_blur;
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::shapes;
use crate::quantity::Quantity;

/// Diameters outside these are no pinhole, but a slip of the unit.
const SMALLEST_MM: f64 = 0.005;
const LARGEST_MM: f64 = 20.0;
/// An outline longer than so many of its equivalent diameters is not a hole: a slit 3000 times as long as wide
/// is 49 of them long.
const LONGEST: f64 = 50.0;

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
            Source::Shape(shape) => Hole::of_shape(shape),
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
        let mut hole = trace_with_blur(&picture, photo.place_px, photo.blur)
            .and_then(|traced| Hole::of_traced(picture, traced, scale))
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
                _ => "The rim was not looked at: a round, clean hole is assumed. Its size is taken to be \
                                 good to ±3 % unless you say more, as in \"0.34 ± 0.01 mm\"."
                    .into(),
            }],
        })
    }

    fn of_shape(shape: &Shape) -> Hole {
        let of_screen = "A zone plate or sieve gathers light at one distance, for one colour. Its light, its picture and its \
                         exposure are computed as they are; advice on work by hand is for single openings.";
        let of_shape = "The shape is taken as you state it, its size good to ±3 % unless you say more, as in \
                        \"± 0.01 mm\" after the sizes.";
        Hole {
            outline: shape.outline.clone(),
            size_uncertainty: shape.uncertainty,
            picture: None,
            photos: Vec::new(),
            stated: shape.is_screen.then_some(Stated::Screen),
            warnings: vec![if shape.is_screen { of_screen } else { of_shape }.into()],
        }
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
    // A disc's polygon has its area but for rounding.
    if (SMALLEST_MM * (1.0 - 1e-9)..=LARGEST_MM * (1.0 + 1e-9)).contains(&diameter_mm) {
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

    /// What the remedy says is taken is taken, at both ends.
    #[test]
    fn the_ends_of_the_range_belong_to_it() {
        let of = |words: &str| Hole::of(&Source::of_words(words, None)?);
        for taken in ["20 mm", "5 um", "0.005 mm"] {
            assert!(of(taken).is_ok(), "{taken}");
        }
        for refused in ["20.001 mm", "4.999 um"] {
            assert!(of(refused).is_err(), "{refused}");
        }
    }

    #[test]
    fn sizes_become_discs() {
        let of = |words: &str| Hole::of(&Source::of_words(words, None)?);
        let disc = of("0.34 mm").unwrap();
        assert!((disc.outline.equivalent_diameter_mm() - 0.34).abs() < 1e-9);
        assert!((of("4 per mm").unwrap().outline.equivalent_diameter_mm() - 0.25).abs() < 1e-9);
        assert!(of("34 mm").unwrap_err().to_string().contains("not a pinhole"));
    }
}
