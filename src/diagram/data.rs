//! The numbers of a figure, for other programs.

use super::{Diagram, Shows};

impl Diagram {
    /// Returns the points of all curves and the places of all marks, as CSV (RFC 4180) with the header
    /// `panel,curve,x,y`; x and y as the axes measure them, marks with an empty y.
    pub fn csv(&self) -> String {
        let mut csv = String::from("panel,curve,x,y\r\n");
        for panel in &self.panels {
            let Shows::Chart(chart) = &panel.shows else { continue };
            for curve in &chart.curves {
                for [x, y] in &curve.points {
                    csv += &format!("{},{},{x},{y}\r\n", field(&panel.title), field(&curve.name));
                }
            }
            for mark in &chart.marks {
                csv += &format!("{},{},{},\r\n", field(&panel.title), field(&mark.words), mark.x);
            }
        }
        csv
    }
}

/// A field in quotes where it needs them.
fn field(text: &str) -> String {
    if text.contains(['"', ',', '\r', '\n']) {
        return format!("\"{}\"", text.replace('"', "\"\""));
    }
    text.to_owned()
}
