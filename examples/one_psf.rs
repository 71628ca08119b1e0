//! The point image of a disc, drawn: what `foramen::wave` and `foramen::plate` are for.
//!
//! `cargo run --release --example one_psf` writes one_psf.png.

#![allow(clippy::print_stdout)]

use foramen::geometry::shapes;
use foramen::plate::{PointImage, PsfView, point_image};
use foramen::wave::{Aperture, Distances, Grid, Light};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let light = Light::single(550.0)?;
    let distances = Distances::distant(80.0)?;
    let grid = Grid::new(256, 0.004)?;
    let (small, large) = (shapes::disc(0.15)?, shapes::disc(0.45)?);
    let small = Aperture::of(&small).psf(&light, distances, grid)?;
    let large = Aperture::of(&large).psf(&light, distances, grid)?;
    let view = |psf, title: &str| PsfView {
        density_per_mm2: psf,
        pitch_mm: grid.pitch_mm(),
        title: title.into(),
    };
    let plate = point_image(&PointImage {
        this: view(&small.density, "0.15 mm: diffraction spreads it"),
        best: view(&large.density, "0.45 mm: its shadow spreads it"),
        title: "A point of light behind a hole, 80 mm away",
        caption: "Two perfect discs in green light of 550 nm.",
    })?;
    std::fs::write("one_psf.png", plate)?;
    println!("A point of light spreads to {:.0} per mm² at its peak behind 0.15 mm,", small.peak());
    println!("and to {:.0} per mm² behind 0.45 mm. Drawn: one_psf.png", large.peak());
    Ok(())
}
