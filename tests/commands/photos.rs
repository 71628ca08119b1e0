//! Photos through the program: what is read, what is refused, what is asked, and the pictures of it.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use image::{GrayImage, Luma};
use serde_json::Value;
use std::fs;
use std::path::Path;

struct Ended {
    code: i32,
    out: String,
    err: String,
}

fn gauge(folder: &Path, words: &[&str]) -> Ended {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.current_dir(folder).arg("gauge").args(words).output().unwrap();
    Ended {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

const SCALE: [&str; 2] = ["--scale", "1000 px = 1 mm"];

/// Bright discs (column, row, radius) of 220 on 40, with edges a pixel wide.
fn discs(columns: u32, rows: u32, discs: &[[f64; 3]]) -> GrayImage {
    GrayImage::from_fn(columns, rows, |column, row| {
        let (x, y) = (f64::from(column) + 0.5, f64::from(row) + 0.5);
        let open = discs
            .iter()
            .map(|[u, v, r]| (r - (x - u).hypot(y - v) + 0.5).clamp(0.0, 1.0))
            .fold(0.0, f64::max);
        Luma([(40.0 + 180.0 * open).round() as u8])
    })
}

#[test]
fn kinds_that_are_not_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let cases: [(&str, &[u8], &str); 4] = [
        ("hole.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        ("hole.jpg", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (
            "hole.dng",
            b"II*\0\x08\0\0\0\x01\0\x12\xC6\x01\0\x04\0\0\0\x01\x04\0\0\0\0\0\0",
            "raw file",
        ),
        ("hole.nef", b"nobody knows what this is", "raw file"),
    ];
    for (name, bytes, kind) in cases {
        fs::write(folder.path().join(name), bytes).unwrap();
        let ended = gauge(folder.path(), &[&["--hole", name], &SCALE[..]].concat());
        assert_eq!(ended.code, 1, "{}", ended.err);
        assert!(ended.err.contains(kind) && ended.err.contains("save it as JPEG"), "{}", ended.err);
    }
    let ended = gauge(folder.path(), &["--hole", "0.3 mm", "--scale", "400 px = 1 mm"]);
    assert!(ended.code == 2 && ended.err.contains("needs no scale"), "{}", ended.err);
}

#[test]
fn webp_and_bmp_are_photos() {
    let folder = tempfile::tempdir().unwrap();
    let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/pictures");
    for name in ["plain.webp", "plain.bmp"] {
        let path = here.join(name);
        let words = [&["--hole", path.to_str().unwrap(), "--json"], &SCALE[..]].concat();
        let ended = gauge(folder.path(), &words);
        assert_eq!(ended.code, 0, "{}", ended.err);
        let answer: Value = serde_json::from_str(&ended.out).unwrap();
        let size = answer["hole"]["equivalent_diameter_mm"].as_f64().unwrap();
        assert!((size - 0.024).abs() < 5e-5, "{name}: {size}");
    }
    // 24 px at the 2400 dpi that the bitmap states.
    let path = here.join("plain.bmp");
    let ended =
        gauge(folder.path(), &["--hole", path.to_str().unwrap(), "--scale", "auto", "--json"]);
    let answer: Value = serde_json::from_str(&ended.out).unwrap();
    let size = answer["hole"]["equivalent_diameter_mm"].as_f64().unwrap();
    assert!((size - 24.0 * 25.4 / 2400.0).abs() < 1e-3, "{size}");
}

/// Two like holes are a question: exit 1, both places named, and the picture of them drawn.
#[test]
fn a_question_comes_with_its_picture() {
    let folder = tempfile::tempdir().unwrap();
    discs(400, 300, &[[120.0, 150.0, 40.0], [280.0, 150.0, 38.0]])
        .save(folder.path().join("two.png"))
        .unwrap();
    let words = [&["--hole", "two.png", "--out", "asked.png", "--json"], &SCALE[..]].concat();
    let ended = gauge(folder.path(), &words);
    assert_eq!((ended.code, ended.out.as_str()), (1, ""), "{}", ended.err);
    assert!(ended.err.contains("120,150 px") && ended.err.contains("280,150 px"), "{}", ended.err);
    assert!(ended.err.contains("asked.png shows"), "{}", ended.err);
    let drawn = image::open(folder.path().join("asked.png")).unwrap();
    assert_eq!(drawn.width(), 1600);
    // A place answers it.
    let ended = gauge(folder.path(), &[&words[..], &["--at", "280,150 px"]].concat());
    assert_eq!(ended.code, 0, "{}", ended.err);
}

/// A sheet of one good hole and one that is blown out at the rim: the sheet is drawn, and the second is a row
/// with its reason.
#[test]
fn what_cannot_be_measured_is_a_row() {
    let folder = tempfile::tempdir().unwrap();
    let mut picture = discs(600, 300, &[[100.0, 150.0, 30.0], [300.0, 150.0, 30.0]]);
    // A smear of light without a rim of its own, as wide as the holes.
    for (column, row, value) in picture.enumerate_pixels_mut() {
        let away = (f64::from(column) - 500.0).hypot(f64::from(row) - 150.0);
        value.0[0] = value.0[0].max((40.0 + 180.0 * (-(away / 34.0).powi(2)).exp()) as u8);
    }
    picture.save(folder.path().join("sheet.png")).unwrap();
    let words =
        [&["--hole", "sheet.png", "--every", "--out", "sheet_out.png", "--json"], &SCALE[..]]
            .concat();
    let words = [&words[..], &["--table", "sheet.csv"]].concat();
    let ended = gauge(folder.path(), &words);
    assert_eq!(ended.code, 0, "{}", ended.err);
    let answer: Value = serde_json::from_str(&ended.out).unwrap();
    let rows = answer["holes"].as_array().unwrap();
    let faults: Vec<&str> = rows.iter().filter_map(|row| row["fault"].as_str()).collect();
    assert!(rows.iter().filter(|row| !row["hole"].is_null()).count() >= 2, "{}", ended.out);
    assert!(faults.iter().any(|why| why.contains("blurred")), "{faults:?}");
    assert!(folder.path().join("sheet_out.png").exists());
    let table = fs::read_to_string(folder.path().join("sheet.csv")).unwrap();
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines.len(), rows.len() + 1, "{table}");
    assert!(
        lines[0].starts_with("number,column_px") && lines.iter().any(|l| l.contains("blurred"))
    );
    // Ten fields each; no reason holds a comma here but within its quotes.
    let fields = |line: &str| line.split('"').next().unwrap().matches(',').count();
    assert!(lines[1..].iter().all(|line| fields(line) == 9), "{table}");
}

/// Noise and a black picture are refused with a reason and an exit of 1, sheet or not.
#[test]
fn noise_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut state = 1u32;
    let noise = GrayImage::from_fn(900, 700, |_, _| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        Luma([(state >> 24) as u8])
    });
    noise.save(folder.path().join("noise.png")).unwrap();
    GrayImage::new(200, 200).save(folder.path().join("black.png")).unwrap();
    for (name, why) in [("noise.png", "noise"), ("black.png", "black")] {
        for more in [&[][..], &["--every"]] {
            let words = [&["--hole", name], &SCALE[..], more].concat();
            let ended = gauge(folder.path(), &words);
            assert_eq!(ended.code, 1, "{name}: {}", ended.out);
            assert!(
                ended.err.contains(why) && ended.err.contains("light the hole"),
                "{}",
                ended.err
            );
        }
    }
}
