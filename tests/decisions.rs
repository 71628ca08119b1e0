//! The table of decisions: sizes from half to twice the best, by photo and by count, round, oval, with two burrs and
//! with coarse ones, in thin and in thick metal, in a tube and in a box. Read by a maker, line by line.
//!
//! `cargo test --release --test decisions -- --nocapture --include-ignored` prints it. A letter an action: S stop,
//! E enlarge, R ream, D deburr, C clean, M measure, O start over.

#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use foramen::camera::{Camera, Film, Shape};
use foramen::geometry::{Outline, shapes};
use foramen::verdict::decision::hand::Hand;
use foramen::verdict::decision::outlook::{Action, Looked, Means};
use foramen::verdict::judgement::{Verdict, verdict};
use foramen::verdict::losses::Reference;
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
    // A photo is known to 0.6 %, a count to a quarter of a diameter: 2/√3 of a half-width.
    let known = if means == Means::Count { 0.25 * 2.0 / 3f64.sqrt() * mm } else { 0.006 };
    judged_within(camera, reference, &form.scaled(mm), means, known)
}

/// A hole whose diameter is known to a share of it.
fn judged_within(
    camera: &Camera,
    reference: &Reference,
    hole: &Outline,
    means: Means,
    known: f64,
) -> Verdict {
    let diameter_uncertainty_mm = known * hole.equivalent_diameter_mm();
    let looked = Looked { means, diameter_uncertainty_mm, again: false };
    verdict(camera, reference, hole, looked, &Hand::unknown()).unwrap()
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
        assert_eq!(found.alternative, None, "{place}");
    }
    match found.action {
        // Nothing that loses more than 3 jnd is left as it is, nothing that loses less is given up.
        Action::Stop => assert!(found.loss_jnd <= 3.0, "{place}: {}", found.loss_jnd),
        Action::StartOver => assert!(found.loss_jnd > 3.0, "{place}: {}", found.loss_jnd),
        _ => {}
    }
    if !found.rim_seen {
        assert!(found.burrs.is_none() && found.lines.is_none(), "{place}");
        assert!(found.reaming.is_none() && found.costs_jnd.ream.is_none(), "{place}");
        assert_ne!(found.action, Action::Ream, "{place}");
    }
}

