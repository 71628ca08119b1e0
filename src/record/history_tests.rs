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
        assert!(matches!(error, Error::Words { .. }), "{error:?}");
        format!("{error}: {}", error.remedy())
    };
    let holes = "\"hole\" must be named, for there is \"A\", \"B\", \"C\": name one of them with \
                 --hole";
    assert_eq!(words(None, None), holes);
    assert!(
        words(Some("B"), None).contains("camera\" must be named, for there is \"box\", \"tin\"")
    );
    assert!(words(Some("D"), None).contains("\"D\" is no hole here: there is \"A\""));
    // Only the cameras that this hole was in.
    assert!(words(Some("C"), Some("tin")).contains("there is \"box\":"));
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
