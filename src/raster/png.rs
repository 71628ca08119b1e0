//! Pictures for the display: light to sRGB of 8 bits, and to the bytes of a PNG file.

use super::{Raster, decode};
use crate::error::Error;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder, Rgb, RgbImage};
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
    let edges = level_edges();
    let mut image = RgbImage::new(width, height);
    // A row at a time: chunks of at least one byte, for a picture without columns has no rows either.
    image.par_chunks_mut((3 * columns).max(1)).enumerate().for_each(|(row, bytes)| {
        for (column, pixel) in bytes.chunks_exact_mut(3).enumerate() {
            for (channel, byte) in pixel.iter_mut().enumerate() {
                let light = picture.linear[[channel.min(channels - 1), row, column]];
                *byte = edges.partition_point(|&edge| edge <= light) as u8;
            }
        }
    });
    Ok(image)
}

/// The light at which each of the levels 1 to 255 begins. Searching these 255 numbers rounds to
/// the nearest level exactly, and faster than the curve's power.
fn level_edges() -> [f32; 255] {
    std::array::from_fn(|level| decode((level as f64 + 0.5) / 255.0) as f32)
}

/// Packed harder, a picture takes twice as long to write and is a few per cent smaller.
const PACKING: CompressionType = CompressionType::Level(3);

/// Returns the bytes of a PNG file of an sRGB picture: grey where it has no colour, the same bytes every
/// time.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a picture without pixels.
pub fn png(image: &RgbImage) -> Result<Vec<u8>, Error> {
    let (width, height) = image.dimensions();
    let mut bytes = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut bytes, PACKING, FilterType::Adaptive);
    let written = if image.pixels().all(|Rgb([r, g, b])| r == g && g == b) {
        let grey: Vec<u8> = image.pixels().map(|pixel| pixel[0]).collect();
        encoder.write_image(&grey, width, height, ExtendedColorType::L8)
    } else {
        encoder.write_image(image, width, height, ExtendedColorType::Rgb8)
    };
    written.map_err(|why| {
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

    #[test]
    fn grey_is_written_as_grey_and_nothing_is_refused() {
        let grey = Raster { linear: Array3::from_elem((1, 4, 5), f32::NAN) };
        let bytes = png(&display(&grey).unwrap()).unwrap();
        assert_eq!(image::load_from_memory(&bytes).unwrap().color(), image::ColorType::L8);
        assert!(png(&RgbImage::new(0, 3)).is_err());
        assert!(display(&Raster { linear: Array3::zeros((0, 1, 1)) }).is_err());
    }
}
