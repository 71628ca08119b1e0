//! Lines of the log, written and read.

use super::*;
use std::time::Duration;

/// An entry for the tests of this folder.
pub(in crate::record) fn entry(hole: &str, diameter_mm: f64) -> Entry {
    Entry {
        time: SystemTime::UNIX_EPOCH + Duration::from_secs(1_772_388_245),
        hole: hole.into(),
        camera: "Cedar box".into(),
        diameter_mm,
        diameter_uncertainty_mm: 0.004,
        target_mm: 0.375,
        band_low_mm: 0.3125,
        band_high_mm: 0.4375,
        loss: 0.25,
        loss_jnd: None,
        action: Entry::word(Action::Enlarge).into(),
        next_aim_mm: None,
        aim_mm: None,
        burrs: None,
    }
}

/// The keys are a promise to other programs. 1 772 388 245 s: `date -u -d @1772388245`.
#[test]
fn a_line_is_as_documented() {
    let line = entry("brass \"3\" Ø", 0.25).line().unwrap();
    let expected = r#"{"format":1,"time":"2026-03-01T18:04:05Z","hole":"brass \"3\" Ø","#
        .to_owned()
        + r#""camera":"Cedar box","diameter_mm":0.25,"diameter_uncertainty_mm":0.004,"#
        + r#""target_mm":0.375,"band_low_mm":0.3125,"band_high_mm":0.4375,"loss":0.25,"#
        + "\"action\":\"enlarge\"}\n";
    assert_eq!(line, expected);
    assert_eq!(Entry::of_line(line.trim_end()).unwrap(), entry("brass \"3\" Ø", 0.25));
}

#[test]
fn actions_are_the_words_of_the_verdict() {
    for action in Action::ALL {
        assert_eq!(serde_json::to_value(action).unwrap(), Entry::word(action));
    }
}

/// Leap days, the ends of years and of what can be written; `date -u -d @N`.
#[test]
fn times_are_utc_to_the_second() {
    let written = |seconds: u64, nanos: u32| {
        let time = SystemTime::UNIX_EPOCH + Duration::new(seconds, nanos);
        let line = Entry { time, ..entry("A", 0.3) }.line().unwrap();
        let at = line.find("\"time\":\"").unwrap() + 8;
        line[at..at + 20].to_owned()
    };
    assert_eq!(written(0, 0), "1970-01-01T00:00:00Z");
    assert_eq!(written(951_782_399, 999_999_999), "2000-02-28T23:59:59Z");
    assert_eq!(written(951_782_400, 0), "2000-02-29T00:00:00Z");
    assert_eq!(written(4_107_542_400, 0), "2100-03-01T00:00:00Z");
    assert_eq!(written(253_402_300_799, 0), "9999-12-31T23:59:59Z");
    assert_eq!(written(300_000_000_000, 0), "9999-12-31T23:59:59Z");
    let unset = SystemTime::UNIX_EPOCH - Duration::from_secs(5);
    let line = Entry { time: unset, ..entry("A", 0.3) }.line().unwrap();
    assert!(line.contains("1970-01-01T00:00:00Z"), "{line}");
}

#[test]
fn further_keys_are_passed_over_and_other_formats_are_not() {
    let line = entry("A", 0.3).line().unwrap();
    let further = line.replace("{\"format\":1", "{\"weather\":{\"wind\":[1,2]},\"format\":1");
    assert_eq!(Entry::of_line(further.trim()).unwrap(), entry("A", 0.3));
    for (format, said) in [
        ("2", "format, 2"),
        ("\"1\"", "format, \"1\""),
        ("null", "format, null"),
        ("1.5", "format, 1.5"),
        ("-1", "format, -1"),
    ] {
        let other = line.replace("\"format\":1", &format!("\"format\":{format}"));
        let reason = Entry::of_line(other.trim()).unwrap_err();
        assert!(reason.contains(said), "{format}: {reason}");
    }
}

#[test]
fn nonsense_is_neither_written_nor_read() {
    let good = entry("A", 0.3);
    let cases = [
        (Entry { hole: " ".into(), ..good.clone() }, "hole"),
        (Entry { hole: "a\u{1b}[2J".into(), ..good.clone() }, "hole"),
        (Entry { hole: "two\nlines".into(), ..good.clone() }, "hole"),
        (Entry { camera: "c".repeat(201), ..good.clone() }, "camera"),
        (Entry { action: String::new(), ..good.clone() }, "action"),
        (Entry { diameter_mm: f64::NAN, ..good.clone() }, "diameter_mm"),
        (Entry { diameter_mm: 0.0, ..good.clone() }, "diameter_mm"),
        (Entry { target_mm: f64::INFINITY, ..good.clone() }, "target_mm"),
        (Entry { diameter_uncertainty_mm: -0.1, ..good.clone() }, "uncertainty"),
        (Entry { band_low_mm: 0.5, ..good.clone() }, "band"),
        (Entry { loss: 1.01, ..good.clone() }, "loss"),
        (Entry { loss: f64::NAN, ..good }, "loss"),
    ];
    for (bad, said) in cases {
        let reason = bad.line().unwrap_err();
        assert!(reason.contains(said), "{said}: {reason}");
        let line = serde_json::to_string(&Line { format: FORMAT, entry: &bad }).unwrap();
        assert!(Entry::of_line(&line).is_err(), "{line}");
    }
    let time = |text: &str| {
        let line = entry("A", 0.3).line().unwrap().replace("2026-03-01T18:04:05Z", text);
        Entry::of_line(line.trim())
    };
    assert!(time("2026-03-01T18:04:05.25Z").is_ok());
    for odd in [
        "",
        "yesterday",
        "2026-02-29T00:00:00Z",
        "2026-03-01T18:04:05",
        "2026-03-01T18:04:05+01:00",
    ] {
        let reason = time(odd).unwrap_err();
        assert!(reason.contains("in UTC"), "{odd}: {reason}");
    }
}

/// What is new is written where it is known, and read back.
#[test]
fn aims_and_burrs_are_kept() {
    let full = Entry {
        loss_jnd: Some(2.5),
        next_aim_mm: Some(0.27),
        aim_mm: Some(0.26),
        burrs: Some(1),
        ..entry("A", 0.25)
    };
    let line = full.line().unwrap();
    for key in ["\"loss_jnd\":2.5", "\"next_aim_mm\":0.27", "\"aim_mm\":0.26", "\"burrs\":1"] {
        assert!(line.contains(key), "{line}");
    }
    assert_eq!(Entry::of_line(line.trim_end()).unwrap(), full);
    assert!(Entry { aim_mm: Some(-1.0), ..entry("A", 0.25) }.line().is_err());
}
