//! An outline as SVG: one path of straight lines, a unit to a mm, filled by the even-odd rule.
//!
//! SVG counts y downwards, so y is turned on the way out and on the way in: on the screen the hole
//! stands as it does on the bench.

use crate::error::{Error, cut, printable, quoted};
use crate::geometry::{Outline, Point};
use resvg::usvg::roxmltree::{Document, Node};
use std::fmt::Write;

const REMEDY: &str = "give one <path> with fill-rule=\"evenodd\" and only absolute M, L and Z in it, no \
                      transform, and width, height and viewBox in mm; a drawing program may have to \
                      turn curves into lines, or save the outline as CSV";

/// The loops of a text.
pub(super) fn loops(text: &str) -> Result<Vec<Vec<Point>>, Error> {
    parse(text).map_err(|what| Error::damaged(what, REMEDY))
}

fn parse(text: &str) -> Result<Vec<Vec<Point>>, String> {
    let document = Document::parse(text)
        .map_err(|why| format!("is not an SVG drawing: {}", printable(&why.to_string())))?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return Err(format!(
            "is not an SVG drawing: it begins with <{}>",
            cut(root.tag_name().name())
        ));
    }
    units_are_mm(root)?;
    if let Some(moved) = root.descendants().find(is_moved) {
        return Err(format!("<{}> has a transform", cut(moved.tag_name().name())));
    }
    let elements: Vec<Node<'_, '_>> = root.children().filter(Node::is_element).collect();
    let [path] = elements[..] else {
        return Err(format!("it holds {} elements, not one path", elements.len()));
    };
    if path.tag_name().name() != "path" {
        return Err(format!("it holds a <{}>, not a path", cut(path.tag_name().name())));
    }
    if path.attribute("fill-rule") != Some("evenodd") {
        return Err("the path's fill-rule is not \"evenodd\"".into());
    }
    subpaths(path.attribute("d").unwrap_or_default())
}

/// Whether an element is moved, turned or stretched, by an attribute or by its style (CSS Transforms 2).
fn is_moved(node: &Node<'_, '_>) -> bool {
    let style = node.attribute("style").unwrap_or_default().to_lowercase();
    node.has_attribute("transform")
        || ["transform", "translate", "rotate", "scale", "offset", "zoom"]
            .iter()
            .any(|property| style.contains(property))
}

/// Refuses a drawing whose unit is not the mm.
fn units_are_mm(root: Node<'_, '_>) -> Result<(), String> {
    let length = |name: &str| {
        let value = root.attribute(name).and_then(|text| text.trim().strip_suffix("mm"));
        value
            .and_then(|number| number.trim().parse::<f64>().ok())
            .filter(|length| *length > 0.0)
            .ok_or_else(|| format!("its {name} is not given in mm"))
    };
    let size = [length("width")?, length("height")?];
    let view: Vec<f64> = root
        .attribute("viewBox")
        .unwrap_or_default()
        .split([' ', ','])
        .filter_map(|number| number.parse().ok())
        .collect();
    let [_, _, width, height] = view[..] else {
        return Err("its viewBox is not four numbers".into());
    };
    // To a millionth: a scale is rounded when it is written.
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a;
    if same(size[0], width) && same(size[1], height) {
        return Ok(());
    }
    Err(format!(
        "a unit of its viewBox is not a mm: {width} x {height} units stand on {} x {} mm",
        size[0], size[1]
    ))
}

/// The closed subpaths of path data, y turned up.
fn subpaths(data: &str) -> Result<Vec<Vec<Point>>, String> {
    let (mut loops, mut open) = (Vec::new(), None::<Vec<Point>>);
    for (command, numbers) in commands(data)? {
        let points: Vec<Point> = numbers.chunks_exact(2).map(|pair| [pair[0], -pair[1]]).collect();
        let paired = !points.is_empty() && numbers.len() % 2 == 0;
        match (command, open.as_mut()) {
            ('M', None) if paired => open = Some(points),
            ('L', Some(line)) if paired => line.extend(points),
            ('Z', Some(_)) if numbers.is_empty() => loops.extend(open.take()),
            ('M' | 'L' | 'Z', _) => {
                return Err(format!(
                    "path {}: {command} with {} numbers does not belong there",
                    loops.len() + 1,
                    numbers.len()
                ));
            }
            _ => return Err(format!("the path has the command {command}, not only M, L and Z")),
        }
    }
    if open.is_some() {
        return Err(format!("path {} is not closed by Z", loops.len() + 1));
    }
    Ok(loops)
}

