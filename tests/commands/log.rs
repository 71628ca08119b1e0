//! The bench log as a person reads it, in an empty folder.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use foramen::record::{Entry, append};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime};
use tempfile::TempDir;

/// Exit code, standard output, standard error.
fn foramen(folder: &Path, words: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.current_dir(folder).args(words).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn entry(hole: &str, pass: u32, diameter_mm: f64) -> Entry {
    Entry {
        time: SystemTime::UNIX_EPOCH + Duration::from_secs(1_772_388_245 + 600 * u64::from(pass)),
        hole: hole.into(),
        camera: "Cedar box".into(),
        diameter_mm,
        diameter_uncertainty_mm: 0.004,
        target_mm: 0.38,
        band_low_mm: 0.323,
        band_high_mm: 0.445,
        loss: 0.3 - 0.04 * f64::from(pass),
        loss_jnd: None,
        next_aim_mm: None,
        aim_mm: None,
        burrs: None,
        action: if diameter_mm < 0.323 { "enlarge" } else { "stop" }.into(),
    }
}

/// A bench with one hole, "brass 3", widened six times.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (pass, diameter_mm) in
        [0.22, 0.235, 0.261, 0.27, 0.301, 0.319, 0.342].into_iter().enumerate()
    {
        let path = folder.path().join("bench.jsonl");
        append(&path, &entry("brass 3", pass as u32, diameter_mm)).unwrap();
    }
    folder
}

#[test]
fn a_history_is_a_table_with_what_the_hands_do() {
    let bench = bench();
    let (code, out, err) = foramen(bench.path(), &["log", "bench.jsonl"]);
    println!("{out}");
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.starts_with("Hole \"brass 3\" in Cedar box\n"), "{out}");
    assert!(out.contains("     7  2026-03-01 19:04  0.342 ± 0.004 mm   6.0 %  stop\n"), "{out}");
    // By hand: 15, 26, 9, 31, 18 and 23 µm: 20.3 on average, standard deviation 7.9.
    let growth: String = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(growth.contains("Your last 6 passes grew the hole by 20 ± 8 µm each"), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 88), "{out}");
}

