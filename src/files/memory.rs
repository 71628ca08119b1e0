//! How much memory a run may take: what it will need is estimated before the work, from what comes in.

use crate::error::{Error, quoted};
use crate::quantity::number_of;

/// The units of memory, in bytes.
const UNITS: [(&str, f64); 3] = [("MB", 1e6), ("GB", 1e9), ("TB", 1e12)];

/// The most memory that a run may take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Memory {
    most_bytes: f64,
}

impl Default for Memory {
    /// 4 GB.
    fn default() -> Memory {
        Memory { most_bytes: 4e9 }
    }
}

impl Memory {
    /// Reads a limit, as in "2 GB".
    ///
    /// # Errors
    /// A fault for what is not a positive number of MB, GB or TB.
    pub fn read(words: &str) -> Result<Memory, Error> {
        let text = words.trim();
        let bytes = UNITS.iter().find_map(|(unit, bytes)| {
            number_of(text.strip_suffix(unit)?.trim()).map(|number| number * bytes)
        });
        bytes
            .filter(|bytes| bytes.is_finite() && *bytes > 0.0)
            .map(|most_bytes| Memory { most_bytes })
            .ok_or_else(|| {
                Error::not_understood(
                    format!("{} is not an amount of memory", quoted(words)),
                    "write a number of MB or GB, as in \"2 GB\"",
                )
            })
    }

    /// Checks that work may be begun that needs so many bytes; `fitting` says what would fit, given the share of the
    /// need that may be had.
    ///
    /// # Errors
    /// A fault that says how much is needed.
    pub fn allows(
        &self,
        needed_bytes: f64,
        fitting: impl FnOnce(f64) -> String,
    ) -> Result<(), Error> {
        if needed_bytes <= self.most_bytes {
            return Ok(());
        }
        Err(Error::limit(
            format!(
                "needs {} of memory, and {} are allowed",
                written(needed_bytes),
                written(self.most_bytes)
            ),
            fitting(self.most_bytes / needed_bytes),
        ))
    }
}

fn written(bytes: f64) -> String {
    match bytes {
        bytes if bytes < 1e9 => format!("{:.0} MB", (bytes / 1e6).ceil()),
        bytes => format!("{:.1} GB", bytes / 1e9),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_read_and_held() {
        assert_eq!(Memory::read(" 1.5 GB ").unwrap(), Memory::read("1500 MB").unwrap());
        for bad in ["", "2", "GB", "0 GB", "-1 GB", "nan GB", "1e400 GB", "2 gigs"] {
            assert!(Memory::read(bad).is_err(), "{bad}");
        }
        let memory = Memory::read("1 GB").unwrap();
        assert!(memory.allows(1e9, |_| String::new()).is_ok());
        let why = memory.allows(4e9, |share| format!("{share}")).unwrap_err();
        assert_eq!(
            (why.remedy(), why.wrong()),
            ("0.25", "needs 4.0 GB of memory, and 1.0 GB are allowed")
        );
    }
}
