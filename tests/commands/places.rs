//! Nothing that is there is lost: what a run reads and what it writes, as a person names them.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// Exit code, standard output, standard error.
fn foramen(folder: &Path, words: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.current_dir(folder).args(words).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// A folder with a camera, an outline and a picture.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let camera = foramen::camera::DEMONSTRATION;
    let filtered =
        camera.replace("medium = \"colour\"", "medium = \"eye\"\nfilter = \"yellow.csv\"");
    fs::write(at("camera.toml"), filtered).unwrap();
    fs::write(at("yellow.csv"), "450,0\n500,1\n700,1\n").unwrap();
    fs::write(at("hole.csv"), "x_mm,y_mm\n0,0\n0.3,0\n0.3,0.3\n0,0.3\n").unwrap();
    let picture = image::RgbImage::from_fn(64, 48, |x, y| image::Rgb([x as u8, y as u8, 90]));
    picture.save(at("scene.png")).unwrap();
    folder
}

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    let is_file = |entry: &fs::DirEntry| entry.file_type().unwrap().is_file();
    entries
        .filter(is_file)
        .map(|entry| {
            let name = entry.file_name().into_string().unwrap();
            (name, fs::read(entry.path()).unwrap())
        })
        .collect()
}

#[test]
fn what_is_read_is_never_written_over() {
    let bench = bench();
    let at = bench.path();
    let before = files(at);
    let disc = ["--hole", "0.3 mm"];
    let with_camera = ["--hole", "0.3 mm", "--camera", "camera.toml"];
    let cases: [(&str, &[&str], &[&str], &str); 10] = [
        ("gauge", &["--hole", "hole.csv"], &["--outline", "hole.csv"], "is read"),
        ("gauge", &with_camera, &["--outline", "./yellow.csv"], "is read"),
        ("psf", &with_camera, &["--samples", "camera.toml"], "is read"),
        ("psf", &with_camera, &["--otf", "yellow.csv"], "is read"),
        ("psf", &disc, &["--samples", "a.npy", "--otf", "./a.npy"], "two files"),
        ("preview", &disc, &["--scene", "scene.png", "--out", "scene.png"], "is read"),
        ("appraise", &disc, &["--log", "camera.toml"], "is not a bench log"),
        ("appraise", &disc, &["--log", "scene.png"], "is not a bench log"),
        ("appraise", &disc, &["--log", "new.jsonl", "--report", "new.jsonl"], "is the bench log"),
        ("appraise", &disc, &["--out", "D", "--log", "D/appraisal.json"], "is the bench log"),
    ];
    for (command, hole, others, said) in cases {
        let words = [&[command], hole, others].concat();
        let (code, out, err) = foramen(at, &words);
        assert_eq!((code, out.as_str()), (1, ""), "{words:?}: {err}");
        assert!(err.contains(said), "{words:?}: {err}");
        assert!(files(at) == before && !at.join("D").exists(), "{words:?}");
    }
}

/// A place that cannot be written is found before the work, and nothing is left.
#[test]
fn places_are_tried_before_the_work() {
    let bench = bench();
    let at = bench.path();
    let before = files(at);
    let cases: [(&[&str], &str); 6] = [
        (&["appraise", "--log", "none/bench.jsonl"], "its folder does not exist"),
        (&["appraise", "--report", "none/report.html"], "its folder does not exist"),
        (&["appraise", "--out", "hole.csv"], "a folder is needed"),
        (&["preview", "--out", "none/a.png"], "its folder does not exist"),
        (&["psf", "--samples", "."], "is a folder"),
        (&["figure", "airy", "--out", "hole.csv/in"], "a folder is needed"),
    ];
    for (words, said) in cases {
        let (code, out, err) = foramen(at, &[words, &["--hole", "0.3 mm"]].concat());
        assert_eq!((code, out.as_str()), (1, ""), "{words:?}: {err}");
        assert!(err.contains(said) && err.chars().count() < 400, "{words:?}: {err}");
        assert!(files(at) == before && !at.join("foramen-appraisal").exists(), "{words:?}");
    }
}

/// Files whose size the system limits, as a full disk would: the older ones stay, all of them.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_what_was_there() {
    let bench = bench();
    let at = bench.path();
    let (code, ..) = foramen(at, &["appraise", "--hole", "0.3 mm", "--out", "."]);
    assert_eq!(code, 0);
    let before = files(at);
    // 100 blocks of 512 or 1024 bytes hold the answer and not the pictures.
    let output = std::process::Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 100; exec \"$0\" \"$@\""])
        .arg(assert_cmd::cargo::cargo_bin!("foramen"))
        .args(["appraise", "--hole", "0.2 mm", "--out", "."])
        .current_dir(at)
        .output()
        .unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code() == Some(1) && said.contains("cannot be written"), "{said}");
    assert!(files(at) == before, "{said}");
}

