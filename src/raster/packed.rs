//! Rows of samples packed for a PNG file, a few rows by each thread.
//!
//! Each row is filtered by the one of PNG's five filters whose differences are smallest (W3C PNG, third edition, 9
//! and 12.7), and strips of rows are packed by themselves: what ends at a whole byte may follow one another in one
//! DEFLATE stream (`RFC1951`), within the zlib format's two bytes before and its checksum behind (`RFC1951`).

use flate2::{Compress, Compression, FlushCompress};
use rayon::prelude::*;

/// Bytes of a strip, about: each begins without memory of the last, which costs a strip some hundred bytes.
const STRIP: usize = 1 << 18;
/// Packed harder, a picture takes twice as long to write and is a few per cent smaller.
const PACKING: Compression = Compression::new(3);
/// The zlib format's beginning: DEFLATE, a window of 32 KiB, packed fast.
const HEADER: [u8; 2] = [0x78, 0x5e];
/// Adler-32's modulus.
const MODULUS: u32 = 65_521;

/// The rows of a picture, each `row_bytes` long and of whole pixels, as the data of a PNG file.
pub(super) fn packed(samples: &[u8], row_bytes: usize, pixel_bytes: usize) -> Vec<u8> {
    let rows: Vec<&[u8]> = samples.chunks_exact(row_bytes.max(1)).collect();
    let together = (STRIP / row_bytes.max(1)).max(1);
    let strips: Vec<Strip> = (0..rows.len().div_ceil(together))
        .into_par_iter()
        .map(|strip| {
            let (first, behind) = (strip * together, ((strip + 1) * together).min(rows.len()));
            let mut filtered = Vec::with_capacity((behind - first) * (row_bytes + 1));
            let mut filter = Filter::of(row_bytes, pixel_bytes);
            for row in first..behind {
                let above = row.checked_sub(1).map(|above| rows[above]);
                filter.add(rows[row], above, &mut filtered);
            }
            Strip::of(&filtered, behind == rows.len())
        })
        .collect();
    let mut data = HEADER.to_vec();
    let mut sums = Sums::EMPTY;
    for strip in strips {
        data.extend(strip.packed);
        sums = sums.followed_by(strip.sums);
    }
    data.extend(sums.checksum().to_be_bytes());
    data
}

/// Rows that are packed, and their checksum.
struct Strip {
    packed: Vec<u8>,
    sums: Sums,
}

impl Strip {
    fn of(bytes: &[u8], is_last: bool) -> Strip {
        let mut compress = Compress::new(PACKING, false);
        let flush = if is_last { FlushCompress::Finish } else { FlushCompress::Sync };
        let mut packed = Vec::with_capacity(bytes.len() / 2 + 1024);
        loop {
            let before = (compress.total_in(), packed.len());
            let rest = bytes.get(before.0 as usize..).unwrap_or_default();
            // Room left over says that nothing is held back.
            let full = compress.compress_vec(rest, &mut packed, flush).is_err();
            if full
                || (compress.total_in() as usize == bytes.len() && packed.len() < packed.capacity())
            {
                break;
            }
            packed.reserve(packed.capacity().max(1024));
        }
        Strip { packed, sums: Sums::of(bytes) }
    }
}

/// What filters need of memory.
struct Filter {
    pixel_bytes: usize,
    black: Vec<u8>,
    tried: Vec<u8>,
    best: Vec<u8>,
}

impl Filter {
    fn of(row_bytes: usize, pixel_bytes: usize) -> Filter {
        let black = vec![0; row_bytes];
        Filter { pixel_bytes, tried: black.clone(), best: black.clone(), black }
    }

    /// Adds a row by the best of its filters, whose number comes first.
    fn add(&mut self, row: &[u8], above: Option<&[u8]>, to: &mut Vec<u8>) {
        let above = above.unwrap_or(&self.black);
        let mut least = (u64::MAX, 0);
        for filter in 0..5 {
            differences(filter, row, above, self.pixel_bytes, &mut self.tried);
            let size = self.tried.iter().map(|byte| u32::from((*byte as i8).unsigned_abs()));
            let size = size.sum::<u32>().into();
            if size < least.0 {
                least = (size, filter);
                std::mem::swap(&mut self.tried, &mut self.best);
            }
        }
        to.push(least.1);
        to.extend(&self.best);
    }
}

