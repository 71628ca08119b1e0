//! What kind of picture a file is: those that are read, and those that are known and not read.

use image::ImageFormat;
use std::path::Path;

/// More pixels than this are no photo of a hole; opened, they would take some 3 GB.
pub(super) const LARGEST_PX: u64 = 120_000_000;
/// Endings of pictures that are read.
const READ: [&str; 7] = ["png", "jpg", "jpeg", "tif", "tiff", "webp", "bmp"];
/// Endings of pictures that phones and cameras write and that are not read.
const HIGH_EFFICIENCY: [&str; 4] = ["heic", "heif", "hif", "avif"];
const RAW: [&str; 14] = [
    "dng", "cr2", "cr3", "crw", "nef", "nrw", "arw", "orf", "raf", "rw2", "pef", "srw", "raw",
    "3fr",
];
const OTHER: [&str; 4] = ["gif", "jxl", "psd", "pdf"];

/// Tells whether a name is that of a picture, be it of a kind that is not read.
pub fn is_picture_name(name: &str) -> bool {
    let ending = ending(Path::new(name));
    [&READ[..], &HIGH_EFFICIENCY, &RAW, &OTHER].iter().any(|all| all.contains(&ending.as_str()))
}

fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// Whether a format is read.
pub(super) fn is_read(format: Option<ImageFormat>) -> bool {
    use ImageFormat::{Bmp, Jpeg, Png, Tiff, WebP};
    matches!(format, Some(Png | Jpeg | Tiff | WebP | Bmp))
}

/// What a file of such a name is that is not read; none for what may be read.
pub(crate) fn unread_by_name(name: &str) -> Option<&'static str> {
    let ending = ending(Path::new(name));
    let has = |all: &[&str]| all.contains(&ending.as_str());
    [(&HIGH_EFFICIENCY[..], HEIC), (&RAW[..], A_RAW_FILE)]
        .into_iter()
        .find_map(|(endings, kind)| has(endings).then_some(kind))
}

const HEIC: &str = "a HEIC, HEIF or AVIF picture";
const A_RAW_FILE: &str = "a camera's raw file";

/// What the bytes are that are not read, by their first ones; none for what may be read.
///
/// Sources of the marks: ISO/IEC 14496-12 (file type box) and 23008-12 (its brands); raw files and the
/// others: from memory.
pub(super) fn unread(bytes: &[u8]) -> Option<&'static str> {
    let begins = |mark: &[u8]| bytes.starts_with(mark);
    if bytes.get(4..8) == Some(b"ftyp") {
        return Some(match bytes.get(8..12) {
            Some(b"crx ") => A_RAW_FILE,
            Some(
                b"heic" | b"heix" | b"hevc" | b"hevx" | b"heim" | b"heis" | b"mif1" | b"msf1"
                | b"avif" | b"avis",
            ) => HEIC,
            _ => "a film",
        });
    }
    let raw = [&b"IIRO"[..], b"IIRS", b"MMOR", b"IIU\0"].iter().any(|mark| begins(mark))
        || bytes.get(8..10) == Some(b"CR") && (begins(b"II*\0") || begins(b"MM\0*"))
        || is_raw_tiff(bytes);
    if raw {
        return Some(A_RAW_FILE);
    }
    let others = [
        (&b"GIF8"[..], "a GIF picture"),
        (b"\xFF\x0A", "a JPEG XL picture"),
        (b"\0\0\0\x0CJXL ", "a JPEG XL picture"),
        (b"8BPS", "a layered picture"),
        (b"%PDF", "a PDF document"),
    ];
    others.iter().find(|(mark, _)| begins(mark)).map(|(_, kind)| *kind)
}

/// A TIFF whose first directory says that it is a sensor's mosaic, or only a preview of one: the tags
/// DNGVersion (50706), PhotometricInterpretation (262) of 32803, and NewSubfileType (254) of 1 together
/// with SubIFDs (330). Source: `TIFF6`.
fn is_raw_tiff(bytes: &[u8]) -> bool {
    let big = match bytes.get(..4) {
        Some(b"MM\0*") => true,
        Some(b"II*\0") => false,
        _ => return false,
    };
    let number = |at: usize, count: usize| -> Option<u64> {
        let part = bytes.get(at..at.checked_add(count)?)?;
        let fold = |sum: u64, byte: &u8| sum << 8 | u64::from(*byte);
        Some(if big { part.iter().fold(0, fold) } else { part.iter().rev().fold(0, fold) })
    };
    let Some(start) = number(4, 4).map(|start| start as usize) else { return false };
    let count = number(start, 2).unwrap_or(0) as usize;
    let (mut is_reduced, mut has_others) = (false, false);
    for at in (0..count.min(512)).map(|k| start + 2 + 12 * k) {
        let Some(tag) = number(at, 2) else { return false };
        let short = number(at + 2, 2) == Some(3);
        let value = number(at + 8, if short { 2 } else { 4 });
        match tag {
            50706 => return true,
            262 if value == Some(32803) => return true,
            254 => is_reduced = value == Some(1),
            330 => has_others = true,
            _ => {}
        }
    }
    is_reduced && has_others
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_told_by_content_and_else_by_ending() {
        assert_eq!(unread(b"\0\0\0\x18ftypheic\0\0\0\0"), Some(HEIC));
        assert_eq!(unread(b"\0\0\0\x18ftypcrx \0\0\0\0"), Some(A_RAW_FILE));
        assert_eq!(unread(b"II*\0\x10\0\0\0CR\x02\0"), Some(A_RAW_FILE));
        // One entry: DNGVersion, four bytes.
        let dng = b"II*\0\x08\0\0\0\x01\0\x12\xC6\x01\0\x04\0\0\0\x01\x04\0\0\0\0\0\0";
        assert_eq!(unread(dng), Some(A_RAW_FILE));
        assert_eq!(unread(b"\xFF\xD8\xFF\xE0\0\x10JFIF"), None);
        let plain = b"II*\0\x08\0\0\0\x01\0\x00\x01\x03\0\x01\0\0\0\x01\0\0\0\0\0\0\0";
        assert_eq!(unread(plain), None);
        assert_eq!(unread_by_name("hole.nef"), Some(A_RAW_FILE));
        assert_eq!(unread_by_name("hole.png"), None);
        assert!(
            is_picture_name("a.HEIC") && is_picture_name("a.webp") && !is_picture_name("a.csv")
        );
    }
}
