//! The colours of plates, on light and on dark ground.

/// Describes the paper that a plate is drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ground {
    /// White.
    Light,
    /// Nearly black, for dark rooms and screens.
    Dark,
}

/// What a colour is for. Blue, vermilion, green and purple are told apart by people of any colour
/// vision, by their lightness too (after `OkabeIto2008`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Colour {
    /// Text and axes.
    Ink,
    /// Captions and quiet lines.
    Grey,
    /// The lines of a grid.
    Rule,
    /// What was measured, and the first of some lines.
    Blue,
    /// What is pointed at, and the second. Too pale on white for text, so for lines only.
    Vermilion,
    /// The third.
    Green,
    /// The fourth.
    Purple,
    /// What is drawn on.
    Paper,
    /// White on any ground: on pictures.
    White,
    /// Black on any ground: on what is bright.
    Black,
    /// Metal around a hole.
    Metal,
}

impl Colour {
    pub(crate) fn on(self, ground: Ground) -> &'static str {
        let [light, dark] = match self {
            Colour::Ink => ["#1a1a1a", "#f2f2f2"],
            Colour::Grey => ["#4a4a4a", "#c3c7cc"],
            Colour::Rule => ["#dddddd", "#3b4048"],
            Colour::Blue => ["#0072b2", "#56b4e9"],
            Colour::Vermilion => ["#d55e00", "#ff8a4c"],
            Colour::Green => ["#007d5c", "#3ccfa4"],
            Colour::Purple => ["#9a4a7c", "#e3a3cb"],
            Colour::Paper => ["#ffffff", "#14171c"],
            Colour::White => ["#ffffff", "#ffffff"],
            Colour::Black => ["#000000", "#000000"],
            Colour::Metal => ["#b9bec4", "#6b737d"],
        };
        match ground {
            Ground::Light => light,
            Ground::Dark => dark,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::decode;

    /// Relative luminance and contrast ratio of WCAG 2.2 (W3C, definitions of both terms).
    fn contrast(one: &str, other: &str) -> f64 {
        let luminance = |hex: &str| {
            let part = |at: usize| {
                decode(f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0)
            };
            0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
        };
        let (a, b) = (luminance(one) + 0.05, luminance(other) + 0.05);
        a.max(b) / a.min(b)
    }

    /// AA asks for 4.5 to 1 of text (success criterion 1.4.3) and for 3 to 1 of what is drawn (1.4.11).
    #[test]
    fn text_and_lines_stand_out() {
        for ground in [Ground::Light, Ground::Dark] {
            let on_paper = |colour: Colour| contrast(colour.on(ground), Colour::Paper.on(ground));
            for text in [Colour::Ink, Colour::Grey] {
                assert!(on_paper(text) >= 4.5, "{text:?} {ground:?} {}", on_paper(text));
            }
            for line in [Colour::Blue, Colour::Vermilion, Colour::Green, Colour::Purple] {
                assert!(on_paper(line) >= 3.0, "{line:?} {ground:?} {}", on_paper(line));
            }
        }
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    }
}
