//! The outline file: the loops of an outline in mm with y up, as CSV or SVG by the file's ending. What
//! lies inside what decides what is open.

mod csv;
mod svg;

use crate::error::Error;
use crate::geometry::Outline;
use std::fs;
use std::path::Path;

/// A larger file holds more than ten million vertices: no outline of a hole.
const LARGEST_FILE: u64 = 400_000_000;

/// What a file's text is not, and what it should be.
struct Wrong {
    what: String,
    remedy: &'static str,
}

/// The forms of an outline file.
enum Form {
    Csv,
    Svg,
}

impl Form {
    /// The form that a file has by its ending.
    fn of(path: &Path) -> Result<Form, Error> {
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        match ending.as_deref() {
            Some("csv") => Ok(Form::Csv),
            Some("svg") => Ok(Form::Svg),
            _ => Err(Error::file(
                path,
                "is no outline file by its ending",
                "end its name in .csv (a table) or .svg (a drawing)",
            )),
        }
    }
}

/// Whether a name ends as an outline file's does.
pub(super) fn is_outline(path: &Path) -> bool {
    Form::of(path).is_ok()
}

/// Reads an outline file, .csv or .svg.
///
/// # Errors
/// [`Error::File`] when the ending is neither, with what is not as it should be, or when the loops
/// are no outline.
pub fn read(path: &Path) -> Result<Outline, Error> {
    let form = Form::of(path)?;
    let unreadable = |why: String| {
        Error::file(path, format!("cannot be read: {why}"), "check the name; an outline is text")
    };
    let size = fs::metadata(path).map_err(|why| unreadable(why.to_string()))?.len();
    if size > LARGEST_FILE {
        return Err(unreadable(format!("it is {size} bytes long")));
    }
    let text = fs::read_to_string(path).map_err(|why| unreadable(why.to_string()))?;
    let loops = match form {
        Form::Csv => csv::loops(&text),
        Form::Svg => svg::loops(&text),
    };
    let loops = loops.map_err(|wrong| Error::file(path, wrong.what, wrong.remedy))?;
    Outline::new(loops).map_err(|why| Error::file(path, why.to_string(), why.remedy()))
}

/// The text of an outline file of that name, to a hundredth of a nanometre.
///
/// # Errors
/// [`Error::File`] when the ending is neither .csv nor .svg.
pub fn text(outline: &Outline, path: &Path) -> Result<String, Error> {
    Ok(match Form::of(path)? {
        Form::Csv => csv::text(outline),
        Form::Svg => svg::text(outline),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// A disc off the origin with an island, an opening in that, and another opening beside.
    fn islands() -> Outline {
        let rim = |diameter: f64, x: f64| {
            shapes::disc(diameter).unwrap().turned(0.3).moved(x, -0.123_456).loops()[0].clone()
        };
        Outline::new(vec![rim(0.4, 1.0), rim(0.2, 1.02), rim(0.1, 1.03), rim(0.05, 1.4)]).unwrap()
    }

    #[test]
    fn what_is_written_is_read() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["hole.csv", "hole.svg", "HOLE.SVG"] {
            let path = folder.path().join(name);
            for outline in [islands(), shapes::rectangle(0.3, 0.1).unwrap()] {
                fs::write(&path, text(&outline, &path).unwrap()).unwrap();
                let again = read(&path).unwrap();
                assert_eq!(again.loops().len(), outline.loops().len());
                for (loops, other) in outline.loops().iter().zip(again.loops()) {
                    assert_eq!(loops.len(), other.len());
                    for (p, q) in loops.iter().flatten().zip(other.iter().flatten()) {
                        assert!((p - q).abs() < 1e-8, "{name}: {p} became {q}");
                    }
                }
            }
        }
    }

    #[test]
    fn other_endings_are_refused() {
        for name in ["hole.png", "hole", "svg", "hole.csv.txt"] {
            let said = text(&islands(), Path::new(name)).unwrap_err();
            assert!(said.to_string().contains("ending") && said.remedy().contains(".svg"));
            assert!(read(Path::new(name)).is_err());
        }
        assert!(read(Path::new("missing.svg")).unwrap_err().to_string().contains("cannot be read"));
    }
}
