//! From a photo's file to everything measured on its hole. Ratios between runs on one machine mean
//! something; times do not.

#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::geometry::shapes;
use foramen::hole::specimen::{Look, photograph};
use foramen::hole::{Hole, Scale, trace};
use foramen::raster::{Transfer, display, open};
use foramen::task::gauge;
use image::codecs::jpeg::JpegEncoder;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;

/// A JPEG of 12 megapixels with a hole of 1000 pixels.
fn photo(path: &Path) {
    let look = Look { rows: 3000, columns: 4000, centre_px: [2010.3, 1490.7], ..Look::default() };
    let picture = photograph(&shapes::ellipse(1.02, 0.98).unwrap(), &look).unwrap();
    let file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    JpegEncoder::new_with_quality(file, 90).encode_image(&display(&picture).unwrap()).unwrap();
}

fn traced(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hole.jpg");
    photo(&path);
    let scale = || Scale::read("1000 px = 1 mm").unwrap();
    let picture = Arc::new(open(&path, Transfer::ByFile).unwrap());
    let hole = Hole::of_picture(Arc::clone(&picture), &path, scale(), None).unwrap();
    let mut group = criterion.benchmark_group("a 12-megapixel JPEG");
    group.sample_size(10);
    group.bench_function("opened", |bench| {
        bench.iter(|| open(black_box(&path), Transfer::ByFile).unwrap());
    });
    group.bench_function("traced", |bench| {
        bench.iter(|| trace(black_box(&picture), None, &path).unwrap());
    });
    group.bench_function("gauged", |bench| {
        bench.iter(|| gauge::run(black_box(&hole), None).unwrap());
    });
    group.finish();
}

criterion_group!(benches, traced);
criterion_main!(benches);
