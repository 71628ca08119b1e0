//! What the trade goes by: the stock tools just below and just above a diameter, and the published constants c of a best
//! diameter d = c √(λz), with what each of them is best for.

use crate::quantity::MM_PER_INCH;
use serde::Serialize;
use std::f64::consts::SQRT_2;

/// Number drills 97 to 61, in inches: ANSI/ASME B94.11M (`ISO235`).
const NUMBER_DRILLS: [(&str, f64); 37] = [
    ("97", 0.0059),
    ("96", 0.0063),
    ("95", 0.0067),
    ("94", 0.0071),
    ("93", 0.0075),
    ("92", 0.0079),
    ("91", 0.0083),
    ("90", 0.0087),
    ("89", 0.0091),
    ("88", 0.0095),
    ("87", 0.0100),
    ("86", 0.0105),
    ("85", 0.0110),
    ("84", 0.0115),
    ("83", 0.0120),
    ("82", 0.0125),
    ("81", 0.0130),
    ("80", 0.0135),
    ("79", 0.0145),
    ("78", 0.0160),
    ("77", 0.0180),
    ("76", 0.0200),
    ("75", 0.0210),
    ("74", 0.0225),
    ("73", 0.0240),
    ("72", 0.0250),
    ("71", 0.0260),
    ("70", 0.0280),
    ("69", 0.0292),
    ("68", 0.0310),
    ("67", 0.0320),
    ("66", 0.0330),
    ("65", 0.0350),
    ("64", 0.0360),
    ("63", 0.0370),
    ("62", 0.0380),
    ("61", 0.0390),
];

/// Metric drills to 1 mm, in mm: the sizes of the jobber series of `ISO235`. The stub
/// series has the same from 0.5 mm up. Traders also have hundredths between them.
const METRIC_DRILLS: [f64; 33] = [
    0.20, 0.22, 0.25, 0.28, 0.30, 0.32, 0.35, 0.38, 0.40, 0.42, 0.45, 0.48, 0.50, 0.52, 0.55, 0.58,
    0.60, 0.62, 0.65, 0.68, 0.70, 0.72, 0.75, 0.78, 0.80, 0.82, 0.85, 0.88, 0.90, 0.92, 0.95, 0.98,
    1.00,
];

/// Shanks of sewing needles (sharps) 12 to 1, in mm. Common practice, no source: makers differ by
/// 0.05 mm, so a needle is to be measured before it is trusted.
const NEEDLES: [(&str, f64); 12] = [
    ("12", 0.36),
    ("11", 0.41),
    ("10", 0.46),
    ("9", 0.53),
    ("8", 0.61),
    ("7", 0.69),
    ("6", 0.76),
    ("5", 0.81),
    ("4", 0.86),
    ("3", 0.94),
    ("2", 1.02),
    ("1", 1.09),
];

/// What kind of tool it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A twist drill by its number.
    NumberDrill,
    /// A twist drill by its diameter in mm.
    MetricDrill,
    /// A sewing needle by its number; its shank is what makes the hole.
    SewingNeedle,
}

/// A tool of a stock size.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Tool {
    /// What kind of tool it is.
    pub kind: Kind,
    /// What it is called, as in "number drill 80".
    pub name: String,
    /// Its nominal diameter, in mm.
    pub diameter_mm: f64,
}

/// The stock tools about a diameter in mm: of each kind the largest that is not above it, then the
/// smallest that is, where there are such.
///
/// A hole is widened and never narrowed, so the one not above is the tool to use; the other says
/// what would spoil the hole. Nothing is near what is not a number.
pub fn nearest(diameter_mm: f64) -> Vec<Tool> {
    if diameter_mm.is_nan() {
        return Vec::new();
    }
    [Kind::NumberDrill, Kind::MetricDrill, Kind::SewingNeedle]
        .into_iter()
        .flat_map(|kind| about(kind.stock(), diameter_mm))
        .collect()
}

/// The two tools about a diameter, of a list from the smallest to the largest.
fn about(stock: Vec<Tool>, diameter_mm: f64) -> impl Iterator<Item = Tool> {
    // A size that was typed in inches comes back a few 1e-17 mm off, and is still that size.
    let rounding = 1e-9;
    let above = stock.partition_point(|tool| tool.diameter_mm <= diameter_mm + rounding);
    stock.into_iter().skip(above.saturating_sub(1)).take(if above == 0 { 1 } else { 2 })
}

impl Kind {
    /// Every tool of this kind, from the smallest to the largest.
    fn stock(self) -> Vec<Tool> {
        let tool = |name: String, diameter_mm| Tool { kind: self, name, diameter_mm };
        match self {
            Kind::NumberDrill => NUMBER_DRILLS
                .iter()
                .map(|(number, inches)| {
                    tool(format!("number drill {number}"), inches * MM_PER_INCH)
                })
                .collect(),
            Kind::MetricDrill => METRIC_DRILLS
                .iter()
                .map(|size_mm| tool(format!("metric drill {size_mm:.2} mm"), *size_mm))
                .collect(),
            Kind::SewingNeedle => NEEDLES
                .iter()
                .map(|(number, size_mm)| tool(format!("sewing needle {number}"), *size_mm))
                .collect(),
        }
    }
}

/// A constant as its author gave it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Published {
    /// Who, and when.
    pub author: &'static str,
    /// c in d = c √(λz).
    pub constant: f64,
    /// What is best at it.
    pub optimum: &'static str,
}

