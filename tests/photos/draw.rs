//! Photos drawn from a known outline: form, light, blur, noise, clutter and file of each are random.

use foramen::geometry::{Outline, shapes};
use foramen::hole::specimen::{Look, photograph};
use foramen::raster::{Raster, Transfer, display, png};
use image::codecs::jpeg::JpegEncoder;
use std::f64::consts::TAU;

pub(crate) const MM_PER_PX: f64 = 0.001;

/// A small generator, the same on every machine (SplitMix64; Steele, Lea and Flood 2014, from memory).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between two numbers.
    pub(crate) fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly in the logarithm.
    pub(crate) fn spread(&mut self, low: f64, high: f64) -> f64 {
        self.within(low.ln(), high.ln()).exp()
    }

    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.within(0.0, 1.0) < share
    }
}

/// What a photo was taken with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Light through the hole, the plate dark.
    FromBehind,
    /// A dark hole in a bright plate.
    FromBefore,
    /// From behind through a loupe, whose field ends within the picture.
    Loupe,
    /// On a scanner: beside the hole a rule and letters.
    Scanned,
}

pub(crate) const KINDS: [Kind; 4] =
    [Kind::FromBehind, Kind::FromBefore, Kind::Loupe, Kind::Scanned];

/// A photo with its truth.
pub(crate) struct Photo {
    pub(crate) outline: Outline,
    pub(crate) raster: Raster,
    pub(crate) kind: Kind,
    pub(crate) diameter_px: f64,
    pub(crate) blur_px: f64,
    pub(crate) noise: f64,
    pub(crate) file: &'static str,
}

impl Photo {
    /// Fair light, sharp, and large enough to judge the form.
    pub(crate) fn is_clear(&self) -> bool {
        self.diameter_px > 60.0 && self.blur_px < 0.03 * self.diameter_px && self.noise < 0.016
    }
}

