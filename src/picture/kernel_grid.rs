//! Point-spread functions that change over the picture: one at each node of a grid.

use super::kernel::Kernel;
use crate::error::Error;

/// Holds kernels at the nodes of a grid that is laid evenly over the picture from border to border, both
/// borders included: the first column of nodes stands on the left edge of the first pixel, the last
/// on the right edge of the last; a single one holds for all columns, and rows are alike.
///
/// Between nodes the kernel changes linearly, along rows and along columns. Kernels of different
/// nodes and channels may have different sizes.
#[derive(Debug, Clone, PartialEq)]
pub struct KernelGrid {
    across: usize,
    down: usize,
    kernels: Vec<[Kernel; 3]>,
}

impl KernelGrid {
    /// Makes a grid of `across` by `down` nodes with their kernels (red, green, blue), row by row from
    /// the top left.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a grid without nodes, and when there are not as many kernels as nodes.
    pub fn new(across: usize, down: usize, kernels: Vec<[Kernel; 3]>) -> Result<KernelGrid, Error> {
        if kernels.is_empty() || across.checked_mul(down) != Some(kernels.len()) {
            return Err(Error::limit(
                format!("{} kernels do not fill a grid of {across} x {down} nodes", kernels.len()),
                "give one for each node, and at least one node each way",
            ));
        }
        Ok(KernelGrid { across, down, kernels })
    }

    /// Repeats the same kernel (red, green, blue) all over the picture.
    pub fn uniform(kernel: [Kernel; 3]) -> KernelGrid {
        KernelGrid { across: 1, down: 1, kernels: vec![kernel] }
    }

    /// Returns the columns of nodes.
    pub fn across(&self) -> usize {
        self.across
    }

    /// Returns the rows of nodes.
    pub fn down(&self) -> usize {
        self.down
    }

    /// Returns the largest share of the light that a kernel spreads evenly over itself
    /// ([`Kernel::spread_evenly`]).
    pub fn spread_evenly(&self) -> f64 {
        self.kernels.iter().flatten().map(Kernel::spread_evenly).fold(0.0, f64::max)
    }

    /// Returns the most that a kernel may have wrong of the contrast.
    pub fn contrast_error(&self) -> f64 {
        self.kernels.iter().flatten().map(Kernel::contrast_error).fold(0.0, f64::max)
    }

    /// Returns the kernels (red, green, blue) of all nodes, row by row from the top left.
    pub fn kernels(&self) -> &[[Kernel; 3]] {
        &self.kernels
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array2;

    #[test]
    fn refuses_what_does_not_fill_the_grid() {
        let kernel = Kernel::new(&Array2::ones((1, 1))).unwrap();
        let kernels = |count| vec![[kernel.clone(), kernel.clone(), kernel.clone()]; count];
        assert!(KernelGrid::new(3, 2, kernels(6)).is_ok());
        let cases = [(3, 2, 5), (3, 2, 7), (0, 2, 0), (2, 0, 0), (0, 0, 0), (usize::MAX, 2, 6)];
        for (across, down, count) in cases {
            assert!(KernelGrid::new(across, down, kernels(count)).is_err(), "{across} x {down}");
        }
    }
}
