//! The path of the light from a point of the subject through the hole to a place on the film, with no
//! distance expanded.
//!
//! For the place P on the film, the subject's point S and a point r of the hole, in space, the path
//! through r is longer than that through the hole's origin by
//!
//! ```text
//! |P - r| - |P| + |S - r| - |S| ,        for S far away in the direction s:  |P - r| - |P| - s·r
//! ```
//!
//! A step δ on the film, in the film's own two directions E, changes it by δ·r''/R in first order, with
//! R = |P|, n = P/R and
//!
//! ```text
//! r'' = -Eᵀ (1 - n nᵀ) r        (the sign of the step's own phase exp(-ik δ·r''/R) is taken apart)
//! ```
//!
//! so that in r'' a film that leans and bends is like one square to the ray. What a step leaves out is
//! of the orders k δ r²/(2R²) and k δ² r/(2R²): [`Path::dropped_rad`].

use crate::geometry::vector::{Vector, dot, length};
use crate::geometry::{Map, Point};

/// From a point of the subject to a place on the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// The place on the film, in mm from the hole.
    film_mm: Vector,
    /// The film's two directions there, unit vectors.
    film_axes: [Vector; 2],
    /// How strongly the film is bent along each of them, in 1/mm.
    bend_per_mm: Point,
    /// The unit vector from the hole to the subject's point, and how far that is; infinity is allowed.
    subject: Vector,
    subject_mm: f64,
}

impl Path {
    /// The path to the place `film_mm` on a film with the directions `film_axes` (unit vectors, square
    /// to each other) and the curvatures `bend_per_mm` along them, from the subject's point in the
    /// direction `subject` (a unit vector) at the distance `subject_mm`, which may be infinite.
    pub fn new(
        film_mm: Vector,
        film_axes: [Vector; 2],
        bend_per_mm: Point,
        subject: Vector,
        subject_mm: f64,
    ) -> Path {
        Path { film_mm, film_axes, bend_per_mm, subject, subject_mm }
    }

    /// The distance from the hole to the place on the film, in mm.
    pub(super) fn film_mm(&self) -> f64 {
        length(self.film_mm)
    }

    /// The sines of the direction in which light arrives at the plate, along its axes.
    pub(super) fn arriving(&self) -> Point {
        [-self.subject[0], -self.subject[1]]
    }

    fn ray(&self) -> Vector {
        let far = self.film_mm();
        self.film_mm.map(|c| c / far)
    }

    /// A point of the plate to r'', as the film's own axes see it.
    pub(super) fn plate_to_film(&self) -> Map {
        let ray = self.ray();
        let seen =
            |axis: Vector| self.film_axes.map(|e| dot(e, axis) - dot(e, ray) * dot(axis, ray));
        Map { of_x: seen([1.0, 0.0, 0.0]), of_y: seen([0.0, 1.0, 0.0]) }
    }

    /// |r|² across the ray for a point r of the plate is rᵀ K r: K's xx, xy and yy.
    pub(super) fn across(&self) -> [f64; 3] {
        let [x, y, _] = self.ray();
        [1.0 - x * x, -x * y, 1.0 - y * y]
    }

    /// How much longer the path through a point of the plate is than that through the origin, in mm.
    pub(super) fn longer_mm(&self, r: Point) -> f64 {
        let before = if self.subject_mm.is_finite() {
            farther(self.subject.map(|c| c * self.subject_mm), r)
        } else {
            -(self.subject[0] * r[0] + self.subject[1] * r[1])
        };
        before + farther(self.film_mm, r)
    }

    /// The amplitude that comes by a point of the plate against the origin's: the incident wave's 1/|S-r|
    /// and z/|P-r|² behind the plate (Rayleigh and Sommerfeld's first integral; `Goodman`, 3.5).
    pub(super) fn amplitude(&self, [x, y]: Point) -> f64 {
        let away = |p: Vector| length([p[0] - x, p[1] - y, p[2]]);
        let behind = (self.film_mm() / away(self.film_mm)).powi(2);
        if !self.subject_mm.is_finite() {
            return behind;
        }
        behind * self.subject_mm / away(self.subject.map(|c| c * self.subject_mm))
    }

    /// A bound of what all terms beyond the second order in r reach for points up to `radius_mm` from
    /// the origin, in mm of path.
    pub(super) fn beyond_second_order_mm(&self, radius_mm: f64) -> f64 {
        let [x, y, _] = self.ray();
        let inverse = [self.film_mm(), self.subject_mm].map(|d| 1.0 / d);
        let power = |n: i32| inverse.iter().map(|d| d.powi(n)).sum::<f64>();
        x.hypot(y) * radius_mm.powi(3) / 2.0 * power(2) + radius_mm.powi(4) / 8.0 * power(3)
    }

