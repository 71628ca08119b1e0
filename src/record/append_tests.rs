//! Logs that are added to while everything goes wrong.

use super::super::entry::tests::entry;
use super::super::parse;
use super::*;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// Where a writer that another test starts is told to write.
const PLACE: &str = "FORAMEN_TEST_LOG";

fn record_at(path: &Path) -> Result<crate::record::Record, Error> {
    parse(&std::fs::read(path).unwrap())
}

fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.jsonl");
    (folder, path)
}

/// This very test program as a writer of its own, which appends until it is ended.
fn writer(path: &Path, shell: &str) -> Child {
    Command::new("sh")
        .args(["-c", &format!("{shell} exec \"$0\" \"$@\"")])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "record::append::tests::endless_writer", "--ignored", "--nocapture"])
        .env(PLACE, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
#[ignore = "a writer that other tests start"]
fn endless_writer() {
    let Some(path) = std::env::var_os(PLACE) else { return };
    for pass in 0u32.. {
        if let Err(why) = append(Path::new(&path), &entry("endless", 0.1 + 1e-6 * f64::from(pass)))
        {
            println!("REFUSED {why}");
            return;
        }
    }
}

#[test]
fn lines_are_added_and_none_is_changed() {
    let (_folder, path) = place();
    let mut before = Vec::new();
    for size in [0.2, 0.21, 0.22] {
        append(&path, &entry("A", size)).unwrap();
        let now = std::fs::read(&path).unwrap();
        assert!(now.starts_with(&before) && now.ends_with(b"}\n"));
        before = now;
    }
    assert_eq!(record_at(&path).unwrap().entries.len(), 3);
}

#[test]
fn two_writers_at_once_leave_whole_lines() {
    let (_folder, path) = place();
    let write = |hole: &str| {
        (0..100).for_each(|i| append(&path, &entry(hole, 0.2 + 0.001 * f64::from(i))).unwrap());
    };
    std::thread::scope(|scope| {
        scope.spawn(|| write("A"));
        scope.spawn(|| write("B"));
    });
    let record = record_at(&path).unwrap();
    assert_eq!((record.entries.len(), record.skipped.len()), (200, 0));
    // Each writer's own lines in its own order.
    for hole in ["A", "B"] {
        let sizes = record.of(Some(hole), None).unwrap().entries;
        assert!(sizes.is_sorted_by(|a, b| a.diameter_mm < b.diameter_mm) && sizes.len() == 100);
    }
}

/// While another holds the file, nothing is added; then everything is.
#[test]
fn a_writer_waits_for_the_other() {
    let (_folder, path) = place();
    append(&path, &entry("A", 0.2)).unwrap();
    let held = File::open(&path).unwrap();
    held.lock().unwrap();
    let before = std::fs::metadata(&path).unwrap().len();
    std::thread::scope(|scope| {
        let waiting = scope.spawn(|| append(&path, &entry("A", 0.21)).unwrap());
        // Long against the fraction of a millisecond that adding a line takes.
        std::thread::sleep(Duration::from_millis(100));
        assert_eq!(std::fs::metadata(&path).unwrap().len(), before);
        held.unlock().unwrap();
        waiting.join().unwrap();
    });
    assert_eq!(record_at(&path).unwrap().entries.len(), 2);
}

/// A crash may leave any part of the last line: what was whole stays, and so does the next line.
#[test]
fn a_line_cut_at_any_byte_harms_no_other() {
    let (_folder, path) = place();
    append(&path, &entry("whole", 0.2)).unwrap();
    let whole = std::fs::read(&path).unwrap();
    append(&path, &entry("cut Ø", 0.3)).unwrap();
    let both = std::fs::read(&path).unwrap();
    for end in whole.len()..=both.len() {
        std::fs::write(&path, &both[..end]).unwrap();
        append(&path, &entry("next", 0.4)).unwrap();
        let text = std::fs::read(&path).unwrap();
        assert!(text.starts_with(&both[..end]), "cut at {end}");
        let record = record_at(&path).unwrap();
        let holes: Vec<&str> = record.entries.iter().map(|entry| entry.hole.as_str()).collect();
        // Without its newline alone the line is whole, and counts once it is closed off.
        let torn = end > whole.len() && end + 1 < both.len();
        let kept = end + 1 >= both.len();
        let expected: &[&str] =
            if kept { &["whole", "cut Ø", "next"] } else { &["whole", "next"] };
        assert_eq!(holes, expected, "cut at {end} of {}", both.len());
        assert_eq!(record.skipped.len(), usize::from(torn), "cut at {end}");
    }
}

/// Killed in the midst of its work again and again, a writer leaves whole lines, and the next goes on.
#[cfg(unix)]
#[test]
fn a_killed_writer_leaves_whole_lines() {
    let (_folder, path) = place();
    let size = || std::fs::metadata(&path).map_or(0, |data| data.len());
    let mut entries = 0;
    for round in 0..8u64 {
        let before = size();
        let mut child = writer(&path, "");
        let patience = Instant::now();
        while size() < before + 1000 && patience.elapsed() < Duration::from_secs(20) {
            std::thread::sleep(Duration::from_millis(1));
        }
        // Not always at the same place of its work.
        std::thread::sleep(Duration::from_micros(700 * round));
        child.kill().unwrap();
        child.wait().unwrap();
        let record = record_at(&path).unwrap();
        assert!(record.entries.len() > entries, "round {round}: {} lines", record.entries.len());
        // The writer counts its passes: a whole line that was lost would leave a gap.
        for (pass, entry) in record.entries[entries..].iter().enumerate() {
            assert!((entry.diameter_mm - 0.1 - 1e-6 * pass as f64).abs() < 1e-9, "{entry:?}");
        }
        // A torn line can only be the last of a writer that was killed.
        assert!(record.skipped.len() as u64 <= round + 1, "{:?}", record.skipped);
        entries = record.entries.len();
    }
    append(&path, &entry("after", 0.5)).unwrap();
    assert_eq!(record_at(&path).unwrap().entries.len(), entries + 1);
}

/// The system stops the file at 4 blocks of 512 or of 1024 bytes, in the middle of a line, as a full
/// disk does.
#[cfg(unix)]
#[test]
fn no_room_leaves_the_log_as_it_was() {
    let (_folder, path) = place();
    let output = writer(&path, "trap '' XFSZ; ulimit -f 4;").wait_with_output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("REFUSED") && said.contains("is unchanged"), "{said}");
    let bytes = std::fs::read(&path).unwrap();
    assert!(bytes.ends_with(b"}\n") && bytes.len() > 1500 && bytes.len() < 4096, "{}", bytes.len());
    let record = record_at(&path).unwrap();
    assert!(record.skipped.is_empty() && record.entries.len() >= 6, "{record:?}");
    let full = Path::new("/dev/full");
    if full.exists() {
        let error = append(full, &entry("A", 0.3)).unwrap_err();
        assert!(error.to_string().contains("No space left"), "{error}");
    }
}

