//! The point-spread function as image formation takes it: weights on film pixels.

use crate::error::Error;
use ndarray::{Array2, ArrayView2, Axis};
use std::sync::Arc;

/// Tells what one point of the scene becomes on the film: the share of its light that each film pixel
/// about its place gets.
///
/// Odd by odd weights with the point's own place at the middle, rows from the top of the picture;
/// they sum to 1, so that no light is made or lost. Clones share them.
#[derive(Debug, Clone, PartialEq)]
pub struct Kernel {
    weights: Arc<Array2<f32>>,
    spread_evenly: f64,
    contrast_error: f64,
}

impl Kernel {
    /// Makes a kernel from light per pixel in any unit, (row from the top, column from the left), divided
    /// by its own sum. Light that falls outside the array is thereby spread over what is inside:
    /// make the array large enough for the sharpness asked for.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when a side is even or empty (no pixel is the middle), a weight is not
    /// finite, or the sum is not above zero.
    pub fn new(light: &Array2<f64>) -> Result<Kernel, Error> {
        let (rows, columns) = light.dim();
        if rows % 2 == 0 || columns % 2 == 0 {
            return Err(Error::limit(
                format!("a kernel of {rows} rows and {columns} columns has no middle pixel"),
                "give it an odd number each way",
            ));
        }
        let sum: f64 = light.sum();
        if !(sum.is_finite() && sum > 0.0 && light.iter().all(|weight| weight.is_finite())) {
            return Err(Error::limit(
                format!("the kernel's weights add up to {sum}"),
                "give finite weights with a sum above zero",
            ));
        }
        let weights = Arc::new(light.mapv(|weight| (weight / sum) as f32));
        Ok(Kernel { weights, spread_evenly: 0.0, contrast_error: 0.0 })
    }

    /// Makes a kernel from shares of all the light: what falls outside the array is spread evenly over it.
    ///
    /// # Errors
    /// As [`Kernel::new`].
    pub fn of_shares(light: &Array2<f64>) -> Result<Kernel, Error> {
        let outside = (1.0 - light.sum()).max(0.0);
        let each = outside / light.len() as f64;
        Ok(Kernel { spread_evenly: outside, ..Kernel::new(&light.mapv(|share| share + each))? })
    }

    /// The same as its mirror image, left and right changed, up and down changed, or both.
    #[must_use]
    pub fn mirrored(&self, [sideways, upside_down]: [bool; 2]) -> Kernel {
        let mut weights = self.weights.view();
        for (axis, turned) in [(Axis(1), sideways), (Axis(0), upside_down)] {
            if turned {
                weights.invert_axis(axis);
            }
        }
        let weights = match [sideways, upside_down] {
            [false, false] => Arc::clone(&self.weights),
            _ => Arc::new(weights.as_standard_layout().into_owned()),
        };
        Kernel { weights, ..self.clone() }
    }

    /// The same with what it may have wrong of the contrast.
    #[must_use]
    pub fn with_contrast_error(self, contrast_error: f64) -> Kernel {
        Kernel { contrast_error, ..self }
    }

    /// Returns what the kernel may have wrong of the contrast.
    pub fn contrast_error(&self) -> f64 {
        self.contrast_error
    }

    /// Returns the share of the light that falls outside the array and is spread evenly over it.
    pub fn spread_evenly(&self) -> f64 {
        self.spread_evenly
    }

    /// Returns the weights: (row from the top, column from the left), odd by odd, sum 1.
    pub fn weights(&self) -> ArrayView2<'_, f32> {
        self.weights.view()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_add_up_to_one() {
        let kernel = Kernel::new(&Array2::from_elem((3, 5), 7.0)).unwrap();
        // Fifteen numbers of 1/15, each rounded to 24 bits.
        assert!((kernel.weights().sum() - 1.0).abs() < 1e-6);
    }

    #[test]
    fn refuses_what_has_no_middle_or_no_light() {
        let cases = [
            Array2::zeros((0, 0)),
            Array2::ones((2, 3)),
            Array2::ones((3, 4)),
            Array2::zeros((3, 3)),
            Array2::from_elem((3, 3), -1.0),
            Array2::from_elem((1, 1), f64::NAN),
            Array2::from_elem((1, 1), f64::INFINITY),
            Array2::from_elem((3, 1), f64::MAX),
        ];
        for weights in cases {
            assert!(Kernel::new(&weights).is_err(), "{weights}");
        }
    }
}
