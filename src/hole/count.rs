//! A size in words: how many diameters fit in a length, or the diameter itself.

use super::uncertainty::{SizeUncertainty, expanded_from_half_width};
use crate::error::Error;
use crate::quantity::{Quantity, number_of};

/// A count under a loupe is good to a quarter of a diameter, unless someone knows better of their own
/// eye. Common practice, no source.
const COUNT_HALF_WIDTH: f64 = 0.25;

/// A diameter that somebody states without a word on how well it is known is taken to be good to this, expanded. Common
/// practice, no source.
pub(super) const STATED_WITHIN: f64 = 0.03;
/// Fewer than this many diameters in a length cannot be counted.
const LEAST_COUNT: f64 = 0.5;

/// Reads "4.5 per mm", "4.5/mm", "4½ per mm", "9 in 2 mm", "40 per inch": how many diameters fit in a length. None when
/// the words are no count. The diameter in mm, and how well it is known: δd/d = δn/n, δn the `reading` in diameters,
/// or what the count itself says, "4.5 ± 0.1 per mm".
///
/// # Errors
/// [`NotUnderstood`](crate::Kind::NotUnderstood) when a count is not a number of at least a half, or its length is none.
pub(super) fn read_count(
    words: &str,
    reading: Option<f64>,
) -> Result<Option<(f64, SizeUncertainty)>, Error> {
    let Some((count, length)) = parts(words) else { return Ok(None) };
    no_comma(words, "4.5 per mm")?;
    let remedy = "write how many diameters fit in a length, as in \"4.5 per mm\" or \"9 in 2 mm\"";
    let (count, stated) = match parted(count) {
        Some((count, within)) => (count, Some(read_reading(within.trim())?)),
        None => (count, None),
    };
    let count = match number_of(plain(count).trim()) {
        Some(count) if count >= LEAST_COUNT && count.is_finite() => count,
        Some(count) if count > 0.0 => {
            return Err(Error::words(
                words,
                "is too small a count: less than half a diameter in that length",
                "count in a longer length, as in \"3 in 10 mm\"",
            ));
        }
        _ => return Err(Error::words(words, "has no number above zero for the count", remedy)),
    };
    let length = plain(length).trim().to_owned();
    // "per mm" is per one of them.
    let length = if length.starts_with(|c: char| c.is_alphabetic()) {
        format!("1 {length}")
    } else {
        length
    };
    let diameter_mm = Quantity::Length.read_positive(&length)? / count;
    let relative = expanded_from_half_width(stated.or(reading).unwrap_or(COUNT_HALF_WIDTH)) / count;
    Ok(Some((diameter_mm, SizeUncertainty { relative, ..SizeUncertainty::default() })))
}

/// The count and the length of "4 per mm", "4/mm" or "9 in 2 mm".
fn parts(words: &str) -> Option<(&str, &str)> {
    // "9 in 2 mm" could be nine inches and more, but nobody writes a pinhole so.
    let in_a_length = || {
        let (count, length) = words.split_once(" in ")?;
        length.trim_start().starts_with(|c: char| c.is_ascii_digit()).then_some((count, length))
    };
    // "1/50 in" is a fraction: what follows the stroke of a count is a unit.
    let over_a_unit = || {
        let (count, length) = words.rsplit_once('/')?;
        let is_unit = length.trim_start().starts_with(|c: char| c.is_alphabetic());
        let is_count =
            count.trim_start().starts_with(|c: char| c.is_ascii_digit() || ".½¼¾".contains(c));
        (is_unit && is_count).then_some((count, length))
    };
    words.split_once(" per ").or_else(in_a_length).or_else(over_a_unit)
}

/// A value and how far it may be off.
fn parted(words: &str) -> Option<(&str, &str)> {
    ["±", "+/-", "+-"].iter().find_map(|sign| words.split_once(sign))
}

