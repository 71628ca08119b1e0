//! `foramen chart` and `foramen prove` as a person types them.

#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use flate2::read::ZlibDecoder;
use foramen::camera::{Camera, no_curves};
use foramen::geometry::shapes;
use foramen::picture::{film_kernels, form};
use foramen::raster::{Raster, display, png, rasterise};
use serde_json::Value;
use std::fs;
use std::io::Read;
use std::path::Path;
use tempfile::TempDir;

const CAMERA: &str = "name = \"Ash box\"\n[film]\ndistance = \"60 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n\
                      [subject]\ndistance = \"600 mm\"\n[light]\nwavelength = \"550 nm\"\n";

fn foramen(folder: &Path, words: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.current_dir(folder).args(words).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("box.toml"), CAMERA).unwrap();
    folder
}

/// The contents of the pages of a PDF file: its packed streams.
fn pages(file: &[u8]) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = file;
    while let Some(at) = rest.windows(7).position(|word| word == b"stream\n") {
        rest = &rest[at + 7..];
        let mut text = Vec::new();
        if ZlibDecoder::new(rest).read_to_end(&mut text).is_ok() {
            found.push(String::from_utf8_lossy(&text).into_owned());
        }
    }
    found
}

/// The corners of the first path of the content of a page, in mm of paper: operators `m` and `l`, after the page's own scale.
fn first_path_mm(content: &str, grey: &str) -> Vec<[f64; 2]> {
    // The page's own scale and that of the drawing's units, one in the other.
    let before = content.split(grey).next().unwrap().lines().filter(|line| line.ends_with(" cm"));
    let scale: f64 =
        before.map(|line| line.split(' ').next().unwrap().parse::<f64>().unwrap()).product();
    let drawn = content.split(grey).nth(1).unwrap();
    let numbers = drawn.lines().take_while(|line| *line != "h").filter_map(|line| {
        let words: Vec<&str> = line.split(' ').collect();
        matches!(words[..], [_, _, "m" | "l"])
            .then(|| [0, 1].map(|i| words[i].parse::<f64>().unwrap()))
    });
    numbers.map(|point| point.map(|value| value * scale * 25.4 / 72.0)).collect()
}

