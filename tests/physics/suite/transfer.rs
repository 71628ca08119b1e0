//! Transfer functions, and the images of lines and edges that they make.

use super::{Check, MM, light, number, table};
use foramen::geometry::shapes;
use foramen::wave::analytic::DiscOtf;
use foramen::wave::{Aperture, Chords, Distances, Grid, Light, Shadow, Spread};
use std::f64::consts::{PI, TAU};

pub(crate) fn checks() -> Vec<Check> {
    let source = "Goodman 6.3-6.4; mpmath quadrature";
    let closed_form = DiscOtf::default();
    let (mut closed, mut strips) = (Vec::new(), Vec::new());
    let chords = Chords::along(&shapes::disc(0.3).unwrap(), 0.0, 1024);
    for row in table("disc_otf") {
        let (n, sigma) = (number(&row, "fresnel_number"), number(&row, "sigma"));
        let truth = number(&row, "transfer");
        closed.push((truth, closed_form.at(n, sigma)));
        let z = if n == 0.0 { 1e9 } else { 0.0225 / (MM * n) };
        let found = chords.otf(&light(), Distances::distant(z).unwrap(), sigma * 0.3 / (MM * z));
        // Any imaginary part is error too.
        strips.push((truth, found.re + found.im.abs()));
    }
    vec![
        Check::worst("OTF of a disc in closed form", source, 1e-13, 1.0, closed),
        // What 1024 strips leave at the kinks: measured 5e-7.
        Check::worst("OTF of a disc by strips", source, 2e-6, 1.0, strips),
        shadows(),
        transformed(),
        lines(),
        edges(),
        edge_is_the_sum_of_lines(),
    ]
}

/// The OTF of a disc of many zones by sums along its rim, where hardly a chord is shorter than the shift.
fn shadows() -> Check {
    let (closed, diameter, film_mm) = (DiscOtf::default(), 4.0, 100.0);
    let shadow = Shadow::of(&shapes::disc(diameter).unwrap(), Distances::distant(film_mm).unwrap());
    let (n, cut_off) = (diameter * diameter / 4.0 / (MM * film_mm), diameter / (MM * film_mm));
    let found = shadow.otf(&light(), [0.0, 0.0], [0.03, 0.04], 60);
    let pairs: Vec<(f64, f64)> = found
        .iter()
        .enumerate()
        .map(|(i, found)| (closed.at(n, 0.05 * i as f64 / cut_off), found.re + found.im.abs()))
        .collect();
    // The disc is a polygon of its own area, and at 3 lp/mm some chords are shorter than 0.17 mm.
    Check::worst("OTF of a shadow along its rim, N = 73", "Goodman 6.4", 5e-5, 1.0, pairs)
}

/// The OTF by strips is the Fourier transform of the PSF by moments: two routes that share nothing
/// but the outline.
fn transformed() -> Check {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap().centred();
    let distances = Distances::new(600.0, 80.0).unwrap();
    let light = Light::new(&[(500.0, 1.0), (600.0, 1.0)]).unwrap();
    // Below λv/(2d) of the shortest wavelength, so that the sum is the integral.
    let (pitch, size) = (0.06, 2048);
    let grid = Grid::new(size, pitch).unwrap();
    let psf = Aperture::of(&hole).wide_psf(&light, distances, grid).unwrap();
    let mut pairs = Vec::new();
    for direction in [0.0, 0.7, 1.9f64] {
        let chords = Chords::along(&hole, direction, 1024);
        let (sin, cos) = direction.sin_cos();
        for f in [0.5, 1.0, 2.0, 4.0, 6.0] {
            let (mut re, mut im) = (0.0, 0.0);
            for ((row, column), e) in psf.density.indexed_iter() {
                let middle = (size / 2) as f64;
                let (x, y) = ((column as f64 - middle) * pitch, (row as f64 - middle) * pitch);
                let phase = TAU * f * (x * cos + y * sin);
                re += e * phase.cos() * pitch * pitch;
                im += e * phase.sin() * pitch * pitch;
            }
            let found = chords.otf(&light, distances, f);
            pairs.extend([(re, found.re), (im, found.im)]);
        }
    }
    // The tail outside the grid, 0.03 % of the energy, is cut off; a wave of f = 0.5 turns thirty
    // times across the window, which leaves a part of it.
    Check::worst(
        "OTF with its phase, as the PSF's transform",
        "Fourier transform",
        2e-5,
        1.0,
        pairs,
    )
}

/// The image of a line by a disc far away, in units of d/(λv).
fn lines() -> Check {
    let (spread, unit) = far_spread();
    let pairs = table("line_spread").into_iter().map(|row| {
        // Times λv/d, which is π times the unit.
        let found = spread.line_at(number(&row, "w") * unit) * unit * PI;
        (number(&row, "line"), found)
    });
    // The strips' 5e-7, averaged over frequencies.
    Check::worst("image of a line, disc far away", "Struve 1882; mpmath", 1e-6, 1.0, pairs)
}

/// And of an edge, on both sides.
fn edges() -> Check {
    let (spread, unit) = far_spread();
    let pairs = table("line_spread").into_iter().flat_map(|row| {
        let (w, edge) = (number(&row, "w"), number(&row, "edge"));
        [(edge, spread.edge_at(w * unit)), (1.0 - edge, spread.edge_at(-w * unit))]
    });
    Check::worst("image of an edge, disc far away", "its integral; mpmath", 1e-6, 1.0, pairs)
}

/// A disc of 0.3 mm so far away that N = 1e-9, and the place on the film of w = 1: λv/(πd).
fn far_spread() -> (Spread, f64) {
    let v = 0.0225 / (MM * 1e-9);
    let chords = Chords::along(&shapes::disc(0.3).unwrap(), 0.3, 1024);
    let spread = Spread::along(&chords, &light(), Distances::distant(v).unwrap());
    (spread, MM * v / (PI * 0.3))
}

/// For a burred hole near its film the edge is the sum of the lines, and both lean to one side.
fn edge_is_the_sum_of_lines() -> Check {
    let hole = shapes::burred_disc(0.35, 0.2, 0.3, 0.12).unwrap();
    let distances = Distances::new(300.0, 60.0).unwrap();
    let spread = Spread::along(&Chords::along(&hole, 0.2, 1024), &light(), distances);
    let step = 1e-3;
    let pairs: Vec<(f64, f64)> = (-40..40)
        .map(|i| {
            let (from, to) = (f64::from(i) * 0.01, f64::from(i + 1) * 0.01);
            // Simpson's rule over each hundredth of a mm.
            let middle = 4.0 * spread.line_at((from + to) / 2.0);
            let sum = (spread.line_at(from) + middle + spread.line_at(to)) * 0.01 / 6.0;
            (sum, spread.edge_at(to) - spread.edge_at(from))
        })
        .collect();
    let lean = (spread.line_at(0.1) - spread.line_at(-0.1)).abs();
    assert!(lean > 100.0 * step * step, "a burred hole's line leans: {lean}");
    // Simpson's own error on waves below the cut-off of 10 lp/mm: (2π·10·0.005)⁴/180 of 0.01 mm.
    Check::worst(
        "edge as the sum of lines, burred hole",
        "the integral's definition",
        1e-6,
        1.0,
        pairs,
    )
}
