//! How long does a picture of 12 million pixels take with a 257 x 257 point-spread function of its
//! own in each colour, with all threads and with one?

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod measured;

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::picture::{Kernel, KernelGrid, form};
use foramen::raster::Raster;
use ndarray::{Array2, Array3};
use std::hint::black_box;
use std::time::Duration;

fn scene(rows: usize, columns: usize) -> Raster {
    Raster {
        linear: Array3::from_shape_fn((3, rows, columns), |(channel, row, column)| {
            ((channel * 31 + row * 17 + column * 13) % 101) as f32 / 100.0
        }),
    }
}

fn kernel(side: usize, radius_px: f64) -> Kernel {
    let middle = (side / 2) as f64;
    let spread = Array2::from_shape_fn((side, side), |(row, column)| {
        let (y, x) = (row as f64 - middle, column as f64 - middle - 2.0);
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

/// The hat over a node: the share that the kernel there has in a point at sample `at` of `count`.
fn hat(at: usize, count: usize, node: usize, nodes: usize) -> f64 {
    let position = (at as f64 + 0.5) / count as f64 * (nodes - 1) as f64;
    (1.0 - (position - node as f64).abs()).max(0.0)
}

/// The largest error at some 200 points, relative to the scene's largest value, by the definition
/// in f64: kernels narrower than the scene.
fn error(scene: &Raster, grid: &KernelGrid, formed: &Raster) -> f64 {
    let (_, rows, columns) = scene.linear.dim();
    let full = scene.linear.iter().fold(0.0, |full: f32, value| full.max(value.abs()));
    let mut worst: f64 = 0.0;
    for sample in 0..201 {
        // Steps that share no factor with the sides visit them evenly, the borders too.
        let channel = sample % 3;
        let (row, column) = (sample * 1499 % rows, (sample * 2999 + 3999) % columns);
        let mut sum = 0.0;
        for (node, kernels) in grid.kernels().iter().enumerate() {
            let weights = kernels[channel].weights();
            let (down, across) = (weights.nrows() / 2, weights.ncols() / 2);
            for ((i, j), &weight) in weights.indexed_iter() {
                let from_row = mirrored((row + down) as isize - i as isize, rows);
                let from_column = mirrored((column + across) as isize - j as isize, columns);
                let share = hat(from_row, rows, node / grid.across(), grid.down())
                    * hat(from_column, columns, node % grid.across(), grid.across());
                let light = f64::from(scene.linear[[channel, from_row, from_column]]);
                sum += share * f64::from(weight) * light;
            }
        }
        worst = worst.max((f64::from(formed.linear[[channel, row, column]]) - sum).abs());
    }
    worst / f64::from(full)
}

fn twelve_megapixels(criterion: &mut Criterion) {
    let scene = scene(3000, 4000);
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let grid = KernelGrid::uniform([9.0, 8.0, 7.0].map(|radius| kernel(257, radius)));
    let job = || form(black_box(&scene), &grid);
    let alone = || one.install(job);
    measured::report("form/t4_12mp", job, |formed| error(&scene, &grid, formed));
    measured::report("form/t4_12mp_one_thread", alone, |formed| error(&scene, &grid, formed));
    let mut group = criterion.benchmark_group("form");
    group.sample_size(10).warm_up_time(Duration::from_millis(500));
    group.bench_function("t4_12mp", |bench| bench.iter(job));
    group.bench_function("t4_12mp_one_thread", |bench| bench.iter(alone));
    group.finish();
}

fn varying(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("form");
    group.sample_size(10).warm_up_time(Duration::from_millis(500));
    for (id, rows, columns, side) in
        [("t4_12mp_9x5", 3000, 4000, 257), ("t4_1mp_9x5", 833, 1200, 71)]
    {
        let scene = scene(rows, columns);
        let kernels = (0..45)
            .map(|node| [9.0, 8.0, 7.0].map(|radius| kernel(side, radius + f64::from(node % 9))));
        let grid = KernelGrid::new(9, 5, kernels.collect()).unwrap();
        let job = || form(black_box(&scene), &grid);
        measured::report(&format!("form/{id}"), job, |formed| error(&scene, &grid, formed));
        group.bench_function(id, |bench| bench.iter(job));
    }
    group.finish();
}

criterion_group!(benches, twelve_megapixels, varying);
criterion_main!(benches);
