//! The text of a camera file, read piece by piece, each fault with its key and line.

use super::{Number, Words};
use crate::error::{Error, printable};
use crate::quantity::Quantity;
use std::ops::RangeInclusive;

/// Brings the text of a curve by its name.
pub type Curves<'a> = dyn Fn(&str) -> Result<String, Error> + 'a;

/// Brings no curve: for a camera text that comes alone.
///
/// # Errors
/// Always: there is none.
pub fn no_curves(_: &str) -> Result<String, Error> {
    Err(Error::not_there(
        "names a curve file, but no files came with the camera",
        "use a known name",
    ))
}

/// The text of a camera file and its name, to say where a fault lies.
pub(super) struct Source<'a> {
    pub(super) text: &'a str,
    pub(super) name: &'a str,
    pub(super) curves: &'a Curves<'a>,
}

impl Source<'_> {
    pub(super) fn fault(&self, at: usize, wrong: &str, remedy: &str) -> Error {
        let line = 1 + self.text.bytes().take(at).filter(|byte| *byte == b'\n').count();
        Error::damaged(printable(wrong), remedy).at_line(line).in_file(self.name)
    }

    /// A fault that was found elsewhere, at a key.
    pub(super) fn about(&self, at: usize, key: &str, why: &Error) -> Error {
        self.fault(at, &format!("{key}: {why}"), why.remedy())
    }

    pub(super) fn length(
        &self,
        key: &str,
        words: &Words,
        range: RangeInclusive<f64>,
    ) -> Result<f64, Error> {
        let at = words.span().start;
        let read = Quantity::Length.read_positive(words.get_ref());
        let value = read.map_err(|why| self.fault(at, &format!("{key} = {why}"), why.remedy()))?;
        self.within(at, key, value, range, |v| Quantity::Length.write(v))
    }

    pub(super) fn number(
        &self,
        key: &str,
        number: &Number,
        range: RangeInclusive<f64>,
    ) -> Result<f64, Error> {
        let at = number.span().start;
        self.within(at, key, *number.get_ref(), range, |v| format!("{v}"))
    }

    pub(super) fn within(
        &self,
        at: usize,
        key: &str,
        value: f64,
        range: RangeInclusive<f64>,
        write: impl Fn(f64) -> String,
    ) -> Result<f64, Error> {
        if range.contains(&value) {
            return Ok(value);
        }
        Err(self.fault(
            at,
            &format!("{key} = {} is out of range", write(value)),
            &format!("give a value from {} to {}", write(*range.start()), write(*range.end())),
        ))
    }

    pub(super) fn time(&self, key: &str, words: &Words) -> Result<f64, Error> {
        self.time_of(words.span().start, key, words.get_ref())
    }

    pub(super) fn time_of(&self, at: usize, key: &str, words: &str) -> Result<f64, Error> {
        Quantity::Time
            .read_positive(words)
            .map_err(|why| self.fault(at, &format!("{key} = {why}"), why.remedy()))
    }

    pub(super) fn angle(&self, key: &str, words: &Words) -> Result<f64, Error> {
        Quantity::Angle
            .read(words.get_ref())
            .map_err(|why| self.fault(words.span().start, &format!("{key} = {why}"), why.remedy()))
    }

    /// A movement of the image on the film in mm: a length, or an angle by which the camera turns, which
    /// moves the middle of the film by the film distance times its tangent.
    pub(super) fn displacement(
        &self,
        key: &str,
        whole: &Words,
        words: &str,
        film_mm: f64,
    ) -> Result<f64, Error> {
        let at = whole.span().start;
        let moved = match Quantity::Angle.read_positive(words) {
            Ok(angle) => film_mm * angle.min(1.0).tan(),
            Err(_) => Quantity::Length.read_positive(words).map_err(|why| {
                self.fault(
                    at,
                    &format!("{key} = {why}"),
                    "give a movement on the film, as in \"0.1 mm\", or of the camera, as in \
                     \"0.02 deg\"",
                )
            })?,
        };
        self.within(at, key, moved, 1e-9..=100.0, |v| Quantity::Length.write(v))
    }

    /// A movement and the time it takes, as in "0.1 mm in 1 min": in mm and s.
    pub(super) fn displacement_in(
        &self,
        key: &str,
        words: &Words,
        film_mm: f64,
    ) -> Result<(f64, f64), Error> {
        let at = words.span().start;
        let Some((moved, time)) = words.get_ref().split_once(" in ") else {
            return Err(self.fault(
                at,
                &format!("{key} = \"{}\" does not say how long that takes", words.get_ref()),
                "write a movement and its time, as in \"0.1 mm in 1 min\" or \"0.02 deg in 10 s\"",
            ));
        };
        Ok((self.displacement(key, words, moved, film_mm)?, self.time_of(at, key, time)?))
    }
}
