//! Every document is what `schema` says of it.

#![allow(clippy::unwrap_used)]

use super::answers::{foramen, json};
use serde_json::{Value, json};
use std::path::Path;
use tempfile::TempDir;

/// Validates a document against the schema of its own kind.
fn hold(folder: &Path, document: &Value) {
    let kind = document["schema"]["name"].as_str().unwrap();
    let short = kind.strip_prefix("foramen/").unwrap();
    let schema = json(folder, &["schema", short]);
    let judge = jsonschema::draft202012::new(&schema).unwrap();
    let faults: Vec<String> =
        judge.iter_errors(document).map(|why| format!("{}: {why}", why.instance_path())).collect();
    assert!(faults.is_empty(), "{kind}: {faults:#?}");
    // Not so loose that it takes anything: without any of its keys it is refused.
    assert!(!judge.is_valid(&json!({})), "{kind}");
    assert_eq!(document["schema"]["version"], 1);
}

#[test]
fn documents_are_what_their_schemas_say() {
    let place = TempDir::new().unwrap();
    let folder = place.path();
    let oval = "oval 0.42 x 0.37 mm, burr 0.05 mm deep, 0.03 mm wide at 40 deg";
    std::fs::write(
        folder.join("near.toml"),
        "[film]\ndistance = \"120 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n[subject]\ndistance = \"300 mm\"\n",
    )
    .unwrap();
    let logged = ["appraise", "--hole", "0.3 mm", "--log", "b.jsonl", "--name", "a", "--json"];
    let calls: [&[&str]; 14] = [
        &["gauge", "--demo", "--json"],
        &["gauge", "--hole", "4 per mm", "--json"],
        &["gauge", "--hole", oval, "--camera", "near.toml", "--json"],
        &["gauge", "--demo", "--every", "--json"],
        &["target", "--json"],
        &["target", "--camera", "near.toml", "--criterion", "peak", "--json"],
        &["psf", "--hole", oval, "--json"],
        &[
            "psf",
            "--hole",
            "0.3 mm",
            "--stack",
            "60 mm to 90 mm",
            "--count",
            "3",
            "--size",
            "8",
            "--samples",
            "s.npy",
            "--json",
        ],
        &["preview", "--hole", "0.3 mm", "--pixels", "64", "--json"],
        &["expose", "--hole", "0.3 mm", "--json"],
        &["appraise", "--quick", "--hole", oval, "--json"],
        &["appraise", "--every", "--hole", oval, "--hole", "0.2 mm", "--json"],
        &logged,
        &["log", "b.jsonl", "--json"],
    ];
    for words in calls {
        hold(folder, &json(folder, words));
    }
    let shared = ["appraise", "--every", "--camera", "near.toml", "--camera", "near.toml"];
    let holes = ["--hole", "0.3 mm", "--hole", "0.2 mm", "--json"];
    hold(folder, &json(folder, &[&shared[..], &holes[..]].concat()));
    foramen(folder, &["figure", "airy", "--data", "--out", "f"]);
    let index = std::fs::read_to_string(folder.join("f/airy.json")).unwrap();
    hold(folder, &serde_json::from_str(&index).unwrap());
    let listed = foramen(folder, &["schema"]).out;
    assert_eq!(listed.lines().count(), 1 + 15, "each kind above: {listed}");
    assert_eq!(foramen(folder, &["schema", "apraise"]).code, 2);
}
