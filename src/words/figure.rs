//! The list of teaching figures in words.

use super::{Row, terminal};
use crate::figure::FIGURES;

/// Is the sentence where the hole is an invented one.
pub const INVENTED: &str = "The hole is an invented one with a coarse burr.";

/// Lists each figure by its name, and what it teaches.
pub fn rows() -> Vec<Row> {
    FIGURES.iter().map(|figure| Row::new(figure.name, figure.about)).collect()
}

/// Returns the list for a terminal.
pub fn text() -> String {
    format!("Figures:\n\n{}", terminal::rows(&rows()))
}
