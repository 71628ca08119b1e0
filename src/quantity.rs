//! Lengths, times, wavelengths and angles as people write them.
//!
//! The one parser and the one formatter: whatever a person types or reads with a unit passes here.
//! Inside the library a length is an `f64` in mm, a wavelength in nm, a time in s, an angle in rad.
//!
//! ```
//! use foramen::quantity::Quantity;
//! // One fiftieth of an inch is 0.508 mm, by the definition of the inch (25.4 mm exactly).
//! assert!((Quantity::Length.read("1/50 in")? - 0.508).abs() < 1e-12);
//! assert_eq!(Quantity::Time.read("4 min 20 s")?, 260.0);
//! assert_eq!(Quantity::Length.write(0.34), "0.34 mm");
//! # Ok::<(), foramen::Error>(())
//! ```

use crate::error::Error;
use std::f64::consts::PI;

/// Tells what kind of thing is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// A length, in mm.
    Length,
    /// A time, in s.
    Time,
    /// A wavelength of light, in nm.
    Wavelength,
    /// An angle, in rad.
    Angle,
}

/// Is the length of an inch, in mm: exact (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// The largest angle that is meant as one: ten turns, in rad. Further out rounding would eat its digits.
const LARGEST_ANGLE_RAD: f64 = 20.0 * PI;

/// Units of each kind: the name people write, and its size in the library's unit; thou = in/1000.
const LENGTHS: &[(&str, f64)] = &[
    ("mm", 1.0),
    ("um", 1e-3),
    ("µm", 1e-3),
    ("μm", 1e-3),
    ("nm", 1e-6),
    ("cm", 10.0),
    ("m", 1000.0),
    ("in", MM_PER_INCH),
    ("inch", MM_PER_INCH),
    ("thou", MM_PER_INCH / 1000.0),
    ("ft", 304.8),
];
const TIMES: &[(&str, f64)] = &[("s", 1.0), ("ms", 1e-3), ("min", 60.0), ("h", 3600.0)];
const WAVELENGTHS: &[(&str, f64)] = &[("nm", 1.0), ("um", 1e3), ("µm", 1e3), ("μm", 1e3)];
const ANGLES: &[(&str, f64)] = &[("deg", PI / 180.0), ("°", PI / 180.0), ("rad", 1.0)];

