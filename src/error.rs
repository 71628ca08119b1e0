//! What can go wrong, said so that a person can act on it.
//!
//! Every error has one shape: what is wrong, where, and what to do next. Code that finds a fault says what
//! is wrong and a remedy that holds everywhere; the boundary that knows the place (a file, a line, a field)
//! adds it on the way out. What a person could give to settle the matter is a value, [`Wanted`], so that a
//! command line can name its option and a page its field. A caller branches on [`Kind`].

use std::fmt;

/// Everything the library refuses to do, or could not do.
#[derive(Debug, Clone, PartialEq)]
pub struct Error(Box<Fault>);

/// What an error holds: boxed, so that a result is as small as what it brings when all is well.
#[derive(Debug, Clone, PartialEq)]
struct Fault {
    kind: Kind,
    place: Place,
    wrong: String,
    remedy: String,
    wanted: Option<Wanted>,
}

/// The kind of a fault.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Words or a text do not say what they should.
    NotUnderstood,
    /// Something that is needed is not there: a file, a scale, a hole in a picture.
    NotThere,
    /// Something is there and cannot be used: a cut-off picture, an outline that crosses itself.
    Damaged,
    /// The request leaves what the model holds for, or what the machine can carry.
    BeyondLimit,
    /// More than one answer fits; the candidates, if they can be pointed at.
    Undecided(Vec<Candidate>),
    /// The one who watched the work stopped it.
    Stopped,
}

/// An opening that may be the hole that is meant.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Candidate {
    /// Its middle: column and row in pixels from the upper left corner.
    pub place_px: [f64; 2],
    /// The diameter of the disc of its area, in pixels.
    pub diameter_px: f64,
}

/// What a person could give to settle a fault. Each face words it with its own option or field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// How many pixels make a length in the picture.
    Scale,
    /// A scale for each of several photos.
    ScaleForEach,
    /// Where in the picture the hole is.
    HolePlace,
    /// Where in the picture the hole is, or the wish to measure every one.
    HolePlaceOrEvery,
    /// One picture of many holes, without a place in it.
    OneSheet,
    /// A hole: a size, a count, an outline or a photo.
    Hole,
    /// Which hole of the log.
    LogHole,
    /// Which camera of the log.
    LogCamera,
    /// Under which name the log goes on.
    LogName,
    /// A camera file to start from.
    CameraTemplate,
}

/// Where a fault is. Each part is there when somebody on the way out knew it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Place {
    /// The file, or whatever stands for one, by its name.
    pub file: Option<String>,
    /// The line in it, counted from 1.
    pub line: Option<usize>,
    /// The field or key.
    pub field: Option<String>,
}

impl Error {
    fn of(kind: Kind, wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error(Box::new(Fault {
            kind,
            place: Place::default(),
            wrong: legible(&wrong.into()),
            remedy: legible(&remedy.into()),
            wanted: None,
        }))
    }

    /// Reports words that do not say what they should, quoting them.
    pub fn words(said: &str, wrong: impl AsRef<str>, remedy: impl Into<String>) -> Error {
        Error::not_understood(format!("{} {}", quoted(said), wrong.as_ref()), remedy)
    }

    /// Reports a text or a call that does not say what it should.
    pub fn not_understood(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::of(Kind::NotUnderstood, wrong, remedy)
    }

    /// Reports that something needed is not there.
    pub fn not_there(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::of(Kind::NotThere, wrong, remedy)
    }

    /// Reports something that is there and cannot be used.
    pub fn damaged(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::of(Kind::Damaged, wrong, remedy)
    }

    /// Reports points that are not the outline of a hole.
    pub fn outline(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::damaged(wrong, remedy)
    }

    /// Reports a request beyond a limit.
    pub fn limit(wrong: impl Into<String>, remedy: impl Into<String>) -> Error {
        Error::of(Kind::BeyondLimit, wrong, remedy)
    }

    /// Reports that more than one answer fits, and which.
    pub fn undecided(
        wrong: impl Into<String>,
        remedy: impl Into<String>,
        candidates: Vec<Candidate>,
    ) -> Error {
        Error::of(Kind::Undecided(candidates), wrong, remedy)
    }

    /// Reports that the one who watched stopped the work.
    pub fn stopped() -> Error {
        Error::of(Kind::Stopped, "the work was stopped", "start it again when it is wanted")
    }

    /// Adds the file, or what stands for one, unless a deeper place is known.
    #[must_use]
    pub fn in_file(mut self, name: impl fmt::Display) -> Error {
        self.0.place.file.get_or_insert_with(|| printable(&name.to_string()));
        self
    }

    /// Adds the line in a file, counted from 1, unless one is known.
    #[must_use]
    pub fn at_line(mut self, line: usize) -> Error {
        self.0.place.line.get_or_insert(line);
        self
    }

