//! Opening a picture file safely, into linear light.

use super::kind::{LARGEST_PX, is_read, unread};
use super::resolution::{Resolution, stated_resolution};
use super::{Raster, decode, jpeg};
use crate::error::Error;
use image::{
    DynamicImage, ImageBuffer, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, Pixel,
    Primitive,
};
use moxcms::ColorProfile;
use ndarray::{Array3, Axis};
use rayon::prelude::*;
use std::io::{self, Cursor};

/// The largest picture file, in bytes.
pub const LARGEST_FILE: u64 = 2 << 30;
/// Bytes that a decoder may ask for at once.
const LARGEST_STORE: u64 = 2 << 30;
/// The same of PNG, whose decoder needs no more than a row beside the picture: a packed profile must not grow beyond it.
const LARGEST_STORE_OF_PNG: u64 = 64 << 20;

/// Tells how pixel values map to light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Transfer {
    /// As the file says (PNG gAMA or sRGB chunk, the curve of an ICC profile), or else as sRGB.
    #[default]
    ByFile,
    /// In proportion to the light.
    Linear,
}

/// A curve from a file's number (0..1) to light (0..1).
pub(super) type Curve = Box<dyn Fn(f32) -> f32 + Send + Sync>;

/// Describes a picture that was decoded, once.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// Its light.
    pub raster: Raster,
    /// The resolution that its file states, if it states one.
    pub resolution: Option<Resolution>,
    /// What to bear in mind about the file.
    pub warnings: Vec<String>,
}

/// Decodes a PNG, JPEG, TIFF, WebP or BMP picture of 8 or 16 bits: one channel of linear light of a grey picture,
/// three of one with colour, upright by its EXIF orientation, what is transparent laid on black.
///
/// # Errors
/// A fault when the bytes are another kind of file, cut off, damaged, or more than 120 million pixels.
pub fn decoded(bytes: &[u8], transfer: Transfer) -> Result<Decoded, Error> {
    let (raster, warnings) = light(bytes, transfer)?;
    Ok(Decoded { raster, resolution: stated_resolution(bytes), warnings })
}

/// The memory, in bytes, that a picture takes while it is opened and a hole is looked for in it, by its header; none for
/// what cannot be opened, or is read in strips.
pub(crate) fn memory_bytes(bytes: &[u8]) -> Option<f64> {
    // What the search holds of each pixel beside the picture: its brightness and level, measured as 4 to 6 bytes.
    const SEARCH: f64 = 6.0;
    let decoder = reader_of(bytes).ok()?.into_decoder().ok()?;
    let (columns, rows) = decoder.dimensions();
    let pixels = u64::from(columns) * u64::from(rows);
    let colour = decoder.color_type();
    let light = if colour.has_color() { 12.0 } else { 4.0 };
    (pixels <= LARGEST_PX)
        .then(|| pixels as f64 * (f64::from(colour.bytes_per_pixel()) + light + SEARCH))
}

/// What reads a picture, within limits.
fn reader_of(bytes: &[u8]) -> io::Result<ImageReader<Cursor<&[u8]>>> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format()?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(match reader.format() {
        Some(ImageFormat::Png) => LARGEST_STORE_OF_PNG,
        _ => LARGEST_STORE,
    });
    reader.limits(limits);
    Ok(reader)
}