impl Quantity {
    fn units(self) -> &'static [(&'static str, f64)] {
        match self {
            Quantity::Length => LENGTHS,
            Quantity::Time => TIMES,
            Quantity::Wavelength => WAVELENGTHS,
            Quantity::Angle => ANGLES,
        }
    }

    fn noun(self) -> (&'static str, &'static str) {
        match self {
            Quantity::Length => ("length", "0.34 mm"),
            Quantity::Time => ("time", "2.5 s"),
            Quantity::Wavelength => ("wavelength", "550 nm"),
            Quantity::Angle => ("angle", "30 deg"),
        }
    }

    /// Reads a number with its unit, or several that add up ("4 min 20 s"), in the library's unit.
    /// A number may be a decimal, a fraction ("1/60") or both ("1 1/2").
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) for an empty text, a missing or unknown unit, a decimal comma, or anything
    /// that is not a finite number; for an angle of more than ten turns.
    pub fn read(self, text: &str) -> Result<f64, Error> {
        let (_, example) = self.noun();
        if text.trim().is_empty() {
            return Err(Error::words(
                text,
                "is empty",
                format!("write a number and its unit, as in \"{example}\""),
            ));
        }
        if text.contains(',') {
            return Err(Error::words(
                text,
                "has a comma in it",
                format!("write a decimal point, as in \"{example}\""),
            ));
        }
        let trimmed = text.trim();
        let (sign, mut rest) = match trimmed.strip_prefix('-') {
            Some(magnitude) => (-1.0, magnitude.trim_start()),
            None => (1.0, trimmed),
        };
        let mut total = 0.0;
        while !rest.is_empty() {
            let (number, after) = split_number(rest);
            let value = number_of(number).ok_or_else(|| {
                Error::words(
                    text,
                    format!("has no plain number before \"{}\"", first_word(after)),
                    format!("write a number and its unit, as in \"{example}\""),
                )
            })?;
            let unit = first_word(after);
            total += sign * value * self.unit_size(text, unit)?;
            rest = after[unit.len()..].trim_start();
        }
        let most = if self == Quantity::Angle { LARGEST_ANGLE_RAD } else { f64::MAX };
        if !total.is_finite() || total.abs() > most {
            return Err(Error::words(text, "is too large", "write a smaller number"));
        }
        Ok(total)
    }

    /// Reads as [`Quantity::read`] does, and refuses zero and negative values.
    ///
    /// # Errors
    /// As [`Quantity::read`]; [`NotUnderstood`](crate::Kind::NotUnderstood) when the value is not above zero.
    pub fn read_positive(self, text: &str) -> Result<f64, Error> {
        let value = self.read(text)?;
        if value > 0.0 {
            return Ok(value);
        }
        let (noun, example) = self.noun();
        Err(Error::words(
            text,
            "must be above zero",
            format!("write a {noun} above zero, as in \"{example}\""),
        ))
    }

    fn unit_size(self, text: &str, unit: &str) -> Result<f64, Error> {
        let (noun, example) = self.noun();
        if unit.is_empty() {
            return Err(Error::words(
                text,
                "has no unit",
                format!("write its unit too, as in \"{example}\""),
            ));
        }
        self.units().iter().find(|(name, _)| *name == unit).map(|(_, size)| *size).ok_or_else(
            || {
                let known: Vec<&str> =
                    self.units().iter().map(|u| u.0).filter(|u| u.is_ascii()).collect();
                Error::words(
                    text,
                    format!("uses \"{unit}\", which is not a unit of {noun}"),
                    format!("use one of: {}", known.join(", ")),
                )
            },
        )
    }

    /// Writes a value in the library's unit for people, to three digits, in the unit they use.
    pub fn write(self, value: f64) -> String {
        match self {
            Quantity::Length => write_length(value),
            Quantity::Time => write_time(value),
            Quantity::Wavelength => format!("{} nm", significant(value, 4)),
            Quantity::Angle => format!("{} deg", significant(value.to_degrees(), 3)),
        }
    }
}

/// Writes a length and its uncertainty with the digits that the uncertainty leaves: "0.342 ± 0.004 mm".
pub fn write_length_within(length_mm: f64, uncertainty_mm: f64) -> String {
    let (unit, size) = length_unit(length_mm);
    format!("{} {unit}", within(length_mm / size, uncertainty_mm / size))
}

/// Writes an area and its uncertainty with the digits that the uncertainty leaves: "0.0707 ± 0.0008 mm²".
pub fn write_area_within(area_mm2: f64, uncertainty_mm2: f64) -> String {
    format!("{} mm²", within(area_mm2, uncertainty_mm2))
}

/// A value and its uncertainty; the value alone, to three digits, where that is none.
fn within(value: f64, uncertainty: f64) -> String {
    if !(uncertainty > 0.0 && uncertainty.is_finite()) {
        return significant(value, 3);
    }
    // Two digits where the first is a 1, else one: the usual rule for stating an uncertainty.
    let first = 10f64.powf(uncertainty.log10().floor());
    let digits = if uncertainty / first < 1.95 { 1 } else { 0 };
    let decimals = (digits - uncertainty.log10().floor() as i32).clamp(0, 9) as usize;
    format!("{value:.decimals$} ± {uncertainty:.decimals$}")
}

/// Writes `value` to `digits` significant digits, in plain decimals, without trailing zeros.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let decimals = (digits - 1 - value.abs().log10().floor() as i32).clamp(0, 15) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