/// A row less what a filter expects of it.
fn differences(filter: u8, row: &[u8], above: &[u8], pixel_bytes: usize, to: &mut [u8]) {
    let (first, rest) = to.split_at_mut(pixel_bytes.min(row.len()));
    // Left of the first pixel all is black.
    for ((to, here), up) in first.iter_mut().zip(row).zip(above) {
        let expected = match filter {
            2 | 4 => *up,
            3 => up / 2,
            _ => 0,
        };
        *to = here.wrapping_sub(expected);
    }
    let here = row.iter().skip(pixel_bytes);
    let (left, up, corner) = (row.iter(), above.iter().skip(pixel_bytes), above.iter());
    let places = rest.iter_mut().zip(here).zip(left).zip(up.zip(corner));
    let less = |expected: fn(u8, u8, u8) -> u8| {
        for (((to, here), left), (up, corner)) in places {
            *to = here.wrapping_sub(expected(*left, *up, *corner));
        }
    };
    match filter {
        1 => less(|left, _, _| left),
        2 => less(|_, up, _| up),
        3 => less(|left, up, _| ((u16::from(left) + u16::from(up)) / 2) as u8),
        4 => less(nearest),
        _ => less(|_, _, _| 0),
    }
}

/// The one of three neighbours that is nearest to left + up - corner: Paeth's predictor.
fn nearest(left: u8, up: u8, corner: u8) -> u8 {
    let [a, b, c] = [left, up, corner].map(i16::from);
    let (to_left, to_up, to_corner) = ((b - c).abs(), (a - c).abs(), (a + b - 2 * c).abs());
    let either = if to_up <= to_corner { up } else { corner };
    if to_left <= to_up && to_left <= to_corner { left } else { either }
}

/// The two sums of Adler-32 (`RFC1951`) over some bytes.
#[derive(Clone, Copy)]
struct Sums {
    length: usize,
    bytes: u32,
    sums: u32,
}

impl Sums {
    const EMPTY: Sums = Sums { length: 0, bytes: 1, sums: 0 };

    fn of(all: &[u8]) -> Sums {
        let mut found = Sums { length: all.len(), ..Sums::EMPTY };
        // As many as do not overflow.
        for part in all.chunks(5552) {
            for byte in part {
                found.bytes += u32::from(*byte);
                found.sums += found.bytes;
            }
            found.bytes %= MODULUS;
            found.sums %= MODULUS;
        }
        found
    }

    /// Of these bytes and the others behind them: each sum of the others has grown by these bytes' own.
    fn followed_by(self, other: Sums) -> Sums {
        let grown = (u64::from(self.bytes) + u64::from(MODULUS) - 1) * other.length as u64;
        let sums = u64::from(self.sums) + u64::from(other.sums) + grown;
        Sums {
            length: self.length + other.length,
            bytes: (self.bytes + other.bytes + MODULUS - 1) % MODULUS,
            sums: (sums % u64::from(MODULUS)) as u32,
        }
    }

    fn checksum(self) -> u32 {
        self.sums << 16 | self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The checksum of "abc" by hand: 1 + 97 + 98 + 99 = 0x127, and 98 + 196 + 295 = 0x24D.
    #[test]
    fn checksums_of_parts_are_that_of_the_whole() {
        assert_eq!(Sums::of(b"abc").checksum(), 0x024D_0127);
        let bytes: Vec<u8> = (0..20_000u32).map(|i| (i * i % 251) as u8).collect();
        let whole = Sums::of(&bytes).checksum();
        for cut in [0, 1, 5552, 9999, 20_000] {
            let (one, other) = bytes.split_at(cut);
            assert_eq!(Sums::of(one).followed_by(Sums::of(other)).checksum(), whole);
        }
    }

    /// What a decoder makes of pictures of many strips and few, with noise that cannot be packed.
    #[test]
    fn decoders_read_what_is_packed() {
        for (width, height, noise) in
            [(1, 1, 0), (3, 5, 7), (700, 900, 0), (700, 900, 255), (90_000, 3, 9)]
        {
            let mixed = |x: u32, y: u32| x.wrapping_mul(2_654_435_769) ^ y.wrapping_mul(40_503);
            let at = |x: u32, y: u32| (x / 3 + y * 2 + (mixed(x, y) >> 7) % (noise + 1)) as u8;
            let image = image::RgbImage::from_fn(width, height, |x, y| {
                image::Rgb([at(x, y), at(y, x), at(x, 3 * y)])
            });
            let file = crate::raster::png(&image).unwrap();
            assert_eq!(image::load_from_memory(&file).unwrap().into_rgb8(), image);
        }
    }
}
