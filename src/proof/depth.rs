//! Where the film lay, by where the octagons' images fell.
//!
//! A hole has no focus: film further out takes a larger image. With a displacement δ of the film along its normal
//! the image of a point moves along the sheet by δ (r·t)/(r·n), r the ray, t a direction on the sheet and n its
//! normal; on flat film that is x δ/v. Nine octagons give 18 coordinates; turn and shift of the sheet on the
//! scanner take three, and five are left for δ = p0 + p1 x + p2 y + p3 x² + p4 y², x and y from -1 to 1.

use super::chart::Chart;
use crate::error::Error;
use crate::geometry::vector::{cross, dot};
use crate::geometry::{Point, solve};

const UNKNOWNS: usize = 8;
/// How well the middle of an octagon is known at best, in mm: paper shrinks and scanners stretch by as much (common practice,
/// no source).
const PLACE_MM: f64 = 0.02;
/// What scan, print and tape leave unknown of the image's size, over it: standard uncertainty (common practice, no source).
const SIZE: f64 = 0.006;

/// Describes the film's displacement from where the camera's description has it, outward from the hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// In the middle, per half spacing along x and y, and the bow along x and y at the outer octagons, in mm.
    pub terms_mm: [f64; 5],
    /// Their expanded uncertainties (k = 2), in mm.
    pub uncertainties_mm: [f64; 5],
    /// How far the octagons are off what that gives, root-mean-square, in mm.
    pub residual_mm: f64,
    spacing_mm: Point,
}

impl Depth {
    /// Fits the displacement to the octagons' middles, in mm on the sheet, right way round: turned and shifted anyhow.
    ///
    /// # Errors
    /// [`Damaged`](crate::Kind::Damaged) when the places do not settle it, as when they are in one line.
    pub fn of(chart: &Chart, found_mm: &[Point; 9]) -> Result<Depth, Error> {
        let nominal = chart.places_mm();
        let square = square_to(&nominal, found_mm);
        let rows: Vec<([f64; UNKNOWNS], f64)> = nominal
            .iter()
            .zip(square)
            .flat_map(|(place, found)| {
                let lever = levers(chart, *place);
                let [x, y] = [0, 1].map(|i| place[i] / chart.spacing_mm[i]);
                let shape = [1.0, x, y, x * x, y * y];
                [0, 1].map(|axis| {
                    let mut row = [0.0; UNKNOWNS];
                    row[axis] = 1.0;
                    row[2] = if axis == 0 { -place[1] } else { place[0] };
                    for (to, value) in row[3..].iter_mut().zip(shape) {
                        *to = value * lever[axis];
                    }
                    (row, found[axis] - place[axis])
                })
            })
            .collect();
        let mut normal = [[0.0; UNKNOWNS]; UNKNOWNS];
        let mut right = [0.0; UNKNOWNS];
        for (row, value) in &rows {
            for i in 0..UNKNOWNS {
                right[i] += row[i] * value;
                for j in 0..UNKNOWNS {
                    normal[i][j] += row[i] * row[j];
                }
            }
        }
        let unclear = || {
            Error::damaged("shows octagons that lie in no order", "scan the sheet flat and whole")
        };
        let fitted = solve(normal, right).ok_or_else(unclear)?;
        let off = rows.iter().map(|(row, value)| {
            let model: f64 = row.iter().zip(fitted).map(|(a, b)| a * b).sum();
            (value - model).powi(2)
        });
        let free = (rows.len() - UNKNOWNS) as f64;
        let spread_mm = (off.sum::<f64>() / free).sqrt();
        let known_mm = spread_mm.max(PLACE_MM);
        let mut uncertainties_mm = [0.0; 5];
        for (i, uncertainty) in uncertainties_mm.iter_mut().enumerate() {
            let mut unit = [0.0; UNKNOWNS];
            unit[3 + i] = 1.0;
            let inverse = solve(normal, unit).ok_or_else(unclear)?;
            let size_mm = if i == 0 { SIZE * chart.camera.distances.film_mm() } else { 0.0 };
            *uncertainty = 2.0 * (known_mm * inverse[3 + i].max(0.0).sqrt()).hypot(size_mm);
        }
        Ok(Depth {
            terms_mm: std::array::from_fn(|i| fitted[3 + i]),
            uncertainties_mm,
            residual_mm: spread_mm,
            spacing_mm: chart.spacing_mm,
        })
    }

