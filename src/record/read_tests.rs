//! Logs with all that can befall a text file.

use super::super::entry::tests::entry;
use super::*;
use std::time::Duration;

fn line(hole: &str, diameter_mm: f64) -> String {
    entry(hole, diameter_mm).line().unwrap()
}

fn log(bytes: &[u8]) -> Result<Record, Error> {
    parse(bytes)
}

#[test]
fn corrupt_lines_are_named_and_the_others_read() {
    let mut bytes = line("A", 0.20).into_bytes();
    bytes.extend(b"{\"format\":1,\"time\":\"20\n");
    bytes.extend(b"\n  \r\n");
    bytes.extend(line("A", 0.21).replace('\n', "\r\n").bytes());
    bytes.extend(b"\xff\xfe\x00\n[1,2]\n\"words\"\n");
    bytes.extend("x".repeat(LONGEST + 1).bytes());
    bytes.extend(b"\n");
    bytes.extend(line("A", 0.22).replace("\"loss\":0.25", "\"loss\":\"0.25\"").bytes());
    bytes.extend(line("A", 0.23).trim_end().bytes());
    let record = log(&bytes).unwrap();
    let sizes: Vec<f64> = record.entries.iter().map(|entry| entry.diameter_mm).collect();
    assert_eq!(sizes, [0.20, 0.21, 0.23]);
    let said: Vec<(usize, &str)> =
        record.skipped.iter().map(|skipped| (skipped.line, skipped.reason.as_str())).collect();
    let expected = [
        (2, "JSON"),
        (6, "UTF-8"),
        (7, "format"),
        (8, "format"),
        (9, "bytes long"),
        (10, "not an entry"),
    ];
    assert_eq!(said.len(), expected.len(), "{said:?}");
    for ((line, reason), (expected_line, part)) in said.iter().zip(expected) {
        assert!(*line == expected_line && reason.contains(part), "{line}: {reason}");
    }
}

#[test]
fn reasons_are_short_and_cannot_repaint_a_terminal() {
    let odd = format!("{{\"format\":\"\u{9b}2J{}\"}}\n", "long ".repeat(1000));
    let record = log(odd.as_bytes()).unwrap();
    let reason = &record.skipped[0].reason;
    assert!(reason.chars().count() <= 160 && !reason.chars().any(char::is_control), "{reason:?}");
}

#[test]
fn a_clock_that_runs_backwards_is_told_and_changes_nothing() {
    let later = |seconds: i64| {
        let start = entry("A", 0.3).time;
        let time = if seconds < 0 {
            start - Duration::from_secs(seconds.unsigned_abs())
        } else {
            start + Duration::from_secs(seconds as u64)
        };
        Entry { time, ..entry("A", 0.3 + 0.001 * seconds as f64) }.line().unwrap()
    };
    let text: String = [0i64, 60, -60, -60, 5].into_iter().map(later).collect();
    let record = log(text.as_bytes()).unwrap();
    assert_eq!(record.backwards, [3]);
    assert_eq!(record.entries.len(), 5);
    assert!(record.entries[1].diameter_mm > record.entries[2].diameter_mm);
}

#[test]
fn too_much_that_is_no_entry_is_refused() {
    let refused = |result: Result<Record, Error>, part: &str| {
        let error = result.unwrap_err();
        assert!(error.to_string().contains(part), "{error}");
        assert!(!error.remedy().is_empty());
    };
    let words = "words\n".repeat(5000);
    refused(log((line("A", 0.3) + &words).as_bytes()), "more than 1000 lines");
    refused(log(words.as_bytes()), "not a bench log");
    refused(log(&vec![0; 4 << 20]), "not a bench log");
    assert_eq!(log(b"").unwrap(), Record::default());
}

/// What an appraisal must not add to: a file of another kind, whatever it holds.
#[test]
fn what_is_no_log_is_refused() {
    let others: [&[u8]; 7] = [
        b"name = \"Cedar box\"\n[film]\n",
        b"x_mm,y_mm\n0,0\n",
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        b"{\n  \"hole\": {}\n}\n",
        b"{\"a\":1}\n",
        b"\0\0\0\0",
        b"{\"format",
    ];
    for (index, bytes) in others.iter().enumerate() {
        let parsed = log(bytes);
        // The last is what a crash may leave of a first line.
        assert_eq!(parsed.is_ok(), index == others.len() - 1, "{parsed:?}");
    }
}

/// An editor's byte order mark is no part of the first entry.
#[test]
fn a_byte_order_mark_loses_no_entry() {
    let record = log(format!("\u{feff}{}", line("A", 0.3)).as_bytes()).unwrap();
    assert_eq!((record.entries.len(), record.skipped.len()), (1, 0));
}
