//! What the bench answers, without a browser's scripts.

use super::program::{Program, photo};
use base64::Engine;
use serde_json::Value;

fn events(body: &str) -> Vec<(String, Value)> {
    let event = |text: &str| {
        let part =
            |name: &str| text.lines().find_map(|line| line.strip_prefix(name)).unwrap_or_default();
        (part("event: ").to_owned(), serde_json::from_str(part("data: ")).unwrap_or_default())
    };
    body.split("\n\n").filter(|text| !text.is_empty()).map(event).collect()
}

/// Key by key, the page's numbers are the command line's.
#[test]
fn the_page_and_the_command_line_agree() {
    let bench = Program::start(&[]);
    let answer = bench.post("/", &[("size", None, b"0.35 mm")], "Accept: text/event-stream\r\n");
    assert_eq!(answer.status, 200);
    let events = events(&answer.body);
    let names: Vec<&str> =
        events.iter().map(|event| event.0.as_str()).filter(|name| *name != "step").collect();
    assert_eq!(names, ["verdict", "point", "picture", "files"]);
    let files = events.last().unwrap().1["files"].as_array().unwrap().clone();
    let json = files.iter().find(|file| file["name"] == "appraisal.json").unwrap();
    let bytes =
        base64::engine::general_purpose::STANDARD.decode(json["base64"].as_str().unwrap()).unwrap();
    let page: Value = serde_json::from_slice(&bytes).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let told = std::process::Command::new(env!("CARGO_BIN_EXE_foramen"))
        .args(["appraise", "--hole", "0.35 mm", "--json", "--out"])
        .arg(folder.path())
        .output()
        .unwrap();
    let line: Value = serde_json::from_slice(&told.stdout).unwrap();
    assert!(page == line, "the page: {page}\nthe command line: {line}");
}

#[test]
fn a_form_without_scripts_gets_the_whole_page() {
    let bench = Program::start(&[]);
    let (png, px_per_mm) = photo();
    let px = format!("{px_per_mm}");
    let form =
        [("photo", Some("hole.png"), &png[..]), ("px", None, px.as_bytes()), ("apart", None, b"1")];
    let answer = bench.post("/", &form, "Accept: text/html\r\n");
    assert_eq!(answer.status, 200, "{}", answer.body);
    for words in [
        "jnd lost",
        "A point of light",
        "The picture",
        "appraisal.json",
        "rim traced from your photo",
    ] {
        assert!(answer.body.contains(words), "{words}");
    }
    let report = bench.post("/report", &form, "");
    assert_eq!(report.status, 200);
    assert!(report.head.contains("attachment") && report.body.starts_with("<!DOCTYPE html>"));
    let what_if = bench.post("/what-if", &[("d", None, b"0.3"), ("oval", None, b"10")], "");
    assert_eq!(what_if.status, 200);
    assert!(what_if.body.contains("data:image/png;base64,"));
    let wrong = bench.post("/what-if", &[("film", None, b"5 mm")], "");
    assert!(wrong.body.contains("out of range"), "{}", wrong.body);
}

/// The bench card of the form's camera comes as a page of A5; a camera that cannot be is told of, as elsewhere.
#[test]
fn a_bench_card_is_a_file_to_keep() {
    let bench = Program::start(&[]);
    let card = bench.post("/camera/card", &[("template", None, b"tube")], "");
    assert_eq!(card.status, 200);
    assert!(card.head.contains("application/pdf") && card.head.contains("attachment"));
    // 148 by 210 mm in points.
    assert!(
        card.body.starts_with("%PDF-") && card.body.contains("/MediaBox[0 0 419.5276 595.2756]")
    );
    let wrong = [("edited", None, &b"yes"[..]), ("film.distance", None, b"no length")];
    let answer = bench.post("/camera/card", &wrong, "");
    assert_eq!(answer.status, 422);
    assert!(answer.body.contains("Hole to film"), "{}", answer.body);
    assert!(bench.get("/camera", "").body.contains("Bench card, PDF"));
}

#[test]
fn a_photo_without_a_scale_is_asked_about() {
    let bench = Program::start(&[]);
    let (png, _) = photo();
    let answer =
        bench.post("/", &[("photo", Some("hole.png"), &png)], "Accept: text/event-stream\r\n");
    let events = events(&answer.body);
    let (name, data) = events.last().unwrap();
    assert_eq!(name, "fault");
    let place = &data["photo"]["candidates"][0]["place_px"];
    assert!(
        place[0].as_f64().unwrap() > 100.0
            && data["photo"]["candidates"].as_array().unwrap().len() == 1,
        "{data}"
    );
}

#[test]
fn a_log_takes_a_line_for_a_press() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.jsonl");
    let bench = Program::start(&["--log", &path.to_string_lossy()]);
    assert!(bench.get("/log", "").body.contains("The log is empty."));
    let answer = bench.post(
        "/",
        &[("size", None, b"0.35 mm"), ("name", None, b"brass 3")],
        "Accept: text/event-stream\r\n",
    );
    let events = events(&answer.body);
    let verdict = &events.iter().find(|event| event.0 == "verdict").unwrap().1;
    let entry = verdict["entry"].as_str().unwrap();
    let add = |entry: &str, name: &str| {
        bench
            .post("/log", &[("entry", None, entry.as_bytes()), ("name", None, name.as_bytes())], "")
            .status
    };
    assert_eq!(add(entry, "brass 3"), 200);
    assert_eq!(add("{}", "brass 3"), 422);
    assert_eq!(add(entry, "\u{1b}[2J"), 422);
    let page = bench.get("/log", "").body;
    assert!(page.contains("brass 3") && page.contains("0.35"), "{page}");
    assert_eq!(std::fs::read_to_string(&path).unwrap().lines().count(), 1);
    let without = Program::start(&[]);
    assert_eq!(without.post("/log", &[("entry", None, entry.as_bytes())], "").status, 422);
}
