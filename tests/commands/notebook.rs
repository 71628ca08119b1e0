//! The Python example, where Python has what it needs.

#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;

#[test]
fn the_notebook_draws_its_sheet() {
    let python = std::env::var("FORAMEN_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import numpy, matplotlib"]).output();
    if !has.is_ok_and(|output| output.status.success()) {
        println!("{python} has no numpy and matplotlib: the notebook was not run");
        return;
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let ended = Command::new(&python)
        .arg(root.join("examples/notebook.py"))
        .arg(assert_cmd::cargo::cargo_bin!("foramen"))
        .arg(root.join("examples/cedar_box.toml"))
        .output()
        .unwrap();
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let sheet = String::from_utf8(ended.stdout).unwrap();
    assert!(image::open(sheet.trim()).unwrap().width() > 1000, "{sheet}");
}