/// The printed octagon has its true size to 0.1 %, its edges run at 5, 50, 95 and 140 degrees, and the greys send back what is stated.
#[test]
fn the_chart_is_printed_at_its_true_size() {
    let folder = folder();
    let words = [
        "chart",
        "--camera",
        "box.toml",
        "--distance",
        "600 mm",
        "--paper",
        "whole",
        "--json",
        "--out",
        "chart.pdf",
    ];
    let (code, out, err) = foramen(folder.path(), &words);
    assert_eq!((code, err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&out).unwrap();
    let file = fs::read(folder.path().join("chart.pdf")).unwrap();
    let content = &pages(&file)[0];
    // Code 63 of 255, as the content writes it.
    let octagon = first_path_mm(content, "0.24706 0.24706 0.24706 rg");
    assert_eq!(octagon.len(), 8);
    let on_film = answer["octagon_on_film_mm"].as_f64().unwrap();
    // Ten times as far away, ten times as large: a side is tan(π/8) of the width across flats.
    let side = 10.0 * on_film * (std::f64::consts::PI / 8.0).tan();
    for (i, from) in octagon.iter().enumerate() {
        let to = octagon[(i + 1) % 8];
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        assert!((dx.hypot(dy) / side - 1.0).abs() < 1e-3, "{i}: {} {side}", dx.hypot(dy));
        let off = (dy.atan2(dx).to_degrees() - 5.0).rem_euclid(45.0);
        let off_down = (dy.atan2(dx).to_degrees() + 5.0).rem_euclid(45.0);
        assert!([off, off_down].iter().any(|off| off.min(45.0 - off) < 0.01), "{i}: {off}");
    }
    // IEC 61966-2-1, by hand for codes 63 and 188.
    let steps: Vec<f64> =
        answer["steps"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
    assert!(
        (steps[0] - 0.049_707).abs() < 1e-5 && (steps[5] - 0.502_886).abs() < 1e-5,
        "{steps:?}"
    );
    for code in [80, 99, 124, 154, 188, 218] {
        let grey = format!("{:.5}", f64::from(code) / 255.0);
        assert!(content.contains(&format!("{grey} {grey} {grey} rg")), "{code}");
    }
}

#[test]
fn tiles_are_pages_of_the_paper_and_instructions_come_first() {
    let folder = folder();
    for (paper, told, media) in [
        ("a4", "A4: ", "/MediaBox[0 0 595.2756 841.8898]"),
        ("letter", "Letter: ", "/MediaBox[0 0 612.0000 792.0000]"),
    ] {
        let words = [
            "chart",
            "--camera",
            "box.toml",
            "--distance",
            "600 mm",
            "--paper",
            paper,
            "--out",
            "chart.pdf",
        ];
        let (code, out, err) = foramen(folder.path(), &words);
        assert_eq!((code, err.as_str()), (0, ""));
        assert!(out.contains("Written to chart.pdf"), "{out}");
        let text = String::from_utf8_lossy(&fs::read(folder.path().join("chart.pdf")).unwrap())
            .into_owned();
        // What is told of the paper: "8 printed sheets of 4 × 3", without those that would be bare.
        let numbers: Vec<usize> = out
            .split(told)
            .nth(1)
            .unwrap()
            .split([' ', ';', '\n'])
            .filter_map(|word| word.parse().ok())
            .take(3)
            .collect();
        let [printed, across, down] = numbers[..] else { panic!("{out}") };
        // The four corners of the chart lie on four sheets.
        assert!(printed >= 4 && printed <= across * down, "{out}");
        assert_eq!(text.matches(media).count(), printed + 1, "{paper}");
    }
}

#[test]
fn what_no_chart_can_be_is_refused() {
    let folder = folder();
    let chart = |words: &[&str]| {
        foramen(folder.path(), &[&["chart", "--camera", "box.toml"], words].concat())
    };
    for (words, code, expected) in [
        (&["--distance", "0 mm"][..], 2, "above zero"),
        (&["--distance", "600"], 2, "no unit"),
        (&["--distance", "1 km", "--out", "a.pdf"], 2, "unit"),
        (&["--distance", "90 m", "--out", "a.pdf"], 1, "sheets"),
        (&["--distance", "600 mm", "--out", "a.gif"], 2, "not the name of a chart"),
    ] {
        let (found, _, err) = chart(words);
        assert!(found == code && err.contains(expected), "{words:?}: {found} {err}");
    }
}

/// What a scanner's lens blurs in [`softened`], as a standard deviation in mm, and what the drawn chart and its pixels do besides.
const LENS_MM: f64 = 0.04;
const DRAWN_MM: f64 = 0.015;
const PITCH_MM: f64 = 25.4 / 1016.0;

/// The same scan by a scanner that blurs, and the scan of a razor blade by the same one: an edge of the error function, in 64 points
/// of each pixel.
fn softened(folder: &Path, scan: &Raster) {
    let sigma_px = LENS_MM / PITCH_MM;
    let reach = (4.0 * sigma_px) as usize;
    let weights: Vec<f32> = (0..=2 * reach)
        .map(|i| (-(i as f64 - reach as f64).powi(2) / (2.0 * sigma_px * sigma_px)).exp() as f32)
        .collect();
    let total: f32 = weights.iter().sum();
    let along = |light: &ndarray::Array3<f32>, axis: usize| {
        let (_, rows, columns) = light.dim();
        ndarray::Array3::from_shape_fn((1, rows, columns), |(_, row, column)| {
            let near = |i: usize| {
                let shift = |at: usize, most: usize| (at + i).saturating_sub(reach).min(most - 1);
                if axis == 0 {
                    light[[0, shift(row, rows), column]]
                } else {
                    light[[0, row, shift(column, columns)]]
                }
            };
            weights.iter().enumerate().map(|(i, weight)| weight * near(i)).sum::<f32>() / total
        })
    };
    let linear = along(&along(&scan.linear, 0), 1);
    fs::write(folder.join("soft.png"), png(&display(&Raster { linear }).unwrap()).unwrap())
        .unwrap();
    let sigma_px = LENS_MM.hypot(DRAWN_MM) / PITCH_MM;
    let (sin, cos) = 0.1f64.sin_cos();
    let linear = ndarray::Array3::from_shape_fn((1, 500, 500), |(_, row, column)| {
        let at = |i: usize| (i as f64 + 0.5) / 8.0 - 250.0;
        let across = |k: usize| (column as f64 + at(k % 8)) * cos + (row as f64 + at(k / 8)) * sin;
        let light = (0..64).map(|k| 0.5 * libm::erfc(-across(k) / (sigma_px * 2f64.sqrt())));
        (0.03 + 0.85 * light.sum::<f64>() / 64.0) as f32
    });
    fs::write(folder.join("blade.png"), png(&display(&Raster { linear }).unwrap()).unwrap())
        .unwrap();
}

/// The picture that this camera takes of the printed chart, as a scan of 1016 dpi: by the door of the chart's own drawing.
fn scanned(folder: &Path) -> Raster {
    let words = ["chart", "--camera", "box.toml", "--distance", "600 mm", "--out", "chart.svg"];
    assert_eq!(foramen(folder, &words).0, 0);
    let svg = fs::read_to_string(folder.join("chart.svg")).unwrap();
    let camera = Camera::parse(CAMERA, "box.toml", &no_curves).unwrap();
    // Four times as many pixels as the film has; the film sees 600 mm of the wall, and a little white is added or cut away.
    let drawn = rasterise(&svg, 4.0).unwrap();
    let width_mm: f64 =
        svg.split("width='").nth(1).unwrap().split("mm").next().unwrap().parse().unwrap();
    let height_mm: f64 =
        svg.split("height='").nth(1).unwrap().split("mm").next().unwrap().parse().unwrap();
    let middle = [width_mm / 2.0, (height_mm - 14.0) / 2.0];
    let per_mm = f64::from(drawn.width()) / width_mm;
    let light = |x_mm: f64, y_mm: f64| {
        let (column, row) = ((middle[0] + x_mm) * per_mm, (middle[1] - y_mm) * per_mm);
        let inside = column >= 0.0
            && row >= 0.0
            && column < f64::from(drawn.width())
            && row < (height_mm - 14.0) * per_mm;
        let code = if inside { drawn.get_pixel(column as u32, row as u32)[0] } else { 255 };
        foramen::raster::decode(f64::from(code) / 255.0)
    };
    let pixels = 2400;
    let linear = ndarray::Array3::from_shape_fn((1, pixels, pixels), |(_, row, column)| {
        // 25 places of each pixel, a quarter of a mm of the wall wide.
        let at = |i: usize, k: usize| (i as f64 + (k as f64 + 0.5) / 5.0) * 0.25 - 300.0;
        let sum: f64 = (0..25).map(|k| light(at(column, k % 5), -at(row, k / 5))).sum();
        (sum / 25.0) as f32
    });
    let kernels = film_kernels(
        &camera,
        &shapes::disc(0.27).unwrap(),
        [pixels, pixels],
        [5, 5],
        foramen::Watch::nobody(),
    )
    .unwrap();
    let picture = form(&Raster { linear }, &kernels);
    fs::write(folder.join("scan.png"), png(&display(&picture).unwrap()).unwrap()).unwrap();
    picture
}

#[test]
fn a_picture_of_the_chart_is_proved_drawn_tabled_and_logged() {
    let folder = folder();
    let scan = scanned(folder.path());
    let prove = |words: &[&str]| {
        let said = [
            "prove",
            "--camera",
            "box.toml",
            "--hole",
            "0.27 mm",
            "--picture",
            "scan.png",
            "--dpi",
            "1016",
        ];
        foramen(folder.path(), &[&said[..], words].concat())
    };
    let words = [
        "--distance",
        "60 cm",
        "--out",
        "proof.png",
        "--table",
        "proof.csv",
        "--log",
        "bench.jsonl",
        "--name",
        "brass 3",
        // What the picture's own pixels and the drawn chart blur: without a word of it they are seen, as 0.0152 mm.
        "--scanner-blur",
        "0.015 mm",
    ];
    let (code, out, err) = prove(&words);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("as sharp as this hole allows"), "{out}");
    assert!(out.contains("as a proof of \"brass 3\""), "{out}");
    let table = fs::read_to_string(folder.path().join("proof.csv")).unwrap();
    assert!(table.starts_with("place,x_mm,y_mm,direction_deg,frequency_lp_per_mm"), "{table}");
    assert!(table.lines().count() > 9 * 4 * 10, "{}", table.lines().count());
    let line = fs::read_to_string(folder.path().join("bench.jsonl")).unwrap();
    assert!(
        line.contains("\"kind\":\"proof\"") && line.contains("\"found\":[\"as-sharp\"]"),
        "{line}"
    );
    // Once more, into the same log: a log of proofs alone has a history, and tells how its pictures differ.
    assert_eq!(prove(&words).0, 0);
    let (code, out, err) = foramen(folder.path(), &["log", "bench.jsonl"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("Nothing was measured of this hole"), "{out}");
    assert!(out.contains("2 of 2 pictures") && out.contains("one differs from the next"), "{out}");
    let drawn = foramen(folder.path(), &["log", "bench.jsonl", "--out", "history.png"]);
    assert!(drawn.0 == 1 && drawn.2.contains("no diameters"), "{drawn:?}");
    let revoked = foramen(folder.path(), &["log", "bench.jsonl", "--revoke"]);
    assert!(revoked.0 == 0 && revoked.1.contains("Taken back"), "{revoked:?}");
    assert!(folder.path().join("proof.png").exists());

    // A scanner that blurs: its blur is the picture's fault until an edge that it scanned tells.
    softened(folder.path(), &scan);
    let soft = |words: &[&str]| {
        let said = ["prove", "--camera", "box.toml", "--hole", "0.27 mm", "--picture", "soft.png"];
        let more = ["--dpi", "1016", "--distance", "60 cm"];
        foramen(folder.path(), &[&said[..], &more, words].concat())
    };
    let (code, out, _) = soft(&[]);
    assert!(code == 0 && out.contains("blurred alike"), "{out}");
    let (code, out, err) = soft(&["--scanner-edge", "blade.png", "--report", "proof.html"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("as sharp as this hole allows"), "{out}");
    assert!(out.contains("along the scanned edge"), "{out}");
    let report = fs::read_to_string(folder.path().join("proof.html")).unwrap();
    for part in
        ["As sharp as this hole allows.", "camera and distance say 1 : 10", "data:image/png"]
    {
        assert!(report.contains(part), "{part}");
    }
    let (_, out, _) = soft(&["--scanner-edge", "blade.png", "--json"]);
    let scanner = &serde_json::from_str::<Value>(&out).unwrap()["scanner"];
    let [sigma, uncertainty] =
        ["sigma_mm", "uncertainty_mm"].map(|key| scanner[key].as_f64().unwrap());
    let drawn = LENS_MM.hypot(DRAWN_MM);
    assert!((sigma - drawn).abs() < uncertainty.max(0.001) && uncertainty < 0.004, "{scanner}");
    for (words, code, expected) in [
        (&["--scanner-edge", "chart.svg"][..], 1, "chart.svg"),
        (&["--scanner-edge", "blade.png", "--scanner-blur", "12 um"], 2, "cannot be used with"),
        (&["--scanner-edge", "blade.png", "--report", "blade.png"], 1, "would be overwritten"),
    ] {
        let (found, _, err) = soft(words);
        assert!(found == code && err.contains(expected), "{words:?}: {found} {err}");
    }

    // One edge: the right side of the middle octagon, in the picture.
    let (code, out, _) = prove(&["--edge", "1352,1212 px", "--json"]);
    let answer: Value = serde_json::from_str(&out).unwrap();
    let [found, allowed] =
        ["mtf50_lp_per_mm", "predicted_mtf50_lp_per_mm"].map(|key| answer[key].as_f64().unwrap());
    assert_eq!(code, 0);
    // A picture of eight bits, an octagon and not a half plane: 5 %.
    assert!((found / allowed - 1.0).abs() < 0.05, "{found} {allowed}");

    for (words, code, expected) in [
        (&[][..], 2, "distance"),
        (&["--distance", "60 cm", "--edge", "9,9 px"], 2, "cannot be used with"),
        (&["--edge", "1352,1212 px", "--at", "900 mm, 0 mm"], 1, "beyond the film"),
        (&["--edge", "5,5 px"], 1, "no straight edge"),
    ] {
        let (found, _, err) = prove(words);
        assert!(found == code && err.contains(expected), "{words:?}: {found} {err}");
    }
}
