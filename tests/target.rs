//! `foramen target` as a person types it.

#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// Runs `foramen target` in a folder with this camera file: exit code, standard output, standard error.
fn target(camera: &str, words: &[&str]) -> (i32, String, String) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("box.toml"), camera).unwrap();
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let call = command.current_dir(folder.path()).args(["target", "--camera", "box.toml"]);
    let output = call.args(words).output().unwrap();
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "something was left behind");
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn json(camera: &str, words: &[&str]) -> Value {
    let (code, out, err) = target(camera, &[words, &["--json"]].concat());
    assert_eq!((code, err.as_str()), (0, ""));
    serde_json::from_str(&out).unwrap()
}

fn number(document: &Value, pointer: &str) -> f64 {
    document.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}"))
}

const FILM: &str = "[film]\ndistance = \"100 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n";

#[test]
fn a_near_subject_has_its_size_its_shadow_and_its_depth() {
    let near = format!("{FILM}[subject]\ndistance = \"400 mm\"\n");
    let answer = json(&near, &[]);
    assert_eq!(number(&answer, "/subject/distance_mm"), 400.0);
    assert_eq!(number(&answer, "/subject/magnification"), 0.25);
    // d (1 + v/u).
    let shadow = number(&answer, "/subject/shadow_mm") / number(&answer, "/diameter_mm");
    assert!((shadow - 1.25).abs() < 1e-12);
    let nearest = number(&answer, "/subject/depth/nearest_mm");
    assert!(nearest > 150.0 && nearest < 400.0, "{nearest}");
    assert!(answer.pointer("/subject/depth/farthest_mm").unwrap().is_null());
    assert!(number(&answer, "/subject/depth/horizon_loss") < 0.0);
    let (_, text, _) = target(&near, &[]);
    for words in ["400 mm", "0.25 of its size", "to infinity", "sharper"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let distant = json(FILM, &[]);
    assert!(distant.pointer("/subject/distance_mm").unwrap().is_null());
    assert_eq!(number(&distant, "/subject/magnification"), 0.0);
    assert_eq!(number(&distant, "/subject/depth/horizon_loss"), 0.0);
    assert!(target(FILM, &[]).1.contains("to infinity"));
}

#[test]
fn a_subject_that_cannot_be_is_refused() {
    for (distance, why) in [
        ("\"0 mm\"", "above zero"),
        ("\"-2 m\"", "above zero"),
        ("\"400\"", "no unit"),
        ("\"far\"", "no plain number"),
        ("400", "string"),
    ] {
        let camera = format!("{FILM}[subject]\ndistance = {distance}\n");
        let (code, out, err) = target(&camera, &[]);
        assert_eq!((code, out.as_str()), (1, ""), "{distance}: {err}");
        assert!(err.contains("box.toml:6") && err.contains(why), "{distance}: {err}");
    }
}
