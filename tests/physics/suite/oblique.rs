//! Off the axis, on film aslant: against the Huygens integral in space, with no distance expanded.
//!
//! U = ∬_hole exp(ik(|P₀ - r| + |P - r|)) d²r over a rectangle in the plate, by Gauss points, with P₀ on
//! the subject's plane and P on the film in three dimensions. Nothing is taken from the library but the
//! positions of places on the film.

use super::{Check, MM, NM};
use foramen::camera::{Axis, Camera, Film, PointImage, Shape};
use foramen::geometry::shapes;
use foramen::wave::{Distances, Gauss, Light};
use rustfft::num_complex::Complex64;
use std::f64::consts::TAU;

const V: f64 = 100.0;
const WIDTH: f64 = 0.30;
const HEIGHT: f64 = 0.22;

type Vector = [f64; 3];

fn length(v: Vector) -> f64 {
    v.iter().map(|c| c * c).sum::<f64>().sqrt()
}

/// |P - r| less its value at r = 0, without losing digits: (|P - r|² - |P|²)/(|P - r| + |P|).
fn farther(p: Vector, [x, y]: [f64; 2]) -> f64 {
    let far = length([p[0] - x, p[1] - y, p[2]]);
    (x * x + y * y - 2.0 * (p[0] * x + p[1] * y)) / (far + length(p))
}

/// |U|² at a point in space of light from another.
fn huygens(from: Vector, to: Vector) -> f64 {
    let rule = Gauss::rule(64);
    let mut sum = Complex64::default();
    for (x, weight) in rule.on(-WIDTH / 2.0, WIDTH / 2.0) {
        for (y, share) in rule.on(-HEIGHT / 2.0, HEIGHT / 2.0) {
            let path = farther(from, [x, y]) + farther(to, [x, y]);
            sum += weight * share * Complex64::cis(TAU * path / MM);
        }
    }
    sum.norm_sqr()
}

fn camera(shape: Shape, subject_mm: f64) -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.film = Film { width_mm: 250.0, height_mm: 160.0, shape };
    camera.distances = Distances::new(subject_mm, V).unwrap();
    camera.light = Light::single(NM).unwrap();
    camera.plate_mm = 0.0;
    camera
}

/// Densities about a place on the film, and |U|² there, both as shares of the place's own.
fn pairs(camera: &Camera, at: [f64; 2], subject_mm: f64) -> Vec<(f64, f64)> {
    let hole = shapes::rectangle(WIDTH, HEIGHT).unwrap();
    let image = PointImage::at(camera, &hole, at).unwrap();
    let centre = camera.place(at).unwrap().position_mm;
    // The subject's point lies opposite, on its plane.
    let from = centre.map(|c| -c * subject_mm / centre[2]);
    let steps: Vec<[f64; 2]> = (-4..=4)
        .flat_map(|i| (-4..=4).map(move |j| [0.06 * f64::from(i), 0.06 * f64::from(j)]))
        .collect();
    let density = image.aperture().density_at(image.light(), image.distances(), &steps).unwrap();
    let middle = density[40];
    let truth = huygens(from, centre);
    steps
        .iter()
        .zip(density)
        .map(|(step, density)| {
            let there = camera.place([at[0] + step[0], at[1] + step[1]]).unwrap().position_mm;
            (huygens(from, there) / truth, density / middle)
        })
        .collect()
}

pub(crate) fn checks() -> Vec<Check> {
    const SOURCE: &str = "Huygens' integral in space, no expansion";
    let tube = |radius_mm, axis| Shape::Cylinder { radius_mm, axis };
    let cases = [
        ("flat film at 36 degrees", Shape::Flat, [60.0, -41.0], 1e9),
        ("flat film at 55 degrees, subject at 300 mm", Shape::Flat, [-120.0, 75.0], 300.0),
        ("hole in the wall of a tube", tube(50.0, Axis::Vertical), [90.0, -50.0], 1e9),
        (
            "slightly bent film, subject at 150 mm",
            tube(160.0, Axis::Vertical),
            [-80.0, 60.0],
            150.0,
        ),
        ("lying tube", tube(60.0, Axis::Horizontal), [60.0, 75.0], 1e9),
    ];
    let mut checks: Vec<Check> = cases
        .into_iter()
        .map(|(what, shape, at, subject)| {
            let camera = camera(shape, subject);
            // The cubic phase that is dropped, some 0.002 rad, and over the film's own steps of 0.3 mm the
            // change of the distance itself, 0.3 %.
            Check::worst(what, SOURCE, 6e-3, 1.0, pairs(&camera, at, subject))
        })
        .collect();
    checks.push(energy());
    checks.push(otf());
    checks
}

/// All the light of the open area arrives: the energy of an oblique image on its own film.
fn energy() -> Check {
    let camera = camera(Shape::Cylinder { radius_mm: 50.0, axis: Axis::Vertical }, f64::INFINITY);
    let hole = shapes::disc(0.3).unwrap();
    let image = PointImage::at(&camera, &hole, [80.0, 50.0]).unwrap();
    let grid = foramen::wave::Grid::new(1024, 0.02).unwrap();
    let psf = image.psf(grid).unwrap();
    let beyond = foramen::wave::energy_beyond(
        image.aperture().outline(),
        image.light(),
        image.distances().film_mm(),
        10.24 * 4.0 / std::f64::consts::PI,
    );
    // The tail beyond the square is taken as that beyond a circle of its mean radius, and the slant makes
    // it uneven: a third of the tail of 0.3 %.
    let source = "Parseval; tail λvP/(2π²AR)";
    Check::value("energy of an oblique image", source, 1e-3, 1.0, psf.energy_on_grid() + beyond)
}

/// The OTF on a slanted film, by the PSF's own transform on it, against the one by strips of the hole.
fn otf() -> Check {
    let camera = camera(Shape::Flat, f64::INFINITY);
    let hole = shapes::burred_disc(0.3, 0.5, 0.3, 0.08).unwrap();
    let image = PointImage::at(&camera, &hole, [90.0, 55.0]).unwrap();
    let pitch = 0.03;
    let psf = image.psf(foramen::wave::Grid::new(1024, pitch).unwrap()).unwrap();
    let centroid = image.aperture().image_centroid_mm(image.distances());
    let pairs = [0.0, 0.7, 1.9, 2.6].map(|direction| {
        let f = 1.5;
        let along = image.along(direction, 1024);
        let (sin, cos) = f64::sin_cos(direction);
        let mut sum = Complex64::default();
        for ((row, column), density) in psf.density.indexed_iter() {
            let x = (column as f64 - 512.0) * pitch - centroid[0];
            let y = (row as f64 - 512.0) * pitch - centroid[1];
            sum += density * pitch * pitch * Complex64::cis(TAU * f * (x * cos + y * sin));
        }
        let found = image.otf(&along, f);
        (0.0, (sum - found).norm())
    });
    // The tail that is cut off beyond 15 mm.
    Check::worst(
        "OTF on a slanted film by two routes",
        "Fourier transform of the PSF",
        1e-4,
        1.0,
        pairs,
    )
}
