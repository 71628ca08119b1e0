//! Linear maps of the plane.

use super::Point;

/// Describes a linear map of the plane: the images of (1, 0) and of (0, 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Map {
    /// The image of (1, 0).
    pub of_x: Point,
    /// The image of (0, 1).
    pub of_y: Point,
}

impl Map {
    /// Is the map that changes nothing.
    pub const IDENTITY: Map = Map { of_x: [1.0, 0.0], of_y: [0.0, 1.0] };

    /// Returns the image of a point.
    pub fn of(self, [x, y]: Point) -> Point {
        [x * self.of_x[0] + y * self.of_y[0], x * self.of_x[1] + y * self.of_y[1]]
    }

    /// Makes the transposed map.
    #[must_use]
    pub fn transposed(self) -> Map {
        Map { of_x: [self.of_x[0], self.of_y[0]], of_y: [self.of_x[1], self.of_y[1]] }
    }

    /// Tells by how much it enlarges areas; negative where it turns them over.
    pub fn determinant(self) -> f64 {
        self.of_x[0] * self.of_y[1] - self.of_x[1] * self.of_y[0]
    }

    /// Returns the map that undoes it. Not finite where the plane is folded on to a line.
    #[must_use]
    pub fn inverted(self) -> Map {
        let d = self.determinant();
        Map {
            of_x: [self.of_y[1] / d, -self.of_x[1] / d],
            of_y: [-self.of_y[0] / d, self.of_x[0] / d],
        }
    }

    /// Returns `self` after `first`.
    #[must_use]
    pub fn after(self, first: Map) -> Map {
        Map { of_x: self.of(first.of_x), of_y: self.of(first.of_y) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_and_transpose_do_what_they_say() {
        let map = Map { of_x: [2.0, 0.5], of_y: [-1.0, 3.0] };
        let [x, y] = map.inverted().of(map.of([0.3, -0.7]));
        assert!((x - 0.3).abs() < 1e-15 && (y + 0.7).abs() < 1e-15);
        assert_eq!(map.determinant(), 6.5);
        // (M a)·b = a·(Mᵀ b).
        let (a, b) = ([0.2, 0.9], [1.5, -0.4]);
        let dot = |p: Point, q: Point| p[0] * q[0] + p[1] * q[1];
        assert!((dot(map.of(a), b) - dot(a, map.transposed().of(b))).abs() < 1e-15);
        assert_eq!(map.after(Map::IDENTITY), map);
    }
}