#[test]
fn json_is_one_document_and_the_chart_a_picture() {
    let bench = bench();
    let words = ["log", "bench.jsonl", "--json", "--out", "chart.png"];
    let (code, out, err) = foramen(bench.path(), &words);
    assert_eq!((code, err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["hole"], "brass 3");
    assert_eq!(answer["history"].as_array().unwrap().len(), 7);
    assert_eq!(answer["history"][0]["time"], "2026-03-01T18:04:05Z");
    assert_eq!(answer["growth"]["passes"], 6);
    for key in ["/growth/bias", "/growth/spread", "/growth/seen/mean_mm", "/skipped", "/backwards"]
    {
        assert!(answer.pointer(key).is_some_and(|value| !value.is_null()), "{key}: {out}");
    }
    let chart = fs::read(bench.path().join("chart.png")).unwrap();
    assert!(chart.starts_with(b"\x89PNG\r\n\x1a\n") && chart.len() > 20_000, "{}", chart.len());
}

#[test]
fn odd_lines_are_told_beside_the_answer() {
    let bench = bench();
    let path = bench.path().join("bench.jsonl");
    let mut text = fs::read_to_string(&path).unwrap();
    let first = text.lines().next().unwrap().to_owned();
    text += &format!("{first}\nnot JSON at all\n{}", &first[..60]);
    fs::write(&path, &text).unwrap();
    let (code, out, err) = foramen(bench.path(), &["log", "bench.jsonl"]);
    assert_eq!(code, 0);
    assert!(out.contains("\n     8  2026-03-01 18:04"), "{out}");
    for said in [
        "line 9 of the log left out: it is not JSON",
        "line 10 of the log left out",
        "line 8 of the log: the clock ran",
    ] {
        assert!(err.contains(said), "{said}: {err}");
    }
    assert!(err.lines().all(|line| line.chars().count() <= 88), "{err}");
    // Nothing of what is there is changed by looking.
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn what_cannot_be_shown_says_what_to_do() {
    let bench = bench();
    append(&bench.path().join("bench.jsonl"), &entry("tin 1", 7, 0.3)).unwrap();
    fs::write(bench.path().join("empty.jsonl"), "").unwrap();
    let cases: [(&[&str], i32, &str); 6] = [
        (&["log", "bench.jsonl"], 2, "\"brass 3\", \"tin 1\"\n  name one of them with --hole"),
        (&["log", "bench.jsonl", "--hole", "tin 2"], 2, "is not a hole of this log"),
        (&["log", "bench.jsonl", "--hole", "tin 1", "--camera", "X"], 2, "it has \"Cedar box\""),
        (&["log", "none.jsonl"], 1, "none.jsonl: does not exist"),
        (&["log", "empty.jsonl"], 1, "is empty"),
        (&["log", "."], 1, "is a folder"),
    ];
    for (words, expected, said) in cases {
        let (code, out, err) = foramen(bench.path(), words);
        assert_eq!((code, out.as_str()), (expected, ""), "{words:?}: {err}");
        assert!(err.contains(said), "{words:?}: {err}");
    }
    let (code, out, _) = foramen(bench.path(), &["log", "bench.jsonl", "--hole", "tin 1"]);
    assert!(code == 0 && out.contains("     1  2026-03-01"), "{out}");
}

fn appraise(folder: &Path, words: &[&str]) -> (i32, String, String) {
    foramen(folder, &[&["appraise", "--log", "bench.jsonl"], words].concat())
}

/// A hole that is appraised after each pass goes on under its name, and its passes teach.
#[test]
fn appraisals_are_logged_and_teach() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for (entry, size) in ["0.250 mm", "0.268 mm", "0.297 mm"].into_iter().enumerate() {
        let (code, out, err) = appraise(at, &["--hole", size]);
        assert_eq!((code, err.as_str()), (0, ""), "{out}");
        let logged = format!("Logged in bench.jsonl as \"hole 1\", entry {}\n", entry + 1);
        assert!(out.contains(&logged), "{out}");
    }
    let (_, out, _) = appraise(at, &["--hole", "0.309 mm", "--json"]);
    let answer: Value = serde_json::from_str(&out).unwrap();
    let growth = &answer["verdict"]["next_pass"]["growth"];
    assert_eq!(growth["passes"], 3);
    // Each pass did less than it was told to aim at: 18, 29 and 12 µm of some 50.
    assert!(growth["bias"].as_f64().unwrap() < -0.1, "{growth}");
    assert!(growth["aim_share"].as_f64().unwrap() > 0.42, "{growth}");
    let (_, out, _) = foramen(at, &["log", "bench.jsonl"]);
    assert!(out.contains("Your last 3 passes grew the hole by 20 ± 9 µm each"), "{out}");
    assert!(out.contains("     4  20"), "{out}");
    // The last line is taken back by one more; nothing is rewritten.
    let before = fs::read_to_string(at.join("bench.jsonl")).unwrap();
    let (code, out, err) = foramen(at, &["log", "bench.jsonl", "--revoke"]);
    assert!(code == 0 && out.contains("Taken back: \"hole 1\""), "{out}{err}");
    let after = fs::read_to_string(at.join("bench.jsonl")).unwrap();
    assert!(after.starts_with(&before) && after.lines().count() == before.lines().count() + 1);
    let (_, out, _) = foramen(at, &["log", "bench.jsonl"]);
    assert!(!out.contains("     4  20") && out.contains("     3  20"), "{out}");
    // A hole cannot shrink.
    let (code, _, err) = appraise(at, &["--hole", "0.167 mm", "--name", "hole 1"]);
    assert!(code == 2 && err.contains("cannot shrink"), "{err}");
}

#[test]
fn another_hole_or_camera_in_the_log_asks_for_a_name() {
    let bench = bench();
    let at = bench.path();
    let before = fs::read_to_string(at.join("bench.jsonl")).unwrap();
    // The bench's hole was 0.342 mm last, in the camera of the demonstration.
    let (code, out, err) = appraise(at, &["--hole", "0.2 mm"]);
    assert_eq!((code, out.as_str()), (2, ""), "{err}");
    assert!(err.contains("of 0.342 mm, and this is 0.2 mm") && err.contains("--name"), "{err}");
    let camera = fs::read_to_string("examples/cedar_box.toml").unwrap().replace("Cedar box", "Tin");
    fs::write(at.join("tin.toml"), camera).unwrap();
    let (code, _, err) = appraise(at, &["--hole", "0.342 mm", "--camera", "tin.toml"]);
    assert!(code == 2 && err.contains("\"brass 3\" in Cedar box"), "{err}");
    for name in ["", "two\nlines"] {
        let (code, _, err) = appraise(at, &["--hole", "0.2 mm", "--name", name]);
        assert!(code != 0 && err.contains("not a usable name"), "{code} {err}");
    }
    assert!(!at.join("foramen-appraisal").exists());
    assert_eq!(fs::read_to_string(at.join("bench.jsonl")).unwrap(), before);
    let (code, out, _) = appraise(at, &["--hole", "0.2 mm", "--name", "brass 4"]);
    assert!(code == 0 && out.contains("as \"brass 4\", entry 1"), "{out}");
    // Its six passes are the maker's, whichever hole they were on.
    assert!(out.contains("Your last 6 passes grew the hole by 20 ± 8 µm each"), "{out}");
}

#[test]
fn a_torn_line_stays_and_the_log_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let torn = "{\"format\":1,\"time\":\"20";
    fs::write(at.join("bench.jsonl"), torn).unwrap();
    let (code, out, err) = appraise(at, &["--hole", "0.3 mm"]);
    assert!(code == 0 && out.contains("Logged"), "{out}");
    assert!(err.contains("line 1 of the log left out"), "{err}");
    assert!(fs::read_to_string(at.join("bench.jsonl")).unwrap().starts_with(torn));
}
