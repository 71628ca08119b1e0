//! What a bench says of its result beside the time it took: the error, and the memory.

use std::fs;

/// Runs a job once and prints its error and how far it raised the process's memory at its highest,
/// in MB, on one line: `foramen ID error 1.2e-9 added_mb 34`. Linux only; elsewhere the memory is 0.
pub(crate) fn report<T>(id: &str, job: impl FnOnce() -> T, error: impl FnOnce(&T) -> f64) {
    // Writing 5 sets the highest mark back to where the process stands now: proc(5).
    let _ = fs::write("/proc/self/clear_refs", "5");
    let before = status_kib("VmRSS:");
    let result = job();
    let added_mb = status_kib("VmHWM:").saturating_sub(before) / 1024;
    println!("foramen {id} error {:.1e} added_mb {added_mb}", error(&result));
}

fn status_kib(field: &str) -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(field)).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|kib| kib.parse().ok()).unwrap_or(0)
}
