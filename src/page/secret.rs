//! The secret of a shared bench.

use crate::error::Error;
use std::fmt::Write;

/// Bytes of a secret: 128 bits are out of reach of guessing.
const BYTES: usize = 16;

/// A secret made for one run of the program.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct Secret(String);

impl Secret {
    /// A new one, from the system's random numbers.
    pub(super) fn new() -> Result<Secret, Error> {
        let mut bytes = [0; BYTES];
        getrandom::fill(&mut bytes).map_err(|why| {
            Error::limit(
                format!("the system gives no random numbers: {why}"),
                "start without sharing",
            )
        })?;
        let mut text = String::new();
        // Writing to a string cannot fail.
        for byte in bytes {
            let _ = write!(text, "{byte:02x}");
        }
        Ok(Secret(text))
    }

    /// As it stands in the address and in the cookie.
    pub(super) fn text(&self) -> &str {
        &self.0
    }

    /// Whether `said` is the secret. The time this takes depends on the length of `said` alone.
    pub(super) fn is(&self, said: &str) -> bool {
        let (own, said) = (self.0.as_bytes(), said.as_bytes());
        let differ = own.iter().cycle().zip(said).fold(0, |differ, (a, b)| differ | (a ^ b));
        differ == 0 && own.len() == said.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_whole_secret_is_taken() {
        let secret = Secret::new().unwrap();
        let text = secret.text().to_owned();
        assert_eq!(text.len(), 2 * BYTES);
        assert!(secret.is(&text));
        assert!(secret != Secret::new().unwrap());
        let doubled = text.repeat(2);
        for wrong in ["", &text[1..], &text[..31], &doubled, &text.to_uppercase().replace('0', "1")]
        {
            assert!(!secret.is(wrong), "{wrong}");
        }
    }
}
