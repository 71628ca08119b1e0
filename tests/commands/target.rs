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

/// Every key that other programs may rely on, by each criterion; each has its own best.
#[test]
fn each_criterion_has_its_own_best() {
    let light = "[light]\nwavelength = \"550 nm\"\n";
    let camera = format!("{FILM}{light}");
    // √(λz) for the constants of one wavelength; the eye's best also depends on the print.
    let unit = (550e-6f64 * 100.0).sqrt();
    let cases = [
        ("eye", None),
        ("acutance", None),
        ("resolution", Some(1.5235)),
        ("encircled", Some(1.7935)),
        ("peak", Some(1.7228)),
    ];
    let mut criteria = Vec::new();
    for (word, constant) in cases {
        let answer = json(&camera, &["--criterion", word]);
        if let Some(constant) = constant {
            // Tables of the measures' optima, to half a hundredth.
            let found = number(&answer, "/diameter_mm") / unit;
            assert!((found / constant - 1.0).abs() < 5e-3, "{word}: {found}");
        }
        for key in [
            "/diameter_um",
            "/diameter_thou",
            "/diameters_per_mm",
            "/constant",
            "/f_number",
            "/subject/shadow_mm",
            "/subject/depth/nearest_mm",
            "/subject/depth/loss",
            "/published/4/constant",
            "/published/4/diameter_mm",
            "/published/4/loss",
            "/tools/0/diameter_mm",
            "/tools/0/loss",
        ] {
            assert!(number(&answer, key) >= 0.0, "{key}");
        }
        assert!(answer["tools"].as_array().unwrap().len() >= 4);
        let best = number(&answer, "/diameter_mm");
        for i in 0..3 {
            let of = |key: &str| number(&answer, &format!("/band/{i}/{key}"));
            assert!(of("low_mm") < best && best < of("high_mm"));
            assert!(of("low_exposure_times") > 1.0 && of("high_exposure_times") < 1.0);
        }
        criteria.push(answer["criterion"].as_str().unwrap().to_owned());
        let (code, text, _) = target(&camera, &["--criterion", word]);
        assert_eq!(code, 0);
        // One screen.
        assert!(text.starts_with("AIM FOR") && text.lines().count() <= 38, "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 88), "{text}");
    }
    criteria.dedup();
    assert_eq!(criteria.len(), 5);
    let (code, out, err) = target(&camera, &["--criterion", "sharpness"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("resolution") && err.contains("encircled"), "{err}");
}

/// Metal thicker than any hole for it is wide: the best hole is large, for light must get through.
#[test]
fn thick_metal_asks_for_a_larger_hole() {
    let best = |thickness: &str| {
        let plate = format!("{FILM}[plate]\nthickness = \"{thickness}\"\n");
        number(&json(&plate, &[]), "/diameter_mm")
    };
    let (thin, thick, block) = (best("0.01 mm"), best("0.5 mm"), best("10 mm"));
    assert!(thin < thick && thick < block && block < 10.0, "{thin} {thick} {block}");
}
