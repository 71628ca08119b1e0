//! One edge in words: how sharp it is, and how sharp the hole allows.

use super::{Row, terminal};
use crate::quantity::Quantity;
use crate::task::prove_edge::Answer;

/// Returns what the edge shows, and what it cannot show.
pub fn rows(answer: &Answer) -> Vec<Row> {
    let [x, y] = answer.at_px;
    let found = answer.mtf50_lp_per_mm.map_or("does not fall to one half".into(), |f| {
        format!("falls to one half at {f:.2} line pairs per mm")
    });
    let allowed = answer
        .predicted_mtf50_lp_per_mm
        .map_or(String::new(), |f| format!("; the hole allows {f:.2}"));
    let mut rows = vec![
        Row::new(
            "Edge",
            format!(
                "at ({x:.1}, {y:.1}) px, {:.1}° from the rows, measured over {} to each side",
                answer.direction_deg,
                Quantity::Length.write(answer.reach_mm)
            ),
        ),
        Row::new("Contrast", format!("{found}{allowed}")),
    ];
    if answer.sharpened {
        rows.push(Row::new(
            "Sharpened",
            format!(
                "The edge swings {:.0} % beyond its levels: software sharpened this picture, so its contrast is not the film's.",
                100.0 * answer.overshoot
            ),
        ));
    }
    rows.push(Row::new(
        "Note",
        "One edge shows one direction at one place, and the picture's tones are taken from its file: a chart tells more.",
    ));
    rows
}

/// Lays the answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    terminal::rows(&rows(answer))
}
