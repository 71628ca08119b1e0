//! Shows an address or a file in the program that the person has for it.

use std::process::{Command, Stdio};

/// Opens an address or a file in the person's browser or viewer. Where that fails, its name is on the terminal.
pub(super) fn open(address: &str) {
    let (program, first): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let started = Command::new(program)
        .args(first)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    drop(started);
}
