//! How well the size of a hole is known.

/// Expanded (k = 2, about 95 %) uncertainties of a hole's size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeUncertainty {
    /// Of any length over that length: from the scale, or from the words.
    pub relative: f64,
    /// Of the mean place of the rim, in mm: both sides of a diameter move with it.
    pub edge_mm: f64,
}

impl SizeUncertainty {
    /// The expanded uncertainty of an equivalent diameter, in mm: scale and rim are independent and
    /// add as squares (JCGM 100:2008, Guide to the Expression of Uncertainty in Measurement, 5.1.2).
    pub fn of_diameter(&self, diameter_mm: f64) -> f64 {
        (self.relative * diameter_mm).hypot(2.0 * self.edge_mm)
    }
}

/// The expanded uncertainty of a value of which only a half-width is known: uniform within it, so
/// its standard uncertainty is half-width/√3 (JCGM 100:2008, 4.3.7).
pub(super) fn expanded_from_half_width(half_width: f64) -> f64 {
    2.0 * half_width / 3f64.sqrt()
}
