//! Errors that fall as theory says: a method that converges to the right value at the wrong rate is
//! wrong somewhere.

use super::{Check, NM, light};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Aperture, Chords, Distances, Grid, direct, order_for};
use rayon::prelude::*;

pub(crate) fn checks() -> Vec<Check> {
    vec![superexponential(), small_grids(), ripple(), strips(), orders()]
}

/// Each factor of a hundred in the tolerance costs a few points only, and the error follows down to
/// rounding: the logarithm of the error, over that of the tolerance, is at least 1.
fn superexponential() -> Check {
    let hole = shapes::rectangle(0.3, 0.02).unwrap().turned(0.4);
    let distances = Distances::distant(80.0).unwrap();
    let places: Vec<[f64; 2]> =
        (0..40).map(|i| [0.03 * f64::from(i), 0.011 * f64::from(i)]).collect();
    let slow: Vec<f64> =
        places.iter().map(|at| direct::density_at(&hole, NM, distances, *at)).collect();
    let peak = slow.iter().copied().fold(0.0, f64::max);
    let error = |tolerance: f64| {
        let aperture = Aperture::of(&hole).with_tolerance(tolerance).unwrap();
        let fast = aperture.density_at(&light(), distances, &places).unwrap();
        slow.iter().zip(fast).map(|(s, f)| (s - f).abs() / peak).fold(0.0, f64::max)
    };
    let pairs = [1e-3, 1e-5, 1e-7, 1e-9, 1e-11].map(|t| (0.0, (error(t) / t).max(0.0)));
    let points = |t: f64| {
        let aperture = Aperture::of(&hole).with_tolerance(t).unwrap();
        aperture.psf(&light(), distances, Grid::new(9, 0.1).unwrap()).unwrap().order()
    };
    assert!(points(1e-11) < points(1e-3) + 24, "{} {}", points(1e-11), points(1e-3));
    let source = "Bernstein: entire functions";
    Check::worst("error over tolerance, 1e-3 to 1e-11, thin slit", source, 1.0, 1.0, pairs)
}

/// The stated error holds for grids that see a part of the pattern only, bright or dark, and for slender and
/// divided openings, whose weight lies at the ends of their square: the share of it that is used up, as a
/// share of the brightest place on the grid.
fn small_grids() -> Check {
    let slit = |width: f64, height: f64| shapes::rectangle(width, height).unwrap();
    let pair = |apart: f64, d: f64| {
        let one = shapes::disc(d).unwrap();
        let loops =
            [one.moved(-apart / 2.0, 0.0).loops(), one.moved(apart / 2.0, 0.0).loops()].concat();
        Outline::new(loops).unwrap()
    };
    let holes = [
        slit(0.3, 0.03),
        slit(0.3, 0.03).turned(0.7),
        slit(0.02, 0.5),
        pair(0.3, 0.05),
        pair(0.6, 0.2).turned(0.3),
        shapes::disc(0.3).unwrap(),
        shapes::annulus(0.5, 0.48).unwrap(),
        shapes::burred_disc(0.3, 0.7, 0.15, 0.06).unwrap(),
    ];
    let pitches = [0.025 / 60.0, 0.002, 0.01, 0.04];
    let cases: Vec<(&Outline, f64, f64)> = holes
        .iter()
        .flat_map(|hole| [20.0, 60.0, 150.0, 400.0].map(|film| (hole, film)))
        .flat_map(|(hole, film)| pitches.map(|pitch| (hole, film, pitch)))
        .collect();
    let pairs = cases.par_iter().flat_map_iter(|&(hole, film, pitch)| {
        let distances = Distances::distant(film).unwrap();
        let grid = Grid::new(48, pitch).unwrap();
        let at = |i: usize| (i as f64 - 24.0) * pitch;
        let places: Vec<[f64; 2]> = (0..48 * 48)
            .step_by(23)
            .chain([0, 47, 24 * 48 + 24])
            .map(|i| [at(i % 48), at(i / 48)])
            .collect();
        let slow: Vec<f64> =
            places.iter().map(|place| direct::density_at(hole, NM, distances, *place)).collect();
        [1e-4, 1e-7].map(|tolerance| {
            let aperture = Aperture::of(hole).with_tolerance(tolerance).unwrap();
            let psf = aperture.psf(&light(), distances, grid).unwrap();
            let error = places.iter().zip(&slow).map(|(place, slow)| {
                let [column, row] = place.map(|c| (c / pitch + 24.0).round() as usize);
                (psf.density[[row, column]] - slow).abs()
            });
            // Rounding leaves 1e-13 of the pattern's own peak, which may lie beyond the grid.
            (0.0, error.fold(0.0, f64::max) / psf.peak() / tolerance)
        })
    });
    let pairs: Vec<(f64, f64)> = pairs.collect();
    let source = "rim integral; tolerances 1e-4 and 1e-7";
    Check::worst("error over tolerance, small grids, slits, pairs", source, 1.0, 1.0, pairs)
}

/// A polygon of n sides and the disc's area differs from the disc on the axis as n⁻⁴: from 24 to 48
/// sides the error falls by 16.
fn ripple() -> Check {
    let n = 1.0;
    let distances = Distances::distant(0.0225 / (550e-6 * n)).unwrap();
    let error = |sides: usize| {
        let polygon = shapes::regular_polygon(sides, 0.3).unwrap();
        let polygon = polygon.scaled(0.3 / polygon.equivalent_diameter_mm());
        let aperture = Aperture::of(&polygon).with_tolerance(1e-13).unwrap();
        let e = aperture.density_at(&light(), distances, &[[0.0, 0.0]]).unwrap()[0];
        (e * polygon.area_mm2() - foramen::wave::analytic::disc_on_axis(n)).abs()
    };
    let ratio = error(24) / error(48);
    // The next order changes the ratio by (π/24)².
    Check::value("polygon's ripple, 24 to 48 sides", "fourth order", 0.5, 16.0, ratio)
}

/// Strips of a disc: kinks where they cease to overlap leave an error of second order and more.
fn strips() -> Check {
    let disc = shapes::disc(0.3).unwrap();
    let distances = Distances::distant(80.0).unwrap();
    let closed = foramen::wave::analytic::DiscOtf::default();
    let n = 0.0225 / (550e-6 * 80.0);
    let error = |count: usize| {
        let chords = Chords::along(&disc, 0.0, count);
        let at = |i: u32| f64::from(i) / 97.0;
        let cut_off = 0.3 / (550e-6 * 80.0);
        let squares = (1..97).map(|i| {
            let found = chords.otf(&light(), distances, at(i) * cut_off);
            (found - closed.at(n, at(i))).norm_sqr()
        });
        (squares.sum::<f64>() / 96.0).sqrt()
    };
    let order = (error(128) / error(1024)).log2() / 3.0;
    Check::value("strips: order of the mean error", "kinks: second order", 0.5, 2.0, order)
}

/// The number of points grows as the phase, with a margin like its cube root: J_k(x) falls as Airy's
/// function of (k - x)/∛(x/2), by 1e-7/(4√k) at 7.2 ∛x within one.
fn orders() -> Check {
    let margin = |phase: f64| (order_for(phase, 1e-7) as f64 - phase) / phase.cbrt();
    let pairs = [30.0, 100.0, 300.0, 1000.0].map(|phase| (7.2, margin(phase)));
    // Points come in twos, and for small phases the margin is not yet the cube root's.
    let source = "Bessel's turning point, DLMF 10.19(iii)";
    Check::worst("points beyond the phase, over its cube root", source, 1.0, 1.0, pairs)
}
