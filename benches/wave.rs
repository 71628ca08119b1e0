//! How long does a 512 × 512 PSF take, of a disc and of a lobed, burred outline of 1440 vertices, and
//! how long a stack of 775 PSFs over wavelengths and distances?

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod measured;

use criterion::{Criterion, criterion_group, criterion_main};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Distances, Grid, Light, Psf};
use ndarray::{Array3, Axis};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::hint::black_box;
use std::time::Duration;

const DIAMETER_MM: f64 = 0.30;
const NM: f64 = 550.0;
const FILM_MM: f64 = 80.0;

/// Samples over ± 6 Airy radii.
fn grid(size: usize) -> Grid {
    // First zero of J1 over π: DLMF 10.21.
    let airy_radius_mm = 1.219_669_891_266_504 * NM * 1e-6 * FILM_MM / DIAMETER_MM;
    Grid::new(size, 12.0 * airy_radius_mm / size as f64).unwrap()
}

/// r = 0.15 (1 + 0.05 cos 5φ + 0.03 sin 2φ) mm, less a tongue of 0.06 mm at φ = 0.7.
fn burred() -> Outline {
    shapes::polar(1440, |phi| {
        let tongue = (1.0 - (phi - 0.7).abs() / 0.12).max(0.0);
        0.15 * (1.0 + 0.05 * (5.0 * phi).cos() + 0.03 * (2.0 * phi).sin()) - 0.06 * tongue
    })
    .unwrap()
}

fn one_thread() -> ThreadPool {
    ThreadPoolBuilder::new().num_threads(1).build().unwrap()
}

/// The largest difference, over the truth's peak.
fn error<'a>(
    found: impl IntoIterator<Item = &'a f64>,
    truth: impl IntoIterator<Item = &'a f64>,
) -> f64 {
    let (mut worst, mut peak) = (0.0f64, 0.0f64);
    for (found, truth) in found.into_iter().zip(truth) {
        worst = worst.max((found - truth).abs());
        peak = peak.max(*truth);
    }
    worst / peak
}

fn psf(hole: &Outline, tolerance: f64) -> Psf {
    let light = Light::single(NM).unwrap();
    let distances = Distances::distant(FILM_MM).unwrap();
    Aperture::of(hole).with_tolerance(tolerance).unwrap().psf(&light, distances, grid(512)).unwrap()
}

fn psfs(criterion: &mut Criterion) {
    let one = one_thread();
    let holes = [("t1_disc_512", shapes::disc(DIAMETER_MM).unwrap()), ("t2_burred_512", burred())];
    let mut group = criterion.benchmark_group("wave");
    for (name, hole) in holes {
        // The rim integral, which shares no code with this route, judges it in tests/physics; here
        // the same route at 1e-13 says what the default tolerance leaves.
        let truth = psf(&hole, 1e-13);
        let job = || one.install(|| psf(black_box(&hole), 1e-7));
        measured::report(&format!("wave/{name}"), job, |psf| error(&psf.density, &truth.density));
        group.bench_function(name, |bench| bench.iter(job));
    }
    group.finish();
}

/// 31 wavelengths from 400 to 700 nm by 25 distances from 70 to 150 mm.
fn members() -> Vec<(f64, Distances)> {
    let wavelengths = (0..31).map(|i| 400.0 + 10.0 * f64::from(i));
    let distance = |j: u8| Distances::distant(70.0 + 80.0 * f64::from(j) / 24.0).unwrap();
    wavelengths.flat_map(|nm| (0..25).map(move |j| (nm, distance(j)))).collect()
}

/// From the outline to all members, into an array that is there.
fn fill(hole: &Outline, members: &[(f64, Distances)], density: &mut Array3<f64>) {
    let wavelengths: Vec<(f64, f64)> = members.iter().map(|(nm, _)| (*nm, 1.0)).collect();
    let light = Light::new(&wavelengths).unwrap();
    let distances: Vec<Distances> = members.iter().map(|(_, distances)| *distances).collect();
    let family = Aperture::of(hole).family(&light, &distances, grid(256)).unwrap();
    family.fill(members, density.view_mut()).unwrap();
}

fn stack(criterion: &mut Criterion) {
    let (hole, members, one) = (burred(), members(), one_thread());
    let truth = |i: usize| {
        let (nm, distances) = members[i];
        let aperture = Aperture::of(&hole).with_tolerance(1e-13).unwrap();
        aperture.psf(&Light::single(nm).unwrap(), distances, grid(256)).unwrap()
    };
    let worst = |density: &Array3<f64>| {
        let each = (0..members.len()).step_by(37);
        each.map(|i| error(density.index_axis(Axis(0), i), &truth(i).density)).fold(0.0, f64::max)
    };
    let mut density = Array3::zeros((members.len(), 256, 256));
    let fresh = || {
        let mut density = Array3::zeros((members.len(), 256, 256));
        fill(&hole, &members, &mut density);
        density
    };
    measured::report("wave/t3_stack_775_one_thread", || one.install(fresh), worst);
    measured::report("wave/t3_stack_775", fresh, worst);
    let mut group = criterion.benchmark_group("wave");
    group.sample_size(10).warm_up_time(Duration::from_millis(500));
    group.bench_function("t3_stack_775", |bench| {
        bench.iter(|| fill(black_box(&hole), &members, &mut density));
    });
    group.bench_function("t3_stack_775_one_thread", |bench| {
        bench.iter(|| one.install(|| fill(black_box(&hole), &members, &mut density)));
    });
    group.finish();
}

criterion_group!(benches, psfs, stack);
criterion_main!(benches);
