//! One disc in the kinds of files that cameras, scanners and programs write, with real profiles
//! (tests/reference/make_pictures.py): bright, 24.0 px in diameter, about (24.3, 23.8) px.

use foramen::files::{Memory, picture};
use foramen::hole::{Hole, Scale};
use foramen::raster::Transfer;
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn file(name: &str) -> PathBuf {
    Path::new("tests/reference/pictures").join(name)
}

fn measured(name: &str, transfer: Transfer) -> (f64, [f64; 2]) {
    let raster =
        picture(&file(name), transfer, Memory::default()).map(|picture| picture.raster).unwrap();
    let scale = Scale::read("1000 px = 1 mm").unwrap();
    let hole = Hole::of_picture(Arc::new(raster), scale, None).unwrap();
    let place = hole.picture.as_ref().unwrap().traced.centroid_px;
    (1000.0 * hole.outline.equivalent_diameter_mm(), place)
}

/// All give the drawn size: 0.05 px, three times what pixels leave of a sharp disc's diameter (0.01 px of
/// the radius) and what 8 bits add to it; 0.1 px for JPEG at quality 95.
#[test]
fn every_kind_gives_one_size() {
    for name in [
        "profile_srgb.png",
        "profile_18.png",
        "profile_18.webp",
        "grey_alpha.png",
        "deep.png",
        "deep.tif",
        "turned.jpg",
        "progressive.jpg",
        "plain.bmp",
        "plain.webp",
        "palette.png",
    ] {
        let (size, [x, y]) = measured(name, Transfer::ByFile);
        println!("{name}: {size:.3} px at {x:.2},{y:.2}");
        let least = if name.ends_with("jpg") { 0.1 } else { 0.05 };
        assert!((size - 24.0).abs() < least, "{name}: {size}");
        // An orientation of 6: a quarter turn clockwise takes (x, y) to (48 - y, x).
        let place = if name == "turned.jpg" { [48.0 - 23.8, 24.3] } else { [24.3, 23.8] };
        assert!((x - place[0]).abs() < 0.05 && (y - place[1]).abs() < 0.05, "{name}: {x} {y}");
    }
}

/// A profile of gamma 1.8 read as what it is, and as nothing: the light of the plate, sRGB 40, differs.
#[test]
fn a_profile_is_used() {
    let plate = |name: &str| {
        picture(&file(name), Transfer::ByFile, Memory::default())
            .map(|picture| picture.raster)
            .unwrap()
            .linear[[0, 2, 2]]
    };
    // IEC 61966-2-1: ((40/255 + 0.055)/1.055)^2.4.
    let truth = ((40.0f32 / 255.0 + 0.055) / 1.055).powf(2.4);
    for name in ["profile_srgb.png", "profile_18.png", "profile_18.webp", "plain.bmp", "deep.tif"] {
        // A step of 8 bits is 6 % of so dark a plate in gamma 1.8; half of it, and the profile's rounding.
        assert!((plate(name) / truth - 1.0).abs() < 0.04, "{name}: {} {truth}", plate(name));
    }
}

#[test]
fn sound_kinds_that_are_not_read_are_not_called_damaged() {
    for name in ["palette.tif", "float.tif", "signed.tif", "lab.tif"] {
        let fault = picture(&file(name), Transfer::ByFile, Memory::default())
            .map(|picture| picture.raster)
            .unwrap_err();
        let said = fault.to_string();
        assert!(said.contains("not read") || said.contains("16 bits"), "{said}");
        assert!(!said.contains("damaged") && fault.remedy().contains("bits"), "{said}");
    }
}

/// A progressive picture that is cut holds a hole all the same, coarser than it was: where its data end inside a
/// scan, and where whole scans are missing, it is refused, through the door that a user uses.
#[test]
fn a_progressive_picture_that_is_cut_is_refused() {
    let whole = std::fs::read(file("progressive.jpg")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let gauged = |bytes: &[u8]| {
        let path = folder.path().join("cut.jpg");
        std::fs::write(&path, bytes).unwrap();
        let out = std::process::Command::new(env!("CARGO_BIN_EXE_foramen"))
            .args(["gauge", "--scale", "1000 px = 1 mm", "--hole"])
            .arg(&path)
            .output()
            .unwrap();
        (out.status.code(), String::from_utf8(out.stderr).unwrap())
    };
    assert_eq!(gauged(&whole).0, Some(0));
    let scans: Vec<usize> = (0..whole.len() - 1)
        .filter(|at| whole[*at..*at + 2] == [0xFF, 0xDA])
        .chain([whole.len() - 2])
        .collect();
    assert!(scans.len() > 8, "{scans:?}");
    let end = [0xFF, 0xD9];
    for (pair, next) in scans.windows(2).zip(1..) {
        let middle = (pair[0] + 14 + pair[1]) / 2;
        // Inside the scan, with the rest of the file and without; after it, but for the last.
        let mut cut = vec![
            [&whole[..middle], &whole[pair[1]..]].concat(),
            [&whole[..middle], &end[..]].concat(),
            whole[..middle].to_vec(),
        ];
        if next < scans.len() - 1 {
            cut.push([&whole[..pair[1]], &end[..]].concat());
        }
        for bytes in cut {
            let (code, said) = gauged(&bytes);
            assert!(code == Some(1) && said.contains("cut off or damaged"), "{pair:?}: {said}");
        }
    }
}