/// A run that is killed leaves nothing half-written, and what it leaves beside is gone after the next.
#[cfg(unix)]
#[test]
fn a_killed_run_leaves_no_half_of_a_file() {
    let bench = bench();
    let at = bench.path();
    let words = ["psf", "--hole", "0.3 mm", "--size", "512", "--samples", "a.npy"];
    for round in 0..6 {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("foramen"))
            .args(words)
            .current_dir(at)
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(60 * round));
        let _ = child.kill();
        child.wait().unwrap();
        if let Ok(bytes) = fs::read(at.join("a.npy")) {
            // 512 × 512 numbers of 8 bytes after a header that ends at a multiple of 64.
            assert!(bytes.len() >= 512 * 512 * 8 && bytes.len() % 64 == 0, "{}", bytes.len());
        }
    }
    fs::write(at.join(".foramen-left.part"), "half").unwrap();
    assert_eq!(foramen(at, &words).0, 0);
    assert!(files(at).keys().all(|name| !name.ends_with(".part")));
}

/// While another program holds the log, the run waits a while, says so, and gives up in words.
#[cfg(unix)]
#[test]
fn a_log_that_is_held_is_waited_for_in_words() {
    let bench = bench();
    let at = bench.path();
    let log = at.join("bench.jsonl");
    assert_eq!(foramen(at, &["appraise", "--hole", "0.3 mm", "--log", "bench.jsonl"]).0, 0);
    let before = fs::read(&log).unwrap();
    let held = fs::File::open(&log).unwrap();
    held.lock().unwrap();
    let (code, _, err) = foramen(at, &["log", "bench.jsonl", "--revoke"]);
    assert!(code == 1 && err.contains("waiting for it") && err.contains("holds it"), "{err}");
    assert_eq!(fs::read(&log).unwrap(), before);
    held.unlock().unwrap();
    assert_eq!(foramen(at, &["log", "bench.jsonl", "--revoke"]).0, 0);
}

/// Where the log cannot be added to, the folder is as it was; where both can, both are written.
#[cfg(unix)]
#[test]
fn an_appraisal_and_its_line_are_both_written_or_neither() {
    let bench = bench();
    let at = bench.path();
    let words = ["appraise", "--hole", "0.3 mm", "--log", "bench.jsonl", "--name", "a"];
    let folder = |pass: u32| at.join("foramen-appraisal").join(format!("a-{pass}"));
    assert_eq!(foramen(at, &words).0, 0);
    let before = fs::read(at.join("bench.jsonl")).unwrap();
    let first = files(&folder(1));
    assert_eq!(first.len(), 3);
    let held = fs::File::open(at.join("bench.jsonl")).unwrap();
    // Read, and not added to: as another program that reads it all the while would let it.
    held.lock_shared().unwrap();
    let (code, out, err) = foramen(at, &words);
    assert!(code == 1 && err.contains("bench.jsonl"), "{err}");
    assert!(!out.contains("Written to") && out.contains("jnd"), "{out}");
    assert!(!folder(2).exists() && files(&folder(1)) == first);
    assert_eq!(fs::read(at.join("bench.jsonl")).unwrap(), before);
    held.unlock().unwrap();
    assert_eq!(foramen(at, &words).0, 0);
    assert!(folder(2).is_dir());
    assert_eq!(fs::read_to_string(at.join("bench.jsonl")).unwrap().lines().count(), 2);
}

/// A run that is killed at any moment leaves a folder for each line of the log; one folder more is made again by
/// the same call.
#[cfg(unix)]
#[test]
fn a_killed_appraisal_leaves_no_line_without_its_folder() {
    let bench = bench();
    let at = bench.path();
    let words = ["appraise", "--hole", "0.3 mm", "--log", "bench.jsonl", "--name", "a"];
    let lines = || {
        let text = fs::read_to_string(at.join("bench.jsonl")).unwrap_or_default();
        text.lines().count()
    };
    let begun = std::time::Instant::now();
    assert_eq!(foramen(at, &words).0, 0);
    let whole = begun.elapsed();
    for round in 0..10u32 {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("foramen"))
            .args(words)
            .current_dir(at)
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        // The files are written in the last part of a run.
        std::thread::sleep(whole.mul_f64(0.8 + 0.04 * f64::from(round)));
        let _ = child.kill();
        child.wait().unwrap();
        for pass in 1..=lines() {
            let folder = at.join("foramen-appraisal").join(format!("a-{pass}"));
            assert!(folder.join("appraisal.json").is_file(), "{pass}");
            assert!(folder.join("preview.png").is_file(), "{pass}");
        }
    }
    let before = lines();
    assert_eq!((foramen(at, &words).0, lines()), (0, before + 1));
}

/// What a file or a camera is called cannot move a terminal's cursor.
#[test]
fn names_are_printed_without_control_characters() {
    let bench = bench();
    let at = bench.path();
    let camera = fs::read_to_string(at.join("camera.toml")).unwrap();
    let odd = camera.replacen("name = \"", "name = \"\\u001b[2J", 1);
    fs::write(at.join("odd.toml"), odd).unwrap();
    for words in [
        &["target", "--camera", "odd.toml"][..],
        &["target", "--camera", "\u{1b}[2J.toml"],
        &["\u{1b}[2J"],
        &["gauge", "--hole", "\u{1b}[2J\u{9b}2J"],
        &["gauge", "--hole", "\u{202e}.csv"],
    ] {
        let (code, out, err) = foramen(at, words);
        let said = format!("{out}{err}");
        assert!(code > 0 && said.chars().count() < 500, "{words:?}: {said:?}");
        let odd = |letter: char| letter.is_control() && letter != '\n' || letter == '\u{202e}';
        assert!(!said.chars().any(odd), "{words:?}: {said:?}");
    }
}
