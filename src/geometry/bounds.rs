//! Upright rectangles around points.

use super::Point;

/// An upright rectangle by two corners.
#[derive(Debug, Clone)]
pub(super) struct Bounds {
    /// The lower left corner.
    pub(super) low: Point,
    /// The upper right corner.
    pub(super) high: Point,
}

impl Bounds {
    /// Whether a point lies in it, the border included.
    pub(super) fn contains(&self, p: Point) -> bool {
        (0..2).all(|axis| self.low[axis] <= p[axis] && p[axis] <= self.high[axis])
    }
}

/// The smallest upright rectangle around the points.
pub(super) fn bounds<'a>(points: impl IntoIterator<Item = &'a Point>) -> Bounds {
    let mut all = Bounds { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };
    for p in points {
        all.low = [all.low[0].min(p[0]), all.low[1].min(p[1])];
        all.high = [all.high[0].max(p[0]), all.high[1].max(p[1])];
    }
    all
}