fn light(bytes: &[u8], transfer: Transfer) -> Result<(Raster, Vec<String>), Error> {
    let damaged = |why: String| {
        Error::damaged(
            format!("is cut off or damaged: {why}"),
            "copy it again from the camera, or save it anew as PNG, JPEG or TIFF",
        )
    };
    if let Some(kind) = unread(bytes) {
        return Err(not_read(kind));
    }
    let reader = reader_of(bytes).map_err(|why| damaged(why.to_string()))?;
    let format = reader.format();
    if !is_read(format) {
        return Err(Error::damaged(
            "holds no PNG, JPEG, TIFF, WebP or BMP picture, whatever its name says",
            "save it as one of these",
        ));
    }
    if format == Some(ImageFormat::Jpeg) {
        jpeg::check(bytes).map_err(|why| damaged(why.into()))?;
    }
    // A sound file of a kind that the decoder does not know is not damaged.
    let failed = |why: ImageError| match why {
        ImageError::Unsupported(why) => Error::damaged(
            format!("is of a kind that is not read: {why}"),
            "save it as an ordinary grey or RGB picture with 8 or 16 bits",
        ),
        why => damaged(why.to_string()),
    };
    let mut decoder = reader.into_decoder().map_err(failed)?;
    let (columns, rows) = decoder.dimensions();
    if u64::from(columns) * u64::from(rows) > LARGEST_PX {
        return Err(Error::damaged(
            format!("has {columns} × {rows} pixels, too many to open"),
            "crop it to the part with the hole, 120 million pixels at most",
        ));
    }
    let (curve, warnings) = match transfer {
        Transfer::Linear => (Box::new(|value| value) as Curve, Vec::new()),
        Transfer::ByFile => {
            stated_curve(bytes, format, decoder.icc_profile().ok().flatten().as_deref())?
        }
    };
    if decoder.color_type().bytes_per_pixel() / decoder.color_type().channel_count() > 2 {
        return Err(Error::damaged(
            "has more than 16 bits per channel",
            "save it with 8 or 16 bits",
        ));
    }
    let orientation = decoder.orientation().map_err(|why| damaged(why.to_string()))?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(failed)?;
    picture.apply_orientation(orientation);
    Ok((linear(picture, &curve), warnings))
}

/// Reports a picture of a known kind that is not read.
pub(crate) fn not_read(kind: &str) -> Error {
    Error::damaged(
        format!("is {kind}, which is not read"),
        "save it as JPEG, PNG or TIFF first, at full size",
    )
}

/// One channel for a grey picture, three for one with colour.
fn linear(picture: DynamicImage, curve: &Curve) -> Raster {
    match picture {
        DynamicImage::ImageLuma8(p) => spread::<_, 1>(&p, curve),
        DynamicImage::ImageRgb8(p) => spread::<_, 3>(&p, curve),
        DynamicImage::ImageLuma16(p) => spread::<_, 1>(&p, curve),
        DynamicImage::ImageRgb16(p) => spread::<_, 3>(&p, curve),
        DynamicImage::ImageLumaA8(_) | DynamicImage::ImageRgba8(_) => {
            spread::<_, 4>(&picture.into_rgba8(), curve)
        }
        other => spread::<_, 4>(&other.into_rgba16(), curve),
    }
}

/// The light of samples of `N` numbers a pixel, the fourth of them how opaque it is.
fn spread<P, const N: usize>(picture: &ImageBuffer<P, Vec<P::Subpixel>>, curve: &Curve) -> Raster
where
    P: Pixel,
    P::Subpixel: Into<u32> + Sync,
{
    let (columns, rows) = (picture.width() as usize, picture.height() as usize);
    let most = P::Subpixel::DEFAULT_MAX_VALUE.into();
    // Every number a file can hold, once: the curve's power is slow.
    let table: Vec<f32> =
        (0..=most).into_par_iter().map(|v| curve(v as f32 / most as f32)).collect();
    let samples = picture.as_raw();
    let mut light = Array3::zeros((N.min(3), rows, columns));
    // Line by line, so that the picture passes through memory once.
    let lines = light.axis_iter_mut(Axis(1)).into_par_iter();
    lines.zip(samples.par_chunks_exact((N * columns).max(1))).for_each(|(mut line, samples)| {
        for (channel, mut line) in line.outer_iter_mut().enumerate() {
            for (value, pixel) in line.iter_mut().zip(samples.chunks_exact(N)) {
                let number: u32 = pixel[channel].into();
                *value = table[number as usize];
                if N == 4 {
                    let opaque: u32 = pixel[3].into();
                    *value *= opaque as f32 / most as f32;
                }
            }
        }
    });
    Raster { linear: light }
}

