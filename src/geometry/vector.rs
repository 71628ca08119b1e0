//! Vectors in space, in mm unless said otherwise.

/// A vector (x, y, z): x to the right, y up, z from the hole to the film.
pub type Vector = [f64; 3];

/// a·b.
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a × b.
pub fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// |a|.
pub fn length(a: Vector) -> f64 {
    dot(a, a).sqrt()
}
