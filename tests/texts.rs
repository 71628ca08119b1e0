//! Every text that a person can read, in one file to be reviewed: `tests/texts.txt`.

#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Modules whose single words are read too: headings, names of rows, labels.
const ALL_WORDS: &[&str] = &["src/words", "src/report"];

/// The most lines of a `--help` page, and letters of its lines: one screen.
const SCREEN: (usize, usize) = (42, 100);

const COMMANDS: &[&str] = &[
    "appraise",
    "camera",
    "target",
    "gauge",
    "psf",
    "preview",
    "serve",
    "card",
    "expose",
    "figure",
    "log",
    "schema",
    "completions",
    "manual",
    "chart",
    "prove",
];

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

/// The string literals of a source text, each in one line.
fn literals(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = code;
    while let Some(letter) = rest.chars().next() {
        if rest.starts_with("//") {
            rest = rest.find('\n').map_or("", |end| &rest[end..]);
        } else if letter == '\'' {
            rest = after_letter(rest);
        } else if let Some(hashes) = raw(rest) {
            let body = &rest[hashes + 2..];
            let end = body.find(&format!("\"{}", "#".repeat(hashes))).unwrap();
            found.push(body[..end].replace('\n', "\\n"));
            rest = &body[end + hashes + 1..];
        } else if letter == '"' {
            let (text, after) = literal(&rest[1..]);
            found.push(text);
            rest = after;
        } else if letter.is_alphanumeric() || letter == '_' {
            // A whole name: its last letter may be the r of no raw string.
            rest = rest.trim_start_matches(|c: char| c.is_alphanumeric() || c == '_');
        } else {
            rest = &rest[letter.len_utf8()..];
        }
    }
    found
}

/// The number of signs before the quotation mark where a raw string begins.
fn raw(code: &str) -> Option<usize> {
    let body = code.strip_prefix('r')?;
    let hashes = body.len() - body.trim_start_matches('#').len();
    body[hashes..].starts_with('"').then_some(hashes)
}

/// What comes after a letter in single quotes, or after the mark of a lifetime.
fn after_letter(code: &str) -> &str {
    let body = &code[1..];
    if let Some(escaped) = body.strip_prefix('\\') {
        let kind = escaped.chars().next().unwrap().len_utf8();
        return escaped[kind..].find('\'').map_or("", |end| &escaped[kind + end + 1..]);
    }
    let letter = body.chars().next().unwrap().len_utf8();
    body[letter..].strip_prefix('\'').unwrap_or(body)
}

/// A string without its line breaks, and what comes after it.
fn literal(code: &str) -> (String, &str) {
    let mut text = String::new();
    let mut letters = code.char_indices().peekable();
    while let Some((place, letter)) = letters.next() {
        match letter {
            '"' => return (text, &code[place + 1..]),
            '\\' => match letters.next().unwrap().1 {
                '\n' => while letters.next_if(|(_, c)| c.is_whitespace()).is_some() {},
                '"' => text.push('"'),
                other => text.extend(['\\', other]),
            },
            '\n' => text += "\\n",
            _ => text.push(letter),
        }
    }
    panic!("a string has no end: {code}")
}

/// Whether a person reads this: two words or more and no drawing; in some modules one word too.
fn is_read(text: &str, one_word: bool) -> bool {
    let is_word = |word: &&str| word.chars().filter(|c| c.is_alphabetic()).count() >= 2;
    let words = text.split_whitespace().filter(is_word).count();
    let is_label = text.chars().next().is_some_and(char::is_alphabetic);
    !text.contains('<') && (words >= 2 || (one_word && words == 1 && is_label))
}

/// The texts of the sources, each beneath the name of its file. Tests are left out.
fn texts() -> String {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    files.sort();
    let mut all = String::new();
    for file in files {
        let name = file.display().to_string().replace('\\', "/");
        if name.ends_with("tests.rs") {
            continue;
        }
        let code = fs::read_to_string(&file).unwrap();
        let code = code.split("#[cfg(test)]\nmod tests {").next().unwrap();
        let one_word = ALL_WORDS.iter().any(|folder| name.starts_with(folder));
        let read: Vec<String> =
            literals(code).into_iter().filter(|text| is_read(text, one_word)).collect();
        if !read.is_empty() {
            all += &format!("\n# {name}\n{}\n", read.join("\n"));
        }
    }
    all
}

