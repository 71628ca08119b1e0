//! What a run takes: memory grows with what comes in as DEVELOPERS.md says, and what is told before the work is enough.

#![cfg(target_os = "linux")]
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::panic)]

use image::{GrayImage, Luma};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Exit code, standard error, and the most memory in MB, as the system tells it until the run ends.
fn taken(folder: &Path, words: &[&str]) -> (i32, String, f64) {
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("foramen"))
        .args(words)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut most = 0.0;
    while child.try_wait().unwrap().is_none() {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok());
        most = kilobytes.map_or(most, |kilobytes| kilobytes / 1e3);
        std::thread::sleep(Duration::from_millis(2));
    }
    let output = child.wait_with_output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap(), most)
}

/// The program itself with its tables and threads, in MB.
const BASE: f64 = 60.0;

/// Runs at sizes over three decades: each stays below the base and so many bytes to a unit.
fn grows(what: &str, bytes: f64, sizes: [u32; 4], run: impl Fn(&Path, u32) -> Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    for size in sizes {
        let words = run(folder.path(), size);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let (_, said, most) = taken(folder.path(), &words);
        let bound = BASE + bytes * f64::from(size) / 1e6;
        println!("{what}: {size}: {most:.0} MB of {bound:.0} MB {said}");
        assert!(most < bound, "{what}: {size} take {most} MB, and not {bound} MB at most");
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(ToString::to_string).collect()
}

/// A photo of so many pixels with a hole of a fifth of its side, or with noise alone.
fn photo(folder: &Path, pixels: u32, is_noise: bool) {
    let side = f64::from(pixels).sqrt() as u32;
    let mut state = 1u32;
    let picture = GrayImage::from_fn(side, side, |x, y| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = (state >> 24) as u8 / 32;
        let middle = f64::from(side) / 2.0;
        let away = (f64::from(x) - middle).hypot(f64::from(y) - middle);
        let is_light = !is_noise && away < f64::from(side) / 10.0;
        Luma([if is_light { 200 } else { 20 } + noise])
    });
    picture.save(folder.join("photo.png")).unwrap();
}

#[test]
fn memory_grows_as_it_is_written() {
    const SCALE: [&str; 2] = ["--scale", "1000 px = 1 mm"];
    grows("points of an outline", 300.0, [1000, 10_000, 100_000, 1_000_000], |folder, count| {
        let mut text = String::from("x_mm,y_mm\n");
        for i in 0..count {
            let turn = std::f64::consts::TAU * f64::from(i) / f64::from(count);
            writeln!(text, "{:.9},{:.9}", 0.15 * turn.cos(), 0.14 * turn.sin()).unwrap();
        }
        fs::write(folder.join("hole.csv"), text).unwrap();
        words(&["gauge", "--hole", "hole.csv"])
    });
    for (what, is_noise) in [("pixels of a photo", false), ("pixels of noise", true)] {
        grows(what, 26.0, [10_000, 100_000, 1_000_000, 10_000_000], |folder, count| {
            photo(folder, count, is_noise);
            words(&[&["gauge", "--hole", "photo.png"], &SCALE[..]].concat())
        });
    }
    // Of several photos two are open at once.
    grows("photos of one hole", 0.0, [1, 2, 5, 10], |folder, count| {
        photo(folder, 300_000, false);
        // The same one again and again: none is better than the others.
        let holes = ["--hole", "photo.png"].repeat(count as usize);
        words(&[&["gauge"], &holes[..], &SCALE].concat())
    });
    grows("names in a log", 700.0, [200, 2000, 20_000, 200_000], |folder, count| {
        let mut text = String::new();
        for i in 0..count {
            writeln!(
                text,
                "{{\"format\":1,\"time\":\"2026-03-01T18:04:05Z\",\"hole\":\"hole {i}\",\"camera\":\"Cedar box\",\
                 \"diameter_mm\":0.3,\"diameter_uncertainty_mm\":0.004,\"target_mm\":0.38,\"band_low_mm\":0.32,\
                 \"band_high_mm\":0.44,\"loss\":0.1,\"action\":\"enlarge\"}}"
            )
            .unwrap();
        }
        fs::write(folder.join("bench.jsonl"), text).unwrap();
        words(&["log", "bench.jsonl"])
    });
}

