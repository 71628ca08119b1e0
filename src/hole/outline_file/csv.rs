//! An outline as CSV: the header `x_mm,y_mm`, one vertex a line in mm with y up, a blank line between
//! loops, each closed by itself.

use crate::error::{Error, quoted};
use crate::geometry::{Outline, Point};
use std::fmt::Write;

const HEADER: &str = "x_mm,y_mm";

/// The loops of a text.
pub(super) fn loops(text: &str) -> Result<Vec<Vec<Point>>, Error> {
    parse(text).map_err(|(line, wrong)| {
        Error::damaged(
            wrong,
            "begin the file with x_mm,y_mm; then write one vertex a line in mm, and a blank line between \
             loops",
        )
        .at_line(line)
    })
}

/// The loops of a text, or the line that is not what it should be.
fn parse(text: &str) -> Result<Vec<Vec<Point>>, (usize, String)> {
    let mut lines = text.lines().enumerate().map(|(i, line)| (i + 1, line.trim()));
    match lines.next() {
        Some((_, first)) if first.trim_start_matches('\u{feff}') == HEADER => {}
        Some((_, first)) => {
            return Err((1, format!("the header is {}, not \"{HEADER}\"", quoted(first))));
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
                return Err((number, format!("{} is not two numbers", quoted(line))));
            }
        }
    }
    loops.retain(|points| !points.is_empty());
    Ok(loops)
}

/// The text of an outline, to a hundredth of a nanometre.
pub(super) fn text(outline: &Outline) -> String {
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
        let again = Outline::new(parse(&text(&ring)).unwrap()).unwrap();
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
