//! What the numerical core does with input at and beyond its limits: much of it, odd shapes, nonsense.

#![allow(clippy::unwrap_used, clippy::panic)]

use foramen::Error;
use foramen::geometry::{Outline, Point, shapes};
use foramen::wave::{Aperture, Distances, Grid, Light, direct};
use std::f64::consts::{PI, TAU};

fn green() -> Light {
    Light::single(550.0).unwrap()
}

fn distant() -> Distances {
    Distances::distant(80.0).unwrap()
}

/// Checks that something is refused in words that hold `part`, and that a remedy is given.
fn refused<T: std::fmt::Debug>(result: Result<T, Error>, part: &str) {
    let error = result.unwrap_err();
    assert!(error.to_string().contains(part), "\"{error}\" does not say \"{part}\"");
    assert!(!error.remedy().is_empty(), "{error}");
}

fn square([x, y]: Point, half: f64) -> Vec<Point> {
    vec![[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
}

/// Compares the fast route with the rim integral at places out to 0.4 mm.
fn light_is_right(outline: &Outline) {
    let places: Vec<Point> = (0..24)
        .map(|i| (f64::from(i) / 60.0, 2.4 * f64::from(i)))
        .map(|(r, turn)| [r * turn.cos(), r * turn.sin()])
        .collect();
    let slow: Vec<f64> =
        places.iter().map(|at| direct::density_at(outline, 550.0, distant(), *at)).collect();
    let fast = Aperture::of(outline).density_at(&green(), distant(), &places).unwrap();
    let peak = slow.iter().copied().fold(0.0, f64::max);
    for (fast, slow) in fast.iter().zip(&slow) {
        // The error that an aperture has where no other is asked for.
        assert!((fast - slow).abs() < 1e-7 * peak, "{fast} {slow}");
    }
}

#[test]
fn a_million_vertices_become_a_point_image() {
    let rim = |p: f64| 0.15 * (1.0 + 0.05 * (3.0 * p).cos() + 0.002 * (401.0 * p).sin());
    let outline = shapes::polar(1_000_000, rim).unwrap();
    // π a² (1 + Σ e²/2): by hand.
    let area = PI * 0.0225 * (1.0 + (0.0025 + 4e-6) / 2.0);
    assert!((outline.area_mm2() / area - 1.0).abs() < 1e-9);
    let grid = Grid::new(256, 0.01).unwrap();
    let psf = Aperture::of(&outline).psf(&green(), distant(), grid).unwrap();
    // A hundredth of the vertices make nearly the same rim.
    let coarse = shapes::polar(10_000, rim).unwrap();
    let like = Aperture::of(&coarse).psf(&green(), distant(), grid).unwrap();
    let peak = psf.peak();
    for (many, few) in psf.density.iter().zip(&like.density) {
        assert!((many - few).abs() < 1e-4 * peak, "{many} {few}");
    }
}

#[test]
fn thousands_of_openings_are_one_hole() {
    let disc = |x: f64, y: f64| -> Vec<Point> {
        let turns = (0..24).map(|i| TAU * f64::from(i) / 24.0);
        turns.map(|t| [x + 0.002 * t.cos(), y + 0.002 * t.sin()]).collect()
    };
    let at = |i: u32, count: u32| 0.006 * (f64::from(i) - f64::from(count - 1) / 2.0);
    let loops: Vec<_> = (0..50)
        .flat_map(|row| (0..100).map(move |column| disc(at(column, 100), at(row, 50))))
        .collect();
    let outline = Outline::new(loops).unwrap();
    assert_eq!(outline.loops().len(), 5000);
    // The area of a 24-gon: 12 r² sin(2π/24).
    let area = 5000.0 * 12.0 * 0.002f64.powi(2) * (TAU / 24.0).sin();
    assert!((outline.area_mm2() / area - 1.0).abs() < 1e-12);
    light_is_right(&outline);
    let grid = Grid::new(256, 0.01).unwrap();
    Aperture::of(&outline).psf(&green(), distant(), grid).unwrap();
}

#[test]
fn loops_that_are_no_hole_are_refused() {
    refused(Outline::new(vec![]), "no loop of points");
    refused(Outline::new(vec![vec![]]), "loop 1 has fewer than three different points");
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let mut points = square([0.0, 0.0], 0.1);
        points[2][1] = bad;
        refused(Outline::new(vec![points]), "loop 1, point 3: a coordinate is not finite");
    }
    let line = vec![[0.0, 0.0], [0.1, 0.1], [0.3, 0.3], [0.2, 0.2]];
    refused(Outline::new(vec![square([0.0, 0.0], 1.0), line]), "loop 2 has no area");
    // Far from the origin, too, where rounding leaves some.
    let line = vec![[1000.0, 1000.1], [1000.1, 1000.2], [1000.3, 1000.4], [1000.2, 1000.3]];
    refused(Outline::new(vec![line]), "loop 1 has no area");
    refused(shapes::polar(1000, f64::cos), "the radius");
}

#[test]
fn edges_that_cross_are_refused() {
    // A figure of eight with lobes unlike, so that it has an area; its edges cross at (0.3, 0.15).
    let eight = vec![[0.0, 0.0], [0.4, 0.2], [0.4, 0.0], [0.0, 0.6]];
    refused(Outline::new(vec![eight]), "edges cross near");
    let two = vec![square([0.0, 0.0], 0.1), square([0.15, 0.05], 0.1)];
    refused(Outline::new(two), "edges cross near");
    // A cross of two bars whose corners all lie on the other's edges' lines, none of them inside.
    let bar = |half: Point| {
        let [x, y] = half;
        vec![[-x, -y], [x, -y], [x, y], [-x, y]]
    };
    refused(Outline::new(vec![bar([0.3, 0.1]), bar([0.1, 0.3])]), "edges cross near");
    // Figures of eight that cross at a vertex, which both their strokes have, or only one.
    let lobes = |middle: &[Point]| {
        let right = [[0.4, 0.2], [0.4, -0.2]];
        [&[[-0.1, -0.05], [0.0, 0.0]], &right[..], middle, &[[-0.1, 0.05]]].concat()
    };
    refused(Outline::new(vec![lobes(&[[0.0, 0.0]])]), "edges cross near");
    refused(Outline::new(vec![lobes(&[])]), "edges cross near");
    // A loop that goes in and out of another at the middles of its edges.
    let through = vec![[0.0, -0.1], [0.1, 0.0], [0.0, 0.1], [0.2, 0.0]];
    refused(Outline::new(vec![square([0.0, 0.0], 0.1), through]), "edges cross near");
    let corner_to_corner = vec![[-0.2, -0.2], [0.1, 0.1], [0.2, -0.1]];
    refused(Outline::new(vec![square([0.0, 0.0], 0.1), corner_to_corner]), "edges cross near");
}

#[test]
fn edges_that_lie_on_each_other_are_refused() {
    let whole = square([0.0, 0.0], 0.1);
    let mut back = whole.clone();
    back.reverse();
    let mut other_start = whole.clone();
    other_start.rotate_left(1);
    for again in [whole.clone(), back, other_start] {
        refused(Outline::new(vec![whole.clone(), again]), "edges coincide");
    }
    // A loop that runs round twice, and one with a spike of no width.
    refused(Outline::new(vec![[whole.clone(), whole.clone()].concat()]), "edges coincide");
    let spike = vec![[0.0, 0.0], [0.2, 0.0], [0.2, 0.1], [0.4, 0.1], [0.2, 0.1], [0.0, 0.1]];
    refused(Outline::new(vec![spike]), "edges coincide");
    // Two openings with part of a slanting edge in common.
    let slant = |from: f64, to: f64, side: f64| -> Vec<Point> {
        [(from, 0.0), (to, 0.0), (to, side), (from, side)]
            .map(|(s, t)| [0.1 * s - 0.07 * t, 0.07 * s + 0.1 * t])
            .to_vec()
    };
    let neighbours = vec![slant(0.0, 1.0, 1.0), slant(0.3, 1.7, -1.0)];
    refused(Outline::new(neighbours), "edges coincide");
}

#[test]
fn openings_that_touch_send_the_light_of_both() {
    // Two squares with a corner in common.
    let both = vec![square([-0.1, -0.1], 0.1), square([0.1, 0.1], 0.1)];
    let outline = Outline::new(both).unwrap();
    assert!((outline.area_mm2() - 0.08).abs() < 1e-15);
    light_is_right(&outline);
    // The same as one loop that touches itself there: 4 corners each.
    let one: Vec<Point> = vec![
        [0.0, 0.0],
        [0.2, 0.0],
        [0.2, 0.2],
        [0.0, 0.2],
        [0.0, 0.0],
        [-0.2, 0.0],
        [-0.2, -0.2],
        [0.0, -0.2],
    ];
    let folded = Outline::new(vec![one]).unwrap();
    assert!((folded.area_mm2() - 0.08).abs() < 1e-15);
    light_is_right(&folded);
    for at in [[0.0, 0.0], [0.1, 0.03]] {
        let [one, two] =
            [&folded, &outline].map(|hole| direct::density_at(hole, 550.0, distant(), at));
        assert!((one / two - 1.0).abs() < 1e-12);
    }
    // An island of metal that touches the rim from inside with its first corner, and one whose first
    // edge begins and ends on the rim's corners.
    let island = vec![[0.2, 0.0], [0.1, 0.05], [0.1, -0.05]];
    let holed = Outline::new(vec![square([0.0, 0.0], 0.2), island]).unwrap();
    assert!((holed.area_mm2() - (0.16 - 0.005)).abs() < 1e-15);
    light_is_right(&holed);
    // One whose corner lies in the middle of an edge, whichever edge and loop comes first.
    for turn in 0..4 {
        let mut outer = square([0.0, 0.0], 0.2);
        outer.rotate_left(turn);
        for tip in [[-0.2, 0.0], [0.2, 0.0], [0.0, 0.2], [0.0, -0.2]] {
            let [x, y]: Point = tip;
            let island = vec![tip, [x / 2.0 - y / 4.0, y / 2.0 + x / 4.0], [0.0, 0.0]];
            let area = 0.16 - 0.2 * 0.05 / 2.0;
            for loops in [[outer.clone(), island.clone()], [island, outer.clone()]] {
                let holed = Outline::new(loops.to_vec()).unwrap();
                assert!((holed.area_mm2() - area).abs() < 1e-15, "{turn} {tip:?}");
            }
        }
    }
}

#[test]
fn what_no_machine_holds_is_refused_before_it_is_made() {
    refused(Grid::new(100_000, 0.001), "a grid of 100000 × 100000 samples");
    refused(Grid::new(usize::MAX, 0.001), "samples is beyond what is computed");
    refused(Grid::new(0, 0.001), "a grid of 0 × 0");
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(Grid::new(64, bad), "mm is out of range");
    }
    let aperture = Aperture::of(&shapes::disc(0.1).unwrap());
    let grid = Grid::new(8192, 1e-4).unwrap();
    let family = aperture.family(&green(), &[distant()], Grid::new(2048, 1e-4).unwrap()).unwrap();
    let many = vec![(550.0, distant()); 100];
    refused(family.stack(&many), "100 grids of 2048 × 2048 samples do not fit into 2 GiB");
    // So many distances need more nodes than fit.
    let distances: Vec<Distances> =
        (0..60).map(|i| Distances::distant(1.0 + f64::from(i)).unwrap()).collect();
    refused(aperture.family(&green(), &distances, grid), "do not fit into 2 GiB");
    refused(aperture.wide_psf(&green(), distant(), Grid::new(8192, 1.0).unwrap()), "2 GiB");
}