/// The megabytes that a refusal says are needed.
fn needed(said: &str) -> f64 {
    let needs = said.split("needs ").nth(1).unwrap_or_else(|| panic!("{said}"));
    let mut parts = needs.split(' ');
    let number: f64 = parts.next().unwrap().parse().unwrap();
    number * if parts.next() == Some("GB") { 1000.0 } else { 1.0 }
}

/// With little memory a run is refused with what it needs, and with enough it takes no more than that.
#[test]
fn what_is_told_before_the_work_is_enough() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let film = "[film]\ndistance = \"100 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n";
    let light = "[light]\nilluminant = \"daylight\"\nmedium = \"colour\"\n";
    let sway = "sway = \"0.1 mm\"\nsway-period = \"2 s\"\n";
    for (name, moves) in [
        ("still.toml", String::new()),
        ("wind.toml", format!("[support]\n{sway}")),
        ("walk.toml", "[support]\nwalk = \"0.3 mm in 1 s\"\n".into()),
        (
            "drift.toml",
            format!("[support]\ndrift = \"0.5 mm in 1 s\"\n{sway}direction = \"30 deg\"\n"),
        ),
    ] {
        fs::write(at(name), format!("{film}{light}{moves}")).unwrap();
    }
    let smear = "[support]\ndrift = \"4 mm in 1 s\"\nsway = \"1 mm\"\nsway-period = \"2 s\"\n";
    fs::write(at("smear.toml"), format!("{film}{smear}")).unwrap();
    GrayImage::from_fn(4000, 3000, |x, y| Luma([(x + y) as u8])).save(at("scene.png")).unwrap();
    let psf = ["psf", "--hole", "0.35 mm"];
    let preview = ["preview", "--hole", "0.35 mm"];
    let mut cases: Vec<Vec<&str>> = Vec::new();
    for camera in ["still.toml", "drift.toml"] {
        for size in ["64", "256", "1024"] {
            cases.push([&psf[..], &["--size", size, "--camera", camera]].concat());
        }
        for pixels in ["100", "1000", "2500"] {
            cases.push([&preview[..], &["--pixels", pixels, "--camera", camera]].concat());
        }
        cases.push(vec!["appraise", "--hole", "0.35 mm", "--camera", camera]);
    }
    for camera in ["wind.toml", "walk.toml"] {
        cases.push([&psf[..], &["--size", "512", "--camera", camera]].concat());
        cases.push([&preview[..], &["--pixels", "1000", "--camera", camera]].concat());
    }
    let files = ["--samples", "s.npy", "--field", "f.npy", "--out", "p.png"];
    for size in ["64", "256", "700"] {
        cases.push([&psf[..], &["--camera", "still.toml", "--size", size], &files].concat());
        let stack = ["--stack", "60 mm to 200 mm", "--samples", "s.npy", "--size", size];
        cases.push([&psf[..], &stack].concat());
    }
    cases.push([&preview[..], &["--pixels", "1500", "--compare"]].concat());
    cases.push([&preview[..], &["--pixels", "300", "--camera", "smear.toml"]].concat());
    cases.push(
        [&preview[..], &["--pixels", "300", "--scene", "scene.png", "--memory", "100 MB"]].concat(),
    );
    for words in cases {
        let said = if words.contains(&"--memory") {
            taken(folder.path(), &words)
        } else {
            taken(folder.path(), &[&words[..], &["--memory", "1 MB"]].concat())
        };
        let (code, said, _) = said;
        assert!(code == 1 && said.contains("more"), "{words:?}: {said}");
        let needed = needed(&said);
        let enough = format!("{needed} MB");
        let words: Vec<&str> = words.into_iter().take_while(|word| *word != "--memory").collect();
        let (code, said, most) =
            taken(folder.path(), &[&words[..], &["--memory", &enough]].concat());
        println!("{words:?}: {most:.0} MB of {needed:.0} MB");
        assert_eq!(code, 0, "{words:?}: {said}");
        assert!(most <= needed, "{words:?}: took {most} MB and was said to need {needed} MB");
    }
}
