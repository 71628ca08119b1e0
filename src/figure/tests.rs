//! What every figure must pass.

use super::*;
use crate::diagram::{Format, Shows, Size};
use crate::geometry::Outline;
use crate::plate::Ground;
use crate::plate::checks::assert_tidy;

fn bench() -> Bench {
    let camera = Camera::demonstration().unwrap();
    Bench {
        camera,
        hole: shapes::burred_disc(0.35, 0.6, 0.3, 0.06).unwrap(),
        named: true,
        diameter_mm: None,
    }
}

#[test]
fn every_figure_is_tidy_at_every_size() {
    for figure in FIGURES {
        let frames = figure.draw(&bench()).unwrap();
        let drawn = &frames[frames.len() / 2];
        assert!(drawn.alternative.len() > 40 && drawn.caption.len() > 80, "{}", figure.name);
        for size in [Size::Page, Size::Slide, Size::Phone] {
            for ground in [Ground::Light, Ground::Dark] {
                println!("{} {size:?}", figure.name);
                let svg = drawn.svg(Format { size, ground }).unwrap();
                assert_tidy(&svg);
                assert!(svg.contains("<desc>") && !svg.contains("…"), "{} is cut", figure.name);
            }
        }
    }
}

/// The files hold every point of every curve as it is, every mark, every sample and every pixel, a file a panel.
#[test]
fn data_are_what_is_drawn() {
    for figure in FIGURES {
        let frames = figure.draw(&bench()).unwrap();
        let (index, files) = crate::diagram::data(figure.name, &frames).unwrap();
        assert_eq!((index.panels.len(), files.len()), (frames[0].panels.len(), files.len()));
        for (at, ((name, bytes), listed)) in files.iter().zip(&index.panels).enumerate() {
            assert_eq!((name, index.frames), (&listed.file, frames.len()));
            match &frames[0].panels[at].shows {
                Shows::Chart(chart) => {
                    let csv = String::from_utf8(bytes.clone()).unwrap();
                    let mut lines = csv.split("\r\n");
                    assert!(lines.next().unwrap().contains(&chart.y.words), "units in the header");
                    for [x, y] in chart.curves.iter().flat_map(|curve| &curve.points) {
                        let line = lines.next().unwrap();
                        assert!(line.ends_with(&format!(",{x},{y}")), "{line}");
                        assert!(x.is_finite() && y.is_finite(), "{}: {line}", figure.name);
                    }
                    for mark in &chart.marks {
                        assert!(lines.next().unwrap().ends_with(&format!(",{},", mark.x)));
                    }
                }
                Shows::Picture(picture) => {
                    let numbers: usize = match &picture.samples[..] {
                        [] => picture.image.as_raw().len(),
                        maps => maps.iter().map(|map| 8 * map.len()).sum(),
                    };
                    let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
                    assert_eq!(bytes.len() - start, numbers * frames.len(), "{name}");
                }
                Shows::Drawing(drawing) => {
                    let loops =
                        drawing.openings.iter().chain(drawing.rims.iter().map(|rim| &rim.0));
                    let points: usize = loops.flat_map(Outline::loops).map(Vec::len).sum();
                    let lines = bytes.iter().filter(|byte| **byte == b'\n').count();
                    assert!(lines > (points + 2 * drawing.strokes.len()) * frames.len(), "{name}");
                }
            }
        }
    }
}

/// A figure in lines: what it says, and what its panels show.
fn told(name: &str, figure: &Diagram) -> String {
    let mut lines = vec![format!("# {name}"), figure.title.clone()];
    for panel in &figure.panels {
        lines.push(match &panel.shows {
            Shows::Chart(chart) => {
                let curves =
                    chart.curves.iter().map(|c| format!("{} ({})", c.name, c.points.len()));
                let marks = chart.marks.iter().map(|mark| mark.words.clone());
                let bands = chart.bands.iter().map(|band| band.words.clone());
                let named: Vec<String> = curves.chain(marks).chain(bands).collect();
                let (x, y) = (&chart.x.words, &chart.y.words);
                format!("{}: {y} over {x}: {}", panel.title, named.join("; "))
            }
            Shows::Picture(picture) => {
                let (columns, rows) = picture.image.dimensions();
                format!("{}: {columns} x {rows} pixels", panel.title)
            }
            Shows::Drawing(drawing) => {
                let count = [drawing.openings.len(), drawing.rims.len(), drawing.strokes.len()];
                format!("{}: {count:?} openings, rims, strokes", panel.title)
            }
        });
    }
    lines.join("\n")
}

/// The descriptions of all figures are those that were last looked at: `texts.txt`. Where a change is meant,
/// look at the figures, then take over the file that this test writes.
#[test]
fn figures_tell_what_was_looked_at() {
    let all = FIGURES.iter().map(|figure| {
        let figures = figure.draw(&bench()).unwrap();
        told(figure.name, &figures[figures.len() / 2])
    });
    let all = all.collect::<Vec<_>>().join("\n\n") + "\n";
    if all != include_str!("texts.txt") {
        let place = std::env::temp_dir().join("foramen-texts.txt");
        std::fs::write(&place, &all).unwrap();
        panic!("the figures tell something else: see {}", place.display());
    }
}