#[test]
fn what_cannot_be_written_says_so() {
    let (folder, path) = place();
    let refused = |path: &Path, part: &str| {
        let error = append(path, &entry("A", 0.3)).unwrap_err();
        assert!(error.to_string().contains(part), "{error}");
        assert!(!error.remedy().is_empty());
    };
    refused(folder.path(), "cannot be opened");
    refused(&folder.path().join("none").join("bench.jsonl"), "cannot be opened");
    File::create(&path).unwrap().set_len(LARGEST).unwrap();
    refused(&path, "is full");
    assert_eq!(std::fs::metadata(&path).unwrap().len(), LARGEST);
    std::fs::remove_file(&path).unwrap();
    let nonsense = append(&path, &entry("", 0.3)).unwrap_err();
    assert!(nonsense.to_string().contains("hole") && !path.exists(), "{nonsense}");
}

#[test]
fn a_read_only_log_is_left_alone() {
    let (_folder, path) = place();
    append(&path, &entry("A", 0.3)).unwrap();
    let before = std::fs::read(&path).unwrap();
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).unwrap();
    match append(&path, &entry("A", 0.31)) {
        Err(error) => {
            assert!(error.to_string().contains("cannot be opened"), "{error}");
            assert_eq!(std::fs::read(&path).unwrap(), before);
        }
        // Who may do everything may write this too.
        Ok(()) => assert_eq!(record_at(&path).unwrap().entries.len(), 2),
    }
}
