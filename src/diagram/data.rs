//! The numbers of a figure, for other programs: everything that is drawn, a file a panel, and an index of them.

use super::{Chart, Diagram, Drawing, Panel, Shows};
use crate::raster::npy;
use serde::Serialize;

/// Lists the files of a figure: what each panel shows, in which units, and where its numbers are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct Index {
    /// The heading of the figure.
    pub title: String,
    /// What to see, and what it was computed from.
    pub caption: String,
    /// How many frames a moving figure has; 1 of a still one.
    pub frames: usize,
    /// The panels, row by row from the top left.
    pub panels: Vec<Listed>,
}

/// Describes the numbers of one panel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct Listed {
    /// Its heading.
    pub title: String,
    /// The file of its numbers, beside the index.
    pub file: String,
    /// What they are.
    pub kind: Numbers,
    /// What they measure, with units.
    pub holds: String,
}

/// Tells what the numbers of a panel are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Numbers {
    /// Points of curves and places of marks: CSV.
    Curves,
    /// Samples of something smooth: float64 in NPY, (maps, rows, columns), rows from low y to high.
    Map,
    /// Pixels as they are drawn: uint8 in NPY, (rows, columns, 3), rows from the top, sRGB.
    Picture,
    /// Corners of outlines, in mm: CSV.
    Outlines,
}

/// Files by their names.
pub type Files = Vec<(String, Vec<u8>)>;

/// Returns the index and the files of a figure, each under its own name; `name` begins them. Of a moving figure's pictures
/// the frames follow one another along the first axis.
pub fn data(name: &str, frames: &[Diagram]) -> Option<(Index, Files)> {
    let first = frames.first()?;
    let numbered = |(at, panel): (usize, &Panel)| {
        let same: Vec<&Shows> =
            frames.iter().filter_map(|frame| Some(&frame.panels.get(at)?.shows)).collect();
        let (kind, holds, bytes) = numbers(&same)?;
        let ending =
            if matches!(kind, Numbers::Curves | Numbers::Outlines) { "csv" } else { "npy" };
        let file = format!("{name}-{}.{ending}", at + 1);
        Some((
            Listed { title: panel.title.clone(), file: file.clone(), kind, holds },
            (file, bytes),
        ))
    };
    let (panels, files) = first.panels.iter().enumerate().filter_map(numbered).unzip();
    let index = Index {
        title: first.title.clone(),
        caption: first.caption.clone(),
        frames: frames.len(),
        panels,
    };
    Some((index, files))
}

/// The numbers of a panel in all its frames: what they are, what they measure, and their file.
fn numbers(frames: &[&Shows]) -> Option<(Numbers, String, Vec<u8>)> {
    Some(match frames.first()? {
        Shows::Chart(chart) => {
            let charts = frames.iter().filter_map(|shows| match shows {
                Shows::Chart(chart) => Some(chart),
                _ => None,
            });
            let holds = format!("{} over {}", chart.y.words, chart.x.words);
            (Numbers::Curves, holds, curves(charts).into_bytes())
        }
        Shows::Drawing(_) => {
            let drawings = frames.iter().filter_map(|shows| match shows {
                Shows::Drawing(drawing) => Some(drawing),
                _ => None,
            });
            (Numbers::Outlines, "x and y of corners, in mm".into(), corners(drawings).into_bytes())
        }
        Shows::Picture(picture) => {
            let pictures = || {
                frames.iter().filter_map(|shows| match shows {
                    Shows::Picture(picture) => Some(picture),
                    _ => None,
                })
            };
            let width = picture.scale.map(|(mm, on)| format!("; {mm} mm wide{on}"));
            let (rows, columns) = (picture.image.height() as usize, picture.image.width() as usize);
            match picture.samples.first() {
                Some(one) => {
                    let all: Vec<_> = pictures().flat_map(|picture| &picture.samples).collect();
                    let (rows, columns) = one.dim();
                    let values = all.iter().flat_map(|samples| samples.iter().copied());
                    let bytes = npy::float64(&[all.len(), rows, columns], values);
                    let holds = format!(
                        "energy per mm² on the film, as a share of all that came through{}",
                        width.unwrap_or_default()
                    );
                    (Numbers::Map, holds, bytes)
                }
                None => {
                    let values: Vec<u8> =
                        pictures().flat_map(|picture| picture.image.as_raw()).copied().collect();
                    let bytes = npy::uint8(&[frames.len() * rows, columns, 3], &values);
                    (
                        Numbers::Picture,
                        format!("sRGB, 0 to 255{}", width.unwrap_or_default()),
                        bytes,
                    )
                }
            }
        }
    })
}

/// Points of all curves, places of all marks (with an empty y) and ends of all bands, as CSV (`RFC4180`) with what the axes
/// measure, and its unit, in the header.
fn curves<'a>(charts: impl Iterator<Item = &'a Chart>) -> String {
    let mut csv = String::new();
    for (frame, chart) in charts.enumerate() {
        let frame = frame + 1;
        if csv.is_empty() {
            csv = format!("frame,series,{},{}\r\n", field(&chart.x.words), field(&chart.y.words));
        }
        for curve in &chart.curves {
            let name = field(&curve.name);
            for [x, y] in &curve.points {
                csv += &format!("{frame},{name},{x},{y}\r\n");
            }
        }
        let bands = chart.bands.iter().flat_map(|band| band.span.map(|x| (&band.words, x)));
        let marks = chart.marks.iter().map(|mark| (&mark.words, mark.x));
        for (words, x) in marks.chain(bands) {
            csv += &format!("{frame},{},{x},\r\n", field(words));
        }
    }
    csv
}

/// Corners of all openings, rims and strokes, a loop by its number, as CSV.
fn corners<'a>(drawings: impl Iterator<Item = &'a Drawing>) -> String {
    let mut csv = String::from("frame,series,loop,x (mm),y (mm)\r\n");
    for (frame, drawing) in drawings.enumerate() {
        let openings =
            drawing.openings.iter().flat_map(|one| one.loops().iter().map(|l| ("opening", &l[..])));
        let rims =
            drawing.rims.iter().flat_map(|(one, _)| one.loops().iter().map(|l| ("rim", &l[..])));
        let strokes = drawing.strokes.iter().map(|ends| ("line", &ends[..]));
        for (index, (series, points)) in openings.chain(rims).chain(strokes).enumerate() {
            for [x, y] in points {
                csv += &format!("{},{series},{},{x},{y}\r\n", frame + 1, index + 1);
            }
        }
    }
    csv
}

/// A field in quotes where it needs them.
fn field(text: &str) -> String {
    if text.contains(['"', ',', '\r', '\n']) {
        return format!("\"{}\"", text.replace('"', "\"\""));
    }
    text.to_owned()
}
