//! A size in words: how many diameters fit in a length, or the diameter itself.

use super::uncertainty::{SizeUncertainty, expanded_from_half_width};
use crate::error::Error;
use crate::quantity::{Quantity, number_of};

/// A count under a loupe is good to a quarter of a diameter, unless someone knows better of their own
/// eye. Common practice, no source.
const COUNT_HALF_WIDTH: f64 = 0.25;

/// Reads "4.5 per mm", "5 1/2 per mm", "9 in 2 mm", "5 per 1/16 in": how many diameters fit in a length.
/// None when the words are no count. The diameter in mm, and how well it is known: δd/d = δn/n, δn
/// the `reading` in diameters.
///
/// # Errors
/// [`Error::Words`] when a count is not a number above zero, or its length is none.
pub(super) fn read_count(
    words: &str,
    reading: Option<f64>,
) -> Result<Option<(f64, SizeUncertainty)>, Error> {
    // "9 in 2 mm" could be nine inches and more, but nobody writes a pinhole so.
    let in_a_length = || {
        let (count, length) = words.split_once(" in ")?;
        length.trim_start().starts_with(|c: char| c.is_ascii_digit()).then_some((count, length))
    };
    let Some((count, length)) = words.split_once(" per ").or_else(in_a_length) else {
        return Ok(None);
    };
    let remedy = "write how many diameters fit in a length, as in \"4.5 per mm\"";
    let count = match number_of(count.trim()) {
        Some(count) if count > 0.0 && count.is_finite() => count,
        _ => return Err(Error::words(words, "has no number above zero for the count", remedy)),
    };
    let length = length.trim();
    // "per mm" is per one of them.
    let length = if length.starts_with(|c: char| c.is_alphabetic()) {
        format!("1 {length}")
    } else {
        length.to_owned()
    };
    let diameter_mm = Quantity::Length.read_positive(&length)? / count;
    let relative = expanded_from_half_width(reading.unwrap_or(COUNT_HALF_WIDTH)) / count;
    Ok(Some((diameter_mm, SizeUncertainty { relative, ..SizeUncertainty::default() })))
}

/// Reads a diameter, "0.34 mm", in mm. It is taken to be good to half a unit of its last digit, as
/// it was written (common practice, no source).
///
/// # Errors
/// As [`Quantity::read_positive`].
pub(super) fn read_size(words: &str) -> Result<(f64, SizeUncertainty), Error> {
    let diameter_mm = Quantity::Length.read_positive(words)?;
    let digits = deciding_digits(words);
    let relative = match digits.parse::<f64>() {
        Ok(number) if number > 0.0 => {
            let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
            expanded_from_half_width(0.5 * 10f64.powi(-(decimals as i32))) / number
        }
        _ => 0.0,
    };
    Ok((diameter_mm, SizeUncertainty { relative, ..SizeUncertainty::default() }))
}

/// The digits that say how fine a size is: those of its number, and of "1/50 in" those below the
/// stroke, since the next sizes are 1/49 and 1/51.
fn deciding_digits(words: &str) -> &str {
    let leading =
        |text: &str| text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let number = words.trim().trim_start_matches('+');
    let end = leading(number);
    match number[end..].strip_prefix('/') {
        Some(below) => &below[..leading(below)],
        None => &number[..end],
    }
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

    #[test]
    fn a_size_is_as_good_as_its_digits() {
        let (diameter, uncertainty) = read_size("0.34 mm").unwrap();
        assert_eq!(diameter, 0.34);
        assert!((uncertainty.of_diameter(diameter) - 0.005 * 2.0 / 3f64.sqrt()).abs() < 1e-12);
        // Half of one in fifty, of thirteen, of thirty-four hundredths.
        for (words, share) in
            [("1/50 in", 0.01), ("13 thou", 0.5 / 13.0), (" +0.34 mm", 0.5 / 34.0)]
        {
            let relative = read_size(words).unwrap().1.relative;
            assert!((relative - share * 2.0 / 3f64.sqrt()).abs() < 1e-12, "{words}: {relative}");
        }
    }
}
