//! JPEGs as cameras write them, and what becomes of them.

use super::*;
use image::codecs::jpeg::JpegEncoder;
use image::{GrayImage, Luma, Rgb, RgbImage};

/// A bright disc of a radius in pixels on dark ground, with a soft rim.
fn light(x: u32, y: u32, radius: f64) -> u8 {
    let away = (f64::from(x) - 99.7).hypot(f64::from(y) - 100.2);
    (20.0 + 200.0 / (1.0 + (away - radius).exp())) as u8
}

fn colour() -> Vec<u8> {
    let mut bytes = Vec::new();
    let picture = RgbImage::from_fn(203, 205, |x, y| {
        let value = light(x, y, 60.0);
        Rgb([value, value / 2 + 10, 255 - value])
    });
    JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&picture).unwrap();
    bytes
}

fn grey() -> Vec<u8> {
    let mut bytes = Vec::new();
    let picture = GrayImage::from_fn(200, 200, |x, y| Luma([light(x, y, 60.0)]));
    JpegEncoder::new_with_quality(&mut bytes, 85).encode_image(&picture).unwrap();
    bytes
}

/// Where the data of the scan begin.
fn data(bytes: &[u8]) -> usize {
    let at = bytes.windows(2).position(|pair| pair == [0xFF, 0xDA]).unwrap();
    at + 2 + number(bytes, at + 2).unwrap()
}

#[test]
fn whole_pictures_are_whole() {
    for bytes in [colour(), grey()] {
        assert_eq!(check(&bytes), Ok(()));
        // Zeros that fill up a file, before and after its end marker.
        let end = bytes.len() - 2;
        let filled = [&bytes[..end], &[0; 7], &bytes[end..], &[0; 100]].concat();
        assert_eq!(check(&filled), Ok(()));
    }
}

/// The end marker alone does not make a picture whole.
#[test]
fn data_that_end_early_are_told() {
    for bytes in [colour(), grey()] {
        let start = data(&bytes);
        for share in [0.05, 0.3, 0.7, 0.95] {
            let cut = start + ((bytes.len() - start) as f64 * share) as usize;
            let ended = [&bytes[..cut], &[0xFF, 0xD9]].concat();
            assert!(check(&ended).is_err(), "{share}");
            assert!(check(&bytes[..cut]).is_err(), "{share}");
        }
        let doubled = [&bytes[..bytes.len() - 2], &bytes[start..]].concat();
        assert!(check(&doubled).is_err());
    }
}

/// Of pictures with one bit that is wrong, those that are not told show nearly the same disc: its area in numbers
/// above the middle one is off by more than a hundredth in fewer than one of 50.
#[test]
fn bits_that_are_wrong_are_told_or_hardly_matter() {
    let bytes = grey();
    let area = |bytes: &[u8]| {
        let picture = image::load_from_memory(bytes).ok()?.into_luma8();
        Some(picture.pixels().filter(|pixel| pixel.0[0] > 120).count() as f64)
    };
    let whole = area(&bytes).unwrap();
    let start = data(&bytes);
    let (mut told, mut untold, mut all) = (0, Vec::new(), 0);
    // Every place in turn, each with another bit.
    for at in (start..bytes.len() - 2).step_by(5) {
        let mut wrong = bytes.clone();
        wrong[at] ^= 1 << (at % 8);
        all += 1;
        if check(&wrong).is_err() {
            told += 1;
        } else if area(&wrong).is_some_and(|area| (area / whole - 1.0).abs() > 0.01) {
            untold.push(at);
        }
    }
    println!("{all} pictures, {told} told, {} not told and off by more than 1 %", untold.len());
    assert!(told * 2 > all && untold.len() * 50 < all, "{untold:?}");
}

/// Whatever bytes come, they are judged.
#[test]
fn nonsense_is_judged() {
    let bytes = colour();
    for at in 0..bytes.len().min(700) {
        for value in [0x00, 0xFF, 0xD8, bytes[at].wrapping_add(1)] {
            let mut wrong = bytes.clone();
            wrong[at] = value;
            let _ = check(&wrong);
            let _ = check(&wrong[..at]);
        }
    }
}
