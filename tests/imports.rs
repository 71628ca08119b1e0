//! The path of the light is the order of the modules: each uses only what comes before it. Inside a module
//! the files use each other in one direction, too: there is no circle.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

const ORDER: &[&str] = &[
    "error", "watch", "quantity", "raster", "geometry", "wave", "hole", "camera", "picture",
    "verdict", "proof", "record", "plate", "diagram", "figure", "task", "words", "report", "files",
    "page", "cli",
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

/// The code of a file without its comments and its tests.
fn code(text: &str) -> String {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap();
    let code = code.split("#[cfg(test)]\n#[path").next().unwrap();
    let lines = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// The first names after each occurrence of a prefix: `crate::module`, `super::{one, two::x}`.
fn names_after(code: &str, prefix: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in code.match_indices(prefix) {
        // Not `super::super::` when it is `super::` that is looked for, nor a longer word.
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':') {
            continue;
        }
        let rest = &code[at + prefix.len()..];
        let list =
            if let Some(rest) = rest.strip_prefix('{') { inside(rest) } else { vec![rest.into()] };
        for item in list {
            let name: String =
                item.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            names.push(name);
        }
    }
    names
}

/// The items of a list in braces, which was opened already; inner braces stay with their item.
fn inside(rest: &str) -> Vec<String> {
    let (mut depth, mut items) = (0, vec![String::new()]);
    for letter in rest.chars() {
        match letter {
            '}' if depth == 0 => break,
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                items.push(String::new());
                continue;
            }
            _ => {}
        }
        items.last_mut().unwrap().push(letter);
    }
    items
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
        let text = fs::read_to_string(&file).unwrap();
        let lines = text.lines().filter(|line| !line.trim_start().starts_with("//"));
        let text: String = lines.collect::<Vec<_>>().join("\n");
        let modules = names_after(&text, "crate::");
        for name in modules.iter().filter(|name| name.starts_with(|c: char| c.is_lowercase())) {
            seen += 1;
            assert!(
                rank(name) <= rank(module),
                "{}: {module} reaches forward to {name}",
                file.display()
            );
        }
    }
    assert!(seen > 5, "the reader of imports found only {seen}");
}

/// Which files of a folder use which, by the names of their modules.
type Uses = BTreeMap<String, BTreeSet<String>>;

/// The modules of a folder, each with those beside it that it uses. `path` is the module's own, as in
/// `crate::hole::trace::`.
fn uses(folder: &Path, path: &str) -> Uses {
    let front = code(&fs::read_to_string(folder.join("mod.rs")).unwrap());
    let mut children: BTreeMap<String, Vec<(PathBuf, usize)>> = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let place = entry.unwrap().path();
        let name = place.file_stem().unwrap().to_str().unwrap().to_owned();
        if name == "mod" || name.ends_with("_tests") || name == "tests" {
            continue;
        }
        if place.is_dir() {
            let mut files = Vec::new();
            sources(&place, &mut files);
            for file in files {
                let inner = file.strip_prefix(&place).unwrap();
                let is_front = inner.file_name().is_some_and(|name| name == "mod.rs");
                let depth = inner.components().count() + 1 - usize::from(is_front);
                let stem = inner.file_stem().unwrap().to_str().unwrap();
                if !stem.ends_with("tests") {
                    children.entry(name.clone()).or_default().push((file, depth));
                }
            }
        } else if place.extension().is_some_and(|e| e == "rs") {
            children.entry(name).or_default().push((place, 1));
        }
    }
    // What the front page hands on belongs to the file that it comes from.
    let mut owner: BTreeMap<String, String> = BTreeMap::new();
    for name in children.keys() {
        owner.insert(name.clone(), name.clone());
        let handed_on = names_after(&front, &format!("{name}::"));
        owner.extend(handed_on.into_iter().map(|item| (item, name.clone())));
    }
    let mut uses = Uses::new();
    for (name, files) in &children {
        for (file, depth) in files {
            let code = code(&fs::read_to_string(file).unwrap());
            let mut names = names_after(&code, &"super::".repeat(*depth));
            names.extend(names_after(&code, path));
            let used = names.iter().filter_map(|item| owner.get(item)).filter(|used| *used != name);
            uses.entry(name.clone()).or_default().extend(used.cloned());
        }
    }
    uses
}

/// A circle among the files, if there is one: each uses the next, and the last the first.
fn circle(uses: &Uses) -> Option<Vec<String>> {
    fn walk(
        uses: &Uses,
        path: &mut Vec<String>,
        done: &mut BTreeSet<String>,
    ) -> Option<Vec<String>> {
        let here = path.last().unwrap().clone();
        for next in uses.get(&here).into_iter().flatten() {
            if let Some(start) = path.iter().position(|name| name == next) {
                return Some(path[start..].to_vec());
            }
            if !done.contains(next) {
                path.push(next.clone());
                if let Some(found) = walk(uses, path, done) {
                    return Some(found);
                }
                path.pop();
            }
        }
        done.insert(here);
        None
    }
    let mut done = BTreeSet::new();
    uses.keys().find_map(|name| walk(uses, &mut vec![name.clone()], &mut done))
}

#[test]
fn inside_a_module_there_is_no_circle() {
    let mut folders = vec![(PathBuf::from("src"), "crate::".to_owned())];
    let (mut circles, mut seen) = (Vec::new(), 0);
    while let Some((folder, path)) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let place = entry.unwrap().path();
            if place.is_dir() && place.join("mod.rs").exists() {
                let name = place.file_name().unwrap().to_str().unwrap();
                folders.push((place.clone(), format!("{path}{name}::")));
            }
        }
        if folder.join("mod.rs").exists() {
            let uses = uses(&folder, &path);
            seen += uses.values().map(BTreeSet::len).sum::<usize>();
            circles.extend(circle(&uses).map(|names| format!("{path} {}", names.join(" -> "))));
        }
    }
    assert!(seen > 100, "the reader of imports found only {seen}");
    assert!(circles.is_empty(), "{}", circles.join("\n"));
}

/// The check sees a circle that is planted.
#[test]
fn a_planted_circle_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("mod.rs", "mod one;\nmod two;\nmod three;\npub use three::{Third, other};\n");
    put("one.rs", "use super::two::f;\n");
    put("two.rs", "use super::{\n    Third,\n    x,\n};\n");
    put("three.rs", "// use super::one;\n#[cfg(test)]\nmod tests {\n    use super::one;\n}\n");
    assert_eq!(circle(&uses(folder.path(), "crate::x::")), None);
    put("three.rs", "use crate::x::one::g;\n");
    assert_eq!(circle(&uses(folder.path(), "crate::x::")).unwrap().len(), 3);
}
