//! Answers in plain English, once, for the command line, the report and the page.
//!
//! Each file turns one kind of answer into headings, [`Row`]s, [`Table`]s and sentences. They do not know
//! where they will be shown: [`terminal`] lays them out in lines, a report or a page in HTML.
//! [`plates`] draws the labelled pictures of an answer, each with its heading and its caption.

pub mod appraise;
pub mod bench_card;
pub mod card;
pub mod chart;
pub mod comparison;
pub mod document;
pub mod expose;
pub mod figure;
pub mod gauge;
pub mod log;
pub mod plates;
pub mod preview;
pub mod proof_plate;
pub mod prove;
pub mod prove_edge;
pub mod psf;
pub mod report;
pub mod sheet;
pub mod step;
pub mod target;
pub mod terminal;
pub mod verdict;

use std::time::SystemTime;

/// Writes the day of a time, as in "2026-11-27" (UTC).
pub fn date(time: SystemTime) -> String {
    humantime::format_rfc3339_seconds(time).to_string().chars().take(10).collect()
}

/// Describes a named line: what it is about, and what there is to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What the line is about, in a word or a few.
    pub name: String,
    /// What there is to say.
    pub sentence: String,
}

impl Row {
    /// Makes a row of its name and its sentence.
    pub fn new(name: impl Into<String>, sentence: impl Into<String>) -> Row {
        Row { name: name.into(), sentence: sentence.into() }
    }
}

/// Describes a table: its columns, and a cell for each of them in every row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The columns, from the left.
    pub columns: Vec<Column>,
    /// The rows, from the top.
    pub rows: Vec<Vec<String>>,
}

/// Describes a column of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// The heading.
    pub heading: &'static str,
    /// Whether its cells end at the right edge, as numbers do.
    pub is_number: bool,
}

impl Column {
    /// Returns a column of words.
    pub const fn words(heading: &'static str) -> Column {
        Column { heading, is_number: false }
    }

    /// Returns a column of numbers.
    pub const fn numbers(heading: &'static str) -> Column {
        Column { heading, is_number: true }
    }
}
