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
    assert!(out.contains("     7  2026-03-01 19:04  0.342 ± 0.004 mm      6.0 %  stop\n"), "{out}");
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
    for key in
        ["/growth/mean", "/growth/deviation", "/growth/seen/mean_mm", "/skipped", "/backwards"]
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
    for said in ["line 9 left out: it is not JSON", "line 10 left out", "line 8: the clock ran"] {
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
        (&["log", "bench.jsonl", "--hole", "tin 2"], 2, "is no hole here"),
        (&["log", "bench.jsonl", "--hole", "tin 1", "--camera", "X"], 2, "there is \"Cedar box\""),
        (&["log", "none.jsonl"], 1, "none.jsonl: cannot be read"),
        (&["log", "empty.jsonl"], 1, "no entries"),
        (&["log", "."], 1, "is no file"),
    ];
    for (words, expected, said) in cases {
        let (code, out, err) = foramen(bench.path(), words);
        assert_eq!((code, out.as_str()), (expected, ""), "{words:?}: {err}");
        assert!(err.contains(said), "{words:?}: {err}");
    }
    let (code, out, _) = foramen(bench.path(), &["log", "bench.jsonl", "--hole", "tin 1"]);
    assert!(code == 0 && out.contains("     1  2026-03-01"), "{out}");
}
