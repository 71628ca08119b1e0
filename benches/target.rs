//! How long does it take to find the disc with the smallest circle of 80 % of the energy, in light of
//! 31 wavelengths?

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod measured;

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::verdict::tightest::{Tightest, tightest_disc};
use foramen::wave::{Distances, Light};
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

criterion_group!(benches, best_diameter);
criterion_main!(benches);