    /// The phases that are dropped on film up to `step_mm` from the place, and up to `along_mm` along each of the
    /// film's axes, each at its largest step and as its mean over the hole, in rad: what grows with the step, and what
    /// grows with its square or faster. The hole's points lie up to `radius_mm` from the origin, and
    /// √⟨r²⟩ = `mean_radius_mm` as a root-mean-square; by the wave's own integral no amplitude changes by more than
    /// the mean. With w = δ - r they are the third order
    /// -(n·w) w⊥²/(2R²) of |P + w|, of the fourth what is even in both and what is odd in both, and the bend of the film.
    pub fn dropped_rad(
        &self,
        wavelength_mm: f64,
        [step_mm, along_mm]: [f64; 2],
        [mean_radius_mm, radius_mm]: [f64; 2],
    ) -> [f64; 2] {
        let (ray, far) = (self.ray(), self.film_mm());
        let [lean_x, lean_y] = self.film_axes.map(|e| dot(e, ray));
        let lean = lean_x.hypot(lean_y);
        // Along the ray, and across it.
        let (step_along, step_across) = (step_mm * lean, step_mm);
        let aside = ray[0].hypot(ray[1]);
        // ⟨r⟩ ≤ √⟨r²⟩ and ⟨r³⟩ ≤ r_max ⟨r²⟩.
        let (hole_along, hole_across) = (mean_radius_mm * aside, mean_radius_mm);
        let first = step_along * hole_across.powi(2)
            + 2.0 * hole_along * step_across * hole_across
            + step_across * radius_mm * hole_across.powi(2) / far;
        let second =
            hole_along * step_across.powi(2) + 2.0 * step_along * step_across * hole_across;
        let fourth = 1.5 * (step_across * hole_across).powi(2) + step_across.powi(3) * hole_across;
        // The film lies away from its tangents by δ²/2 times the bend.
        let [bend_x, bend_y] = self.bend_per_mm.map(f64::abs);
        let bent = bend_x.max(bend_y) * along_mm.powi(2) / 2.0 * lean * hole_across / far;
        let turn = std::f64::consts::TAU / wavelength_mm;
        let second = second / (2.0 * far.powi(2)) + fourth / (2.0 * far.powi(3)) + bent;
        [turn * first / (2.0 * far.powi(2)), turn * second]
    }
}

/// |P - r| less |P| for a point r of the plate, with no digits lost: (|P - r|² - |P|²)/(|P - r| + |P|).
fn farther(p: Vector, [x, y]: Point) -> f64 {
    let away = length([p[0] - x, p[1] - y, p[2]]);
    (x * x + y * y - 2.0 * (p[0] * x + p[1] * y)) / (away + length(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_8;

    /// The map to the film's axes, by differences of the path itself.
    #[test]
    fn steps_on_the_film_see_the_mapped_hole() {
        let film: Vector = [60.0, -41.0, 100.0];
        let far = length(film);
        let axes = [[0.6, 0.0, -0.8], [0.0, 1.0, 0.0]];
        let path = Path::new(film, axes, [0.0, 0.0], film.map(|c| -c / far), f64::INFINITY);
        let r = [0.12, -0.07];
        let seen = path.plate_to_film().of(r);
        for (axis, seen) in axes.iter().zip(seen) {
            let h = 1e-3;
            let at = |s: f64| {
                let moved = [0, 1, 2].map(|i| film[i] + s * axis[i]);
                farther(moved, r)
            };
            let slope = (at(h) - at(-h)) / (2.0 * h);
            // What r has of second order in the slope, r²/R² of it.
            assert!((slope + seen / far).abs() < 2.0 * 0.14 * 0.14 / (far * far), "{slope} {seen}");
        }
        // The path through the origin is the measure; its slope there is nought.
        assert!(path.longer_mm([0.0, 0.0]).abs() < 1e-15);
        assert!(path.longer_mm([1e-6, 0.0]).abs() < 1e-13);
    }

    /// What a tile drops, against the path itself: never more than the bound, and of its size.
    #[test]
    fn what_is_dropped_is_bounded() {
        for film in [[0.0, 0.0, 100.0], [170.0, 30.0, 62.0], [60.0, -41.0, 100.0]] {
            let far = length(film);
            let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];
            let path =
                Path::new(film, axes, [0.0, 0.0], film.map(|c: f64| -c / far), f64::INFINITY);
            let (reach, radius, wave) = (0.4, 0.17, 550e-6);
            let mut most = 0.0f64;
            for i in 0..16 {
                for j in 0..16 {
                    let (a, b) = (f64::from(i) * FRAC_PI_8, f64::from(j) * FRAC_PI_8);
                    let d = [reach * a.cos().signum(), reach * a.sin()];
                    let r = [radius * b.cos(), radius * b.sin()];
                    let there = [film[0] + d[0], film[1] + d[1], film[2]];
                    let seen = path.plate_to_film().of(r);
                    let straight = farther(film, r) - (d[0] * seen[0] + d[1] * seen[1]) / far;
                    let left = farther(there, r) - straight;
                    most = most.max(left.abs() * std::f64::consts::TAU / wave);
                }
            }
            let bound: f64 =
                path.dropped_rad(wave, [reach * 2f64.sqrt(), reach], [radius; 2]).iter().sum();
            assert!(most <= bound && bound < 12.0 * most, "{film:?}: {most:e} {bound:e}");
        }
    }
}
