//! The table of decisions: sizes from half to twice the best, by photo and by count, round, oval, with two burrs and
//! with coarse ones, in thin and in thick metal, in a tube and in a box. Read by a maker, line by line.
//!
//! `cargo test --release --test decisions -- --nocapture --include-ignored` prints it. A letter an action: S stop,
//! E enlarge, R ream, D deburr, C clean, M measure, O start over.

#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use foramen::camera::{Camera, Film, Shape};
use foramen::geometry::{Outline, shapes};
use foramen::verdict::camera_losses::Reference;
use foramen::verdict::hand::Hand;
use foramen::verdict::judgement::{Verdict, verdict};
use foramen::verdict::outlook::{Action, Looked, Means};
use foramen::wave::Distances;
use rayon::prelude::*;

const STEPS: usize = 31;

/// A box with the film at 120 mm, and a tube with it at 27 mm.
fn cameras() -> [(&'static str, Camera); 2] {
    let cedar = Camera::demonstration().unwrap();
    let mut tube = cedar.clone();
    tube.distances = Distances::distant(27.0).unwrap();
    tube.film = Film { width_mm: 36.0, height_mm: 24.0, shape: Shape::Flat };
    tube.print.enlargement = 5.0;
    [("box", cedar), ("tube", tube)]
}

/// A tongue of metal at an angle.
fn tongue(p: f64, at: f64, half_rad: f64, depth: f64) -> f64 {
    let turn = (p - at).sin().atan2((p - at).cos()).abs();
    depth * (1.0 - turn / half_rad).max(0.0)
}

/// A form of about unit diameter.
fn form(name: &str) -> Outline {
    let radius = |p: f64| match name {
        "round" => 0.5,
        // 1.3 : 1, of the same area.
        "oval" => {
            let (a, b) = (0.5 * 1.3f64.sqrt(), 0.5 / 1.3f64.sqrt());
            a * b / (b * p.cos()).hypot(a * p.sin())
        }
        "two burrs" => 0.5 - tongue(p, 0.9, 0.2, 0.12) - tongue(p, 3.6, 0.15, 0.1),
        _ => {
            0.5 - tongue(p, 0.4, 0.3, 0.25) - tongue(p, 2.4, 0.28, 0.22) - tongue(p, 4.5, 0.3, 0.2)
        }
    };
    shapes::polar(720, radius).unwrap()
}

fn letter(action: Action) -> char {
    match action {
        Action::Stop => 'S',
        Action::Enlarge => 'E',
        Action::Ream => 'R',
        Action::Deburr => 'D',
        Action::Clean => 'C',
        Action::Measure => 'M',
        Action::StartOver => 'O',
    }
}

/// From 0.5 to 2 times the best, even in the logarithm.
fn size(i: usize) -> f64 {
    0.5 * 4f64.powf(i as f64 / (STEPS - 1) as f64)
}

fn judged(
    camera: &Camera,
    reference: &Reference,
    form: &Outline,
    size: f64,
    means: Means,
) -> Verdict {
    let mm = size * reference.target.diameter_mm;
    let hole = form.scaled(mm);
    // A photo is known to 0.6 %, a count to a quarter of a diameter: 2/√3 of a half-width.
    let known = if means == Means::Count { 0.25 * 2.0 / 3f64.sqrt() * mm } else { 0.006 };
    let looked = Looked { means, diameter_uncertainty_mm: known * mm, again: false };
    verdict(camera, reference, &hole, looked, &Hand::unknown()).unwrap()
}

/// What holds of every single decision.
fn check(found: &Verdict, place: &str) {
    let now = found.expected_loss_jnd;
    let after = match found.action {
        Action::Enlarge => Some(found.next_pass.prospect.expected_loss_jnd),
        Action::Ream => found.reaming.map(|one| one.expected_loss_jnd),
        Action::Deburr | Action::Clean => found.deburring.map(|one| one.expected_loss_jnd),
        _ => None,
    };
    assert!(after.is_none_or(|after| after < now), "{place}: {found:?}");
    if found.loss_jnd < 1.0 {
        assert_eq!(found.action, Action::Stop, "{place}");
    }
    if !found.rim_seen {
        assert!(found.burrs.is_none() && found.lines.is_none(), "{place}");
    }
}

/// The rows at every `each`-th size.
fn rows(each: usize) -> Vec<(String, String)> {
    let mut rows = Vec::new();
    for (camera_name, camera) in cameras() {
        for (plate_name, plate_mm) in [("thin", 0.05), ("thick", 0.3)] {
            let share = camera.distances.film_mm() / 120.0;
            let camera = Camera { plate_mm: plate_mm * share.sqrt(), ..camera.clone() };
            let reference = Reference::of(&camera);
            for (means, form_name) in [
                (Means::Count, "round"),
                (Means::Outline, "round"),
                (Means::Outline, "oval"),
                (Means::Outline, "two burrs"),
                (Means::Outline, "coarse burrs"),
            ] {
                let form = form(form_name);
                let judge = |i: usize| {
                    let found = judged(&camera, &reference, &form, size(i), means);
                    check(&found, &format!("{camera_name} {plate_name} {form_name} {i}"));
                    letter(found.action)
                };
                let letters: Vec<usize> = (0..STEPS).step_by(each).collect();
                let line: String =
                    letters.into_par_iter().map(judge).collect::<Vec<_>>().iter().collect();
                let by = if means == Means::Count { "count" } else { "photo" };
                let name = format!("{camera_name:<4} {plate_name:<5} {by} {form_name:<12}");
                println!("{name} {line}");
                rows.push((name.trim().to_owned(), line));
            }
        }
    }
    rows
}

fn committed() -> Vec<(String, String)> {
    let table = include_str!("reference/decisions.txt");
    let row = |line: &str| {
        let (name, letters) = line.rsplit_once(' ')?;
        Some((name.trim().to_owned(), letters.to_owned()))
    };
    table.lines().filter(|line| !line.starts_with('#')).filter_map(row).collect()
}

/// That rows are those of the committed table, at every `each`-th size; rows that it does not hold are printed only.
fn compare(found: &[(String, String)], each: usize) {
    let committed = committed();
    for (name, line) in found {
        if let Some((_, letters)) = committed.iter().find(|(own, _)| own == name) {
            let expected: String = letters.chars().step_by(each).collect();
            assert_eq!(line, &expected, "{name}");
        }
    }
}

/// A few sizes of each row; what holds of single decisions besides.
#[test]
fn decisions_are_those_of_the_table() {
    compare(&rows(10), 10);
}

/// The whole table, and that each row is read once from left to right: widened, left alone, made anew.
#[test]
#[ignore = "minutes: every size"]
fn the_whole_table() {
    let found = rows(1);
    assert_eq!(found.len(), 20);
    for (name, line) in &found {
        // Once it is left alone it is never to be widened when it is wider.
        let first = line.find(['S', 'D']).unwrap_or(STEPS);
        assert!(!line[first..].contains(['E', 'C']), "{name}: {line}");
        let given_up = line.find(['O', 'M']).unwrap_or(STEPS);
        assert!(!line[given_up..].contains(['S', 'E', 'R', 'D']), "{name}: {line}");
        // The wider hole is never given up before it is too wide.
        assert!(given_up > STEPS / 2, "{name}: {line}");
    }
    compare(&found, 1);
}