/// An oval with lobes, a rough rim and up to two burrs, `diameter_px` wide.
pub(crate) fn hand_made(random: &mut Random, diameter_px: f64) -> Outline {
    let oval = (random.within(0.0, 0.08), random.within(0.0, TAU));
    let lobes = (random.within(0.0, 0.025), random.within(0.0, TAU));
    let rough: Vec<(f64, f64)> = (8..40)
        .map(|k| (0.004 * random.within(0.0, 1.0) / f64::from(k).sqrt(), random.within(0.0, TAU)))
        .collect();
    let count = [0, 0, 1, 1, 2][random.within(0.0, 5.0) as usize];
    let burrs: Vec<[f64; 3]> = (0..count)
        .map(|_| [random.within(0.0, TAU), random.within(0.08, 0.25), random.within(0.08, 0.35)])
        .collect();
    let shape = shapes::polar(1800, |angle| {
        let mut radius = 1.0
            + oval.0 * (2.0 * angle - oval.1).cos()
            + lobes.0 * (3.0 * angle - lobes.1).cos()
            + rough
                .iter()
                .zip(8..)
                .map(|(r, k)| r.0 * (f64::from(k) * angle + r.1).cos())
                .sum::<f64>();
        for [at, width, depth] in &burrs {
            let off = (angle - at + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            radius *= 1.0 - depth * (1.0 - (off / width).abs()).max(0.0);
        }
        radius
    })
    .unwrap();
    shape.scaled(diameter_px * MM_PER_PX / shape.equivalent_diameter_mm()).centred()
}

/// Photo number `seed`.
pub(crate) fn photo(seed: u64) -> Photo {
    let mut random = Random(seed.wrapping_mul(0x2545_f491_4f6c_dd1d));
    let kind = KINDS[(seed % 4) as usize];
    let diameter_px = random.spread(14.0, 420.0);
    let outline = hand_made(&mut random, diameter_px);
    let blur_px = random.spread(0.3, (0.1 * diameter_px).clamp(0.6, 4.0));
    let side = (diameter_px * random.within(1.9, 2.8) + 50.0) as usize;
    let middle = side as f64 / 2.0;
    let off = 0.12 * side as f64;
    let grey = random.within(0.01, 0.12);
    let bright = kind != Kind::FromBefore;
    let tint = |level: f64, random: &mut Random| [0, 1, 2].map(|_| level * random.within(0.8, 1.2));
    let look = Look {
        rows: side,
        columns: side + 13,
        mm_per_px: MM_PER_PX,
        centre_px: [middle + random.within(-off, off), middle + random.within(-off, off)],
        light: if bright { random.within(0.35, 0.85) } else { random.within(0.002, 0.06) },
        plate: if bright {
            tint(grey, &mut random)
        } else {
            tint(random.within(0.35, 0.65), &mut random)
        },
        blur_px,
        fall_off: random.within(0.0, 0.45),
        wear: if bright { random.within(0.0, 1.0) } else { random.within(0.0, 0.25) },
        noise: random.spread(0.002, 0.03),
        seed,
    };
    let noise = look.noise;
    let mut raster = photograph(&outline, &look).unwrap();
    let radius = diameter_px / 2.0;
    match kind {
        Kind::Loupe => vignette(&mut raster, look.centre_px, radius * random.within(1.75, 2.1)),
        Kind::Scanned => clutter(&mut raster, look.centre_px, radius, &mut random),
        _ => {}
    }
    let (raster, file) = through_file(&raster, &mut random);
    Photo { outline, raster, kind, diameter_px, blur_px, noise, file }
}

/// Dark beyond the field of a loupe, with a soft edge.
fn vignette(raster: &mut Raster, [x, y]: [f64; 2], radius: f64) {
    for ((_, row, column), light) in raster.linear.indexed_iter_mut() {
        let away = (column as f64 + 0.5 - x).hypot(row as f64 + 0.5 - y);
        let kept = ((radius - away) / 5.0 + 0.5).clamp(0.0, 1.0);
        *light *= (0.02 + 0.98 * kept) as f32;
    }
}

/// Graduation lines along the bottom and strokes like letters along the top, clear of the hole.
fn clutter(raster: &mut Raster, [x, y]: [f64; 2], radius: f64, random: &mut Random) {
    let (rows, columns) = (raster.rows() as f64, raster.columns() as f64);
    let level = if random.chance(0.5) { 0.85 } else { 0.002 };
    let (pitch, length) = (random.within(6.0, 20.0), 0.08 * rows);
    let mut bars: Vec<[f64; 4]> = (0..(columns / pitch) as usize)
        .map(|k| {
            let left = k as f64 * pitch + 2.0;
            [left, rows - length, left + 0.3 * pitch, rows]
        })
        .collect();
    for _ in 0..12 {
        let (left, top) = (random.within(0.0, columns), random.within(0.0, 0.08 * rows));
        let wide = random.chance(0.5);
        let (w, h) = if wide { (9.0, 2.0) } else { (2.0, 9.0) };
        bars.push([left, top, left + w, top + h]);
    }
    for ((_, row, column), light) in raster.linear.indexed_iter_mut() {
        let (u, v) = (column as f64 + 0.5, row as f64 + 0.5);
        let clear = (u - x).hypot(v - y) > 1.5 * radius + 8.0;
        if clear && bars.iter().any(|b| u > b[0] && u < b[2] && v > b[1] && v < b[3]) {
            *light = level;
        }
    }
}

/// Through a file and back: JPEG or PNG of 8 bits in sRGB, or PNG of 16 bits in proportion to light.
fn through_file(raster: &Raster, random: &mut Random) -> (Raster, &'static str) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("photo");
    let which = random.within(0.0, 4.0) as usize;
    let (bytes, transfer, name) = match which {
        0 => (png(&display(raster).unwrap()).unwrap(), Transfer::ByFile, "PNG 8"),
        1 => (deep(raster), Transfer::Linear, "PNG 16"),
        _ => {
            let mut bytes = Vec::new();
            let quality = random.within(70.0, 96.0) as u8;
            JpegEncoder::new_with_quality(&mut bytes, quality)
                .encode_image(&display(raster).unwrap())
                .unwrap();
            (bytes, Transfer::ByFile, "JPEG")
        }
    };
    std::fs::write(&path, bytes).unwrap();
    (
        foramen::files::picture(&path, transfer, foramen::files::Memory::default()).unwrap().raster,
        name,
    )
}

fn deep(raster: &Raster) -> Vec<u8> {
    let (columns, rows) = (raster.columns() as u32, raster.rows() as u32);
    let picture =
        image::ImageBuffer::<image::Rgb<u16>, Vec<u16>>::from_fn(columns, rows, |x, y| {
            image::Rgb([0, 1, 2].map(|c| {
                (raster.linear[[c, y as usize, x as usize]].clamp(0.0, 1.0) * 65535.0).round()
                    as u16
            }))
        });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}
