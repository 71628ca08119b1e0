//! Questions and answers: a camera, measure by measure.

use super::output::Output;
use crate::error::Error;
use crate::quantity::Quantity;
use std::io::{self, BufRead, Read};

/// What was answered, in words that a camera file takes.
pub(super) struct Asked {
    pub(super) name: String,
    pub(super) distance: String,
    pub(super) width: String,
    pub(super) height: String,
    /// What the film is bent to; none where it is flat.
    pub(super) radius: Option<String>,
    pub(super) thickness: String,
    pub(super) medium: String,
    pub(super) speed: f64,
}

/// The longest line of an answer, in bytes.
const LONGEST_ANSWER: u64 = 1000;
/// An answer that so often cannot be read is nobody's at a terminal.
const MOST_TRIES: usize = 5;

const PAPER: &str = "blue-sensitive";

impl Asked {
    pub(super) fn is_paper(&self) -> bool {
        self.medium == PAPER
    }
}

/// Asks for a camera. An empty answer takes what stands in brackets; what cannot be is asked again.
pub(super) fn asked(output: &mut Output) -> Result<Asked, Error> {
    output.remark("Your camera. Enter alone takes what is in [brackets].");
    let length = |words: &str| Quantity::Length.read_positive(words).map(|_| words.to_owned());
    let thickness = |words: &str| {
        Quantity::Length
            .read(words)
            .and_then(|mm| if mm >= 0.0 { Ok(words.to_owned()) } else { length(words) })
    };
    let medium = |words: &str| match words.to_lowercase().as_str() {
        "paper" => Ok(PAPER.to_owned()),
        "colour" | "color" => Ok("colour".to_owned()),
        "film" => Ok("panchromatic".to_owned()),
        "ortho" => Ok("orthochromatic".to_owned()),
        _ => Err(Error::words(
            words,
            "is not one of the four",
            "write paper, film (black and white), ortho or colour",
        )),
    };
    let name = question(output, "Its name", "My camera", |words| Ok(words.to_owned()))?;
    let distance = question(output, "From the hole to the film", "120 mm", length)?;
    let width = question(output, "Width of the film or paper", "127 mm", length)?;
    let height = question(output, "Its height", "102 mm", length)?;
    let radius = question(output, "Radius that it is bent to, or flat", "flat", |words| {
        if words == "flat" { Ok(None) } else { length(words).map(Some) }
    })?;
    let thickness = question(output, "Thickness of the metal at the hole", "0.05 mm", thickness)?;
    let medium = question(output, "paper, film, ortho or colour", "paper", medium)?;
    let (asks, usual) = if medium == PAPER {
        ("Speed of the paper (ISO P)", "400")
    } else {
        ("Speed (ISO)", "100")
    };
    let speed = question(output, asks, usual, |words| {
        words.parse::<f64>().ok().filter(|speed| *speed > 0.0 && speed.is_finite()).ok_or_else(
            || Error::words(words, "is not a speed", "write a number above zero, as in 100"),
        )
    })?;
    Ok(Asked { name, distance, width, height, radius, thickness, medium, speed })
}

/// One question, until its answer can be read.
fn question<T>(
    output: &mut Output,
    asks: &str,
    usual: &str,
    read: impl Fn(&str) -> Result<T, Error>,
) -> Result<T, Error> {
    let unread = |why: &str| {
        Error::damaged(format!("cannot be read: {why}"), "type the answers on a terminal")
            .in_file("standard input")
    };
    for _ in 0..MOST_TRIES {
        output.remark(&format!("{asks} [{usual}]:"));
        let mut line = String::new();
        let mut first = io::stdin().lock().take(LONGEST_ANSWER);
        let count = first.read_line(&mut line).map_err(|why| unread(&why.to_string()))?;
        if count == 0 {
            return Err(Error::not_there(
                format!("ended before its answer: {asks}"),
                "answer every question, or start from --like box",
            )
            .in_file("standard input"));
        }
        if count as u64 == LONGEST_ANSWER && !line.ends_with('\n') {
            return Err(unread("a line of it has no end"));
        }
        let said = line.trim();
        match read(if said.is_empty() { usual } else { said }) {
            Ok(answer) => return Ok(answer),
            Err(fault) => output.fault(&fault),
        }
    }
    Err(Error::not_understood(
        format!("no answer to this can be read: {asks}"),
        "start from --like box, and change the file that it writes",
    ))
}
