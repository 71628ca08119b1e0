//! What a shell and a terminal need: completions, manual pages, questions, the next command.

#![allow(clippy::unwrap_used)]

use super::answers::foramen;
use assert_cmd::Command;
use std::fs;
use std::process::{Command as Program, Stdio};
use tempfile::TempDir;

/// Runs a shell's own check over a script; None where that shell is not installed.
fn parses(shell: &str, script: &std::path::Path) -> Option<bool> {
    let checked = Program::new(shell).arg("-n").arg(script).stderr(Stdio::null()).status();
    checked.ok().map(|status| status.success())
}

#[test]
fn completions_parse_in_their_shells() {
    let folder = TempDir::new().unwrap();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let ended = foramen(folder.path(), &["completions", shell]);
        assert_eq!(ended.code, 0, "{}", ended.err);
        for words in ["appraise", "graduation", "completions"] {
            assert!(ended.out.contains(words), "{shell}: {words}");
        }
        let script = folder.path().join(shell);
        fs::write(&script, &ended.out).unwrap();
        if ["bash", "zsh", "fish"].contains(&shell) {
            match parses(shell, &script) {
                Some(parses) => assert!(parses, "{shell}"),
                None => println!("{shell} is not installed: its completions were not tried"),
            }
        }
    }
    assert_eq!(foramen(folder.path(), &["completions", "sh"]).code, 2);
}

/// A page for the program and one for each command, without a warning of mandoc's or groff's.
#[test]
fn manual_pages_are_clean() {
    let folder = TempDir::new().unwrap();
    let ended = foramen(folder.path(), &["manual", "--out", "man"]);
    assert_eq!(ended.code, 0, "{}", ended.err);
    let pages: Vec<_> =
        fs::read_dir(folder.path().join("man")).unwrap().map(|file| file.unwrap().path()).collect();
    assert!(pages.len() >= 13 && pages.iter().any(|page| page.ends_with("foramen-appraise.1")));
    let text = fs::read_to_string(folder.path().join("man/foramen-appraise.1")).unwrap();
    assert!(text.contains("EXTRA") && text.contains("foramen appraise"), "{text}");
    // Name, section, a date that mandoc reads, what it is of.
    let title = text.lines().find(|line| line.starts_with(".TH")).unwrap();
    let date = title.split(' ').nth(3).unwrap().trim_matches('"');
    assert!(date.len() == 10 && date.split('-').all(|part| part.parse::<u32>().is_ok()), "{title}");
    let Ok(groff) = Program::new("groff").arg("--version").output() else {
        println!("groff is not installed: the pages were not set");
        return;
    };
    assert!(groff.status.success());
    for page in pages {
        let set = Program::new("groff")
            .args(["-man", "-Tutf8", "-ww", "-z"])
            .arg(&page)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&set.stderr);
        assert!(set.status.success() && said.is_empty(), "{}: {said}", page.display());
    }
}

#[test]
fn cameras_are_written_by_kind_or_by_questions() {
    let folder = TempDir::new().unwrap();
    for (kind, name) in
        [("box", "Cedar box"), ("tube", "Biscuit tube"), ("tin", "Tea tin"), ("wide", "Wide drum")]
    {
        let file = format!("{kind}.toml");
        let ended = foramen(folder.path(), &["camera", "--like", kind, "--out", &file]);
        assert_eq!(ended.code, 0, "{}", ended.err);
        assert!(ended.out.contains(&format!("foramen target --camera {file}")), "{}", ended.out);
        let read = foramen(folder.path(), &["target", "--camera", &file]);
        assert!(read.out.contains(name), "{} {}", read.out, read.err);
    }
    let suggested = foramen(folder.path(), &["camera", "--like", "tub", "--out", "x.toml"]);
    assert!(suggested.code == 2 && suggested.err.contains("tube"), "{}", suggested.err);
    let ask = |answers: &str, file: &str| {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
        let words = ["camera", "--ask", "--out", file];
        command.current_dir(folder.path()).args(words).write_stdin(answers.to_owned()).assert()
    };
    // A quotation mark in the name, a length without its unit, a medium that is none: asked again.
    ask("My \"tin\"\n80\n80 mm\n\n\n40 mm\n\npapr\npaper\n\n", "mine.toml").success();
    let text = fs::read_to_string(folder.path().join("mine.toml")).unwrap();
    for line in
        ["distance = \"80 mm\"", "radius = \"40 mm\"", "width = \"127 mm\"", "paper-speed = 400"]
    {
        assert!(text.contains(line), "{line} in {text}");
    }
    let read = foramen(folder.path(), &["target", "--camera", "mine.toml"]);
    assert!(read.out.contains("\"tin\""), "{} {}", read.out, read.err);
    // An end of input before the last answer writes nothing.
    ask("Box\n80 mm\n", "cut.toml").failure();
    assert!(!folder.path().join("cut.toml").exists());
}

#[test]
fn answers_say_what_to_type_next_and_have_no_colours() {
    let folder = TempDir::new().unwrap();
    let gauge = foramen(folder.path(), &["gauge", "--hole", "oval 0.4 x 0.3 mm"]);
    assert!(gauge.out.contains("Next, type: foramen appraise --hole \"oval 0.4 x 0.3 mm\""));
    let target = foramen(folder.path(), &["target"]);
    let next = target.out.lines().find(|line| line.contains("Next, type:")).unwrap();
    assert!(next.contains("foramen appraise --hole \"") && next.contains(" mm\""), "{next}");
    for words in [&["--help"][..], &["gauge", "--hole", "x y"], &["target", "--nothing"]] {
        let ended = foramen(folder.path(), words);
        assert!(!format!("{}{}", ended.out, ended.err).contains('\u{1b}'), "{words:?}");
    }
    for (name, value) in [("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")] {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
        let output = command.env(name, value).args(["target", "--nothing"]).output().unwrap();
        assert!(!String::from_utf8_lossy(&output.stderr).contains('\u{1b}'), "{name}");
    }
}
