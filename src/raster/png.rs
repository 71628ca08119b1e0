//! Pictures for the display: light to sRGB of 8 bits, and to the bytes of a PNG file.

use super::packed::packed;
use super::{Raster, decode};
use crate::error::Error;
use image::RgbImage;
use ndarray::Axis;
use rayon::prelude::*;

/// Returns the picture as a display shows it: sRGB, 8 bits a channel; light outside 0..1 is clipped, and
/// what is not a number is black. A raster of one channel comes out grey.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a picture of no channels, or with more than 2³² rows or columns.
pub fn display(picture: &Raster) -> Result<RgbImage, Error> {
    let (channels, rows, columns) = picture.linear.dim();
    let too_large = |_| Error::limit("the picture is too large to be written", "make it smaller");
    if channels == 0 {
        return Err(Error::limit("a picture needs one channel or three", "give it one or three"));
    }
    let (width, height) =
        (u32::try_from(columns).map_err(too_large)?, u32::try_from(rows).map_err(too_large)?);
    let levels = Levels::new();
    let mut image = RgbImage::new(width, height);
    // A row at a time: chunks of at least one byte, for a picture without columns has no rows either.
    image.par_chunks_mut((3 * columns).max(1)).enumerate().for_each(|(row, bytes)| {
        for channel in 0..channels.min(3) {
            let light = picture.linear.index_axis(Axis(0), channel);
            for (pixel, light) in bytes.chunks_exact_mut(3).zip(light.row(row)) {
                pixel[channel..].fill(levels.of(*light));
            }
        }
    });
    Ok(image)
}

/// Finds the level nearest to some light, faster than by the curve's power and as exactly.
struct Levels {
    /// The light at which each of the levels 1 to 255 begins, and one that never does.
    edges: [f32; 256],
    /// The level at the least light of each range of numbers that share their exponent and upper digits.
    first: Vec<u8>,
}

impl Levels {
    /// Bits of a number beyond its exponent and its first seven digits.
    const REST: u32 = 16;
    /// 2^-13, below which all is black.
    const LEAST: u32 = (127 - 13) << 7;

    fn new() -> Levels {
        let edges = std::array::from_fn(|level| match level {
            255 => f32::INFINITY,
            _ => decode((level as f64 + 0.5) / 255.0) as f32,
        });
        let range = |at: u32| f32::from_bits((Levels::LEAST + at) << Levels::REST);
        let level = |light: f32| edges.partition_point(|edge| *edge <= light).min(255) as u8;
        // Up to 1, in so many halves.
        let first = (0..=(13 << 7)).map(|at| level(range(at))).collect();
        Levels { edges, first }
    }

    fn of(&self, light: f32) -> u8 {
        // What is not a number is not above anything.
        if light.is_nan() || light <= 0.0 {
            return 0;
        }
        let range = (light.to_bits() >> Levels::REST).saturating_sub(Levels::LEAST) as usize;
        let mut level = self.first[range.min(self.first.len() - 1)];
        while level < 255 && self.edges[usize::from(level)] <= light {
            level += 1;
        }
        level
    }
}

/// Returns the bytes of a PNG file of an sRGB picture: grey where it has no colour, the same bytes every
/// time.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a picture without pixels.
pub fn png(image: &RgbImage) -> Result<Vec<u8>, Error> {
    let (width, height) = image.dimensions();
    let is_grey = image
        .par_chunks(3 * 4096)
        .all(|part| part.chunks_exact(3).all(|pixel| pixel[0] == pixel[1] && pixel[0] == pixel[2]));
    let (kind, packed) = if is_grey {
        let grey: Vec<u8> = image.chunks_exact(3).map(|pixel| pixel[0]).collect();
        (png::ColorType::Grayscale, packed(&grey, width as usize, 1))
    } else {
        (png::ColorType::Rgb, packed(image, 3 * width as usize, 3))
    };
    let mut bytes = Vec::with_capacity(packed.len() + 128);
    let mut write = || -> Result<(), png::EncodingError> {
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(kind);
        let mut writer = encoder.write_header()?;
        writer.write_chunk(png::chunk::IDAT, &packed)?;
        writer.finish()
    };
    write().map_err(|why| {
        Error::limit(
            format!("a picture of {width} x {height} pixels cannot be written as PNG: {why}"),
            "give it at least one pixel each way",
        )
    })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::encode;
    use image::Rgb;
    use ndarray::Array3;

    #[test]
    fn comes_back_from_the_file_as_the_curve_says() {
        let light = |channel: usize, column: usize| (channel * 97 + column) as f32 / 400.0 - 0.1;
        let linear =
            Array3::from_shape_fn((3, 2, 300), |(channel, _, column)| light(channel, column));
        let bytes = png(&display(&Raster { linear }).unwrap()).unwrap();
        let back = image::load_from_memory(&bytes).unwrap().into_rgb8();
        for (column, _, Rgb(pixel)) in back.enumerate_pixels() {
            for (channel, &level) in pixel.iter().enumerate() {
                let truth = (255.0 * encode(f64::from(light(channel, column as usize)))).round();
                assert_eq!(f64::from(level), truth, "channel {channel}, column {column}");
            }
        }
    }

    /// The table against a search, at every edge and beside it, and where there is no light or too much.
    #[test]
    fn levels_are_the_nearest() {
        let levels = Levels::new();
        let beside = |edge: f32| [edge.next_down(), edge, edge.next_up()];
        let odd = [0.0, -1.0, 1.0, 7.0, 1e-30, f32::NAN, f32::INFINITY, f32::NEG_INFINITY];
        let even = (0..100_000).map(|i| i as f32 * 1.1e-5);
        for light in levels.edges.into_iter().flat_map(beside).chain(odd).chain(even) {
            let truth = levels.edges[..255].partition_point(|edge| *edge <= light);
            assert_eq!(usize::from(levels.of(light)), truth, "{light}");
        }
    }

    #[test]
    fn grey_is_written_as_grey_and_nothing_is_refused() {
        let grey = Raster { linear: Array3::from_elem((1, 4, 5), f32::NAN) };
        let bytes = png(&display(&grey).unwrap()).unwrap();
        assert_eq!(image::load_from_memory(&bytes).unwrap().color(), image::ColorType::L8);
        assert!(png(&RgbImage::new(0, 3)).is_err());
        assert!(display(&Raster { linear: Array3::zeros((0, 1, 1)) }).is_err());
    }
}
