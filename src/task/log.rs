//! `log`: the history of one hole in one camera, and what its maker's passes have taught.

use crate::error::Error;
use crate::record::{Entry, Record, Skipped};
use crate::verdict::growth::Growth;
use serde::Serialize;

/// What to look up.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// The bench log.
    pub record: &'a Record,
    /// The name of the hole; none where the log holds only one.
    pub hole: Option<&'a str>,
    /// The name of the camera; none where the hole was in only one.
    pub camera: Option<&'a str>,
}

/// What the log tells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The hole's name.
    pub hole: String,
    /// The camera's name.
    pub camera: String,
    /// The entries of this hole in this camera, in the order of the file: the keys of the log.
    pub history: Vec<Entry>,
    /// What one more pass will do, learnt from the passes on all holes of the log.
    pub growth: Growth,
    /// The lines of the log that are no entries.
    pub skipped: Vec<Skipped>,
    /// The lines, counted from 1, whose time is before that of the entry above them.
    pub backwards: Vec<usize>,
}

/// Looks up a hole.
///
/// # Errors
/// As [`Record::of`].
pub fn run(request: &Request) -> Result<Answer, Error> {
    let record = request.record;
    let history = record.of(request.hole, request.camera)?;
    Ok(Answer {
        hole: history.hole.into(),
        camera: history.camera.into(),
        history: history.entries.into_iter().cloned().collect(),
        growth: Growth::learnt(&record.passes()),
        skipped: record.skipped.clone(),
        backwards: record.backwards.clone(),
    })
}
