//! What to type next, as a line under an answer.

use std::fmt::{self, Display, Formatter};

/// A command to be typed next, word by word.
pub(super) struct Next(Vec<String>);

impl Next {
    /// A command of this program.
    pub(super) fn of(command: &str) -> Next {
        Next(vec!["foramen".into(), command.into()])
    }

    /// With an option and its value.
    #[must_use]
    pub(super) fn with(mut self, option: &str, value: &str) -> Next {
        self.0.extend([option.to_owned(), quoted(value)]);
        self
    }

    /// With words that are quoted already.
    #[must_use]
    pub(super) fn and(mut self, words: &[String]) -> Next {
        self.0.extend_from_slice(words);
        self
    }
}

impl Display for Next {
    fn fmt(&self, to: &mut Formatter<'_>) -> fmt::Result {
        writeln!(to, "  Next, type: {}", self.0.join(" "))
    }
}

/// A word as a shell takes it: in quotation marks where it has anything but letters, digits and a few signs.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:,+=".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    // Double marks serve in Windows' shells too; what they would read is kept from them by single ones.
    if word.contains(['"', '$', '`', '\\', '!']) {
        return format!("'{}'", word.replace('\'', "'\\''"));
    }
    format!("\"{word}\"")
}

/// An option and its value as they are typed.
pub(super) fn option(name: &str, value: &str) -> [String; 2] {
    [name.to_owned(), quoted(value)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_quoted_for_a_shell() {
        assert_eq!(quoted("camera.toml"), "camera.toml");
        assert_eq!(quoted("0.34 mm"), "\"0.34 mm\"");
        assert_eq!(quoted(""), "\"\"");
        assert_eq!(quoted("a$b"), "'a$b'");
        assert_eq!(quoted("it's \"b\""), "'it'\\''s \"b\"'");
        let next = Next::of("target").with("--camera", "my box.toml").to_string();
        assert_eq!(next, "  Next, type: foramen target --camera \"my box.toml\"\n");
    }
}
