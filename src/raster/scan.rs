//! A picture too large to hold, read strip by strip.

use super::Raster;
use super::decoded::{Curve, Transfer, stated_curve};
use super::kind::LARGEST_PX;
use super::kind::unread;
use super::resolution::{Resolution, stated_resolution};
use crate::error::Error;
use image::ImageFormat;
use ndarray::{Array3, Axis};
use rayon::prelude::*;
use std::io::Cursor;
use tiff::decoder::{ChunkType, Decoder, DecodingResult};
use tiff::tags::Tag;

/// Rows of a strip that is put together of single ones.
const ROWS: usize = 64;
/// More pixels than these are no sheet: a scan of A4 at 6400 dpi has twice as many.
const LARGEST_SCAN_PX: u64 = 2_000_000_000;

/// A PNG or TIFF of more pixels than are opened at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    bytes: Vec<u8>,
    rows: usize,
    columns: usize,
    /// Numbers to a pixel: 1 grey, 2 grey and opacity, 3 colour, 4 colour and opacity.
    samples: usize,
    /// Light of each number that the file can hold.
    table: Vec<f32>,
    is_png: bool,
    warnings: Vec<String>,
}

impl Scan {
    /// Whether the bytes are a picture of more pixels than are opened at once, and of a kind that can be read
    /// in strips.
    pub fn is_needed(bytes: &[u8]) -> bool {
        if unread(bytes).is_some() {
            return false;
        }
        let size = match image::guess_format(bytes) {
            Ok(ImageFormat::Png) => {
                png_decoder(bytes).read_info().ok().map(|png| (png.info().width, png.info().height))
            }
            Ok(ImageFormat::Tiff) => {
                Decoder::new(Cursor::new(bytes)).ok().and_then(|mut tiff| tiff.dimensions().ok())
            }
            _ => None,
        };
        size.is_some_and(|(columns, rows)| is_large(columns, rows))
    }

    /// Takes the bytes of a large PNG or TIFF; nothing is decoded yet.
    ///
    /// # Errors
    /// A fault when the picture cannot be read in strips: it is interlaced, in tiles or planes, turned, or
    /// neither grey nor RGB of 8 or 16 bits.
    pub fn of(bytes: Vec<u8>, transfer: Transfer) -> Result<Scan, Error> {
        match image::guess_format(&bytes) {
            Ok(ImageFormat::Png) => Scan::of_png(bytes, transfer),
            _ => Scan::of_tiff(bytes, transfer),
        }
    }

    /// The resolution that the file states.
    pub fn resolution(&self) -> Option<Resolution> {
        stated_resolution(&self.bytes)
    }

    /// What to bear in mind about the file.
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    fn of_png(bytes: Vec<u8>, transfer: Transfer) -> Result<Scan, Error> {
        let reader = png_decoder(&bytes).read_info().map_err(|why| damaged(&why.to_string()))?;
        let info = reader.info();
        if info.interlaced {
            return Err(in_one_piece("is interlaced"));
        }
        let (colour, depth) = reader.output_color_type();
        let samples = colour.samples();
        let most = if depth == png::BitDepth::Sixteen { 65535 } else { 255 };
        let profile = info.icc_profile.as_ref().map(|icc| icc.to_vec());
        let (rows, columns) = (info.height, info.width);
        let (curve, warnings) = curve_of(&bytes, ImageFormat::Png, profile.as_deref(), transfer)?;
        drop(reader);
        let scan = Scan::checked(bytes, [rows, columns], samples, table(&curve, most), true)?;
        Ok(Scan { warnings, ..scan })
    }

