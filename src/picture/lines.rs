//! Light that is read a piece of a line at a time, whatever it is kept as.

use crate::raster::Raster;
use ndarray::Axis;

/// The light of red, green and blue at a place, and a fourth that fills up what the machine works on side by side.
pub(super) type Light = [f32; 4];

/// A scene that can be read.
pub(super) trait Lines: Sync {
    /// Its channels, rows and columns.
    fn size(&self) -> [usize; 3];

    /// Reads the light of a row, from a first column on as far as `to` is long; channels that it has not stay what they
    /// are.
    fn read(&self, row: usize, first: usize, to: &mut [Light]);
}

impl Lines for Raster {
    fn size(&self) -> [usize; 3] {
        self.linear.dim().into()
    }

    fn read(&self, row: usize, first: usize, to: &mut [Light]) {
        for (channel, plane) in self.linear.outer_iter().enumerate().take(3) {
            let line = plane.index_axis_move(Axis(0), row);
            for (to, light) in to.iter_mut().zip(line.iter().skip(first)) {
                to[channel] = *light;
            }
        }
    }
}

/// A scene with rows and columns changed.
pub(super) struct Turned<'a>(pub(super) &'a dyn Lines);

impl Lines for Turned<'_> {
    fn size(&self) -> [usize; 3] {
        let [channels, rows, columns] = self.0.size();
        [channels, columns, rows]
    }

    fn read(&self, row: usize, first: usize, to: &mut [Light]) {
        for (i, light) in to.chunks_exact_mut(1).enumerate() {
            self.0.read(first + i, row, light);
        }
    }
}