/// Constants from the least to the greatest, all for a disc, one wavelength and the middle of the film; z is
/// the effective distance uv/(u + v). What was read in a source, and what is from memory:
///
/// - `Petzval1857`: the value was read in the abstract of `Mielenz1999`; that it is the least sum of the hole's
///   width d and its spread 2λz/d is from memory.
/// - `Mielenz1999`: read in the abstract, as Lommel's u = π.
/// - The Airy disc as wide as the hole: many textbooks, no single source; 2.44 λz/d = d by arithmetic.
/// - `Rayleigh1891`: u = 1.8 π was read in the abstract of `Mielenz1999`, 1.9 is from memory. √2, which he names in
///   `Rayleigh1889` and repeats there, was read in the text: he calls it suitable.
/// - `Young1971`: that his best is the first zone is from memory; that the axis is brightest there is exact.
///
/// `Sayanagi1967`, `SwingRooney1968` and `Selwyn1950` wrote of the best size too; their criteria and numbers are not
/// known here with certainty, and are not quoted.
pub const PUBLISHED: [Published; 6] = [
    Published {
        author: "Petzval 1857",
        constant: SQRT_2,
        optimum: "least sum of hole and spread (from memory)",
    },
    Published {
        author: "Rayleigh 1889",
        constant: SQRT_2,
        optimum: "called suitable by him, 2r² = fλ",
    },
    Published {
        author: "Mielenz 1999",
        constant: SQRT_2,
        optimum: "sharpest point image by Lommel's functions",
    },
    Published {
        author: "textbooks",
        constant: 1.561_84,
        optimum: "Airy disc as wide as the hole (no source)",
    },
    Published {
        author: "Rayleigh 1891",
        constant: 1.897_37,
        optimum: "judged by eye in trials (1.9 from memory)",
    },
    Published {
        author: "Young 1971",
        constant: 2.0,
        optimum: "brightest centre, first zone (from memory)",
    },
];

/// Why they differ.
pub const WHY_THEY_DIFFER: &str =
    "They agree about light: each calls something else the best, and the top is flat.";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::search::highest;
    use crate::wave::analytic::{airy_intensity, disc_encircled, disc_on_axis};
    use std::f64::consts::PI;

    fn names(diameter_mm: f64) -> Vec<String> {
        nearest(diameter_mm).into_iter().map(|tool| tool.name).collect()
    }

    #[test]
    fn stock_is_in_order() {
        for kind in [Kind::NumberDrill, Kind::MetricDrill, Kind::SewingNeedle] {
            let stock = kind.stock();
            assert!(stock.is_sorted_by(|a, b| a.diameter_mm < b.diameter_mm), "{stock:?}");
            assert!(stock.iter().all(|tool| (0.1..1.2).contains(&tool.diameter_mm)), "{stock:?}");
        }
    }

    #[test]
    fn one_below_and_one_above() {
        let expected = [
            "number drill 80",
            "number drill 79",
            "metric drill 0.35 mm",
            "metric drill 0.38 mm",
            "sewing needle 12",
            "sewing needle 11",
        ];
        assert_eq!(names(0.365), expected);
    }

    /// A tool of just the size is the one to use, however its size was reckoned.
    #[test]
    fn the_very_size_is_not_above() {
        assert_eq!(names(0.0210 * 25.4)[..2], ["number drill 75", "number drill 74"]);
        assert_eq!(names(0.1 + 0.2)[2..4], ["metric drill 0.30 mm", "metric drill 0.32 mm"]);
        assert_eq!(names(0.30 - 1e-12)[2], "metric drill 0.30 mm");
        assert_eq!(names(0.299)[2..4], ["metric drill 0.28 mm", "metric drill 0.30 mm"]);
    }

    #[test]
    fn edges_have_one_neighbour() {
        let smallest = ["number drill 97", "metric drill 0.20 mm", "sewing needle 12"];
        let largest = ["number drill 61", "metric drill 1.00 mm", "sewing needle 1"];
        for none in [0.1, 0.0, -1.0, f64::NEG_INFINITY] {
            assert_eq!(names(none), smallest);
        }
        for all in [2.0, f64::INFINITY] {
            assert_eq!(names(all), largest);
        }
        assert_eq!(names(f64::NAN), [""; 0]);
    }

    /// Each constant in its own criterion, searched in units of √(λz).
    #[test]
    fn each_is_best_in_its_own_criterion() {
        let [petzval, _, mielenz, textbooks, rayleigh, young] = PUBLISHED.map(|one| one.constant);
        let sum = highest(0.5, 3.0, |d| -(d + 2.0 / d));
        // A flat place is found to the root of rounding.
        assert!((sum - petzval).abs() < 1e-5, "{sum}");
        // Lommel's u = 2πN, N = c²/4.
        assert!((2.0 * PI * mielenz * mielenz / 4.0 - PI).abs() < 1e-12);
        assert!((2.0 * PI * rayleigh * rayleigh / 4.0 - 1.8 * PI).abs() < 1e-4);
        let brightest = highest(1.2, 2.6, |c| disc_on_axis(c * c / 4.0));
        assert!((brightest - young).abs() < 1e-5, "{brightest}");
        // The Airy pattern is dark at its disc's rim: w = π d R/(λz) with R = d/2.
        let rim = highest(1.3, 1.8, |c| -airy_intensity(PI * c * c / 2.0));
        assert!((rim - textbooks).abs() < 1e-5, "{rim}");
        // Rayleigh's judgement: 90 % of the light in the smallest circle, to within 3 %.
        let circle = |c: f64| {
            let (mut low, mut high) = (0.1, 20.0);
            for _ in 0..50 {
                let middle = (low + high) / 2.0;
                let less = disc_encircled(c * c / 4.0, PI * c * middle / 2.0) < 0.9;
                (low, high) = if less { (middle, high) } else { (low, middle) };
            }
            low
        };
        let tightest = highest(1.7, 2.1, |c| -circle(c));
        assert!((tightest / rayleigh - 1.0).abs() < 0.03, "{tightest}");
    }
}
