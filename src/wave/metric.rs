//! The waves' curvature on a film that is not square to the ray.
//!
//! Across the ray, with r the place in the hole as the ray sees it and X' = M d the step that a step
//! d on the film is seen as, the phases of the diffraction integral are |r|²/(λz) and X'·r/(λR). In
//! r'' = Mᵀ r the second is d·r'', as on a film square to the ray, and the first r''ᵀ G r'' with
//!
//! ```text
//! G = M⁻¹ M⁻ᵀ
//! ```
//!
//! so that a slanted film needs nothing but the outline r'' and this quadratic form. Areas shrink by
//! det M, and so does |U|: the density on the film comes out with its energy kept.

use crate::geometry::{Map, Point};

/// A symmetric quadratic form on the plane of the hole; the identity for film square to the ray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Metric {
    pub(super) xx: f64,
    pub(super) xy: f64,
    pub(super) yy: f64,
}

impl Metric {
    pub(super) const SQUARE: Metric = Metric { xx: 1.0, xy: 0.0, yy: 1.0 };

    pub(super) fn of(film_to_ray: Map) -> Metric {
        let back = film_to_ray.inverted();
        let form = back.after(back.transposed());
        Metric { xx: form.of_x[0], xy: form.of_x[1], yy: form.of_y[1] }
    }

    /// G r.
    pub(super) fn apply(self, [x, y]: Point) -> Point {
        [self.xx * x + self.xy * y, self.xy * x + self.yy * y]
    }

    /// The form of the film's own steps, dᵀ Mᵀ M d.
    pub(super) fn on_film(self, [x, y]: Point) -> f64 {
        (self.yy * x * x - 2.0 * self.xy * x * y + self.xx * y * y) / self.determinant()
    }

    /// 1/(det M)².
    pub(super) fn determinant(self) -> f64 {
        self.xx * self.yy - self.xy * self.xy
    }

    /// A map B with G = Bᵀ B (Cholesky's): it makes of the hole one that is square to its ray.
    pub(super) fn root(self) -> Map {
        let a = self.xx.sqrt();
        let b = self.xy / a;
        Map { of_x: [a, 0.0], of_y: [b, (self.yy - b * b).sqrt()] }
    }

    /// The largest value on the unit circle.
    pub(super) fn largest(self) -> f64 {
        let (mean, half) = ((self.xx + self.yy) / 2.0, (self.xx - self.yy) / 2.0);
        mean + half.hypot(self.xy)
    }
}
