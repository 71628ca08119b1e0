//! Eight invented holes as a maker would look at them, and the advice that a maker would agree with.

#![allow(clippy::unwrap_used, clippy::panic)]

use foramen::camera::Camera;
use foramen::geometry::{Outline, shapes};
use foramen::verdict::decision::hand::Hand;
use foramen::verdict::decision::outlook::{Action, Looked, Means};
use foramen::verdict::judgement::{Verdict, verdict};
use foramen::verdict::losses::Reference;
use foramen::words::verdict::reasons;

/// A hole that hands made: r(φ) in mm, and a little roughness of its own.
fn made(radius: impl Fn(f64) -> f64) -> Outline {
    let rough = |p: f64| {
        (7..24)
            .map(|k| 3e-4 / f64::from(k) * (f64::from(k) * (p + f64::from(k * k))).cos())
            .sum::<f64>()
    };
    shapes::polar(720, |p| radius(p) + rough(p)).unwrap()
}

/// A tongue of metal at an angle.
fn tongue(p: f64, at: f64, half_rad: f64, depth_mm: f64) -> f64 {
    let turn = (p - at).sin().atan2((p - at).cos()).abs();
    depth_mm * (1.0 - turn / half_rad).max(0.0)
}

fn oval(p: f64, half_long_mm: f64, half_wide_mm: f64) -> f64 {
    half_long_mm * half_wide_mm / (half_wide_mm * p.cos()).hypot(half_long_mm * p.sin())
}

fn judged(camera: &Camera, hole: &Outline) -> Verdict {
    let reference = Reference::of(camera);
    // Known to a hundredth.
    let looked = Looked {
        means: Means::Outline,
        diameter_uncertainty_mm: 0.01 * hole.equivalent_diameter_mm(),
        again: false,
    };
    verdict(camera, &reference, hole, looked, &Hand::unknown()).unwrap()
}

/// In a camera whose best hole is 0.381 mm.
#[test]
fn a_maker_would_agree() {
    let camera = Camera::demonstration().unwrap();
    let best_mm = Reference::of(&camera).target.diameter_mm;
    // Radii are given for a best hole of 0.38 mm.
    let made = |radius: &dyn Fn(f64) -> f64| made(|p| best_mm / 0.38 * radius(p));
    let speck = shapes::disc(0.08).unwrap().moved(0.05, 0.03).loops()[0].clone();
    let island = speck.into_iter().rev().collect();
    let dirty = Outline::new(vec![made(&|_| 0.19).loops()[0].clone(), island]).unwrap();
    let burred = |p| 0.18 - tongue(p, 0.9, 0.28, 0.12) - tongue(p, 3.6, 0.15, 0.07);
    let cases = [
        // As wide as it should be, round and clean: nothing is left to do.
        ("fine", made(&|_| 0.188), Action::Stop, "No eye can tell"),
        // A half longer than wide, and of the best area: what reaming takes to make it round makes it too wide.
        ("oval", made(&|p| oval(p, 0.235, 0.15)), Action::Stop, "times as long as wide, costs"),
        // The same form, but narrow: a round tool makes it round where it should be anyway.
        ("small oval", made(&|p| oval(p, 0.17, 0.1)), Action::Ream, "Reamed round"),
        // Two tongues that cost what can be seen, and come off.
        ("burred", made(&burred), Action::Deburr, "The 2 burrs cost"),
        // A third of what it should be: far to go, and no hurry.
        ("tiny", made(&|_| 0.06), Action::Enlarge, "Press to about"),
        // Twice what it should be.
        ("huge", made(&|_| 0.4), Action::StartOver, "metal cannot be put back"),
        // Three lobes that cost little: left alone.
        (
            "lobed",
            made(&|p| 0.175 * (1.0 + 0.1 * (3.0 * p).cos())),
            Action::Stop,
            "not quite round",
        ),
        // Dust in a good hole: blown out, and nothing is risked.
        ("dirty", dirty, Action::Clean, "brushed clean"),
    ];
    for (name, hole, action, said) in cases {
        let found = judged(&camera, &hole);
        let said_of_it = reasons(&found);
        println!("{name}: {:?}\n  {}", found.action, said_of_it.join("\n  "));
        assert_eq!(found.action, action, "{name}: {found:?}");
        assert!(said_of_it.iter().any(|reason| reason.contains(said)), "{name}: {said_of_it:?}");
        assert!(said_of_it.len() >= 3, "{name}: {said_of_it:?}");
    }
}

/// A good hole through half a millimetre of brass: the middle is sharp, and the corners are dark.
#[test]
fn a_thick_plate_is_told() {
    let thick = Camera { plate_mm: 0.5, ..Camera::demonstration().unwrap() };
    let found = judged(&thick, &made(|_| 0.18));
    assert!(found.corner.unwrap().open < 0.1, "{found:?}");
    let text = super::answers::foramen(
        std::path::Path::new("."),
        &[
            "appraise",
            "--quick",
            "--hole",
            "0.36 mm",
            "--camera",
            "tests/reference/thick_brass.toml",
        ],
    );
    assert!(text.out.contains("Plate ") && text.out.contains("corners"), "{}", text.out);
}
