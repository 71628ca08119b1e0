//! What can go wrong, said so that a person can act on it.
//!
//! Every error has two parts: what is wrong and where (its `Display`), and what to do next
//! ([`Error::remedy`]). The library speaks the words of the trade; the command line and the page
//! add nothing but their own option's name.

use std::path::{Path, PathBuf};

/// Everything the library refuses to do, or could not do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// Words that do not say what they should: a number without a unit, an unknown unit, a size of
    /// zero where one must be positive.
    #[error("\"{said}\" {wrong}")]
    Words {
        /// The words as they were typed.
        said: String,
        /// What is wrong with them.
        wrong: String,
        /// What to write instead.
        remedy: String,
    },
    /// A camera file that cannot be used, with the line that is to blame.
    #[error("{}:{line}: {wrong}", file.display())]
    Camera {
        /// The camera file.
        file: PathBuf,
        /// The line, counted from 1.
        line: usize,
        /// What is wrong there.
        wrong: String,
        /// What to write instead.
        remedy: String,
    },
    /// A file that cannot be read, used or written.
    #[error("{}: {wrong}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        wrong: String,
        /// What to do about it.
        remedy: String,
    },
    /// Loops of points that are not the outline of a hole.
    #[error("{wrong}")]
    Outline {
        /// What is wrong, and where.
        wrong: String,
        /// What to do about it.
        remedy: String,
    },
    /// A picture in which more than one thing may be meant, or the one that stands out is hardly a hole.
    #[error("{wrong}")]
    Undecided {
        /// What leaves the doubt, and where.
        wrong: String,
        /// What to say or do.
        remedy: String,
        /// What stands out, largest first: a face draws them with their numbers.
        candidates: Vec<Candidate>,
    },
    /// A request that leaves what the model holds for, or what the machine can carry.
    #[error("{wrong}")]
    Limit {
        /// Which limit is passed, and by how much.
        wrong: String,
        /// What would be inside it.
        remedy: String,
    },
}

/// Something in a picture that may be the hole that was meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Its middle: column and row in px from the picture's upper left corner.
    pub place_px: [f64; 2],
    /// The diameter of the disc of its area, in px.
    pub diameter_px: f64,
}

impl Error {
    /// Words that do not say what they should.
    pub fn words(said: &str, wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::Words { said: said.into(), wrong: wrong.into(), remedy: remedy.into() }
    }

    /// A file that cannot be read, used or written.
    pub fn file(path: &Path, wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::File { path: path.into(), wrong: wrong.into(), remedy: remedy.into() }
    }

    /// Points that are not the outline of a hole.
    pub fn outline(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::Outline { wrong: wrong.into(), remedy: remedy.into() }
    }

    /// A picture of which nothing says which opening is meant.
    pub fn undecided(
        picture: &Path,
        wrong: impl std::fmt::Display,
        remedy: impl Into<String>,
        candidates: Vec<Candidate>,
    ) -> Error {
        let wrong = format!("{}: {wrong}", picture.display());
        Error::Undecided { wrong, remedy: remedy.into(), candidates }
    }

    /// A request beyond a limit.
    pub fn limit(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::Limit { wrong: wrong.into(), remedy: remedy.into() }
    }

    /// What to do next, in one line.
    pub fn remedy(&self) -> &str {
        match self {
            Error::Words { remedy, .. }
            | Error::Camera { remedy, .. }
            | Error::File { remedy, .. }
            | Error::Outline { remedy, .. }
            | Error::Undecided { remedy, .. }
            | Error::Limit { remedy, .. } => remedy,
        }
    }
}