fn help(words: &[&str]) -> String {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.args(words).arg("--help").output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// The texts are those that were last read. Where a change is meant, this test has written the new file: read
/// what has changed in it, and commit it.
#[test]
fn texts_are_those_that_were_read() {
    let mut all = "What a person can read in foramen. Written by tests/texts.rs.\n".to_owned();
    all += &format!("\n# foramen --help\n{}", help(&[]));
    for command in COMMANDS {
        all += &format!("\n# foramen {command} --help\n{}", help(&[command]));
    }
    all += &texts();
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/texts.txt");
    if fs::read_to_string(&place).unwrap_or_default() != all {
        fs::write(&place, &all).unwrap();
        panic!(
            "texts have changed: read the difference in tests/texts.txt, which is new, and commit it"
        );
    }
}

#[test]
fn help_fits_a_screen() {
    assert!(help(&[]).lines().all(|line| line.chars().count() <= SCREEN.1));
    for command in COMMANDS {
        let page = help(&[command]);
        assert!(page.lines().count() <= SCREEN.0, "{}\n{page}", page.lines().count());
        assert!(page.lines().all(|line| line.chars().count() <= SCREEN.1), "{page}");
        let examples = page.split("Examples:").nth(1).unwrap();
        assert!(examples.matches(&format!("foramen {command}")).count() >= 2, "{page}");
    }
}

/// The reader of literals, by hand.
#[test]
fn literals_are_found() {
    let code = "a(\"one \\\"two\\\"\"); // \"no\"\nlet c = '\"'; b(\"x \\\n   y\", 'a', r#\"z \"q\" w\"#); f::<'b>(\"\\n end\")";
    assert_eq!(literals(code), ["one \"two\"", "x y", "z \"q\" w", "\\n end"]);
}

/// A remedy is worded with options by the command line alone: a page has fields.
#[test]
fn options_are_named_by_the_command_line_alone() {
    let all = texts();
    let sections = all.split("\n# ").filter(|section| {
        section.starts_with("src/")
            && !section.starts_with("src/cli")
            && !section.starts_with("src/page")
    });
    for line in sections.flat_map(str::lines) {
        let named = line.match_indices("--").any(|(at, _)| {
            line[at + 2..].starts_with(|c: char| c.is_ascii_lowercase())
                && !line[..at].ends_with('-')
        });
        assert!(!named, "{line}");
    }
}

/// Words that plain English does without: see the habits in DEVELOPERS.md. The verdict's own sentences
/// are not read here.
#[test]
fn stilted_words_are_gone() {
    let all = texts();
    let sections = all.split("\n# ").filter(|section| !section.starts_with("src/verdict"));
    for line in sections.flat_map(str::lines) {
        for words in
            ["aslant", "hardly to be seen", "stand for light", "is no way", "all to be seen"]
        {
            assert!(!line.contains(words), "{words}: {line}");
        }
    }
}

/// A source that a comment cites by its key, as `ISO12233`, has its line in `src/verification.md`, and each line
/// there is cited.
#[test]
fn sources_that_are_cited_are_listed() {
    let page = fs::read_to_string("src/verification.md").unwrap();
    let table = page.split("\n# Sources").nth(1).unwrap();
    let listed: BTreeSet<&str> = table
        .lines()
        .filter_map(|line| line.strip_prefix("| `"))
        .filter_map(|row| row.split('`').next())
        .collect();
    let is_key = |word: &str| {
        let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
        (2..=5).contains(&(word.len() - letters.len()))
            && letters.starts_with(|c: char| c.is_ascii_uppercase())
            && letters.chars().all(|c| c.is_ascii_alphabetic())
    };
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let mut cited = BTreeSet::new();
    for file in files {
        let code = fs::read_to_string(&file).unwrap();
        let comments = code.lines().filter(|line| line.trim_start().starts_with("//"));
        for word in comments.flat_map(|line| line.split('`').skip(1).step_by(2)) {
            assert!(!is_key(word) || listed.contains(word), "{}: {word}", file.display());
            if let Some(key) = listed.get(word) {
                cited.insert(*key);
            }
        }
    }
    assert_eq!(listed.difference(&cited).collect::<Vec<_>>(), Vec::<&&str>::new());
}
