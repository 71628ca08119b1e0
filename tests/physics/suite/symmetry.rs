//! Symmetries that hold for every hole.

use super::{Check, exact, light};
use foramen::geometry::{Outline, shapes};
use foramen::wave::{Distances, Grid};
use std::f64::consts::{PI, TAU};

const SOURCE: &str = "the diffraction integral itself";

pub(crate) fn checks() -> Vec<Check> {
    vec![half_turn(), change_of_places(), beside_the_axis(), upright()]
}

/// A hole turned by half a turn turns its PSF, which near the film is no half turn of itself.
fn half_turn() -> Check {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap();
    let grid = Grid::new(41, 0.03).unwrap();
    let near = Distances::distant(80.0).unwrap();
    let psf = |hole: &Outline| exact(hole).psf(&light(), near, grid).unwrap().density;
    let (this, turned) = (psf(&hole), psf(&hole.turned(PI)));
    let peak = this[[20, 20]];
    let own = this.indexed_iter().map(|((r, c), e)| (e - this[[40 - r, 40 - c]]).abs());
    assert!(own.fold(0.0, f64::max) > 1e-3 * peak, "near its film this PSF is its own half turn");
    let pairs = this.indexed_iter().map(|((r, c), e)| (*e, turned[[40 - r, 40 - c]]));
    Check::worst("half a turn of hole and PSF, of the peak", SOURCE, 1e-12, peak, pairs)
}

/// Subject and film exchanged: the same pattern, stretched by the ratio of the distances. Only
/// 1/z = 1/u + 1/v enters beside the scale.
fn change_of_places() -> Check {
    let hole = exact(&shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap());
    let (one, other) = (Distances::new(200.0, 90.0).unwrap(), Distances::new(90.0, 200.0).unwrap());
    let stretch = 200.0 / 90.0;
    let places = [[0.0, 0.0], [0.1, 0.05], [-0.3, 0.2]];
    let scaled = places.map(|p| [p[0] * stretch, p[1] * stretch]);
    let here = hole.density_at(&light(), one, &places).unwrap();
    let there = hole.density_at(&light(), other, &scaled).unwrap();
    let pairs: Vec<(f64, f64)> =
        here.iter().zip(&there).map(|(a, b)| (*a, b * stretch * stretch)).collect();
    Check::worst("subject and film change places, of the peak", SOURCE, 1e-12, here[0], pairs)
}

/// An outline far from its own origin has its PSF about its own shadow.
fn beside_the_axis() -> Check {
    let shape = shapes::burred_disc(0.3, 0.5, 0.2, 0.05).unwrap();
    let distances = Distances::new(400.0, 80.0).unwrap();
    let m = distances.shadow_magnification();
    let places = [[0.0, 0.0], [0.1, -0.05], [0.3, 0.2]];
    let here = exact(&shape).density_at(&light(), distances, &places).unwrap();
    let moved = places.map(|p| [p[0] + m * 0.7, p[1] - m * 0.4]);
    let there = exact(&shape.moved(0.7, -0.4)).density_at(&light(), distances, &moved).unwrap();
    let pairs: Vec<(f64, f64)> = here.iter().copied().zip(there).collect();
    Check::worst("a hole beside the axis, of the peak", SOURCE, 1e-10, here[0], pairs)
}

/// A burr on the right of the hole is on the right of its shadow, and one on top on top: with a
/// Fresnel number of 46 the film shows the outline itself.
fn upright() -> Check {
    let distances = Distances::distant(12.0).unwrap();
    let light = foramen::wave::Light::single(450.0).unwrap();
    let pairs = [0.0, TAU / 4.0, 2.0].map(|angle| {
        let hole = exact(&shapes::burred_disc(1.0, angle, 0.4, 0.35).unwrap());
        let (x, y) = (0.35 * angle.cos(), 0.35 * angle.sin());
        let e = hole.density_at(&light, distances, &[[x, y], [-x, -y]]).unwrap();
        (0.0, e[0] / e[1])
    });
    // Under the burr it is dark but for its fringes.
    Check::worst("shadow of a burr stands upright: dark over lit", "geometry", 0.3, 1.0, pairs)
}
