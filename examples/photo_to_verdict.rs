//! From a photo to a verdict by library: here the built-in photo, which is invented.
//!
//! `cargo run --release --example photo_to_verdict`

#![allow(clippy::print_stdout)]

use foramen::camera::Camera;
use foramen::hole::{Hole, Scale, specimen};
use foramen::verdict::outlook::{Looked, Means};
use foramen::verdict::{camera_losses::Reference, hand::Hand, judgement::verdict};
use foramen::words::verdict::{heading, reasons};
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
    let looked = Looked {
        means: Means::Outline,
        diameter_uncertainty_mm: hole.diameter_uncertainty_mm(),
        again: false,
    };
    let verdict = verdict(&camera, &reference, &hole.outline, looked, &Hand::unknown())?;
    let (own_mm, best_mm) = (hole.outline.equivalent_diameter_mm(), reference.target.diameter_mm);
    println!("{own_mm:.3} mm across, best {best_mm:.3} mm. {}", heading(&verdict));
    for reason in reasons(&verdict) {
        println!("- {reason}");
    }
    Ok(())
}