fn length_unit(length_mm: f64) -> (&'static str, f64) {
    match length_mm.abs() {
        l if l >= 1000.0 => ("m", 1000.0),
        l if l < 0.01 && l > 0.0 => ("µm", 1e-3),
        _ => ("mm", 1.0),
    }
}

fn write_length(length_mm: f64) -> String {
    // Less than a picometre is what rounding leaves of nothing.
    if length_mm.abs() < 1e-9 {
        return "0 mm".into();
    }
    let (unit, size) = length_unit(length_mm);
    format!("{} {unit}", significant(length_mm / size, 3))
}

fn write_time(seconds: f64) -> String {
    let whole = seconds.round();
    if !seconds.is_finite() {
        return format!("{seconds} s");
    }
    if seconds > 0.0 && seconds < 0.3 {
        return format!("1/{} s", significant((1.0 / seconds).round(), 2));
    }
    if seconds < 59.5 {
        return format!("{} s", significant(seconds, if seconds < 10.0 { 2 } else { 3 }));
    }
    let (large, small, ratio, unit) = match whole {
        w if w < 3600.0 => ("min", "s", 60.0, 1.0),
        w if w < 172_800.0 => ("h", "min", 60.0, 60.0),
        _ => ("days", "h", 24.0, 3600.0),
    };
    let count = (seconds / unit).round();
    let (big, little) = ((count / ratio).floor(), count % ratio);
    if little == 0.0 { format!("{big} {large}") } else { format!("{big} {large} {little} {small}") }
}

/// A time as a person says it at the camera: 1/60 s, 2 s, 15 s, 4 min, 2 h. Within a tenth of the time itself, which
/// is a sixth of a stop.
pub fn spoken_time(seconds: f64) -> String {
    const STEPS: [f64; 14] =
        [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0];
    let nearest = |value: f64| {
        let decade = 10f64.powf(value.log10().floor());
        let off = |step: &f64| (step * decade / value).ln().abs();
        STEPS
            .into_iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .map_or(value, |step| step * decade)
    };
    match seconds {
        s if !(s > 0.0 && s.is_finite()) => format!("{seconds} s"),
        s if s < 0.7 => format!("1/{} s", significant(nearest(1.0 / s), 2)),
        s if s < 57.0 => format!("{} s", significant(nearest(s), 2)),
        s if s < 3500.0 => format!("{} min", significant(nearest(s / 60.0), 2)),
        s => format!("{} h", significant(nearest(s / 3600.0), 2)),
    }
}

/// Splits "1 1/2 in" into ("1 1/2", "in"); the second part starts with the unit.
fn split_number(text: &str) -> (&str, &str) {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | '+' | '-' | ' ');
    let mut end = text.find(|c: char| !is_part(c)).unwrap_or(text.len());
    // An exponent belongs to the number: "3e-1 mm".
    let tail = &text[end..];
    if tail.starts_with(['e', 'E']) && text[..end].ends_with(|c: char| c.is_ascii_digit()) {
        let exponent = &tail[1..];
        let digits = exponent
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-')))
            .unwrap_or(exponent.len());
        if digits > 0 {
            end += 1 + digits;
        }
    }
    (text[..end].trim(), text[end..].trim_start())
}

fn first_word(text: &str) -> &str {
    let text = text.trim_start();
    let end = text.find(|c: char| c.is_whitespace() || c.is_ascii_digit()).unwrap_or(text.len());
    &text[..end]
}

/// A number without a sign: "0.34", "1/60", "1 1/2".
pub(crate) fn number_of(text: &str) -> Option<f64> {
    if text.contains('-') && !text.contains(['e', 'E']) {
        return None;
    }
    match text.split_whitespace().collect::<Vec<_>>()[..] {
        [single] => fraction(single).or_else(|| single.parse().ok()),
        [whole, part] => Some(whole.parse::<f64>().ok()? + fraction(part)?),
        _ => None,
    }
}

