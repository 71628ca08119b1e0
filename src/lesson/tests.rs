//! What every lesson must pass.

use super::*;
use crate::figure::Ground;
use crate::figure::checks::assert_tidy;
use crate::figure::diagram::{Format, Shows, Size};
use crate::geometry::shapes;

fn bench() -> Bench {
    let camera = Camera::demonstration().unwrap();
    Bench { camera, hole: shapes::burred_disc(0.35, 0.6, 0.3, 0.06).unwrap() }
}

#[test]
fn every_figure_is_tidy_at_every_size() {
    for lesson in LESSONS {
        let figures = lesson.draw(&bench()).unwrap();
        let figure = &figures[figures.len() / 2];
        assert!(figure.alternative.len() > 40 && figure.caption.len() > 80, "{}", lesson.name);
        for size in [Size::Page, Size::Slide, Size::Phone] {
            for ground in [Ground::Light, Ground::Dark] {
                println!("{} {size:?}", lesson.name);
                let svg = figure.svg(Format { size, ground }).unwrap();
                assert_tidy(&svg);
                assert!(svg.contains("<desc>") && !svg.contains("…"), "{} is cut", lesson.name);
            }
        }
    }
}

/// The CSV holds every point of every curve as it is, and every mark.
#[test]
fn data_are_what_is_drawn() {
    for lesson in LESSONS {
        let figure = lesson.draw(&bench()).unwrap().remove(0);
        let csv = figure.csv();
        let mut lines = csv.split("\r\n").skip(1);
        for panel in &figure.panels {
            let Shows::Chart(chart) = &panel.shows else { continue };
            for [x, y] in chart.curves.iter().flat_map(|curve| &curve.points) {
                let line = lines.next().unwrap();
                assert!(line.ends_with(&format!(",{x},{y}")), "{line}");
                assert!(x.is_finite() && y.is_finite(), "{}: {line}", lesson.name);
            }
            for mark in &chart.marks {
                assert!(lines.next().unwrap().ends_with(&format!(",{},", mark.x)));
            }
        }
        assert_eq!(lines.next(), Some(""), "{}", lesson.name);
    }
}
