//! The published constants c of a best diameter d = c √(λz), and what each of them is best for.

use std::f64::consts::SQRT_2;

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
/// - J. Petzval, 1857 and 1859: the value was read in the abstract of Mielenz; that it is the least sum of
///   the hole's width d and its spread 2λz/d is from memory.
/// - K. D. Mielenz, J. Res. NIST 104, 479 (1999): read in the abstract, as Lommel's u = π.
/// - The Airy disc as wide as the hole: many textbooks, no single source; 2.44 λz/d = d by arithmetic.
/// - Lord Rayleigh, Phil. Mag. 31, 87 (1891): u = 1.8 π was read in the abstract of Mielenz, 1.9 is from
///   memory. √2, which he names in 1889 and repeats there, was read in the text: he calls it suitable.
/// - M. Young, Appl. Opt. 10, 2763 (1971): that his best is the first zone is from memory; that the axis is
///   brightest there is exact.
///
/// K. Sayanagi (1967), R. E. Swing and D. P. Rooney (1968) and E. W. H. Selwyn (1950) wrote of the best size too; their criteria
/// and numbers are not known here with certainty, and are not quoted.
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
