//! Light that is read a piece of a line at a time, whatever it is kept as.

use crate::raster::Raster;

/// A scene that can be read.
pub(super) trait Lines: Sync {
    /// Its channels, rows and columns.
    fn size(&self) -> [usize; 3];

    /// Reads a channel's light of a row, from a first column on as far as `to` is long.
    fn read(&self, channel: usize, row: usize, first: usize, to: &mut [f32]);
}

impl Lines for Raster {
    fn size(&self) -> [usize; 3] {
        self.linear.dim().into()
    }

    fn read(&self, channel: usize, row: usize, first: usize, to: &mut [f32]) {
        let (_, rows, columns) = self.linear.dim();
        let start = (channel * rows + row) * columns + first;
        match self.linear.as_slice() {
            Some(light) => to.copy_from_slice(&light[start..start + to.len()]),
            None => {
                for (i, light) in to.iter_mut().enumerate() {
                    *light = self.linear[[channel, row, first + i]];
                }
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

    fn read(&self, channel: usize, row: usize, first: usize, to: &mut [f32]) {
        for (i, light) in to.chunks_exact_mut(1).enumerate() {
            self.0.read(channel, first + i, row, light);
        }
    }
}