/// Reads how well a count is read, in diameters: "1/4", "0.1".
///
/// # Errors
/// A fault unless it is above 0 and no more than 2.
pub fn read_reading(words: &str) -> Result<f64, Error> {
    match number_of(words.trim()) {
        Some(share) if share > 0.0 && share <= 2.0 => Ok(share),
        _ => Err(Error::words(
            words,
            "is not a fraction of a diameter",
            "write how far a count may be off, as in \"1/4\" or \"0.1\"",
        )),
    }
}

/// Fractions of one letter as people type them.
fn plain(text: &str) -> String {
    text.replace('½', " 1/2").replace('¼', " 1/4").replace('¾', " 3/4")
}

/// Refuses a decimal comma, with the words as they should be.
pub(super) fn no_comma(words: &str, example: &str) -> Result<(), Error> {
    if !words.contains(',') {
        return Ok(());
    }
    let with_point = words.replace(',', ".");
    Err(Error::words(
        words,
        "has a comma in it",
        format!(
            "write the decimal sign as a point: \"{}\" (as in \"{example}\")",
            with_point.trim()
        ),
    ))
}

/// Reads a diameter, "0.34 mm", in mm, with its uncertainty where one is stated, "0.34 ± 0.01 mm" (expanded, k = 2);
/// without one it is taken to be good to 3 %, whatever the unit.
///
/// # Errors
/// As [`Quantity::read_positive`].
pub(super) fn read_size(words: &str) -> Result<(f64, SizeUncertainty), Error> {
    no_comma(words, "0.34 mm")?;
    let words = plain(words);
    let words = words.trim();
    let Some((size, within)) = parted(words) else {
        let diameter_mm = Quantity::Length.read_positive(words)?;
        return Ok((
            diameter_mm,
            SizeUncertainty { relative: STATED_WITHIN, ..SizeUncertainty::default() },
        ));
    };
    let is_bare = |words: &str| !words.chars().any(char::is_alphabetic);
    if is_bare(size) && is_bare(within) {
        return Err(Error::words(
            words,
            "has no unit",
            "write the size, its unit and how far it may be off, as in \"0.34 mm ± 3 %\"",
        ));
    }
    let diameter_mm = Quantity::Length.read_positive(&with_unit_of(size, within))?;
    let within_mm = match within.trim().strip_suffix('%') {
        Some(percent) => diameter_mm * number_of(percent.trim()).unwrap_or(f64::NAN) / 100.0,
        None => Quantity::Length.read_positive(within)?,
    };
    let relative = within_mm / diameter_mm;
    if !(0.0..1.0).contains(&relative) {
        return Err(Error::words(
            words,
            "has an uncertainty that is not below its size",
            "write the size and how far it may be off, as in \"0.34 ± 0.01 mm\"",
        ));
    }
    Ok((diameter_mm, SizeUncertainty { relative, ..SizeUncertainty::default() }))
}

