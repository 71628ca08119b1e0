//! What a meter says about the light, and how an emulsion fails at long exposures.

/// Tells what a meter says about the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Meter {
    /// An exposure value at ISO 100: log2(f-number² / time in s).
    ExposureValue(f64),
    /// A time that the meter gives for the emulsion's speed at an f-number.
    Reading {
        /// The time, in s.
        time_s: f64,
        /// The f-number.
        f_number: f64,
    },
    /// The light that falls on the subject, in lux.
    Illuminance(f64),
}

impl Meter {
    /// Is a meter in the sun, on an ordinary scene: common practice, no source.
    pub const SUN: Meter = Meter::ExposureValue(15.0);
}

/// Tells how an emulsion fails at long exposures.
#[derive(Debug, Clone, PartialEq)]
pub enum Reciprocity {
    /// Beyond the onset a metered time t needs onset (t/onset)^exponent (`Schwarzschild1900`, in the
    /// makers' form).
    Power {
        /// The exponent, 1 or more: the inverse of Schwarzschild's p.
        exponent: f64,
        /// The time up to which nothing needs correcting, in s.
        onset_s: f64,
    },
    /// Metered times and the times they need, in s, both rising: between them by straight lines on
    /// logarithmic paper, beyond the last as between the last two, before the first unchanged.
    Table(Vec<(f64, f64)>),
}

impl Reciprocity {
    /// Returns the time that a metered one needs, in s.
    pub fn needed_s(&self, metered_s: f64) -> f64 {
        match self {
            Reciprocity::Power { exponent, onset_s } if metered_s > *onset_s => {
                onset_s * (metered_s / onset_s).powf(*exponent)
            }
            Reciprocity::Table(rows) if rows.first().is_some_and(|first| metered_s > first.0) => {
                let above = rows.partition_point(|row| row.0 < metered_s);
                let high = above.clamp(1, rows.len() - 1);
                let (low, high) = (rows[high - 1], rows[high]);
                let slope = (high.1 / low.1).ln() / (high.0 / low.0).ln();
                low.1 * (metered_s / low.0).powf(slope)
            }
            _ => metered_s,
        }
    }
}
