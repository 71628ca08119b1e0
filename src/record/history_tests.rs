//! Histories and passes of small logs.

use super::super::entry::tests::entry;
use super::*;

fn record(entries: Vec<Entry>) -> Record {
    Record { entries, ..Record::default() }
}

fn in_camera(camera: &str, hole: &str, diameter_mm: f64) -> Entry {
    Entry { camera: camera.into(), ..entry(hole, diameter_mm) }
}

#[test]
fn one_hole_in_one_camera_needs_no_name() {
    let record = record(vec![entry("A", 0.2), entry("A", 0.22)]);
    assert_eq!(record.of(None, None).unwrap().entries.len(), 2);
    assert_eq!(record.of(Some("A"), Some("Cedar box")).unwrap().entries.len(), 2);
}

#[test]
fn several_are_named_and_asked_for() {
    let record = record(vec![
        in_camera("box", "A", 0.20),
        in_camera("box", "B", 0.30),
        in_camera("tin", "B", 0.31),
        in_camera("tin", "A", 0.25),
        in_camera("box", "C", 0.25),
    ]);
    let words = |hole, camera| {
        let error = record.of(hole, camera).unwrap_err();
        assert!(!error.remedy().is_empty(), "{error:?}");
        error.to_string()
    };
    let holes = "the log holds more than one hole: \"A\", \"B\", \"C\"";
    assert_eq!(words(None, None), holes);
    assert!(words(Some("B"), None).contains("more than one camera: \"box\", \"tin\""));
    assert!(words(Some("D"), None).contains("\"D\" is not a hole of this log: it has \"A\""));
    // Only the cameras that this hole was in.
    assert!(words(Some("C"), Some("tin")).ends_with("it has \"box\""));
    let sizes: Vec<f64> = record
        .of(Some("A"), Some("tin"))
        .unwrap()
        .entries
        .iter()
        .map(|entry| entry.diameter_mm)
        .collect();
    assert_eq!(sizes, [0.25]);
    assert_eq!(record.of(Some("C"), None).unwrap().entries.len(), 1);
}

#[test]
fn many_names_are_cut_short_and_none_is_said() {
    let many = record((0..20).map(|i| entry(&format!("hole {i}"), 0.3)).collect());
    let error = many.of(None, None).unwrap_err().to_string();
    assert!(error.contains("\"hole 7\" and 12 more") && !error.contains("hole 8"), "{error}");
    assert!(record(Vec::new()).of(None, None).unwrap_err().to_string().contains("no entries"));
}

#[test]
fn passes_are_of_all_holes_and_only_widening() {
    let advised = |action: &str, entry: Entry| Entry { action: action.into(), ..entry };
    let record = record(vec![
        entry("A", 0.20),
        entry("B", 0.30),
        entry("A", 0.20),                        // measured again, not touched
        in_camera("tin", "A", 0.22),             // a pass, looked at in another camera
        advised("deburr", entry("B", 0.33)),     // a pass; a burr is found
        advised("start-over", entry("B", 0.36)), // the burr taken off: no pass
        advised("stop", entry("B", 0.25)),       // a new hole under the old name
        entry("B", 0.26),                        // a pass although the advice was to stop
    ]);
    let passes: Vec<(f64, f64)> =
        record.passes().iter().map(|pass| (pass.from_mm, pass.to_mm)).collect();
    assert_eq!(passes, [(0.20, 0.22), (0.30, 0.33), (0.25, 0.26)]);
    // Two uncertainties of 0.004 mm, independent.
    let uncertainty_mm = record.passes()[0].uncertainty_mm;
    assert!((uncertainty_mm - 0.004 * 2f64.sqrt()).abs() < 1e-15, "{uncertainty_mm}");
}

/// What is advised to be left alone, and is measured again, has had no pass.
#[test]
fn a_hole_measured_again_is_no_pass() {
    let stopped = |diameter_mm| Entry { action: "stop".into(), ..entry("A", diameter_mm) };
    // Each known to 0.004 mm: their difference to 0.0057 mm.
    for (to_mm, passes) in [(0.2050, 0), (0.1950, 0), (0.2060, 1)] {
        let found = record(vec![stopped(0.2), entry("A", to_mm)]).passes();
        assert_eq!(found.len(), passes, "{to_mm}");
    }
    // Where widening was advised, the same step is a pass that did little.
    assert_eq!(record(vec![entry("A", 0.2), entry("A", 0.205)]).passes().len(), 1);
}

#[test]
fn the_pass_to_what_is_measured_now_counts() {
    let record = record(vec![entry("A", 0.20), entry("A", 0.22), entry("B", 0.30)]);
    let pass = record.pass_to("A", 0.25, 0.003).unwrap();
    assert_eq!((pass.from_mm, pass.to_mm, pass.uncertainty_mm), (0.22, 0.25, 0.005));
    assert_eq!(record.pass_to("A", 0.22, 0.003), None);
    assert_eq!(record.pass_to("C", 0.22, 0.003), None);
}

#[test]
fn an_unnamed_hole_goes_on_only_where_it_cannot_be_another() {
    let named = |entries: Vec<Entry>, camera: &str, mm: f64| {
        record(entries).name_of_unnamed(camera, mm, 0.003).map_err(|error| {
            assert_eq!(error.wanted(), Some(Wanted::LogName));
            error.to_string()
        })
    };
    let one = || vec![entry("brass 3", 0.20), entry("brass 3", 0.22)];
    assert_eq!(named(vec![], "Cedar box", 0.3).unwrap(), "hole 1");
    // The same, wider, and narrower by no more than the doubt, 0.005 mm.
    for mm in [0.22, 0.25, 0.44, 0.2151] {
        assert_eq!(named(one(), "Cedar box", mm).unwrap(), "brass 3", "{mm}");
    }
    for (mm, said) in [(0.2149, "of 0.22 mm, and this is 0.215 mm"), (0.45, "this is 0.45 mm")] {
        let error = named(one(), "Cedar box", mm).unwrap_err();
        assert!(error.contains(said) && error.contains("brass 3"), "{error}");
    }
    let other = named(one(), "tin", 0.22).unwrap_err();
    assert!(other.contains("\"brass 3\" in Cedar box"), "{other}");
    let mixed = [one(), vec![entry("tin 1", 0.22)]].concat();
    let asked = named(mixed, "Cedar box", 0.22).unwrap_err();
    assert!(asked.contains("\"brass 3\", \"tin 1\""), "{asked}");
    let moved = [one(), vec![in_camera("tin", "brass 3", 0.22)]].concat();
    assert!(named(moved, "Cedar box", 0.22).unwrap_err().contains("in tin"));
}

/// As many names as a log can hold: compared in pairs they would take a minute.
#[test]
fn very_many_names_are_counted() {
    let entries = (0..150_000).map(|i| entry(&format!("hole {i}"), 0.3)).collect();
    let record = Record { entries, ..Record::default() };
    let said = record.of(None, None).unwrap_err().to_string();
    assert!(said.contains("\"hole 7\" and 149992 more"), "{said}");
    let said = record.name_of_unnamed("Cedar box", 0.3, 0.01).unwrap_err().to_string();
    assert!(said.contains("and 149992 more"), "{said}");
}
