//! The list of teaching figures in words.

use super::{Row, terminal};
use crate::figure::FIGURES;

/// What is said where the hole is an invented one.
pub const INVENTED: &str = "The hole is an invented one with a coarse burr.";

/// Each figure by its name, and what it teaches.
pub fn rows() -> Vec<Row> {
    FIGURES.iter().map(|figure| Row::new(figure.name, figure.about)).collect()
}

/// The list for a terminal.
pub fn text() -> String {
    format!("Figures:\n\n{}", terminal::rows(&rows()))
}
