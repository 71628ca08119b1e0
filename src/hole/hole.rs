//! The one door: a hole from words, a file or a photo.

use super::count::{read_count, read_size};
use super::outline_file;
use super::scale::Scale;
use super::trace::{Traced, trace};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::Quantity;
use crate::raster::{self, Raster, Transfer};
use std::path::Path;

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
    /// The photo it was traced in.
    pub picture: Option<Picture>,
    /// What to bear in mind.
    pub warnings: Vec<String>,
}

/// A photo with the hole traced in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The photo, in linear light.
    pub raster: Raster,
    /// What was traced.
    pub traced: Traced,
    /// Its scale.
    pub scale: Scale,
}

impl Hole {
    /// Reads a hole from words: a diameter ("0.34 mm"), a count ("4.5 per mm"), or the path of an
    /// outline (.csv) or a photo (.png .jpg .jpeg .tif .tiff), which needs a scale.
    ///
    /// # Errors
    /// [`Error::Words`] when the words are none of these; [`Error::File`] when a file cannot be used;
    /// [`Error::Limit`] when the diameter is outside 0.005 mm to 20 mm.
    pub fn read(words: &str, scale: Option<&str>, transfer: Transfer) -> Result<Hole, Error> {
        let words = words.trim();
        let path = Path::new(words);
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let hole = match ending.as_deref() {
            Some("png" | "jpg" | "jpeg" | "tif" | "tiff") => {
                let scale = scale.map(Scale::read).transpose()?;
                // Opened before a scale is asked for: a wrong name is the more useful news.
                let picture = raster::open(path, transfer)?;
                Hole::of_picture(picture, path, scale.ok_or_else(|| no_scale(path))?)?
            }
            _ if scale.is_some() => {
                return Err(Error::words(
                    words,
                    "is no photo, so a scale means nothing",
                    "leave the scale out",
                ));
            }
            Some("csv") => Hole {
                outline: outline_file::read(path)?,
                size_uncertainty: SizeUncertainty::default(),
                picture: None,
                warnings: vec!["The outline file states no uncertainty; none is added.".into()],
            },
            _ => Hole::of_words(words)?,
        };
        plausible(words, &hole)?;
        Ok(hole)
    }

    fn of_words(words: &str) -> Result<Hole, Error> {
        let (diameter_mm, size_uncertainty) = match read_count(words)? {
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
            warnings: vec![
                "A size alone says nothing of the form: a perfect disc is assumed.".into(),
            ],
        })
    }

    /// Traces the hole in a photo; `name` says in messages which photo it was.
    ///
    /// # Errors
    /// [`Error::File`] when no hole can be traced, with the reason.
    pub fn of_picture(raster: Raster, name: &Path, scale: Scale) -> Result<Hole, Error> {
        let traced = trace(&raster, None, name)?;
        let outline = traced.outline(scale.mm_per_px)?;
        Ok(Hole {
            outline,
            size_uncertainty: SizeUncertainty {
                relative: scale.relative_uncertainty,
                edge_mm: 2.0 * traced.rim_uncertainty.mean_px * scale.mm_per_px,
                rim_mm: 0.0,
            },
            warnings: traced.warnings.clone(),
            picture: Some(Picture { raster, traced, scale }),
        })
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
        "give a diameter (\"0.34 mm\"), a count (\"4.5 per mm\"), an outline (.csv) or a photo \
         (.png .jpg .jpeg .tif .tiff)",
    )
}

fn no_scale(path: &Path) -> Error {
    Error::file(
        path,
        "nothing says how many pixels make a millimetre, so no size can be given",
        "give the scale: \"412 px = 1 mm\" for a length you know in the picture, or \"2400 dpi\" for a scan",
    )
}

fn plausible(words: &str, hole: &Hole) -> Result<(), Error> {
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

    #[test]
    fn words_become_holes() {
        let read = |words| Hole::read(words, None, Transfer::ByFile);
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
        assert!(Hole::read("0.3 mm", Some("400 px = 1 mm"), Transfer::ByFile).is_err());
    }
}
