//! From a photo to a verdict by library: here the built-in photo, which is invented.
//!
//! `cargo run --release --example photo_to_verdict`

#![allow(clippy::print_stdout)]

use foramen::camera::Camera;
use foramen::hole::{Hole, Scale, specimen};
use foramen::verdict::{advice::verdict, growth::Growth, setting::Reference};
use std::path::Path;
use std::sync::Arc;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let photo = specimen::demonstration()?.raster;
    let hole = Hole::of_picture(
        Arc::new(photo),
        Path::new("the demonstration"),
        Scale::read("1000 px = 1 mm")?,
        None,
    )?;
    let camera = Camera::demonstration()?;
    let reference = Reference::of(&camera);
    let known_mm = hole.diameter_uncertainty_mm();
    let verdict = verdict(&camera, &reference, &hole.outline, known_mm, &Growth::stated())?;
    let (own_mm, best_mm) = (hole.outline.equivalent_diameter_mm(), reference.target.diameter_mm);
    println!("{own_mm:.3} mm across, best {best_mm:.3} mm: {:?}", verdict.action);
    for reason in verdict.reasons {
        println!("- {reason}");
    }
    Ok(())
}
