//! How long does a picture of 12 million pixels take with a 257 x 257 point-spread function of its
//! own in each colour, with all threads and with one?

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

fn twelve_megapixels(criterion: &mut Criterion) {
    let scene = Raster {
        linear: Array3::from_shape_fn((3, 3000, 4000), |(channel, row, column)| {
            ((channel * 31 + row * 17 + column * 13) % 101) as f32 / 100.0
        }),
    };
    let kernels = [kernel(9.0), kernel(8.0), kernel(7.0)];
    let each = [&kernels[0], &kernels[1], &kernels[2]];
    let formed = form(&scene, each);
    let light = |raster: &Raster| raster.linear.iter().map(|&v| f64::from(v)).sum::<f64>();
    assert!((light(&formed) / light(&scene) - 1.0).abs() < 1e-3);
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
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