/// The curve that the file itself states, or sRGB, and what is to be said of it.
///
/// # Errors
/// A fault for a profile whose curve does not lead from dark to bright.
pub(super) fn stated_curve(
    bytes: &[u8],
    format: Option<ImageFormat>,
    profile: Option<&[u8]>,
) -> Result<(Curve, Vec<String>), Error> {
    let stated = profile.map(|icc| {
        let profile = ColorProfile::new_from_slice(icc).ok()?;
        profile.red_trc.or(profile.gray_trc)?.make_linear_evaluator().ok()
    });
    let mut warnings = Vec::new();
    // A decoder that cannot unpack a profile says nothing of it.
    let is_unpacked =
        profile.is_some() || format != Some(ImageFormat::Png) || !brings_profile(bytes);
    match stated.or((!is_unpacked).then_some(None)) {
        Some(Some(curve)) => {
            // The quick power behind it holds for what is above zero: of zero itself it makes -1.7e8.
            let curve: Curve = Box::new(move |value| curve.evaluate_value(value.max(1e-6)));
            return if leads_to_bright(&curve) {
                Ok((curve, warnings))
            } else {
                Err(Error::damaged(
                    "has a colour profile whose curve does not lead from dark to bright",
                    "save it anew with another profile, or without one",
                ))
            };
        }
        Some(None) => warnings.push(
            "The file's colour profile cannot be read; the curve of sRGB is taken instead.".into(),
        ),
        None => {}
    }
    let curve: Curve = match (format == Some(ImageFormat::Png)).then(|| png_gamma(bytes)).flatten()
    {
        Some(gamma) => Box::new(move |value| value.powf(1.0 / gamma)),
        None => Box::new(|value| decode(f64::from(value)) as f32),
    };
    Ok((curve, warnings))
}

/// Whether a curve rises from dark to bright. The lowest and the highest number of a picture are its black and
/// white to within a tenth in every profile of a camera or scanner (common practice, no source).
fn leads_to_bright(curve: &Curve) -> bool {
    const STEPS: u8 = 16;
    let light: Vec<f32> =
        (0..=STEPS).map(|step| curve(f32::from(step) / f32::from(STEPS))).collect();
    let is_rising = light.windows(2).all(|pair| pair[0] <= pair[1]);
    is_rising && light[0].abs() < 0.1 && (light[light.len() - 1] - 1.0).abs() < 0.1
}

/// Whether a PNG brings a profile: the kinds of its chunks, up to the picture (PNG, third edition, 5.3).
fn brings_profile(png: &[u8]) -> bool {
    let mut rest = png.get(8..).unwrap_or_default();
    while let [a, b, c, d, kind @ ..] = rest {
        match kind.get(..4) {
            Some(b"iCCP") => return true,
            Some(b"IDAT") | None => return false,
            _ => {}
        }
        let length = u32::from_be_bytes([*a, *b, *c, *d]) as usize;
        rest = kind.get(length.saturating_add(8)..).unwrap_or_default();
    }
    false
}