    fn of_tiff(bytes: Vec<u8>, transfer: Transfer) -> Result<Scan, Error> {
        let failed = |why: tiff::TiffError| damaged(&why.to_string());
        let mut decoder = Decoder::new(Cursor::new(&bytes[..])).map_err(failed)?;
        let (columns, rows) = decoder.dimensions().map_err(failed)?;
        let whole = |tag: Tag| decoder_tag(&bytes, tag);
        if decoder.get_chunk_type() != ChunkType::Strip
            || whole(Tag::PlanarConfiguration) == Some(2)
        {
            return Err(in_one_piece("is stored in tiles or planes"));
        }
        if whole(Tag::Orientation).is_some_and(|turned| turned > 1) {
            return Err(in_one_piece("is stored turned"));
        }
        let (samples, depth) = match decoder.colortype() {
            Ok(tiff::ColorType::Gray(depth)) => (1, depth),
            Ok(tiff::ColorType::GrayA(depth)) => (2, depth),
            Ok(tiff::ColorType::RGB(depth)) => (3, depth),
            Ok(tiff::ColorType::RGBA(depth)) => (4, depth),
            _ => (0, 0),
        };
        let most = match depth {
            8 => 255,
            16 => 65535,
            _ => return Err(in_one_piece("is neither grey nor RGB of 8 or 16 bits")),
        };
        let profile = decoder.get_tag_u8_vec(Tag::IccProfile).ok();
        let (curve, warnings) = curve_of(&bytes, ImageFormat::Tiff, profile.as_deref(), transfer)?;
        let scan = Scan::checked(bytes, [rows, columns], samples, table(&curve, most), false)?;
        Ok(Scan { warnings, ..scan })
    }

    fn checked(
        bytes: Vec<u8>,
        [rows, columns]: [u32; 2],
        samples: usize,
        table: Vec<f32>,
        is_png: bool,
    ) -> Result<Scan, Error> {
        if u64::from(rows) * u64::from(columns) > LARGEST_SCAN_PX {
            return Err(Error::limit(
                format!("says it has {columns} × {rows} pixels, too many to read"),
                "scan the sheet in parts",
            ));
        }
        let (rows, columns) = (rows as usize, columns as usize);
        Ok(Scan { bytes, rows, columns, samples, table, is_png, warnings: Vec::new() })
    }

    /// Rows of the picture.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Columns of the picture.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Channels of its light: 1 grey, 3 colour.
    pub fn channels(&self) -> usize {
        if self.samples < 3 { 1 } else { 3 }
    }

    /// Reads the picture from the top, and hands each strip on with its first row.
    ///
    /// # Errors
    /// A fault when the file is cut off or damaged.
    pub fn each_strip(&self, strip: impl FnMut(usize, &Raster)) -> Result<(), Error> {
        let read = if self.is_png { self.png_strips(strip) } else { self.tiff_strips(strip) };
        read.map_err(|why| damaged(&why))
    }

    fn png_strips(&self, mut strip: impl FnMut(usize, &Raster)) -> Result<(), String> {
        let mut reader = png_decoder(&self.bytes).read_info().map_err(|why| why.to_string())?;
        let mut first = 0;
        while first < self.rows {
            let rows = ROWS.min(self.rows - first);
            let mut numbers = Vec::new();
            for _ in 0..rows {
                let row = reader.next_row().map_err(|why| why.to_string())?;
                let row = row.ok_or("rows are missing")?;
                self.append(&mut numbers, row.data());
            }
            strip(first, &self.light(rows, &numbers));
            first += rows;
        }
        Ok(())
    }

    /// Numbers of 8 bits, or of 16 with the higher byte first.
    fn append(&self, numbers: &mut Vec<u16>, bytes: &[u8]) {
        if self.table.len() > 256 {
            numbers.extend(bytes.chunks_exact(2).map(|b| u16::from_be_bytes([b[0], b[1]])));
        } else {
            numbers.extend(bytes.iter().map(|b| u16::from(*b)));
        }
    }

    fn tiff_strips(&self, mut strip: impl FnMut(usize, &Raster)) -> Result<(), String> {
        let said = |why: tiff::TiffError| why.to_string();
        let mut decoder = Decoder::new(Cursor::new(&self.bytes[..])).map_err(said)?;
        let (mut first, mut chunk) = (0, 0);
        while first < self.rows {
            let numbers: Vec<u16> = match decoder.read_chunk(chunk).map_err(said)? {
                DecodingResult::U8(numbers) => numbers.into_iter().map(u16::from).collect(),
                DecodingResult::U16(numbers) => numbers,
                _ => return Err("its numbers are of another kind than it says".into()),
            };
            let rows = (numbers.len() / (self.columns * self.samples)).min(self.rows - first);
            if rows == 0 {
                return Err("rows are missing".into());
            }
            strip(first, &self.light(rows, &numbers));
            (first, chunk) = (first + rows, chunk + 1);
        }
        Ok(())
    }