    /// Only what is there beyond doubt: terms above their uncertainty by half.
    #[must_use]
    pub fn certain(&self) -> Depth {
        let sure = |i: usize| self.terms_mm[i].abs() > 1.5 * self.uncertainties_mm[i];
        Depth {
            terms_mm: std::array::from_fn(|i| if sure(i) { self.terms_mm[i] } else { 0.0 }),
            ..*self
        }
    }

    /// The displacement at a place on the film, in mm.
    pub fn at_mm(&self, film_mm: Point) -> f64 {
        let [x, y] = [0, 1].map(|i| film_mm[i] / self.spacing_mm[i]);
        let shape = [1.0, x, y, x * x, y * y];
        shape.iter().zip(self.terms_mm).map(|(shape, term)| shape * term).sum()
    }
}

/// How far an image moves along the sheet's x and y for a mm of displacement.
fn levers(chart: &Chart, film_mm: Point) -> Point {
    let camera = &chart.camera;
    let place = camera.film.anywhere(camera.distances.film_mm(), film_mm);
    let [x, y] = place.tangents();
    let (ray, normal) = (place.ray(), cross(x, y));
    [dot(ray, x), dot(ray, y)].map(|along| along / dot(ray, normal))
}

/// The places turned and shifted to lie on the nominal ones as well as they can, by least squares.
fn square_to(nominal: &[Point; 9], found: &[Point; 9]) -> [Point; 9] {
    let middle =
        |places: &[Point; 9]| [0, 1].map(|i| places.iter().map(|p| p[i]).sum::<f64>() / 9.0);
    let (m, n) = (middle(found), middle(nominal));
    let (mut cos, mut sin) = (0.0, 0.0);
    for (p, q) in found.iter().zip(nominal) {
        let ([a, b], [c, d]) = ([p[0] - m[0], p[1] - m[1]], [q[0] - n[0], q[1] - n[1]]);
        cos += a * c + b * d;
        sin += a * d - b * c;
    }
    let (sin, cos) = sin.atan2(cos).sin_cos();
    found.map(|p| {
        let [a, b] = [p[0] - m[0], p[1] - m[1]];
        [n[0] + cos * a - sin * b, n[1] + sin * a + cos * b]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::{Camera, Film, Shape};
    use crate::wave::Distances;

    fn chart() -> Chart {
        let mut camera = Camera::demonstration().unwrap();
        camera.distances = Distances::distant(60.0).unwrap();
        camera.film = Film { width_mm: 60.0, height_mm: 48.0, shape: Shape::Flat };
        Chart::of(&camera, 600.0).unwrap()
    }

    /// Where straight lines through the hole meet paper that is displaced, by similar triangles, and then turned and
    /// shifted as on a scanner.
    fn seen(chart: &Chart, depth_mm: impl Fn(Point) -> f64) -> [Point; 9] {
        let (sin, cos) = 0.03f64.sin_cos();
        chart.places_mm().map(|p| {
            let [x, y] = p.map(|mm| mm * (1.0 + depth_mm(p) / 60.0));
            [cos * x - sin * y + 7.0, sin * x + cos * y - 3.0]
        })
    }

    #[test]
    fn distance_tilt_and_bow_are_told_apart() {
        let chart = chart();
        let [sx, sy] = chart.spacing_mm;
        let expected = [2.0, -0.5, 0.8, 1.5, -0.7];
        let found = seen(&chart, |[x, y]| {
            let (x, y) = (x / sx, y / sy);
            2.0 - 0.5 * x + 0.8 * y + 1.5 * x * x - 0.7 * y * y
        });
        let depth = Depth::of(&chart, &found).unwrap();
        for (found, expected) in depth.terms_mm.iter().zip(expected) {
            // The turn is taken for a small one once: its square is left.
            assert!((found - expected).abs() < 0.02, "{depth:?}");
        }
        let nothing = Depth::of(&chart, &seen(&chart, |_| 0.0)).unwrap();
        assert!(nothing.certain().terms_mm.iter().all(|mm| *mm == 0.0), "{nothing:?}");
        assert!((depth.at_mm([sx, 0.0]) - 3.0).abs() < 0.03);
    }
}
