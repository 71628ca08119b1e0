//! How long does the picture of a curved film take in daylight, of 12 and of one million pixels, with the
//! point-spread functions of its 9 by 5 places?

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod measured;

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::camera::{Axis, Camera, Film, Shape};
use foramen::geometry::shapes;
use foramen::picture::{film_kernels, form};
use foramen::raster::Raster;
use foramen::task::preview::{self, Answer};
use foramen::wave::Distances;
use ndarray::Array3;
use std::hint::black_box;
use std::sync::Arc;
use std::time::Duration;

fn tube() -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.distances = Distances::distant(100.0).unwrap();
    camera.film = Film {
        width_mm: 120.0,
        height_mm: 90.0,
        shape: Shape::Cylinder { radius_mm: 50.0, axis: Axis::Vertical },
    };
    camera
}

fn pictures(criterion: &mut Criterion) {
    let (camera, hole) = (tube(), shapes::burred_disc(0.36, 0.5, 0.2, 0.05).unwrap());
    let mut group = criterion.benchmark_group("preview");
    group.sample_size(10).warm_up_time(Duration::from_millis(500));
    for (id, rows, columns) in [("12mp", 3000, 4000), ("1mp", 866, 1155)] {
        let image = Raster {
            linear: Array3::from_shape_fn((3, rows, columns), |(channel, row, column)| {
                ((channel * 31 + row * 17 + column * 13) % 101) as f32 / 100.0
            }),
        };
        let request = preview::Request {
            camera: camera.clone(),
            outline: hole.clone(),
            image: Arc::new(image),
        };
        let image = &request.image;
        let job = || preview::run(black_box(&request), foramen::Watch::nobody()).unwrap();
        measured::report(&format!("preview/{id}"), job, |found: &Answer| {
            assert_eq!(found.nodes, [5, 9]);
            found.contrast_error
        });
        group.bench_function(id, |bench| bench.iter(job));
        let kernels = || {
            film_kernels(&camera, &hole, [columns, rows], [5, 9], foramen::Watch::nobody()).unwrap()
        };
        group.bench_function(format!("{id}_kernels"), |bench| bench.iter(kernels));
        let kernels = kernels();
        group.bench_function(format!("{id}_form"), |bench| bench.iter(|| form(image, &kernels)));
    }
    group.finish();
}

criterion_group!(benches, pictures);
criterion_main!(benches);
