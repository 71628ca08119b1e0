//! The waves' curvature on a film that is not square to the ray.
//!
//! In r'' ([`super::Path`]) a step d on the film has the phase d·r''/(λR), as on a film square to the ray.
//! The curvature of the waves, |r|²/(λz) across the ray, is r''ᵀ G r''/(λz) there, with K the form of |r|²
//! across the ray on the plate and L the map from the plate to r'':
//!
//! ```text
//! G = L⁻ᵀ K L⁻¹
//! ```
//!
//! Areas shrink by det L, and so does |U|: the density on the film comes out with its energy kept.

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

    /// The form K, given by its xx, xy and yy on the plate, as r'' sees it that `to_plate` brings back.
    pub(super) fn of([xx, xy, yy]: [f64; 3], to_plate: Map) -> Metric {
        let form = Map { of_x: [xx, xy], of_y: [xy, yy] };
        let seen = to_plate.transposed().after(form).after(to_plate);
        Metric { xx: seen.of_x[0], xy: seen.of_x[1], yy: seen.of_y[1] }
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
