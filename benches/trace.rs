//! From a photo's file to everything measured on its hole. Ratios between runs on one machine mean
//! something; times do not.

#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::geometry::shapes;
use foramen::hole::specimen::{Look, photograph};
use foramen::hole::{Hole, Scale, trace};
use foramen::raster::{Transfer, decoded, display};
use foramen::task::gauge;
use image::codecs::jpeg::JpegEncoder;
use std::hint::black_box;
use std::sync::Arc;

/// A JPEG of 12 megapixels with a hole of 1000 pixels.
fn photo() -> Vec<u8> {
    let look = Look { rows: 3000, columns: 4000, centre_px: [2010.3, 1490.7], ..Look::default() };
    let picture = photograph(&shapes::ellipse(1.02, 0.98).unwrap(), &look).unwrap();
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 90)
        .encode_image(&display(&picture).unwrap())
        .unwrap();
    bytes
}

fn traced(criterion: &mut Criterion) {
    let bytes = photo();
    let scale = || Scale::read("1000 px = 1 mm").unwrap();
    let picture = Arc::new(decoded(&bytes, Transfer::ByFile).unwrap().raster);
    let hole = Hole::of_picture(Arc::clone(&picture), scale(), None).unwrap();
    let request = gauge::Request { hole, camera: None };
    let mut group = criterion.benchmark_group("a 12-megapixel JPEG");
    group.sample_size(10);
    group.bench_function("opened", |bench| {
        bench.iter(|| decoded(black_box(&bytes), Transfer::ByFile).unwrap());
    });
    group.bench_function("traced", |bench| {
        bench.iter(|| trace(black_box(&picture), None).unwrap());
    });
    group.bench_function("gauged", |bench| {
        bench.iter(|| gauge::run(black_box(&request), foramen::Watch::nobody()).unwrap());
    });
    group.finish();
}

criterion_group!(benches, traced);
criterion_main!(benches);
