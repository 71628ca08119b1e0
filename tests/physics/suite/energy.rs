//! Energy: inside circles and squares, on the whole film, at the peak.

use super::lommel::at_fresnel_number;
use super::{Check, exact, light, number, table};
use foramen::geometry::shapes;
use foramen::wave::{Aperture, Distances, Encircled, Grid, Light, Window, analytic, energy_beyond};
use std::f64::consts::PI;

const SOURCE: &str = "mpmath quadrature of the pattern";

pub(crate) fn checks() -> Vec<Check> {
    let rows = table("disc_encircled");
    let (mut closed, mut exactly, mut by_otf) = (Vec::new(), Vec::new(), Vec::new());
    for row in &rows {
        let (n, t, truth) =
            (number(row, "fresnel_number"), number(row, "t"), number(row, "energy"));
        let (a, distances) = at_fresnel_number(n);
        let disc = shapes::disc(2.0 * a).unwrap();
        let circle = 2.0 * t * distances.shadow_magnification() * a;
        let window = Window::Circle(circle);
        closed.push((truth, analytic::disc_encircled(n, 2.0 * PI * n * t)));
        let within = exact(&disc).energy_within(&light(), distances, window).unwrap();
        exactly.push((truth, within));
        by_otf.push((truth, Encircled::of(&disc, &light(), distances).within(circle)));
    }
    vec![
        Check::worst("encircled energy in closed form", "Wolf 1951; mpmath", 1e-13, 1.0, closed),
        // The polygon's ripple, and the table's digits.
        Check::worst("energy in a circle, from the density", SOURCE, 1e-10, 1.0, exactly),
        // The OTF by 256 strips is good to 2e-5 at its worst frequency; the sum averages that.
        Check::worst("energy in a circle, from the OTF", SOURCE, 2e-5, 1.0, by_otf),
        square(),
        beyond(),
        strehl(),
    ]
}

/// A square hole's far field is a product: its energy in a square window is that of one axis squared,
/// ∫ sinc² from -q to q, with ∫_0^x (sin s/s)² ds = Si(2x) - sin²x/x (from memory).
fn square() -> Check {
    // Si(2), Si(4), Si(8): Abramowitz & Stegun, table 5.1 (10 digits; here by mpmath).
    let rows =
        [(1.0, 1.605_412_976_802_695), (2.0, 1.758_203_138_949_053), (4.0, 1.574_186_821_706_942)];
    let (side, v, mm) = (0.2, 1e9, super::MM);
    let hole = exact(&shapes::rectangle(side, side).unwrap());
    let pairs = rows.map(|(x, si)| {
        // κ a X/2 = x at the window's edge: X = x λv/(π a).
        let half = x * mm * v / (PI * side);
        let axis: f64 = 2.0 / PI * (si - f64::sin(x).powi(2) / x);
        let distances = Distances::distant(v).unwrap();
        let found = hole.energy_within(&light(), distances, Window::Square(2.0 * half)).unwrap();
        (axis * axis, found)
    });
    // N = 2e-8 changes the far field by its square.
    Check::worst("energy in a square window", "∫ sinc², sine integral", 1e-10, 1.0, pairs)
}

/// The samples' sum and the known tail make 1: λvP/(2π²AR) beyond the radius R.
fn beyond() -> Check {
    let disc = shapes::disc(0.3).unwrap();
    let distances = Distances::distant(80.0).unwrap();
    let light = Light::new(&[(450.0, 1.0), (550.0, 2.0), (650.0, 1.0)]).unwrap();
    // The pitch resolves the band of the shortest wavelength, λv/(2d), with room.
    let psf = Aperture::of(&disc).psf(&light, distances, Grid::new(401, 0.02).unwrap()).unwrap();
    // Along the direction φ a square of half-width h ends at h/cos φ, and the tail beyond R falls as
    // 1/R: it loses the mean of cos φ, sin(π/4)/(π/4) = 0.9003, of what the circle of radius h does.
    let beyond = energy_beyond(&disc, &light, 80.0, 200.5 * 0.02) * 0.9003;
    let source = "Parseval; Rayleigh's 1 - J0² - J1²";
    // The tail's own next term is of the order of (shadow/reach)²: (0.15/4)² of a 0.5 % tail.
    Check::value("energy on the grid and beyond", source, 1e-4, 1.0, psf.energy_on_grid() + beyond)
}

/// A disc's centre over the in-phase one: (sin(πN/2)/(πN/2))².
fn strehl() -> Check {
    let pairs = [0.1, 0.5, 1.0, 1.7].map(|n| {
        let (a, distances) = at_fresnel_number(n);
        let disc = exact(&shapes::disc(2.0 * a).unwrap().moved(0.03, -0.02));
        let x = PI * n / 2.0;
        ((x.sin() / x).powi(2), disc.strehl_ratio(&light(), distances).unwrap())
    });
    Check::worst("Strehl ratio of a disc", "Born & Wolf 8.8, 9.1.3", 1e-9, 1.0, pairs)
}