#[test]
fn requests_beyond_the_model_are_refused() {
    let aperture = Aperture::of(&shapes::disc(5.0).unwrap());
    let grid = Grid::new(64, 0.01).unwrap();
    let near = Distances::distant(20.0).unwrap();
    refused(aperture.psf(&green(), near, grid), "too large for an effective distance");
    refused(aperture.wide_psf(&green(), near, grid), "too large for an effective distance");
    refused(aperture.family(&green(), &[near], grid), "too large for an effective distance");
    refused(
        aperture.density_at(&green(), near, &[[0.0, 0.0]]),
        "too large for an effective distance",
    );
    for bad in [0.0, -1e-7, 1e-14, 0.02, f64::NAN, f64::INFINITY] {
        refused(aperture.clone().with_tolerance(bad), "of the peak cannot be asked for");
    }
    refused(Distances::new(0.0, 80.0), "cannot be");
    refused(Distances::new(f64::NAN, 80.0), "cannot be");
    refused(Distances::distant(f64::INFINITY), "cannot be");
    refused(Light::new(&[]), "do not add up to any light");
    refused(Light::new(&[(550.0, f64::NAN)]), "do not add up to any light");
    refused(Light::new(&[(f64::NAN, 1.0)]), "a wavelength of NaN nm");
    // A place so far off that the phases would need more points than are built.
    let small = Aperture::of(&shapes::disc(0.3).unwrap());
    for far in [1e6, f64::INFINITY, f64::NAN] {
        assert!(small.density_at(&green(), distant(), &[[far, 0.0]]).is_err(), "{far}");
    }
}
