//! A curve over the wavelengths, read from a table.

use crate::error::{Error, quoted};

/// Wavelengths that light of this program may have, in nm.
const WAVELENGTHS_NM: std::ops::RangeInclusive<f64> = 10.0..=100_000.0;

/// What the text of a curve looks like.
pub(crate) const FORM: &str = "write a wavelength in nm and a value on each line, as in \
                              \"550,0.82\": two lines or more, wavelengths ascending, values zero \
                              or more";

/// Describes a value for each wavelength: linear between its points, zero beyond its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// A curve through points that the program itself brings, wavelengths ascending.
    pub(super) fn through(points: Vec<(f64, f64)>) -> Curve {
        Curve { points }
    }

    /// Reads the text of a table of wavelengths in nm and values, one row a line.
    ///
    /// Columns are parted by a comma, a semicolon or a tab. The first row may be a header; blank
    /// lines and lines that begin with # are skipped.
    ///
    /// # Errors
    /// A fault with the line for rows that are not two numbers, wavelengths that do not
    /// ascend or lie outside 10 nm to 100 µm, and values that are negative or not finite; for fewer
    /// than two rows, and when all values are zero.
    pub fn parse(text: &str) -> Result<Curve, Error> {
        let wrong = |line: usize, what: String| Err(Error::damaged(what, FORM).at_line(line));
        let rows = text.trim_start_matches('\u{feff}').lines().map(str::trim).enumerate();
        let mut rows = rows.filter(|(_, row)| !row.is_empty() && !row.starts_with('#')).peekable();
        rows.next_if(|(_, row)| fields(row).all(|field| field.parse::<f64>().is_err()));
        let mut points: Vec<(f64, f64)> = Vec::new();
        for (line, row) in rows.map(|(above, row)| (above + 1, row)) {
            let numbers: Option<Vec<f64>> = fields(row).map(|field| field.parse().ok()).collect();
            let Some(&[nm, value]) = numbers.as_deref() else {
                return wrong(line, format!("{} is not two numbers", quoted(row)));
            };
            if !WAVELENGTHS_NM.contains(&nm) {
                return wrong(line, format!("{nm} nm is not between 10 nm and 100 µm"));
            }
            if !(value >= 0.0 && value.is_finite()) {
                return wrong(line, format!("the value {value} is negative or not finite"));
            }
            if let Some((before, _)) = points.last().filter(|(before, _)| *before >= nm) {
                return wrong(line, format!("{nm} nm comes after {before} nm"));
            }
            points.push((nm, value));
        }
        if points.len() < 2 {
            let wrong = format!("a curve needs two rows, this one has {}", points.len());
            return Err(Error::damaged(wrong, FORM));
        }
        if points.iter().all(|point| point.1 == 0.0) {
            return Err(Error::damaged("the curve is zero everywhere", FORM));
        }
        Ok(Curve { points })
    }

    /// Returns the value at a wavelength in nm.
    pub fn at(&self, nm: f64) -> f64 {
        let above = self.points.partition_point(|point| point.0 < nm);
        match (self.points.get(above.wrapping_sub(1)), self.points.get(above)) {
            (_, Some(&(place, value))) if place == nm => value,
            (Some(low), Some(high)) => low.1 + (high.1 - low.1) * (nm - low.0) / (high.0 - low.0),
            _ => 0.0,
        }
    }

    /// Returns the points of the curve: wavelength in nm and value, wavelengths ascending.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }
}

fn fields(row: &str) -> impl Iterator<Item = &str> {
    row.split([',', ';', '\t']).map(str::trim)
}

/// The rows of `N` numbers in a table of the program's own; its notes and header are skipped.
pub(super) fn table<const N: usize>(text: &str) -> impl Iterator<Item = [f64; N]> {
    text.lines().filter_map(|row| {
        let numbers: Option<Vec<f64>> = fields(row).map(|field| field.parse().ok()).collect();
        numbers?.try_into().ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Curve, Error> {
        Curve::parse(text)
    }

    #[test]
    fn tables_as_people_write_them_are_read() {
        let texts = [
            "400,0\n500,0.5\n700,1",
            "nm,value\n400,0\n500,0.5\n700,1\n",
            "\u{feff}wavelength;transmission\r\n400;0\r\n500; 0.5\r\n700;1\r\n",
            "\u{feff}400,0\n500,0.5\n700,1",
            "# a filter\n\n 400\t0 \n# in the middle\n500\t5e-1\n\n700\t1",
        ];
        for text in texts {
            let curve = parse(text).unwrap();
            assert_eq!(curve.points(), [(400.0, 0.0), (500.0, 0.5), (700.0, 1.0)], "{text}");
        }
    }

    #[test]
    fn linear_between_points_and_zero_beyond() {
        let curve = parse("400,0.2\n500,0.6\n700,0.4").unwrap();
        let cases = [
            (399.9, 0.0),
            (400.0, 0.2),
            (450.0, 0.4),
            (500.0, 0.6),
            (600.0, 0.5),
            (700.0, 0.4),
            (700.1, 0.0),
        ];
        for (nm, value) in cases {
            // A few roundings of numbers below 1.
            assert!((curve.at(nm) - value).abs() < 1e-15, "{nm}: {}", curve.at(nm));
        }
    }

    #[test]
    fn what_is_no_curve_is_refused_with_its_line() {
        let cases = [
            ("400,0.5\n500,0.6\n450,0.7", "line 3: 450 nm comes after 500 nm"),
            ("400,0.5\n\n400,0.6", "line 3: 400 nm comes after 400 nm"),
            ("nm,value\n400,-0.1\n500,1", "line 2: the value -0.1"),
            ("400,inf\n500,1", "line 1: the value inf"),
            ("400,NaN\n500,1", "line 1: the value NaN"),
            ("NaN,1\n500,1", "line 1: NaN nm"),
            ("9.9,1\n500,1", "line 1: 9.9 nm"),
            ("500,1\n100001,1", "line 2: 100001 nm"),
            ("400,1\n500,1,1", "line 2: \"500,1,1\" is not two numbers"),
            ("400,1\n500", "line 2: \"500\" is not two numbers"),
            ("nm,value\nnm,value\n500,1", "line 2: \"nm,value\""),
            ("400,5;0,5\n500,1", "line 1: \"400,5;0,5\" is not two"),
            ("nm,value\n500,1", "has 1"),
            ("", "has 0"),
            ("400,0\n500,0", "zero everywhere"),
        ];
        for (text, expected) in cases {
            let error = parse(text).unwrap_err();
            assert!(error.to_string().contains(expected), "{text}: {error}");
            assert!(error.remedy().contains("550,0.82"));
        }
    }
}
