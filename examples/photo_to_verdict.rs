//! From a photo to a verdict by library: here the built-in photo, which is invented.
//!
//! `cargo run --release --example photo_to_verdict`

#![allow(clippy::print_stdout)]

use foramen::camera::Camera;
use foramen::hole::{Hole, Scale, burrs, specimen, without_burrs};
use foramen::verdict::{advice::verdict, appraise::appraise, target::target};
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
    let target = target(&camera);
    let smooth = without_burrs(&hole.outline)?;
    let count = burrs(&hole.outline).len();
    let appraisal = appraise(&camera, &target, &hole.outline, count, &smooth);
    let diameter_mm = hole.outline.equivalent_diameter_mm();
    let verdict = verdict(&appraisal, &target, hole.size_uncertainty.of_diameter(diameter_mm));
    println!("{diameter_mm:.3} mm across, best {:.3} mm: {:?}", target.diameter_mm, verdict.action);
    for reason in verdict.reasons {
        println!("- {reason}");
    }
    Ok(())
}
