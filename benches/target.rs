//! How long does it take to find the disc with the smallest circle of 80 % of the energy, in light of
//! 31 wavelengths; to judge one hole over the whole sheet; to find a camera's best disc by that; to weigh all work on
//! a hole; and to decide on one?

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod measured;

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::camera::{Axis, Camera, Film, Shape};
use foramen::geometry::{Outline, shapes};
use foramen::verdict::decision::hand::Hand;
use foramen::verdict::decision::outlook::{Looked, Means};
use foramen::verdict::decision::plan::{Losses, Plan};
use foramen::verdict::judgement::verdict;
use foramen::verdict::losses::Reference;
use foramen::verdict::merit::{quality, quality_at, quality_of_disc};
use foramen::verdict::target::tightest::{Tightest, tightest_disc};
use foramen::verdict::target::{Target, target};
use foramen::wave::{Distances, Gauss, Light};
use std::hint::black_box;

fn best_diameter(criterion: &mut Criterion) {
    let lines: Vec<(f64, f64)> = (0..31).map(|i| (400.0 + 10.0 * f64::from(i), 1.0)).collect();
    let light = Light::new(&lines).unwrap();
    let distances = Distances::distant(80.0).unwrap();
    let job = || tightest_disc(black_box(&light), distances, 0.8).unwrap();
    // mpmath at 30 digits: benches/peers/diameter_task.py.
    let error = |found: &Tightest| (found.circle_mm / 2.0 / 0.218_651_726_684_183_74 - 1.0).abs();
    measured::report("target/t5_best_diameter", job, error);
    let mut group = criterion.benchmark_group("target");
    group.bench_function("t5_best_diameter", |bench| bench.iter(job));
    group.finish();
}

/// The merit by eight by eight places, each looked at more closely.
fn place_by_place(camera: &Camera, hole: &Outline) -> f64 {
    let rule = Gauss::rule(8);
    let (mut sum, mut total) = (0.0, 0.0);
    for (x, width) in rule.on(-1.0, 1.0) {
        for (y, height) in rule.on(-1.0, 1.0) {
            let at = [x * camera.film.width_mm / 2.0, y * camera.film.height_mm / 2.0];
            let weight = width * height * (-x * x - y * y).exp2();
            sum += weight * quality_at(camera, hole, at).unwrap();
            total += weight;
        }
    }
    sum / total
}

fn over_the_sheet(criterion: &mut Criterion) {
    let camera = Camera::demonstration().unwrap();
    let hole = shapes::burred_disc(0.38, 1.0, 0.3, 0.08).unwrap();
    let truth = place_by_place(&camera, &hole);
    let merit = || quality(black_box(&camera), &hole);
    measured::report("target/merit_over_sheet", merit, |found| (found / truth - 1.0).abs());
    let search = || target(black_box(&camera));
    // What the found disc lacks of the best of a hundred.
    let scanned = (0..100).map(|i| quality_of_disc(&camera, 0.3 + 0.002 * f64::from(i)));
    let most = scanned.fold(0.0, f64::max);
    let lacks = |found: &Target| 1.0 - quality_of_disc(&camera, found.diameter_mm) / most;
    measured::report("target/search_over_sheet", search, lacks);
    let mut group = criterion.benchmark_group("target");
    group.bench_function("merit_over_sheet", |bench| bench.iter(merit));
    group.sample_size(20);
    group.bench_function("search_over_sheet", |bench| bench.iter(search));
    group.finish();
}

/// The small dynamic program, and a whole decision on a burred hole in a tube.
fn decisions(criterion: &mut Criterion) {
    let mut camera = Camera::demonstration().unwrap();
    let shape = Shape::Cylinder { radius_mm: 60.0, axis: Axis::Vertical };
    camera.film = Film { width_mm: 180.0, height_mm: 80.0, shape };
    camera.plate_mm = 0.1;
    let reference = Reference::of(&camera);
    let losses = Losses::of_disc(|x| reference.disc_jnd(x));
    let hand = Hand::unknown();
    let mut group = criterion.benchmark_group("decision");
    group.bench_function("program", |bench| bench.iter(|| Plan::solve(black_box(&losses), &hand)));
    group.sample_size(10);
    let hole = shapes::burred_disc(0.38, 1.0, 0.3, 0.08).unwrap();
    let looked = Looked { means: Means::Outline, diameter_uncertainty_mm: 0.002, again: false };
    group.bench_function("whole", |bench| {
        bench.iter(|| {
            let reference = Reference::of(black_box(&camera));
            verdict(&camera, &reference, &hole, looked, &hand).unwrap()
        });
    });
    group.finish();
}

criterion_group!(benches, best_diameter, over_the_sheet, decisions);
criterion_main!(benches);
