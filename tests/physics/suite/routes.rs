//! Routes to one number that share no code, or little.

use super::{Check, NM, exact, light};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Distances, Encircled, Grid, Light, Window, direct, fresnel_number};
use ndarray::Axis;
use rayon::prelude::*;

/// Holes of every kind.
pub(crate) fn holes() -> Vec<(&'static str, Outline)> {
    let rough = |p: f64| 0.16 * (1.0 + 0.06 * (3.0 * p + 1.0).cos() + 0.02 * (17.0 * p).sin());
    let far = shapes::ellipse(0.1, 0.2).unwrap().moved(0.2, 0.05);
    let two = [shapes::disc(0.2).unwrap().loops(), far.loops()].concat();
    let island = shapes::regular_polygon(5, 0.1).unwrap().moved(-0.03, 0.02);
    let holed = [shapes::rectangle(0.3, 0.2).unwrap().loops(), island.loops()].concat();
    vec![
        ("oval", shapes::ellipse(0.34, 0.28).unwrap().turned(0.3)),
        ("burred", shapes::burred_disc(0.3, 0.7, 0.15, 0.06).unwrap()),
        ("rough", shapes::polar(2000, rough).unwrap()),
        ("ring", shapes::annulus(0.3, 0.1).unwrap()),
        ("slit", shapes::rectangle(0.4, 0.02).unwrap().turned(0.4)),
        ("triangle", shapes::regular_polygon(3, 0.3).unwrap()),
        ("two openings", Outline::new(two).unwrap()),
        ("opening with an island", Outline::new(holed).unwrap()),
        ("zone plate", shapes::zone_plate(0.06, 5).unwrap()),
        ("photon sieve", shapes::photon_sieve(0.08, 6).unwrap()),
    ]
}

pub(crate) fn checks() -> Vec<Check> {
    let mut checks: Vec<Check> = holes().iter().map(|(name, hole)| by_rim(name, hole)).collect();
    checks.extend([axis_by_rim(), grid(), wide(), family(), stated(), circles()]);
    checks
}

fn by_rim(name: &str, hole: &Outline) -> Check {
    let places: Vec<[f64; 2]> = (0..30)
        .map(|i| (0.04 * f64::from(i), 2.4 * f64::from(i)))
        .map(|(r, phi)| [r * phi.cos(), r * phi.sin()])
        .collect();
    let mut pairs = Vec::new();
    for (nm, subject, film) in
        [(550.0, f64::INFINITY, 80.0), (420.0, 500.0, 30.0), (650.0, 100.0, 300.0)]
    {
        let distances = Distances::new(subject, film).unwrap();
        let light = Light::single(nm).unwrap();
        let fast = exact(hole).density_at(&light, distances, &places).unwrap();
        let slow = places.iter().map(|at| direct::density_at(hole, nm, distances, *at));
        let slow: Vec<f64> = slow.collect();
        let peak = slow.iter().copied().fold(0.0, f64::max);
        pairs.extend(slow.iter().zip(fast).map(|(slow, fast)| (slow / peak, fast / peak)));
    }
    let source = "rim integral (Barnett 2021, appendix)";
    // Rounding of thousands of terms.
    Check::worst(format!("{name}, of the peak"), source, 1e-10, 1.0, pairs)
}

/// The slow route is itself judged: the axis of a disc.
fn axis_by_rim() -> Check {
    let pairs = [0.1, 0.5, 1.0, 2.0, 5.0].map(|n| {
        let z = 0.15 * 0.15 / (550e-6 * n);
        let disc = shapes::disc(0.3).unwrap();
        let e = direct::density_at(&disc, NM, Distances::distant(z).unwrap(), [0.0, 0.0]);
        (foramen::wave::analytic::disc_on_axis(n) / 4.0, e * disc.area_mm2() / 4.0)
    });
    // The polygon's ripple enters on the axis in second order: (π/1440)⁴.
    Check::worst("rim integral on the axis of a disc", "Born & Wolf 8.2", 1e-9, 1.0, pairs)
}

