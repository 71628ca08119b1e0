//! The outline file: the loops of an outline in mm with y up, as CSV or SVG by the file's ending. What
//! lies inside what decides what is open.

mod csv;
mod svg;

use crate::error::{Error, quoted};
use crate::geometry::Outline;
use std::path::Path;

/// The forms of an outline file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A table of vertices.
    Csv,
    /// A drawing of one path.
    Svg,
}

impl Form {
    /// The form that a file has by the ending of its name.
    ///
    /// # Errors
    /// A fault for endings other than .csv and .svg.
    pub fn of_name(name: &str) -> Result<Form, Error> {
        let ending =
            Path::new(name).extension().map(|ending| ending.to_string_lossy().to_lowercase());
        match ending.as_deref() {
            Some("csv") => Ok(Form::Csv),
            Some("svg") => Ok(Form::Svg),
            _ => Err(Error::not_understood(
                format!("{} ends neither in .csv nor in .svg", quoted(name)),
                "end the name of an outline in .csv (a table) or .svg (a drawing)",
            )),
        }
    }
}

/// Reads the text of an outline file.
///
/// # Errors
/// A fault with the line, where there is one, when the text is not of that form, or its loops are not an
/// outline.
pub fn parse(text: &str, form: Form) -> Result<Outline, Error> {
    Outline::new(match form {
        Form::Csv => csv::loops(text)?,
        Form::Svg => svg::loops(text)?,
    })
}

/// Writes the text of an outline file, to a hundredth of a nanometre.
pub fn text(outline: &Outline, form: Form) -> String {
    match form {
        Form::Csv => csv::text(outline),
        Form::Svg => svg::text(outline),
    }
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
        for name in ["hole.csv", "hole.svg", "HOLE.SVG"] {
            let form = Form::of_name(name).unwrap();
            for outline in [islands(), shapes::rectangle(0.3, 0.1).unwrap()] {
                let again = parse(&text(&outline, form), form).unwrap();
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
            let said = Form::of_name(name).unwrap_err();
            assert!(said.to_string().contains("ends neither") && said.remedy().contains(".svg"));
        }
    }
}
