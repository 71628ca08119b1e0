//! From the bytes of a photo to a verdict, watched, and stopped half-way: no file is read or written. The
//! photo is the built-in one, which is invented.
//!
//! `cargo run --release --example photo_to_verdict`

#![allow(clippy::print_stdout)]

use foramen::camera::Camera;
use foramen::hole::{Hole, Said, specimen};
use foramen::raster::{display, png};
use foramen::task::appraise::{Request, judge, points};
use foramen::verdict::decision::hand::Hand;
use foramen::{Error, Kind, Step, Watch, words};
use std::ops::ControlFlow;

fn main() -> Result<(), Error> {
    let upload = png(&display(&specimen::demonstration()?.raster)?)?;
    let said = Said { scales: vec!["1000 px = 1 mm".into()], ..Said::of("upload.png") };
    let hole = Hole::of(&said.source(&|_| Ok(upload.clone()))?)?;
    let camera = Camera::demonstration()?;
    let request = Request { camera, hole, hand: Hand::unknown(), again: false, others: Vec::new() };
    // Somebody who watches wants the verdict, and leaves before the light is computed.
    let impatient = |step, _| match step {
        Step::PointImage => ControlFlow::Break(()),
        _ => ControlFlow::Continue(()),
    };
    let judged = judge(&request, Watch::new(&impatient))?;
    println!("{}", words::verdict::heading(&judged.verdict));
    for reason in words::verdict::reasons(&judged.verdict) {
        println!("- {reason}");
    }
    let stopped = points(&request, &judged, Watch::new(&impatient));
    assert!(stopped.is_err_and(|why| *why.kind() == Kind::Stopped));
    println!("Stopped before the light.");
    Ok(())
}