/// The grid's four quadrants against single places: signs, order of rows, odd and even sizes.
fn grid() -> Check {
    let hole = exact(&shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap().moved(0.02, -0.01));
    let distances = Distances::distant(80.0).unwrap();
    let light = Light::new(&[(450.0, 1.0), (620.0, 2.0)]).unwrap();
    let mut pairs = Vec::new();
    for size in [1usize, 2, 8, 9, 70] {
        let psf = hole.psf(&light, distances, Grid::new(size, 0.02).unwrap()).unwrap();
        let place = |i: usize| (i as f64 - (size / 2) as f64) * 0.02;
        let places: Vec<[f64; 2]> =
            (0..size * size).map(|i| [place(i % size), place(i / size)]).collect();
        let single = hole.density_at(&light, distances, &places).unwrap();
        let peak = single.iter().copied().fold(0.0, f64::max);
        pairs.extend(psf.density.iter().zip(&single).map(|(a, b)| (b / peak, a / peak)));
    }
    Check::worst("a grid holds what its places hold", "matrix products", 1e-12, 1.0, pairs)
}

/// Fourier transforms over 120 rings against products, in their common window; and far out against
/// the rim integral, as a share of the tail itself.
fn wide() -> Check {
    let mut pairs = Vec::new();
    for (hole, film) in [
        (shapes::burred_disc(0.3, 0.7, 0.15, 0.06).unwrap(), 80.0),
        (shapes::rectangle(0.3, 0.2).unwrap().moved(0.1, 0.05), 10.0),
    ] {
        let distances = Distances::new(400.0, film).unwrap();
        let ring_mm = 1.22 * 550e-6 * film / 0.3;
        let (wide_grid, core) =
            (Grid::new(1024, 0.234 * ring_mm).unwrap(), Grid::new(128, 0.234 * ring_mm).unwrap());
        let wide = exact(&hole).wide_psf(&light(), distances, wide_grid).unwrap();
        let products = exact(&hole).psf(&light(), distances, core).unwrap();
        let peak = products.peak();
        pairs.extend(
            products
                .density
                .indexed_iter()
                .map(|((r, c), e)| (e / peak, wide.density[[r + 448, c + 448]] / peak)),
        );
        // A hundred rings out along the diagonal the tail is 1e-9 of the peak: still itself to 1e-4.
        let (mut tail, mut differs) = (0.0, 0.0);
        for step in 0..12usize {
            let (row, column) = (512 + 300 + step, 512 - 295);
            let at = |i: usize| (i as f64 - 512.0) * wide_grid.pitch_mm();
            let truth = direct::density_at(&hole, NM, distances, [at(column), at(row)]);
            tail += truth;
            differs += (truth - wide.density[[row, column]]).abs();
        }
        assert!(differs < 1e-4 * tail, "the tail is off by {:.1e}", differs / tail);
    }
    let source = "FFT of exact coverage against products";
    Check::worst("wide field in the core, of the peak", source, 1e-8, 1.0, pairs)
}

/// The family against products made for each member, near and far subjects, one and many wavelengths.
fn family() -> Check {
    let hole = Aperture::of(&shapes::burred_disc(0.3, 0.7, 0.15, 0.06).unwrap());
    let light = Light::new(&[(420.0, 1.0), (550.0, 2.0), (680.0, 1.0)]).unwrap();
    let distances = [(f64::INFINITY, 60.0), (300.0, 60.0), (f64::INFINITY, 150.0)]
        .map(|(u, v)| Distances::new(u, v).unwrap());
    let grid = Grid::new(97, 0.02).unwrap();
    let family = hole.family(&light, &distances, grid).unwrap();
    let mut pairs = Vec::new();
    let mut compare = |found: ndarray::ArrayView2<f64>, light: &Light, at: Distances| {
        let on_film = Grid::new(97, 0.02 * at.shadow_magnification()).unwrap();
        let truth = hole.clone().with_tolerance(1e-12).unwrap().psf(light, at, on_film).unwrap();
        let peak = truth.peak();
        pairs.extend(truth.density.iter().zip(found).map(|(t, f)| (t / peak, f / peak)));
    };
    for at in distances {
        compare(family.psf(&light, at).unwrap().density.view(), &light, at);
    }
    let members: Vec<(f64, Distances)> = [430.0, 500.0, 610.0, 680.0]
        .into_iter()
        .flat_map(|nm| distances.map(|d| (nm, d)))
        .collect();
    let stack = family.stack(&members).unwrap();
    for (i, (nm, at)) in members.iter().enumerate() {
        compare(stack.density.index_axis(Axis(0), i), &Light::single(*nm).unwrap(), *at);
    }
    // The tolerance that the aperture states.
    Check::worst("family over Fresnel numbers, of the peak", "products", 1e-7, 1.0, pairs)
}