/// The commands of path data with their numbers.
fn commands(data: &str) -> Result<Vec<(char, Vec<f64>)>, String> {
    // An e belongs to a number.
    let is_command = |c: char| c.is_alphabetic() && c != 'e' && c != 'E';
    let start = data.find(is_command).unwrap_or(data.len());
    if !data[..start].trim().is_empty() {
        return Err("the path does not begin with M".into());
    }
    let starts: Vec<(usize, char)> = data.char_indices().filter(|(_, c)| is_command(*c)).collect();
    let ends = starts.iter().skip(1).map(|(at, _)| *at).chain([data.len()]);
    starts
        .iter()
        .zip(ends)
        .map(|(&(at, command), end)| {
            data[at + command.len_utf8()..end]
                .split(|c: char| c.is_whitespace() || c == ',')
                .filter(|word| !word.is_empty())
                .map(|word| {
                    word.parse().map_err(|_| {
                        format!("the path has {}, which is not a number", quoted(word))
                    })
                })
                .collect::<Result<Vec<f64>, String>>()
                .map(|numbers| (command, numbers))
        })
        .collect()
}

/// The text of an outline, to a hundredth of a nanometre.
pub(super) fn text(outline: &Outline) -> String {
    let (low, high) = outline.bounds_mm();
    // A twentieth of the hole around it, so that a line along the rim is not cut off.
    let around = 0.05 * (high[0] - low[0]).max(high[1] - low[1]);
    let [width, height] = [0, 1].map(|axis| high[axis] - low[axis] + 2.0 * around);
    let mut data = String::new();
    for points in outline.loops() {
        for (i, [x, y]) in points.iter().enumerate() {
            let command = if i == 0 { 'M' } else { 'L' };
            // Writing to a string cannot fail; a line each, so that it can be compared and mended.
            let _ = writeln!(data, "{command} {x:.8} {:.8}", -y);
        }
        data.push_str("Z\n");
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.8}mm\" height=\"{height:.8}mm\" \
         viewBox=\"{:.8} {:.8} {width:.8} {height:.8}\">\n<path fill-rule=\"evenodd\" d=\"\n{data}\"/>\n\
         </svg>\n",
        low[0] - around,
        -high[1] - around,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(path: &str) -> String {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='2mm' height='1 mm' viewBox='0,0 2 1'>{path}</svg>"
        )
    }

    #[test]
    fn y_points_up_and_numbers_may_follow_each_other() {
        let text = drawing("<path fill-rule='evenodd' d='M0 0 1,0L1e0-1Z'/>");
        assert!(parse(&text).is_err());
        let text = drawing("<path fill-rule='evenodd' d='M0 0 1,0L1e0 -1Z'/>");
        assert_eq!(parse(&text).unwrap(), vec![vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]]);
    }

    #[test]
    fn other_drawings_are_refused_with_the_reason() {
        let path = |data: &str| drawing(&format!("<path fill-rule='evenodd' d='{data}'/>"));
        let good = "M 0 0 L 1 0 L 1 1 Z";
        let cases = [
            ("", "not an SVG"),
            ("x_mm,y_mm", "not an SVG"),
            ("<html/>", "not an SVG"),
            (&path(good).replace("width='2mm'", "width='2'"), "width is not given in mm"),
            (&path(good).replace("1 mm", "1 cm"), "height is not given in mm"),
            (&path(good).replace("viewBox='0,0 2 1'", ""), "four numbers"),
            (&path(good).replace("0,0 2 1", "0 0 200 100"), "not a mm"),
            (&path(good).replace("evenodd", "nonzero"), "fill-rule"),
            (&path(good).replace("<path", "<path transform='scale(2)'"), "transform"),
            (&drawing(""), "0 elements"),
            (&drawing("<circle r='1'/>"), "a <circle>"),
            (&drawing("<g/><path/>"), "2 elements"),
            (&path("M 0 0 C 1 0 1 1 0 1 Z"), "command C"),
            (&path("m 0 0 l 1 0 1 1 z"), "command m"),
            (&path("M 0 0 L 1 0 L 1 1"), "not closed"),
            (&path("M 0 0 L 1 L 1 1 Z"), "does not belong"),
            (&path("L 1 0 Z"), "does not belong"),
            (&path("M 0 0 M 1 0 Z"), "does not belong"),
            (&path("M 0 0 L 1 e Z"), "not a number"),
            (&path("M 0 0 L 1 0..1 Z"), "not a number"),
            (&path("0 0 L 1 0 Z"), "begin with M"),
        ];
        for (text, expected) in cases {
            let said = parse(text).unwrap_err();
            assert!(said.contains(expected), "{text}: {said}");
        }
    }
}
