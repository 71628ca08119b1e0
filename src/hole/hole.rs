//! The one door: a hole from words, a file, a photo, or several photos.

use super::count::{read_count, read_size};
use super::outline_file;
use super::scale::Scale;
use super::several::{combined, share_blur};
use super::source::{Source, opened};
use super::trace::{Traced, trace};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::Quantity;
use crate::raster::Raster;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Diameters outside these are no pinhole, but a slip of the unit.
const SMALLEST_MM: f64 = 0.005;
const LARGEST_MM: f64 = 20.0;

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
    /// What to bear in mind.
    pub warnings: Vec<String>,
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
    pub file: PathBuf,
    /// The diameter of the disc of the same area, in mm.
    pub equivalent_diameter_mm: f64,
    /// Its expanded uncertainty (k = 2), in mm.
    pub uncertainty_mm: f64,
}

impl Hole {
    /// Reads a hole from words: a diameter ("0.34 mm"), a count ("4.5 per mm"), or the path of an
    /// outline (.csv .svg) or a photo (.png .jpg .jpeg .tif .tiff), which needs a scale. Several photos are
    /// taken to show one hole, and their sizes are combined.
    ///
    /// # Errors
    /// [`Error::Words`] when the words are none of these; [`Error::File`] when a file cannot be used;
    /// [`Error::Limit`] when the diameter is outside 0.005 mm to 20 mm.
    pub fn read(source: &Source) -> Result<Hole, Error> {
        source.check()?;
        let hole = match &source.holes[..] {
            [words] => Hole::of_one(words.trim(), source, 0)?,
            photos => {
                let one = |(i, words): (usize, &String)| {
                    Ok((PathBuf::from(words.trim()), Hole::of_one(words.trim(), source, i)?))
                };
                let mut each: Vec<(PathBuf, Hole)> =
                    photos.iter().enumerate().map(one).collect::<Result<_, Error>>()?;
                let one_scale = source.scales.len() < 2;
                if one_scale {
                    share_blur(&mut each, source)?;
                }
                combined(each, one_scale)?
            }
        };
        plausible(&source.holes.join(", "), &hole)?;
        Ok(hole)
    }

    fn of_one(words: &str, source: &Source, index: usize) -> Result<Hole, Error> {
        let path = Path::new(words);
        if Source::is_photo(words) {
            let (raster, scale) = opened(path, source, index)?;
            return Hole::of_picture(Arc::new(raster), path, scale, source.at(index));
        }
        if outline_file::is_outline(path) {
            return Ok(Hole {
                outline: outline_file::read(path)?,
                size_uncertainty: SizeUncertainty::default(),
                picture: None,
                photos: Vec::new(),
                warnings: vec!["The outline file states no uncertainty; none is added.".into()],
            });
        }
        Hole::of_words(words, source.reading)
    }

    fn of_words(words: &str, reading: Option<f64>) -> Result<Hole, Error> {
        let (diameter_mm, size_uncertainty) = match read_count(words, reading)? {
            Some(counted) => counted,
            None if words.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
                read_size(words)?
            }
            None => return Err(no_hole(words)),
        };
        Ok(Hole {
            outline: shapes::disc(diameter_mm)?,
            size_uncertainty,
            picture: None,
            photos: Vec::new(),
            warnings: vec![
                "A size alone says nothing of the form: a perfect disc is assumed.".into(),
            ],
        })
    }

    /// Traces the hole in a photo, the only one or that at a place (column, row) in pixels; `name` says
    /// in messages which photo it was.
    ///
    /// # Errors
    /// [`Error::File`] when no hole can be traced, with the reason.
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
            warnings: [&traced.warnings[..], &scale.warnings].concat(),
            picture: Some(Picture { raster, traced, scale }),
        })
    }

    /// The expanded uncertainty (k = 2) of its equivalent diameter, in mm.
    pub fn diameter_uncertainty_mm(&self) -> f64 {
        self.size_uncertainty.of_diameter(self.outline.equivalent_diameter_mm())
    }
}

fn no_hole(words: &str) -> Error {
    let path = Path::new(words);
    let wrong = if path.is_dir() {
        "is a folder, not a hole"
    } else if path.exists() {
        "is a file, but by its ending neither an outline nor a photo"
    } else if path.components().count() > 1 || path.extension().is_some() {
        "is no hole, and there is no such file"
    } else {
        "is no hole"
    };
    Error::words(
        words,
        wrong,
        "give a diameter (\"0.34 mm\"), a count (\"4.5 per mm\"), an outline (.csv .svg) or a photo \
         (.png .jpg .jpeg .tif .tiff)",
    )
}

pub(super) fn plausible(words: &str, hole: &Hole) -> Result<(), Error> {
    let diameter_mm = hole.outline.equivalent_diameter_mm();
    if (SMALLEST_MM..=LARGEST_MM).contains(&diameter_mm) {
        return Ok(());
    }
    Err(Error::limit(
        format!("{words}: a hole of {} is no pinhole", Quantity::Length.write(diameter_mm)),
        format!("check the unit and the scale: {SMALLEST_MM} mm to {LARGEST_MM} mm are taken"),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster;

    #[test]
    fn words_become_holes() {
        let read = |words: &str| Hole::read(&Source::of(words));
        let disc = read("0.34 mm").unwrap();
        assert!((disc.outline.equivalent_diameter_mm() - 0.34).abs() < 1e-9);
        assert!((read("4 per mm").unwrap().outline.equivalent_diameter_mm() - 0.25).abs() < 1e-9);
        let cases = [
            ("hello", "is no hole"),
            ("0.34", "no unit"),
            ("0,34 mm", "comma"),
            ("34 mm", "no pinhole"),
            ("0 mm", "above zero"),
            ("missing.csv", "cannot be read"),
            ("missing.png", "does not exist"),
            ("missing.webp", "no such file"),
            ("folder/hole", "no such file"),
            ("src", "folder"),
            ("Cargo.toml", "ending"),
            ("", "is no hole"),
        ];
        for (words, expected) in cases {
            let said = read(words).unwrap_err().to_string();
            assert!(said.contains(expected), "{words}: {said}");
        }
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join("hole.PNG");
        let white = Raster { linear: ndarray::Array3::ones((3, 20, 20)) };
        let bytes = raster::png(&raster::display(&white).unwrap()).unwrap();
        std::fs::write(&photo, bytes).unwrap();
        let unscaled = read(&photo.to_string_lossy()).unwrap_err().to_string();
        assert!(unscaled.contains("how many pixels"), "{unscaled}");
    }
}