/// A length with the unit of the one after it, where it has none of its own: "0.34 ± 0.01 mm".
pub(super) fn with_unit_of(first: &str, second: &str) -> String {
    let unit: String = second.chars().skip_while(|c| !c.is_alphabetic()).collect();
    let has_unit = first.chars().any(char::is_alphabetic);
    if has_unit { first.trim().to_owned() } else { format!("{} {unit}", first.trim()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// n = 4.5 in 1 mm: 0.2222 mm, ± a quarter diameter is ± 0.0123 mm, uniform (so k = 2: 2/√3 of it).
    #[test]
    fn a_count_is_a_size() {
        let (diameter, uncertainty) = read_count("4.5 per mm", None).unwrap().unwrap();
        assert!((diameter - 0.222_22).abs() < 1e-5);
        let half_width = uncertainty.of_diameter(diameter) * 3f64.sqrt() / 2.0;
        assert!((half_width - 0.0123).abs() < 1e-4);
        assert!((read_count("9 in 2 mm", None).unwrap().unwrap().0 - 2.0 / 9.0).abs() < 1e-12);
        assert!((read_count("5 1/2 per mm", None).unwrap().unwrap().0 - 1.0 / 5.5).abs() < 1e-12);
        assert_eq!(read_count("1/50 in", None).unwrap(), None);
        assert!((read_count("9 per 2 mm", None).unwrap().unwrap().0 - 2.0 / 9.0).abs() < 1e-12);
        assert!((read_count("5 per 1/16 in", None).unwrap().unwrap().0 - 0.3175).abs() < 1e-12);
        assert_eq!(read_count("0.34 mm", None).unwrap(), None);
        for bad in ["0 per mm", "x per mm", "4 per s", "4 per 0 mm", "4 per "] {
            assert!(read_count(bad, None).is_err(), "{bad}");
        }
    }

    /// Counts as people say them, all of them 4.5 in a millimetre, and one in an inch.
    #[test]
    fn counts_are_read_as_people_say_them() {
        for words in [
            "4.5 per mm",
            "4.5/mm",
            "4.5 / mm",
            "4½ per mm",
            "4 1/2 in 1 mm",
            "9 in 2 mm",
            "4 ½ per mm",
        ] {
            let (diameter, _) = read_count(words, None).unwrap().unwrap();
            assert!((diameter - 1.0 / 4.5).abs() < 1e-12, "{words}: {diameter}");
        }
        for words in ["40 per inch", "40 per in", "40/in", "40/inch"] {
            let (diameter, _) = read_count(words, None).unwrap().unwrap();
            assert!((diameter - 0.635).abs() < 1e-12, "{words}: {diameter}");
        }
        // A quarter of a diameter is the reading where none is said; what the count says itself counts.
        let known = |words: &str| {
            let (diameter, uncertainty) = read_count(words, Some(0.4)).unwrap().unwrap();
            uncertainty.of_diameter(diameter) / diameter
        };
        assert!((known("4.5 ± 0.1 per mm") / known("4.5 per mm") - 0.25).abs() < 1e-12);
        assert!(read_count("4.5 ± 9 per mm", None).is_err());
        let comma = read_count("4,5 per mm", None).unwrap_err();
        assert!(comma.remedy().contains("4.5 per mm"), "{comma}");
        assert!(
            read_count("0.3 per mm", None).unwrap_err().to_string().contains("too small a count")
        );
    }

    #[test]
    fn a_reading_is_a_fraction_of_a_diameter() {
        assert_eq!(read_reading("1/4").unwrap(), 0.25);
        for bad in ["0", "-1", "3", "x", ""] {
            assert!(read_reading(bad).is_err(), "{bad}");
        }
    }

    /// The same size in any unit is known as well; a stated uncertainty is taken.
    #[test]
    fn a_size_is_as_good_as_it_is_said_to_be() {
        for words in ["0.2 mm", "0.20 mm", "200 um", "1/127 in", " +0.2 mm", "1/5 mm"] {
            let (diameter, uncertainty) = read_size(words).unwrap();
            assert!((diameter - 0.2).abs() < 1e-9, "{words}: {diameter}");
            assert!((uncertainty.of_diameter(diameter) - 0.006).abs() < 1e-9, "{words}");
        }
        for words in ["0.20 ± 0.01 mm", "0.2 mm ± 10 um", "0.2 mm +/- 0.01 mm", "200 um ± 5 %"] {
            let (diameter, uncertainty) = read_size(words).unwrap();
            assert!((diameter - 0.2).abs() < 1e-9, "{words}: {diameter}");
            assert!((uncertainty.of_diameter(diameter) - 0.01).abs() < 1e-9, "{words}");
        }
        assert!(read_size("0,2 mm").unwrap_err().remedy().contains("\"0.2 mm\""));
        assert!((read_size("½ mm").unwrap().0 - 0.5).abs() < 1e-12);
        assert!(read_size("0.2 ± 0.3 mm").is_err());
        assert!(read_size("0.2 ± 10 %").unwrap_err().to_string().contains("no unit"));
    }
}
