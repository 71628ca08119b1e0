//! The outline file: CSV with the header `x_mm,y_mm`, one vertex a line in mm with y up, a blank line
//! between loops, each closed by itself. What lies inside what decides what is open.

use crate::error::Error;
use crate::geometry::{Outline, Point};
use std::fmt::Write;
use std::fs;
use std::path::Path;

const HEADER: &str = "x_mm,y_mm";
/// A larger file holds more than ten million vertices: no outline of a hole.
const LARGEST_FILE: u64 = 400_000_000;

/// Reads an outline file.
///
/// # Errors
/// [`Error::File`] with the line that is not what it should be, or when the loops are no outline.
pub fn read(path: &Path) -> Result<Outline, Error> {
    let unreadable = |why: String| {
        Error::file(
            path,
            format!("cannot be read: {why}"),
            "check the name; an outline is CSV text",
        )
    };
    let size = fs::metadata(path).map_err(|why| unreadable(why.to_string()))?.len();
    if size > LARGEST_FILE {
        return Err(unreadable(format!("it is {size} bytes long")));
    }
    let text = fs::read_to_string(path).map_err(|why| unreadable(why.to_string()))?;
    let loops = parse(&text).map_err(|(line, wrong)| {
        Error::file(
            path,
            format!("line {line}: {wrong}"),
            "the file begins with x_mm,y_mm; then one vertex a line in mm, a blank line between loops",
        )
    })?;
    Outline::new(loops).map_err(|why| Error::file(path, why.to_string(), why.remedy()))
}

fn parse(text: &str) -> Result<Vec<Vec<Point>>, (usize, String)> {
    let mut lines = text.lines().enumerate().map(|(i, line)| (i + 1, line.trim()));
    match lines.next() {
        Some((_, first)) if first.trim_start_matches('\u{feff}') == HEADER => {}
        Some((_, first)) => {
            let start: String = first.chars().take(40).collect();
            return Err((1, format!("the header is \"{start}\", not \"{HEADER}\"")));
        }
        None => return Err((1, "the file is empty".into())),
    }
    let mut loops = vec![Vec::new()];
    for (number, line) in lines {
        if line.is_empty() {
            loops.push(Vec::new());
            continue;
        }
        let vertex = line.split_once(',').and_then(|(x, y)| {
            Some([x.trim().parse::<f64>().ok()?, y.trim().parse::<f64>().ok()?])
        });
        match (vertex, loops.last_mut()) {
            (Some(vertex), Some(current)) => current.push(vertex),
            _ => {
                let start: String = line.chars().take(40).collect();
                return Err((number, format!("\"{start}\" is not two numbers")));
            }
        }
    }
    loops.retain(|points| !points.is_empty());
    Ok(loops)
}

/// The text of an outline file, to a hundredth of a nanometre.
pub fn to_csv(outline: &Outline) -> String {
    let mut text = format!("{HEADER}\n");
    for (i, points) in outline.loops().iter().enumerate() {
        if i > 0 {
            text.push('\n');
        }
        for [x, y] in points {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{x:.8},{y:.8}");
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn what_is_written_is_read() {
        let ring = shapes::annulus(0.4, 0.1).unwrap();
        let again = Outline::new(parse(&to_csv(&ring)).unwrap()).unwrap();
        assert!((again.area_mm2() / ring.area_mm2() - 1.0).abs() < 1e-7);
        assert_eq!(again.loops().len(), 2);
    }

    #[test]
    fn bad_lines_are_named() {
        let cases =
            [("", 1), ("x,y\n0,0", 1), ("x_mm,y_mm\n0,0\n1;0", 3), ("x_mm,y_mm\n0,0\n\n1,0,5", 4)];
        for (text, line) in cases {
            assert_eq!(parse(text).unwrap_err().0, line, "{text}");
        }
    }
}