fn fraction(text: &str) -> Option<f64> {
    let (over, under) = text.split_once('/')?;
    let (over, under): (f64, f64) = (over.parse().ok()?, under.parse().ok()?);
    (under != 0.0).then_some(over / under)
}

/// A loss in just-noticeable differences.
pub fn jnd(loss_jnd: f64) -> String {
    match loss_jnd {
        loss if loss < 0.05 => "nothing".into(),
        loss if loss < 9.95 => format!("{loss:.1} jnd"),
        loss => format!("{loss:.0} jnd"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        let lengths = [
            ("0.34 mm", 0.34),
            ("0.34mm", 0.34),
            ("340 um", 0.34),
            ("340 µm", 0.34),
            ("13 thou", 0.3302),
            ("1/50 in", 0.508),
            ("1 1/2 in", 38.1),
            ("5 ft 3 in", 1600.2),
            ("2 m", 2000.0),
            ("12 cm", 120.0),
            ("3e-1 mm", 0.3),
            ("-5 mm", -5.0),
            ("1000 in", 25_400.0),
        ];
        for (text, truth) in lengths {
            let read = Quantity::Length.read(text).unwrap();
            assert!((read - truth).abs() < 1e-9 * truth.abs(), "{text}: {read}");
        }
        assert_eq!(Quantity::Time.read("1/60 s").unwrap(), 1.0 / 60.0);
        assert_eq!(Quantity::Time.read("4 min 20 s").unwrap(), 260.0);
        assert_eq!(Quantity::Wavelength.read("0.55 um").unwrap(), 550.0);
        assert!((Quantity::Angle.read("180 deg").unwrap() - PI).abs() < 1e-15);
    }

    #[test]
    fn refuses_and_says_what_to_write() {
        let cases = [
            ("0,34 mm", "comma"),
            ("0.34", "has no unit"),
            ("", "empty"),
            ("mm", "no plain number"),
            ("0.34 furlong", "not a unit of length"),
            ("NaN mm", "no plain number"),
            ("inf mm", "no plain number"),
            ("1e999 mm", "too large"),
            ("1/0 mm", "no plain number"),
            ("1 2 mm", "no plain number"),
            ("0.34 s", "not a unit of length"),
            ("1.2.3 mm", "no plain number"),
        ];
        for (text, expected) in cases {
            let error = Quantity::Length.read(text).unwrap_err();
            assert!(error.to_string().contains(expected), "{text}: {error}");
            assert!(!error.remedy().is_empty());
        }
        for text in ["0 mm", "-1 mm"] {
            assert!(Quantity::Length.read_positive(text).is_err());
        }
    }

    #[test]
    fn writes_what_people_read() {
        let cases = [(0.34, "0.34 mm"), (0.0042, "4.2 µm"), (27.0, "27 mm"), (2540.0, "2.54 m")];
        for (mm, text) in cases {
            assert_eq!(Quantity::Length.write(mm), text);
        }
        let times = [
            (1.0 / 60.0, "1/60 s"),
            (2.64, "2.6 s"),
            (59.7, "1 min"),
            (260.0, "4 min 20 s"),
            (7500.0, "2 h 5 min"),
            (200_000.0, "2 days 8 h"),
        ];
        for (s, text) in times {
            assert_eq!(Quantity::Time.write(s), text);
        }
        for (s, text) in [
            (0.0163, "1/60 s"),
            (0.97, "1 s"),
            (5.34, "5 s"),
            (62.0, "1 min"),
            (260.0, "4 min"),
            (8000.0, "2 h"),
        ] {
            assert_eq!(spoken_time(s), text);
        }
        assert_eq!(write_length_within(0.34231, 0.0041), "0.342 ± 0.004 mm");
        assert_eq!(write_length_within(0.34231, 0.0012), "0.3423 ± 0.0012 mm");
    }
}
