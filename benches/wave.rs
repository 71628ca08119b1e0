//! How long does a 512 × 512 PSF take: of a disc, and of a lobed, burred outline of 1440 vertices?

#![allow(missing_docs, clippy::unwrap_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Distances, Grid, Light, direct};
use std::hint::black_box;

const DIAMETER_MM: f64 = 0.30;
const NM: f64 = 550.0;
const FILM_MM: f64 = 80.0;

/// 512 samples over ± 6 Airy radii.
fn grid() -> Grid {
    let airy_radius_mm = 1.219_67 * NM * 1e-6 * FILM_MM / DIAMETER_MM;
    Grid::new(512, 12.0 * airy_radius_mm / 512.0).unwrap()
}

/// r = 0.15 (1 + 0.05 cos 5φ + 0.03 sin 2φ) mm, less a tongue of 0.06 mm at φ = 0.7.
fn burred() -> Outline {
    shapes::polar(1440, |phi| {
        let tongue = (1.0 - (phi - 0.7).abs() / 0.12).max(0.0);
        0.15 * (1.0 + 0.05 * (5.0 * phi).cos() + 0.03 * (2.0 * phi).sin()) - 0.06 * tongue
    })
    .unwrap()
}

fn psfs(criterion: &mut Criterion) {
    let light = Light::single(NM).unwrap();
    let distances = Distances::distant(FILM_MM).unwrap();
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let holes = [("t1_disc_512", shapes::disc(DIAMETER_MM).unwrap()), ("t2_burred_512", burred())];
    let mut group = criterion.benchmark_group("wave");
    group.sample_size(20);
    for (name, hole) in holes {
        // Checked once against the rim integral before it is timed.
        let psf = Aperture::of(&hole).psf(&light, distances, grid()).unwrap();
        let slow = direct::density_at(&hole, NM, distances, [0.0, 20.0 * grid().pitch_mm()]);
        assert!((psf.density[[276, 256]] - slow).abs() < 1e-7 * psf.peak());
        group.bench_function(name, |bench| {
            bench.iter(|| {
                one.install(|| {
                    Aperture::of(black_box(&hole)).psf(&light, distances, grid()).unwrap()
                })
            });
        });
    }
    group.finish();
}

criterion_group!(benches, psfs);
criterion_main!(benches);