    /// Adds the field or key, unless one is known.
    #[must_use]
    pub fn in_field(mut self, field: &str) -> Error {
        self.0.place.field.get_or_insert_with(|| field.into());
        self
    }

    /// Adds what a person could give to settle the matter.
    #[must_use]
    pub fn wanting(mut self, wanted: Wanted) -> Error {
        self.0.wanted = Some(wanted);
        self
    }

    /// The kind of the fault.
    pub fn kind(&self) -> &Kind {
        &self.0.kind
    }

    /// Where the fault is.
    pub fn place(&self) -> &Place {
        &self.0.place
    }

    /// What is wrong, without the place.
    pub fn wrong(&self) -> &str {
        &self.0.wrong
    }

    /// What to do next, in words that hold on every face.
    pub fn remedy(&self) -> &str {
        &self.0.remedy
    }

    /// What a person could give to settle the matter, where one thing would.
    pub fn wanted(&self) -> Option<Wanted> {
        self.0.wanted
    }
}

impl fmt::Display for Error {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Place { file, line, field } = &self.0.place;
        if let Some(file) = file.as_deref().map(end_of) {
            match line {
                Some(line) => write!(out, "{file}:{line}: ")?,
                None => write!(out, "{file}: ")?,
            }
        } else if let Some(line) = line {
            write!(out, "line {line}: ")?;
        }
        if let Some(field) = field {
            write!(out, "{field}: ")?;
        }
        out.write_str(&self.0.wrong)
    }
}

impl std::error::Error for Error {}

/// The longest quotation of somebody's words, in letters.
const LONGEST_QUOTE: usize = 80;

/// Somebody's words in quotation marks: printable, and cut where they are long.
pub(crate) fn quoted(words: &str) -> String {
    format!("\"{}\"", cut(&printable(words)))
}

/// Words as long as a quotation may be.
pub(crate) fn cut(words: &str) -> String {
    cut_to(words, LONGEST_QUOTE)
}

/// The beginning of words that are longer than so many letters.
pub(crate) fn cut_to(words: &str, letters: usize) -> String {
    if words.chars().count() <= letters {
        return words.to_owned();
    }
    let start: String = words.chars().take(letters - 1).collect();
    format!("{start}…")
}

/// The longest clause of a fault, in letters, whoever's words it passes on.
const LONGEST_CLAUSE: usize = 240;
/// The longest word in it: a quotation without a blank, with its marks.
const LONGEST_WORD: usize = LONGEST_QUOTE + 8;

/// A clause of a fault as it can be read: what decoders say, numbers of 300 digits and somebody's words are cut.
fn legible(clause: &str) -> String {
    cut_to(&with_short_words(&printable(clause)), LONGEST_CLAUSE)
}

/// A text with the beginnings alone of words that nobody would read to their end.
pub(crate) fn with_short_words(text: &str) -> String {
    let words: Vec<String> = text.split(' ').map(|word| cut_to(word, LONGEST_WORD)).collect();
    words.join(" ")
}

/// The end of a file's name, where it is long: that tells files apart.
fn end_of(file: &str) -> String {
    let letters = file.chars().count();
    if letters <= LONGEST_WORD {
        return file.to_owned();
    }
    let end: String = file.chars().skip(letters - LONGEST_WORD + 1).collect();
    format!("…{end}")
}

/// The same text without control characters, which could move a terminal's cursor or repaint it.
pub(crate) fn printable(text: &str) -> String {
    text.chars().map(|letter| if is_unprintable(letter) { '\u{fffd}' } else { letter }).collect()
}

/// Control characters, and marks that turn the direction of writing.
fn is_unprintable(letter: char) -> bool {
    letter.is_control() || matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_short_whatever_it_passes_on() {
        let error = Error::limit(
            format!("{} mm and {} cannot be", 1e308, "many words ".repeat(100)),
            "x".repeat(500),
        )
        .in_file("folder/".repeat(100) + "hole.png");
        let said = error.to_string();
        assert!(said.starts_with('…') && said.contains("/hole.png: 1000"), "{said}");
        assert!(said.chars().count() <= LONGEST_CLAUSE + LONGEST_WORD + 2, "{said}");
        assert_eq!(error.remedy().chars().count(), LONGEST_WORD);
    }

    #[test]
    fn the_innermost_place_holds() {
        let error = Error::damaged("is cut off", "copy it again")
            .at_line(3)
            .in_file("hole.csv")
            .in_file("outer")
            .at_line(9);
        assert_eq!(error.to_string(), "hole.csv:3: is cut off");
        let error = Error::words("x", "has no unit", "write \"3 mm\"").in_field("film.width");
        assert_eq!(error.to_string(), "film.width: \"x\" has no unit");
    }

    #[test]
    fn quotations_are_short_and_printable() {
        let said = quoted(&format!("\u{1b}[2J{}", "a".repeat(500)));
        assert!(said.chars().count() <= LONGEST_QUOTE + 2 && !said.contains('\u{1b}'), "{said}");
    }
}
