//! The path of the light is the order of the modules: each uses only what stands before it.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

const ORDER: &[&str] = &[
    "error", "watch", "quantity", "raster", "geometry", "wave", "hole", "camera", "picture",
    "verdict", "record", "plate", "diagram", "figure", "task", "words", "report", "files", "page",
    "cli",
];

fn rank(module: &str) -> usize {
    ORDER
        .iter()
        .position(|m| *m == module)
        .unwrap_or_else(|| panic!("module {module} has no place on the path of the light"))
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// The modules that a source text uses, by its words `crate::module`. `crate::Error` is `error`.
fn used(text: &str) -> Vec<String> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    code.flat_map(|line| line.split("crate::").skip(1).map(str::to_owned))
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect())
        .filter(|name: &String| name.starts_with(|c: char| c.is_lowercase()))
        .collect()
}

#[test]
fn imports_follow_the_light() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let mut seen = 0;
    for file in files {
        let inside = file.strip_prefix("src").unwrap();
        let module = inside.iter().next().unwrap().to_str().unwrap().trim_end_matches(".rs");
        if module == "lib" || module == "main" {
            continue;
        }
        for name in used(&fs::read_to_string(&file).unwrap()) {
            seen += 1;
            assert!(
                rank(&name) <= rank(module),
                "{}: {module} reaches forward to {name}",
                file.display()
            );
        }
    }
    assert!(seen > 5, "the reader of imports found only {seen}");
}