/// Each stated error holds: the share of it that is used up, by the rim integral, over holes, Fresnel
/// numbers 0.05 to 50 and film to 12 rings.
fn stated() -> Check {
    let used: Vec<f64> = holes().par_iter().map(|(_, hole)| used_of_stated(hole)).collect();
    let pairs = used.into_iter().map(|used| (0.0, used));
    let source = "rim integral; tolerances 1e-4 and 1e-7";
    Check::worst("the stated error, how much of it is used", source, 1.0, 1.0, pairs)
}

fn used_of_stated(hole: &Outline) -> f64 {
    let mut most = 0.0f64;
    for n in [0.05, 0.5, 5.0, 50.0] {
        // So large that the film stands no nearer than the model allows.
        let size = (40.0 * 550e-6f64 * n).sqrt() / Aperture::of(hole).half_width_mm();
        let hole = hole.scaled(size.max(1.0));
        let radius = Aperture::of(&hole).half_width_mm();
        let film = radius * radius / (550e-6 * n);
        let distances = Distances::distant(film).unwrap();
        assert!((fresnel_number(radius, NM, film) / n - 1.0).abs() < 1e-12);
        let ring_mm = 550e-6 * film / (2.0 * radius);
        for reach in [radius + ring_mm, radius + 12.0 * ring_mm] {
            let places: Vec<[f64; 2]> = (0..=8)
                .map(|i| (reach * f64::from(i) / 8.0, f64::from(i * i)))
                .flat_map(|(r, p)| [[r, 0.0], [r * p.cos(), r * p.sin()], [-r * 0.7, r]])
                .collect();
            let slow = places.iter().map(|at| direct::density_at(&hole, NM, distances, *at));
            let slow: Vec<f64> = slow.collect();
            let peak = slow.iter().copied().fold(0.0, f64::max);
            for tolerance in [1e-4, 1e-7] {
                let aperture = Aperture::of(&hole).with_tolerance(tolerance).unwrap();
                let fast = aperture.density_at(&light(), distances, &places).unwrap();
                let used = slow.iter().zip(fast).map(|(s, f)| (s - f).abs() / peak / tolerance);
                most = used.fold(most, f64::max);
            }
        }
    }
    most
}

/// Encircled energy from the OTF against that from the density, for holes without a closed form.
fn circles() -> Check {
    let distances = Distances::new(500.0, 90.0).unwrap();
    let light = Light::new(&[(480.0, 1.0), (600.0, 1.0)]).unwrap();
    let hole = shapes::burred_disc(0.33, 1.0, 0.3, 0.1).unwrap();
    let by_otf = Encircled::of(&hole, &light, distances);
    let pairs = [0.1, 0.3, 0.6, 1.0].map(|circle| {
        let window = Window::Circle(circle);
        let exactly = Aperture::of(&hole).energy_within(&light, distances, window).unwrap();
        (exactly, by_otf.within(circle))
    });
    // The OTF by 256 strips, averaged over frequencies; and 24 directions on a burr.
    Check::worst("energy in circles, OTF against density", "two routes", 5e-5, 1.0, pairs)
}
