//! A few linear equations.

/// Solves N equations in N unknowns by Gaussian elimination with row exchange; None when they are
/// not independent to rounding.
pub(crate) fn solve<const N: usize>(
    mut rows: [[f64; N]; N],
    mut right: [f64; N],
) -> Option<[f64; N]> {
    let largest = rows.iter().flatten().fold(0.0f64, |most, value| most.max(value.abs()));
    for pivot in 0..N {
        let best =
            (pivot..N).max_by(|a, b| rows[*a][pivot].abs().total_cmp(&rows[*b][pivot].abs()))?;
        rows.swap(pivot, best);
        right.swap(pivot, best);
        let above = rows[pivot];
        // False for what is not a number, too.
        let independent = above[pivot].abs() > 1e-14 * largest;
        if !independent {
            return None;
        }
        for row in pivot + 1..N {
            let factor = rows[row][pivot] / above[pivot];
            for (value, above) in rows[row].iter_mut().zip(above).skip(pivot) {
                *value -= factor * above;
            }
            right[row] -= factor * right[pivot];
        }
    }
    for pivot in (0..N).rev() {
        let known: f64 = (pivot + 1..N).map(|column| rows[pivot][column] * right[column]).sum();
        right[pivot] = (right[pivot] - known) / rows[pivot][pivot];
    }
    Some(right)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equations_are_solved_or_refused() {
        // By hand: 2y = 4, x + y = 5; the first row needs an exchange.
        assert_eq!(solve([[0.0, 2.0], [1.0, 1.0]], [4.0, 5.0]), Some([3.0, 2.0]));
        assert_eq!(solve([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]), None);
        assert_eq!(solve([[f64::NAN]], [1.0]), None);
        assert_eq!(solve([[0.0]], [0.0]), None);
    }
}