/// How bold an action is: what it may spoil.
fn boldness(action: Action) -> u8 {
    match action {
        Action::Stop | Action::Measure => 0,
        Action::Clean => 1,
        Action::Deburr => 2,
        Action::Enlarge => 3,
        Action::Ream => 4,
        Action::StartOver => 5,
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

/// What the rule says of a round hole that a photo has measured, by its loss and its side.
fn rule(found: &Verdict) -> Action {
    // A pass on a hole at its best size or above may only end worse.
    let is_small = found.counterfactuals_jnd.widened < found.loss_jnd - 0.05;
    match found.loss_jnd {
        loss if loss < 1.0 => Action::Stop,
        _ if is_small => Action::Enlarge,
        loss if loss <= 3.0 => Action::Stop,
        _ => Action::StartOver,
    }
}

/// The action once the size is known: a hole whose doubt reaches below 3 jnd is measured again before it is given up.
fn settled(verdict: &Verdict) -> Action {
    match verdict.action {
        Action::Measure => Action::StartOver,
        action => action,
    }
}

/// Round holes in steps of 1.5 %, by photo and by count: each figure moves by no more than the loss itself does, and the
/// action changes where the loss passes 1 or 3 jnd alone (measured again before it is given up, where the doubt reaches
/// below).
#[test]
fn a_little_wider_changes_little() {
    let (_, camera) = &cameras()[0];
    let reference = Reference::of(camera);
    let round = form("round");
    let steps: Vec<i32> = (-34..=26).collect();
    for means in [Means::Outline, Means::Count] {
        let judge =
            |i: &i32| judged(camera, &reference, &round, (0.015 * f64::from(*i)).exp(), means);
        let found: Vec<Verdict> = steps.par_iter().map(judge).collect();
        for (verdict, i) in found.iter().zip(&steps) {
            check(verdict, &format!("{means:?} {i}"));
            assert_eq!(settled(verdict), rule(verdict), "{means:?} {i}: {}", verdict.loss_jnd);
        }
        for (two, i) in found.windows(2).zip(&steps) {
            let (a, b) = (&two[0], &two[1]);
            let apart = |of: fn(&Verdict) -> f64| (of(a) - of(b)).abs();
            // A disc's curve rises by less than 80 jnd by the logarithm of the size here.
            assert!(apart(|v| v.loss_jnd) < 1.2, "{i}");
            assert!(apart(|v| v.expected_loss_jnd) < 1.2, "{i}");
            assert!(apart(|v| v.next_pass.aim_mm.ln()) < 0.03, "{i}");
            assert!(apart(|v| v.next_pass.prospect.expected_loss_jnd) < 1.2, "{i}");
            // A hole at the end of the band falls out of it by a hair: the chance counts where a pass is advised.
            if [a, b].iter().all(|verdict| verdict.action == Action::Enlarge) {
                assert!(apart(|v| v.next_pass.prospect.chance_within_1_jnd) < 0.2, "{i}");
            }
            assert!(apart(|v| v.costs_jnd.enlarge) < 0.5, "{i}");
        }
    }
}

/// One hole in metal of more and more thickness: the advice follows from its loss alone, which changes little by little.
#[test]
fn a_little_more_metal_changes_little() {
    for (name, camera) in cameras() {
        let best_mm = Reference::of(&camera).target.diameter_mm;
        let share = camera.distances.film_mm() / 120.0;
        let mut last: Vec<f64> = Vec::new();
        for step in 0..8 {
            let plate_mm = 0.03 * f64::from(step) * share.sqrt();
            let camera = Camera { plate_mm, ..camera.clone() };
            let reference = Reference::of(&camera);
            let judge = |size: &f64| {
                let hole = shapes::disc(size * best_mm).unwrap();
                judged_within(&camera, &reference, &hole, Means::Outline, 0.006)
            };
            let found: Vec<Verdict> = [0.8, 0.87, 1.0, 1.14, 1.24].par_iter().map(judge).collect();
            for verdict in &found {
                check(verdict, &format!("{name} {plate_mm}"));
                assert_eq!(settled(verdict), rule(verdict), "{name} {plate_mm}");
            }
            for (a, b) in found.iter().zip(&last) {
                // The best hole of such metal is 1 % wider, where a disc's curve rises by up to 60 jnd by the logarithm.
                assert!((a.loss_jnd - b).abs() < 0.7, "{name} {plate_mm}: {} {b}", a.loss_jnd);
            }
            last = found.iter().map(|verdict| verdict.loss_jnd).collect();
        }
    }
}

/// A burr that grows asks for nothing bolder than taking it off, unless it brings a wide hole above 3 jnd; and once it
/// is worth taking off it stays so.
#[test]
fn a_deeper_burr_makes_nothing_bolder() {
    let (_, camera) = &cameras()[0];
    let reference = Reference::of(camera);
    for size in [0.75, 0.9, 1.0, 1.12, 1.2, 1.3] {
        let judge = |i: i32| {
            let depth = 0.03 * f64::from(i);
            let form = shapes::polar(720, |p| 0.5 - tongue(p, 0.9, 0.25, depth)).unwrap();
            judged(camera, &reference, &form, size, Means::Outline)
        };
        let found: Vec<Verdict> = (0..10).into_par_iter().map(judge).collect();
        let most = boldness(found[0].action).max(boldness(Action::Deburr));
        for (i, verdict) in found.iter().enumerate() {
            let place = format!("{size} {i}: {:?} {}", verdict.action, verdict.loss_jnd);
            check(verdict, &place);
            let is_lost = verdict.loss_jnd > 3.0 && verdict.causes_jnd.size > 1.0 && size > 1.0;
            assert!(boldness(verdict.action) <= most || is_lost, "{place}");
        }
    }
}

/// The less a size is known the less is ventured.
#[test]
fn more_doubt_makes_nothing_bolder() {
    for (name, camera) in cameras() {
        let reference = Reference::of(&camera);
        for size in [0.6, 0.8, 0.86, 0.95, 1.1, 1.2, 1.24, 1.27, 1.4] {
            let hole = shapes::disc(size * reference.target.diameter_mm).unwrap();
            for means in [Means::Size, Means::Outline] {
                let judge =
                    |i: i32| judged_within(&camera, &reference, &hole, means, 0.04 * f64::from(i));
                let found: Vec<Verdict> = (0..12).into_par_iter().map(judge).collect();
                let mut last = u8::MAX;
                for (i, verdict) in found.iter().enumerate() {
                    let place = format!("{name} {size} {i}");
                    check(verdict, &place);
                    assert!(boldness(verdict.action) <= last, "{place}: {:?}", verdict.action);
                    last = boldness(verdict.action);
                }
            }
        }
    }
}

fn committed() -> Vec<(String, String)> {
    let table = include_str!("reference/decisions.txt");
    let row = |line: &str| {
        let (name, letters) = line.rsplit_once(' ')?;
        Some((name.trim().to_owned(), letters.to_owned()))
    };
    table.lines().filter(|line| !line.starts_with('#')).filter_map(row).collect()
}

/// That rows are those of the committed table, at every `each`-th size.
fn compare(found: &[(String, String)], each: usize) {
    let committed = committed();
    assert_eq!(found.len(), committed.len());
    for (name, line) in found {
        let (_, letters) = committed.iter().find(|(own, _)| own == name).unwrap();
        let expected: String = letters.chars().step_by(each).collect();
        assert_eq!(line, &expected, "{name}");
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
