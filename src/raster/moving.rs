//! Moving pictures: frames one after the other, as an animated PNG, which keeps every colour, and as a GIF, which
//! everything shows.

use crate::error::Error;
use image::RgbImage;
use rayon::prelude::*;

/// Returns the bytes of an animated PNG file (W3C PNG, third edition): sRGB pictures of one size, each shown
/// for `seconds`, over and over. Programs that know no animation show the first.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for no pictures, pictures without pixels or of different sizes.
pub fn animation(frames: &[RgbImage], seconds: f64) -> Result<Vec<u8>, Error> {
    let refused = |why: String| {
        Error::limit(
            format!("the pictures cannot be written as an animated PNG: {why}"),
            "give at least one, all of the same size",
        )
    };
    let (width, height) = frames.first().map_or((0, 0), RgbImage::dimensions);
    if frames.iter().any(|frame| frame.dimensions() != (width, height)) {
        return Err(refused("they have different sizes".into()));
    }
    let milliseconds = (1000.0 * seconds).round().clamp(1.0, 65_535.0) as u16;
    let mut bytes = Vec::new();
    let mut write = || -> Result<(), png::EncodingError> {
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
        encoder.set_animated(frames.len() as u32, 0)?;
        encoder.set_frame_delay(milliseconds, 1000)?;
        let mut writer = encoder.write_header()?;
        for frame in frames {
            writer.write_image_data(frame)?;
        }
        writer.finish()
    };
    write().map_err(|why| refused(why.to_string()))?;
    Ok(bytes)
}

/// Writes pictures of one size one after the other as the bytes of an animated GIF file, each for so many seconds, without end; each
/// frame has 256 colours of its own, chosen by a neural net (`Dekker1994`).
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for no pictures, pictures of different sizes or more than 65535 pixels a side.
pub fn gif(frames: &[RgbImage], seconds: f64) -> Result<Vec<u8>, Error> {
    /// How few of the pixels teach the net: 1 is all of them, 30 the fewest.
    const SPEED: i32 = 5;
    let refused = |why: String| {
        Error::limit(
            format!("the pictures cannot be written as an animated GIF: {why}"),
            "give at least one, all of the same size",
        )
    };
    let (width, height) = frames.first().map_or((0, 0), RgbImage::dimensions);
    let [Ok(wide), Ok(high)] = [width, height].map(u16::try_from) else {
        return Err(refused("they are too large".into()));
    };
    if wide == 0 || high == 0 || frames.iter().any(|one| one.dimensions() != (width, height)) {
        return Err(refused("they have different sizes, or none".into()));
    }
    // In hundredths of a second.
    let delay = (100.0 * seconds).round().clamp(2.0, 6000.0) as u16;
    let mut bytes = Vec::new();
    let mut write = || -> Result<(), gif::EncodingError> {
        let mut encoder = gif::Encoder::new(&mut bytes, wide, high, &[])?;
        encoder.set_repeat(gif::Repeat::Infinite)?;
        let in_colours = |frame: &RgbImage| {
            let frame = gif::Frame::from_rgb_speed(wide, high, frame.as_raw(), SPEED);
            gif::Frame { delay, ..frame }
        };
        for frame in frames.par_iter().map(in_colours).collect::<Vec<_>>() {
            encoder.write_frame(&frame)?;
        }
        Ok(())
    };
    write().map_err(|why| refused(why.to_string()))?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    /// Frames come back in number, size and colour: exactly where they have few colours, and within some steps of 255 in the mean where a
    /// net chose 256 of 2400 colours.
    #[test]
    fn a_gif_comes_back_from_the_file() {
        let plain =
            RgbImage::from_fn(60, 40, |x, _| Rgb(if x < 30 { [255; 3] } else { [9, 80, 200] }));
        let smooth =
            RgbImage::from_fn(60, 40, |x, y| Rgb([(4 * x) as u8, (4 * x) as u8, (6 * y) as u8]));
        let bytes = gif(&[plain.clone(), smooth.clone()], 0.3).unwrap();
        let mut options = ::gif::DecodeOptions::new();
        options.set_color_output(::gif::ColorOutput::RGBA);
        let mut reader = options.read_info(&bytes[..]).unwrap();
        let mut off = Vec::new();
        for frame in [&plain, &smooth] {
            let read = reader.read_next_frame().unwrap().unwrap();
            assert_eq!((read.delay, read.width, read.height), (30, 60, 40));
            let pairs = read.buffer.chunks(4).zip(frame.pixels());
            let each = pairs.flat_map(|(a, b)| [0, 1, 2].map(|i| a[i].abs_diff(b.0[i])));
            off.push(each.map(f64::from).sum::<f64>() / (3.0 * 60.0 * 40.0));
        }
        assert!(reader.read_next_frame().unwrap().is_none());
        assert!(off[0] == 0.0 && off[1] < 12.0, "{off:?}");
        assert!(gif(&[], 0.3).is_err() && gif(&[plain, RgbImage::new(3, 3)], 0.3).is_err());
    }
}
