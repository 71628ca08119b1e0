//! What changes nothing: how an outline lies, which way round it is, and in which order it is written.

use super::change::Change;
use super::seeds;
use foramen::camera::Camera;
use foramen::geometry::{Outline, Point, shapes};
use foramen::hole::{Hole, Sizes, Source};
use foramen::task::{appraise, gauge};
use foramen::verdict::decision::hand::Hand;

/// Ragged holes of each run.
const HOLES: u64 = 24;
/// Of these so many are judged.
const JUDGED: u64 = 4;

/// A hole with a rim of a few waves, and in every other one an island.
fn hole(change: &mut Change, with_island: bool) -> Vec<Vec<Point>> {
    let waves: Vec<[f64; 3]> = (2..8)
        .map(|order| {
            [f64::from(order), 0.03 * change.share() / f64::from(order), 6.3 * change.share()]
        })
        .collect();
    let rim = move |turn: f64| {
        let of = |[order, size, phase]: &[f64; 3]| size * (order * turn + phase).cos();
        0.15 * (1.0 + waves.iter().map(of).sum::<f64>())
    };
    let mut loops = shapes::polar(90 + change.below(60), rim).unwrap().loops().to_vec();
    if with_island {
        let [x, y] = [0, 1].map(|_| 0.05 * (change.share() - 0.5));
        loops.push(vec![[x, y], [x + 0.04, y], [x + 0.03, y + 0.05]]);
    }
    loops
}

fn sizes(loops: Vec<Vec<Point>>) -> Sizes {
    let hole = Hole::of(&Source::Outline(Outline::new(loops).unwrap())).unwrap();
    gauge::run(&gauge::Request { hole, camera: None }, foramen::Watch::nobody()).unwrap().hole
}

/// Compares sizes, the second times a factor. Circles are searched to a millionth; the rest is rounding.
fn same(one: &Sizes, other: &Sizes, factor: f64, what: &str) {
    let of = |sizes: &Sizes| {
        [
            (sizes.equivalent_diameter_mm, 1e-9),
            (sizes.perimeter_mm, 1e-9),
            (sizes.feret_max_mm, 1e-9),
            (sizes.feret_min_mm, 1e-9),
            (sizes.least_squares_diameter_mm, 1e-6),
            (sizes.inscribed_diameter_mm, 1e-5),
            (sizes.circumscribed_diameter_mm, 1e-6),
        ]
    };
    for (index, ((a, within), (b, _))) in of(one).into_iter().zip(of(other)).enumerate() {
        assert!((factor * b / a - 1.0).abs() < within, "{what}, size {index}: {a} {}", factor * b);
    }
}

#[test]
fn sizes_hold_however_an_outline_lies_or_is_written() {
    for seed in 0..HOLES {
        let mut change = Change::new(seed + 11);
        let loops = hole(&mut change, seed % 2 == 1);
        let before = sizes(loops.clone());
        let outline = Outline::new(loops.clone()).unwrap();
        let map = |to: &dyn Fn(Point) -> Point| -> Vec<Vec<Point>> {
            loops.iter().map(|points| points.iter().map(|point| to(*point)).collect()).collect()
        };
        let turn = 6.3 * change.share();
        same(&before, &sizes(outline.turned(turn).loops().to_vec()), 1.0, "turned");
        same(&before, &sizes(outline.moved(3.0, -7.0).loops().to_vec()), 1.0, "moved");
        same(&before, &sizes(map(&|[x, y]| [-x, y])), 1.0, "mirrored");
        let factor = 0.3 + 3.0 * change.share();
        let wider = map(&|[x, y]| [factor * x, factor * y]);
        same(&before, &sizes(wider), 1.0 / factor, "scaled");
        let backwards: Vec<_> = loops.iter().map(|l| l.iter().rev().copied().collect()).collect();
        same(&before, &sizes(backwards), 1.0, "run backwards");
        same(&before, &sizes(loops.iter().rev().cloned().collect()), 1.0, "loops in other order");
        let mut elsewhere = loops.clone();
        for points in &mut elsewhere {
            let start = change.below(points.len());
            points.rotate_left(start);
        }
        same(&before, &sizes(elsewhere), 1.0, "begun elsewhere");
    }
}

/// On a square film a verdict asks neither which way a hole lies, by quarter turns and in a mirror, nor how its
/// outline is written.
#[test]
fn verdicts_hold_however_an_outline_lies_or_is_written() {
    let camera = "[film]\ndistance = \"100 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n";
    let camera = Camera::parse(camera, "camera.toml", &seeds::a_curve).unwrap();
    let judged = |loops: Vec<Vec<Point>>| {
        let hole = Hole::of(&Source::Outline(Outline::new(loops).unwrap())).unwrap();
        let hand = Hand::unknown();
        let camera = camera.clone();
        let request = appraise::Request { camera, hole, hand, again: false, others: Vec::new() };
        appraise::judge(&request, foramen::Watch::nobody()).unwrap().verdict
    };
    for seed in 0..JUDGED {
        let mut change = Change::new(seed + 71);
        let loops = hole(&mut change, seed % 2 == 1);
        let before = judged(loops.clone());
        let map = |to: &dyn Fn(Point) -> Point| -> Vec<Vec<Point>> {
            loops.iter().map(|points| points.iter().map(|point| to(*point)).collect()).collect()
        };
        let mut elsewhere = loops.clone();
        for points in &mut elsewhere {
            let start = change.below(points.len());
            points.rotate_left(start);
        }
        let backwards: Vec<_> = loops.iter().map(|l| l.iter().rev().copied().collect()).collect();
        // The sheet is looked at from other sides, along other directions: what that is worth, in jnd.
        let sides = 0.02;
        for (what, other, within) in [
            ("turned by a quarter", map(&|[x, y]| [-y, x]), sides),
            ("mirrored", map(&|[x, y]| [-x, y]), sides),
            ("run backwards", backwards, 1e-9),
            ("loops in other order", loops.iter().rev().cloned().collect(), 1e-9),
            ("begun elsewhere", elsewhere, 1e-9),
        ] {
            let after = judged(other);
            let apart = (after.loss_jnd - before.loss_jnd).abs();
            assert!(apart <= within, "{what}: {} and {} jnd", before.loss_jnd, after.loss_jnd);
            assert_eq!(after.action, before.action, "{what}");
        }
    }
}
