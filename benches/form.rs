//! How long does a picture of 12 million pixels take with a 257 x 257 point-spread function of its
//! own in each colour, with all threads and with one?
//!
//! Before the times, one line each says how far the result is from a direct sum in f64 at some
//! points, relative to full scale, and how far one run raised the process's memory, result included.

#![allow(missing_docs, clippy::unwrap_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::picture::{Kernel, form};
use foramen::raster::Raster;
use ndarray::{Array2, Array3};
use std::hint::black_box;
use std::time::Duration;

fn kernel(radius_px: f64) -> Kernel {
    let spread = Array2::from_shape_fn((257, 257), |(row, column)| {
        let (y, x) = (row as f64 - 128.0, column as f64 - 130.0);
        1.0 / (1.0 + (x * x + y * y) / (radius_px * radius_px)).powf(1.5)
    });
    Kernel::new(&spread).unwrap()
}

/// The sample of a row or column of `count` that a place beyond its border mirrors.
fn mirrored(place: isize, count: usize) -> usize {
    let last = count as isize - 1;
    if place < 0 {
        (-1 - place) as usize
    } else if place > last {
        (2 * last + 1 - place) as usize
    } else {
        place as usize
    }
}

/// The largest error at some 200 points, relative to the scene's largest value, by the definition
/// in f64: kernels narrower than the scene.
fn error(scene: &Raster, kernels: [&Kernel; 3], formed: &Raster) -> f64 {
    let (_, rows, columns) = scene.linear.dim();
    let full = scene.linear.iter().fold(0.0, |full: f32, value| full.max(value.abs()));
    let mut worst: f64 = 0.0;
    for sample in 0..201 {
        // Steps that share no factor with the sides visit them evenly, the borders too.
        let channel = sample % 3;
        let (row, column) = (sample * 1499 % rows, (sample * 2999 + 3999) % columns);
        let weights = kernels[channel].weights();
        let (down, across) = (weights.nrows() / 2, weights.ncols() / 2);
        let mut sum = 0.0;
        for ((i, j), &weight) in weights.indexed_iter() {
            let from_row = mirrored((row + down) as isize - i as isize, rows);
            let from_column = mirrored((column + across) as isize - j as isize, columns);
            sum += f64::from(weight) * f64::from(scene.linear[[channel, from_row, from_column]]);
        }
        worst = worst.max((f64::from(formed.linear[[channel, row, column]]) - sum).abs());
    }
    worst / f64::from(full)
}

/// A figure of the process's memory in MB of 1024 kB, 0 where the system does not tell.
fn memory_mb(field: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix(field)?.strip_prefix(':'));
    let kb = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1024.0
}

/// Prints what one run costs and is worth, beside its time.
#[allow(clippy::print_stdout)]
fn report(id: &str, scene: &Raster, kernels: [&Kernel; 3], run: impl Fn() -> Raster) {
    // On Linux this sets the highest memory so far back to the present one.
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let before = memory_mb("VmRSS");
    let formed = run();
    let added = memory_mb("VmHWM") - before;
    let error = error(scene, kernels, &formed);
    println!("foramen {id} error {error:.1e} added_mb {added:.0}");
}

fn twelve_megapixels(criterion: &mut Criterion) {
    let scene = Raster {
        linear: Array3::from_shape_fn((3, 3000, 4000), |(channel, row, column)| {
            ((channel * 31 + row * 17 + column * 13) % 101) as f32 / 100.0
        }),
    };
    let kernels = [kernel(9.0), kernel(8.0), kernel(7.0)];
    let each = [&kernels[0], &kernels[1], &kernels[2]];
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    report("form/t4_12mp", &scene, each, || form(&scene, each));
    report("form/t4_12mp_one_thread", &scene, each, || one.install(|| form(&scene, each)));
    let mut group = criterion.benchmark_group("form");
    group.sample_size(10).warm_up_time(Duration::from_millis(500));
    group.bench_function("t4_12mp", |bench| bench.iter(|| form(black_box(&scene), each)));
    group.bench_function("t4_12mp_one_thread", |bench| {
        bench.iter(|| one.install(|| form(black_box(&scene), each)));
    });
    group.finish();
}

criterion_group!(benches, twelve_megapixels);
criterion_main!(benches);
