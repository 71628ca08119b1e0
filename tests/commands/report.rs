//! The report: valid HTML that needs nothing but itself, and says what it shows.

#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use html5ever::tendril::TendrilSink;
use html5ever::{ParseOpts, parse_document};
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use std::fs;

/// An element: its name, its attributes, and the text right inside it.
type Element = (String, Vec<(String, String)>, String);

/// Every element in the order of the document.
fn elements(node: &Handle, found: &mut Vec<Element>) {
    if let NodeData::Element { name, attrs, .. } = &node.data {
        let attributes = attrs.borrow();
        let attributes =
            attributes.iter().map(|one| (one.name.local.to_string(), one.value.to_string()));
        let text = |child: &Handle| match &child.data {
            NodeData::Text { contents } => contents.borrow().to_string(),
            _ => String::new(),
        };
        let inside = node.children.borrow().iter().map(text).collect();
        found.push((name.local.to_string(), attributes.collect(), inside));
    }
    node.children.borrow().iter().for_each(|child| elements(child, found));
}

#[test]
fn a_report_stands_alone_and_is_valid() {
    let folder = tempfile::tempdir().unwrap();
    let appraise = |hole: &[&str]| {
        Command::new(assert_cmd::cargo::cargo_bin!("foramen"))
            .current_dir(&folder)
            .args(["appraise", "--report", "report.html"])
            .args(hole)
            .assert()
            .success();
        fs::read_to_string(folder.path().join("report.html")).unwrap()
    };
    for hole in [&["--demo"][..], &["--hole", "0.9 mm"]] {
        let html = appraise(hole);
        let document = parse_document(RcDom::default(), ParseOpts::default()).one(html.as_str());
        assert!(document.errors.borrow().is_empty(), "{:?}", document.errors.borrow());
        let mut all = Vec::new();
        elements(&document.document, &mut all);
        let count = |name: &str| all.iter().filter(|element| element.0 == name).count();
        assert_eq!([count("html"), count("h1"), count("main"), count("title")], [1; 4]);
        assert_eq!([count("script"), count("link"), count("iframe")], [0; 3]);
        // Only the plate of the photo needs a photo.
        assert_eq!(count("img"), if hole[0] == "--demo" { 4 } else { 3 });
        let mut level = 1;
        for (name, attributes, _) in &all {
            let value = |key: &str| attributes.iter().find(|one| one.0 == key).map(|one| &one.1);
            match name.as_str() {
                "html" => assert_eq!(value("lang").unwrap(), "en"),
                "img" => {
                    assert!(value("src").unwrap().starts_with("data:image/png;base64,"));
                    assert!(value("alt").unwrap().len() > 40);
                }
                "th" => assert!(["row", "col"].contains(&value("scope").unwrap().as_str())),
                heading if heading.len() == 2 && heading.starts_with('h') && heading != "hr" => {
                    let next: u8 = heading[1..].parse().unwrap();
                    assert!(next <= level + 1, "{heading} after h{level}");
                    level = next;
                }
                _ => {}
            }
        }
        let reaches_out = |words: &str| html.contains(words);
        assert!(!["http:", "https:", "url(", "@import"].into_iter().any(reaches_out));
        let has = |text: &str| all.iter().any(|element| element.2.contains(text));
        assert_eq!(has("invented"), hole[0] == "--demo");
        assert!(has("START OVER") == (hole[0] == "--hole"));
        // The sun's time on the card, as a person says it: 5.3 s for the demonstration's 0.35 mm.
        if hole[0] == "--demo" {
            assert!(has("5 s"));
        }
    }
}
