//! The OTF: closed forms, and the PSF's own transform.

use crate::{compare, number, table};
use foramen::geometry::shapes;
use foramen::wave::analytic::DiscOtf;
use foramen::wave::{Aperture, Chords, Distances, Grid, Light};

#[test]
fn disc_table() {
    let closed = DiscOtf::default();
    let (mut closed_worst, mut worst) = (0.0f64, 0.0f64);
    let light = Light::single(550.0).unwrap();
    let chords = Chords::along(&shapes::disc(0.3).unwrap(), 0.0, 1024);
    for row in table("disc_otf") {
        let (n, sigma) = (number(&row, "fresnel_number"), number(&row, "sigma"));
        let truth = number(&row, "transfer");
        closed_worst = closed_worst.max((closed.at(n, sigma) - truth).abs());
        let z = if n == 0.0 { 1e9 } else { 0.0225 / (550e-6 * n) };
        let distances = Distances::distant(z).unwrap();
        let found = chords.otf(&light, distances, sigma * 0.3 / (550e-6 * z));
        worst = worst.max((found - truth).norm());
    }
    compare("OTF of a disc, closed form against the table", closed_worst, 1e-13);
    // What 1024 strips leave at the kinks: measured 9e-7.
    compare("OTF of a disc, strips against the table", worst, 2e-6);
}

/// The OTF by strips is the Fourier transform of the PSF by moments: two routes that share nothing
/// but the outline. The PSF is cut at the grid's edge, so it is compared on a wide grid, with the
/// flat part that the missing tail leaves.
#[test]
fn psf_transforms_into_the_otf() {
    let hole = shapes::burred_disc(0.3, 0.7, 0.3, 0.12).unwrap().centred();
    let distances = Distances::new(600.0, 80.0).unwrap();
    let light = Light::new(&[(500.0, 1.0), (600.0, 1.0)]).unwrap();
    // Below λv/(2d) of the shortest wavelength, so that the sum is the integral.
    let pitch = 0.04;
    let psf = Aperture::of(&hole).psf(&light, distances, Grid::new(401, pitch).unwrap()).unwrap();
    for direction in [0.0, 0.7, 1.9f64] {
        let chords = Chords::along(&hole, direction, 1024);
        let (sin, cos) = direction.sin_cos();
        for f in [0.5, 1.0, 2.0, 4.0, 6.0] {
            let turn = std::f64::consts::TAU * f;
            let (mut re, mut im) = (0.0, 0.0);
            for ((row, column), e) in psf.density.indexed_iter() {
                let (x, y) = ((column as f64 - 200.0) * pitch, (row as f64 - 200.0) * pitch);
                let phase = turn * (x * cos + y * sin);
                re += e * phase.cos() * pitch * pitch;
                im += e * phase.sin() * pitch * pitch;
            }
            let found = chords.otf(&light, distances, f);
            let error = (found.re - re).hypot(found.im - im);
            // The tail outside the grid, 0.4 % of the energy, is cut off; a wave of f = 0.5 still
            // turns four times across the window, which leaves a tenth of it.
            assert!(error < 5e-4, "{direction}, {f}: {found} against {re} {im}: {error:.1e}");
        }
    }
}
