//! `foramen figure`: what it writes, and what it refuses.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::fs;
use std::path::Path;

fn figure(folder: &Path, words: &[&str]) -> assert_cmd::assert::Assert {
    Command::new(assert_cmd::cargo::cargo_bin!("foramen"))
        .current_dir(folder)
        .arg("figure")
        .args(words)
        .assert()
}

fn written(folder: &Path) -> Vec<String> {
    let files = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_figure_is_written_with_its_numbers() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    figure(folder, &["airy", "--data", "--size", "slide", "--dark", "--out", "there"]).success();
    let files = written(&folder.join("there"));
    let index = fs::read_to_string(folder.join("there/airy.json")).unwrap();
    let index: serde_json::Value = serde_json::from_str(&index).unwrap();
    let listed = index["panels"].as_array().unwrap();
    // The drawings, the index, and a file for each panel.
    assert_eq!(files.len(), 4 + listed.len());
    let pdf = fs::read(folder.join("there/airy.pdf")).unwrap();
    // A slide is ten inches wide: 720 points.
    let page = String::from_utf8_lossy(&pdf).into_owned();
    assert!(page.starts_with("%PDF-") && page.contains("/MediaBox[0 0 720.0000 405.0000]"));
    let curves = listed.iter().find(|panel| panel["kind"] == "curves").unwrap();
    let curves = curves["file"].as_str().unwrap();
    let picture = image::open(folder.join("there/airy.png")).unwrap();
    assert_eq!((picture.width(), picture.height()), (1920, 1080));
    let svg = fs::read_to_string(folder.join("there/airy.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("<title>") && svg.contains("<desc>"));
    // The dark rings of the computed light: zeros of J1 over π (DLMF table 10.21.1), read back.
    let csv = fs::read_to_string(folder.join("there").join(curves)).unwrap();
    let rings: Vec<f64> = csv
        .lines()
        .filter(|line| line.ends_with(','))
        .map(|line| line.trim_end_matches(',').rsplit(',').next().unwrap().parse().unwrap())
        .collect();
    for (ring, zero) in rings.iter().zip([1.219_670, 2.233_131, 3.238_315]) {
        assert!((ring - zero).abs() < 2e-3, "{ring} {zero}");
    }
    assert_eq!(rings.len(), 3);
}

/// A moving figure comes as an animated PNG, as a GIF of as many frames, and still, for paper.
#[test]
fn a_moving_figure_has_a_gif_and_a_still_one() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    figure(folder, &["widening", "--size", "phone", "--out", "."]).success();
    assert_eq!(
        written(folder),
        [
            "widening-still.pdf",
            "widening-still.png",
            "widening-still.svg",
            "widening.gif",
            "widening.png"
        ]
    );
    let moving = fs::read(folder.join("widening.gif")).unwrap();
    let mut options = gif::DecodeOptions::new();
    options.set_color_output(gif::ColorOutput::RGBA);
    let mut reader = options.read_info(&moving[..]).unwrap();
    let mut frames = 0;
    while let Some(frame) = reader.read_next_frame().unwrap() {
        // The ground is white to a step or two in every frame.
        assert!(frame.buffer[..3].iter().all(|value| *value > 250), "{frames}");
        frames += 1;
    }
    let png = fs::read(folder.join("widening.png")).unwrap();
    let control = png.windows(4).position(|word| word == b"acTL").unwrap() + 4;
    let count = u32::from_be_bytes(png[control..control + 4].try_into().unwrap());
    assert_eq!((frames, reader.repeat()), (count, gif::Repeat::Infinite));
}

/// Single words change what a figure shows: the rings of a hole twice as wide in light half as long are a quarter as large.
#[test]
fn a_figure_takes_its_parameters_by_words() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    let drawn = |words: &[&str]| {
        let out = figure(folder, &[&["airy", "--out", "."], words].concat()).success();
        drop(out);
        fs::read_to_string(folder.join("airy.svg")).unwrap()
    };
    let svg = drawn(&["--diameter", "0.05 mm", "--wavelength", "400 nm", "--film", "100 mm"]);
    assert!(svg.contains("Light of 400 nm") && svg.contains("0.05 mm"), "{svg}");
    // 100 mm over 0.05 mm, and 0.025² over 400 nm times 100 mm.
    assert!(svg.contains("f/2000") && svg.contains("0.016"), "{svg}");
    figure(folder, &["airy", "--diameter", "0.1 mm", "--hole", "0.2 mm"]).code(2);
    figure(folder, &["airy", "--wavelength", "5 mm"]).failure();
    figure(folder, &["airy", "--diameter", "wide"]).code(2);
    assert_eq!(written(folder).len(), 3);
}

#[test]
fn what_cannot_be_drawn_is_refused_and_nothing_is_written() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path();
    let said = figure(folder, &["best-sise"]).code(2).get_output().stderr.clone();
    let said = String::from_utf8(said).unwrap();
    assert!(said.contains("best-size") && said.contains("loupe-card"), "{said}");
    figure(folder, &["burr", "--hole", "0 mm"]).code(2);
    figure(folder, &["burr", "--all"]).code(2);
    figure(folder, &["airy", "--size", "wall"]).code(2);
    fs::write(folder.join("taken"), "a file").unwrap();
    figure(folder, &["loupe-card", "--out", "taken"]).code(1);
    figure(folder, &["loupe-card", "--camera", "none.toml"]).failure();
    assert_eq!(written(folder), ["taken"]);
    let listed = figure(folder, &[]).success().get_output().stdout.clone();
    assert!(String::from_utf8(listed).unwrap().contains("thick-plate"));
}