    /// The light of a strip, what is transparent laid on black.
    fn light(&self, rows: usize, numbers: &[u16]) -> Raster {
        let (samples, columns) = (self.samples, self.columns);
        let channels = self.channels();
        let opacity = (samples % 2 == 0).then_some(samples - 1);
        let most = (self.table.len() - 1) as f32;
        let mut linear = Array3::zeros((channels, rows, columns));
        for (channel, mut plane) in linear.outer_iter_mut().enumerate() {
            let lines = plane.axis_iter_mut(Axis(0)).into_par_iter();
            lines.zip(numbers.par_chunks_exact(columns * samples)).for_each(
                |(mut line, numbers)| {
                    for (value, pixel) in line.iter_mut().zip(numbers.chunks_exact(samples)) {
                        let opaque = opacity.map_or(1.0, |at| f32::from(pixel[at]) / most);
                        *value = opaque * self.table[usize::from(pixel[channel])];
                    }
                },
            );
        }
        Raster { linear }
    }
}

fn png_decoder(bytes: &[u8]) -> png::Decoder<Cursor<&[u8]>> {
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::EXPAND);
    decoder
}

fn is_large(columns: u32, rows: u32) -> bool {
    u64::from(columns) * u64::from(rows) > LARGEST_PX
}

fn decoder_tag(bytes: &[u8], tag: Tag) -> Option<u32> {
    Decoder::new(Cursor::new(bytes)).ok()?.get_tag_u32(tag).ok()
}

fn curve_of(
    bytes: &[u8],
    format: ImageFormat,
    profile: Option<&[u8]>,
    transfer: Transfer,
) -> Result<(Curve, Vec<String>), Error> {
    match transfer {
        Transfer::Linear => Ok((Box::new(|value| value), Vec::new())),
        Transfer::ByFile => stated_curve(bytes, Some(format), profile),
    }
}

fn table(curve: &Curve, most: u32) -> Vec<f32> {
    (0..=most).map(|number| curve(number as f32 / most as f32)).collect()
}

fn damaged(why: &str) -> Error {
    Error::damaged(
        format!("is cut off or damaged: {why}"),
        "copy it again, or save it anew as PNG or TIFF",
    )
}

fn in_one_piece(why: &str) -> Error {
    Error::limit(
        format!("has too many pixels to open at once, and {why}, so it cannot be read in strips"),
        "save it as an upright PNG or TIFF in strips, grey or RGB of 8 or 16 bits, without interlace",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::decoded;
    use image::{ImageBuffer, Luma, Rgb};

    /// Read in strips, a picture is what it is when opened whole: the limit is passed over here.
    #[test]
    fn strips_are_the_picture() {
        let folder = tempfile::tempdir().unwrap();
        let colour = ImageBuffer::<Rgb<u8>, _>::from_fn(70, 150, |x, y| {
            Rgb([(3 * x) as u8, y as u8, (x + y) as u8])
        });
        let deep =
            ImageBuffer::<Luma<u16>, _>::from_fn(70, 150, |x, y| Luma([(900 * x + y) as u16]));
        let file = |name: &str| folder.path().join(name);
        colour.save(file("a.png")).unwrap();
        colour.save(file("b.tif")).unwrap();
        deep.save(file("c.png")).unwrap();
        deep.save(file("d.tif")).unwrap();
        for (name, samples, most) in
            [("a.png", 3, 255), ("b.tif", 3, 255), ("c.png", 1, 65535), ("d.tif", 1, 65535)]
        {
            let bytes = std::fs::read(file(name)).unwrap();
            let whole = decoded(&bytes, Transfer::ByFile).unwrap().raster;
            let format = image::guess_format(&bytes).unwrap();
            let (curve, _) = curve_of(&bytes, format, None, Transfer::ByFile).unwrap();
            let is_png = format == ImageFormat::Png;
            let scan =
                Scan::checked(bytes, [150, 70], samples, table(&curve, most), is_png).unwrap();
            let mut seen = 0;
            scan.each_strip(|first, strip| {
                assert_eq!(first, seen);
                for ((channel, row, column), value) in strip.linear.indexed_iter() {
                    assert_eq!(*value, whole.linear[[channel, first + row, column]], "{name}");
                }
                seen += strip.rows();
            })
            .unwrap();
            assert_eq!(seen, 150, "{name}");
        }
        assert!(!Scan::is_needed(&std::fs::read(file("a.png")).unwrap()));
    }
}
