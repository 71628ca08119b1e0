//! Pictures as arrays of light: opened safely, drawn, and written as PNG.
//!
//! A [`Raster`] holds linear light, so that blur, sums and edges mean what they mean on film; the
//! display's curve (sRGB, IEC 61966-2-1) is applied on the way in and out and nowhere else.

mod drawing;
mod open;
mod png;
mod srgb;

use ndarray::Array3;

pub(crate) use drawing::coverage;
pub use drawing::{LETTERS, rasterise, text_width};
pub use open::{Transfer, open};
pub use png::{display, png};
pub use srgb::{decode, encode};

/// A picture in linear light.
///
/// `linear` has the shape (channel, row, column): one channel (grey) or three (red, green, blue of
/// sRGB primaries), rows from the top, columns from the left, 0 black, 1 display white. Values outside
/// 0..1 are allowed and are clipped when the picture is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// The light: (channel, row, column).
    pub linear: Array3<f32>,
}

impl Raster {
    /// Rows of the picture.
    pub fn rows(&self) -> usize {
        self.linear.dim().1
    }

    /// Columns of the picture.
    pub fn columns(&self) -> usize {
        self.linear.dim().2
    }
}