/// The exponent of a PNG's gAMA chunk, where no sRGB chunk overrides it (PNG specification, 11.3.2).
fn png_gamma(bytes: &[u8]) -> Option<f32> {
    let reader = png::Decoder::new(Cursor::new(bytes)).read_info().ok()?;
    let info = reader.info();
    let gamma = info.gama_chunk?.into_value();
    (info.srgb.is_none() && gamma > 0.01 && gamma < 10.0).then_some(gamma)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageBuffer, Luma, Rgb, RgbImage};

    fn grey_png(gamma: Option<f32>) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, 2, 1);
        encoder.set_color(png::ColorType::Grayscale);
        if let Some(gamma) = gamma {
            encoder.set_source_gamma(png::ScaledFloat::new(gamma));
        }
        encoder.write_header().unwrap().write_image_data(&[128, 255]).unwrap();
        bytes
    }

    fn opened(bytes: &[u8], transfer: Transfer) -> Result<Raster, Error> {
        decoded(bytes, transfer).map(|picture| picture.raster)
    }

    #[test]
    fn light_is_what_the_file_says() {
        let value = 128.0 / 255.0;
        let first = |bytes: &[u8], transfer| opened(bytes, transfer).unwrap().linear[[0, 0, 0]];
        // sRGB (`IEC61966`), the file's own power, and plain proportion.
        assert!((f64::from(first(&grey_png(None), Transfer::ByFile)) - decode(value)).abs() < 1e-6);
        let power = first(&grey_png(Some(0.5)), Transfer::ByFile);
        assert!((f64::from(power) - value * value).abs() < 1e-4);
        assert!((f64::from(first(&grey_png(None), Transfer::Linear)) - value).abs() < 1e-6);
    }

    #[test]
    fn sixteen_bits_are_kept() {
        let mut bytes = Vec::new();
        let picture = ImageBuffer::<Luma<u16>, _>::from_pixel(1, 1, Luma([1000]));
        picture.write_to(&mut Cursor::new(&mut bytes), ImageFormat::Tiff).unwrap();
        let light = opened(&bytes, Transfer::Linear).unwrap().linear[[0, 0, 0]];
        assert!((light - 1000.0 / 65535.0).abs() < 1e-7);
    }

    /// An EXIF orientation of 6 (CIPA DC-008, tag 0x0112): the first row is the right-hand side, so
    /// the upper left of the file is the upper right of the picture.
    #[test]
    fn pictures_stand_upright() {
        let mut jpeg = Vec::new();
        let picture =
            RgbImage::from_fn(32, 16, |x, y| Rgb([if x < 16 && y < 8 { 255 } else { 0 }; 3]));
        picture.write_to(&mut Cursor::new(&mut jpeg), ImageFormat::Jpeg).unwrap();
        let exif: &[u8] = b"\xFF\xE1\x00\x22Exif\0\0MM\x00\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
        let turned = [&jpeg[..2], exif, &jpeg[2..]].concat();
        let upright = opened(&turned, Transfer::ByFile).unwrap();
        assert_eq!((upright.rows(), upright.columns()), (32, 16));
        assert!(upright.linear[[0, 2, 13]] > 0.9 && upright.linear[[0, 2, 2]] < 0.1);
    }

    #[test]
    fn what_is_transparent_is_black() {
        let mut bytes = Vec::new();
        let picture = ImageBuffer::from_pixel(1, 1, image::Rgba([255u8, 255, 255, 51]));
        picture.write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png).unwrap();
        let light = opened(&bytes, Transfer::ByFile).unwrap().linear[[0, 0, 0]];
        assert!((light - 0.2).abs() < 1e-6);
    }

    #[test]
    fn what_is_no_whole_picture_is_refused() {
        let mut jpeg = Vec::new();
        let picture = RgbImage::from_fn(80, 60, |x, y| Rgb([x as u8 * 3, y as u8 * 4, 90]));
        picture.write_to(&mut Cursor::new(&mut jpeg), ImageFormat::Jpeg).unwrap();
        assert!(opened(&jpeg, Transfer::ByFile).is_ok());
        let png = grey_png(None);
        // A header that claims 60 000 × 60 000 pixels; the checksum is made to fit.
        let huge = {
            let mut bytes = Vec::new();
            let encoder = png::Encoder::new(&mut bytes, 60_000, 60_000);
            encoder.write_header().unwrap().write_chunk(png::chunk::IDAT, &[0x78, 0x9c]).unwrap();
            bytes
        };
        let cases: [(&[u8], &str); 6] = [
            (b"", "holds no PNG"),
            (b"no picture at all", "holds no PNG"),
            (&jpeg[..jpeg.len() / 2], "cut off"),
            (&png[..png.len() / 2], "cut off"),
            (&huge, "60000"),
            (b"GIF89a......", "GIF"),
        ];
        for (bytes, words) in cases {
            let said = opened(bytes, Transfer::ByFile).unwrap_err().to_string();
            assert!(said.contains(words), "{said}");
        }
        let deep = {
            let mut bytes = Vec::new();
            let picture = ImageBuffer::<Rgb<f32>, _>::from_pixel(2, 2, Rgb([0.5f32; 3]));
            let picture = DynamicImage::ImageRgb32F(picture);
            picture.write_to(&mut Cursor::new(&mut bytes), ImageFormat::Tiff).unwrap();
            bytes
        };
        assert!(opened(&deep, Transfer::ByFile).unwrap_err().to_string().contains("16 bits"));
    }
}
