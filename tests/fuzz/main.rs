//! Readers and whole answers given seeds that were changed at random: nothing panics, and every fault says what
//! is wrong and what to do, in words short enough to read.
//!
//! The runs of a test are the same each time. With `FORAMEN_FUZZ_RUNS=1000000` every reader has as many, a
//! whole answer a tenth of them; `FORAMEN_FUZZ_SEED=7` begins elsewhere.

#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::panic)]

mod change;
mod properties;
mod seeds;
mod whole;

use change::Change;
use foramen::camera::Camera;
use foramen::hole::outline_file::{self, Form};
use foramen::hole::{Said, Scale, read_place, read_reading};
use foramen::quantity::Quantity;
use foramen::raster::{Scan, Transfer, decoded};
use foramen::{Error, record};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

/// Changed seeds of each reader in an ordinary run of the tests.
const RUNS: u64 = 2000;
/// The longest fault, in letters: what is wrong, and what to do.
const LONGEST_FAULT: usize = 4000;

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Gives a reader changed seeds. `share` of the runs is done: one where a run is quick.
fn fuzz(target: &str, seeds: &[Vec<u8>], share: f64, read: impl Fn(&[u8]) -> Result<(), Error>) {
    let runs = (number("FORAMEN_FUZZ_RUNS").unwrap_or(RUNS) as f64 * share).ceil() as u64;
    let first = number("FORAMEN_FUZZ_SEED").unwrap_or(1) << 40;
    let (mut taken, mut slowest) = (0, (Duration::ZERO, 0));
    for run in first..first + runs {
        let bytes = Change::new(run).of(seeds);
        let begun = Instant::now();
        match catch_unwind(AssertUnwindSafe(|| read(&bytes))) {
            Ok(Ok(())) => taken += 1,
            Ok(Err(why)) => {
                let said = why.to_string();
                assert!(!why.remedy().is_empty(), "{target}, run {run}: {said}");
                assert!(said.chars().count() < LONGEST_FAULT, "{target}, run {run}: {said}");
            }
            Err(_) => {
                let kept = std::env::temp_dir().join(format!("foramen-fuzz-{target}-{run}"));
                std::fs::write(&kept, &bytes).unwrap();
                panic!("{target} panicked in run {run}; its input is {}", kept.display());
            }
        }
        slowest = slowest.max((begun.elapsed(), run));
    }
    let (time, run) = slowest;
    println!(
        "{target}: {runs} runs, {taken} taken, the slowest {} ms (run {run})",
        time.as_millis()
    );
}

#[test]
fn pictures() {
    fuzz("picture", &seeds::pictures(), 1.0, |bytes| {
        let picture = decoded(bytes, Transfer::ByFile)?;
        assert!(picture.raster.linear.iter().all(|light| light.is_finite()));
        Ok(())
    });
}

#[test]
fn pictures_in_strips() {
    fuzz("strips", &seeds::pictures(), 0.5, |bytes| {
        Scan::of(bytes.to_vec(), Transfer::ByFile)?.each_strip(|_, _| {})
    });
}

#[test]
fn outlines() {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    fuzz("table", &seeds::tables(), 1.0, |bytes| {
        outline_file::parse(&text(bytes), Form::Csv).map(drop)
    });
    fuzz("drawing", &seeds::drawings(), 1.0, |bytes| {
        outline_file::parse(&text(bytes), Form::Svg).map(drop)
    });
}

#[test]
fn cameras() {
    fuzz("camera", &seeds::cameras(), 0.5, |bytes| {
        Camera::parse(&String::from_utf8_lossy(bytes), "camera.toml", &seeds::a_curve).map(drop)
    });
}

#[test]
fn curves() {
    let camera = seeds::camera_with_a_filter();
    fuzz("curve", &seeds::curves(), 0.5, |bytes| {
        let curve = String::from_utf8_lossy(bytes).into_owned();
        Camera::parse(&camera, "camera.toml", &|_| Ok(curve.clone())).map(drop)
    });
}

#[test]
fn logs() {
    fuzz("log", &seeds::logs(), 1.0, |bytes| {
        let record = record::parse(bytes)?;
        let _ = record.passes();
        let hole = record.entries.first().map(|entry| entry.hole.clone());
        record.of(hole.as_deref(), None).map(drop)
    });
}

#[test]
fn words() {
    let none = |_: &str| Err(Error::not_there("does not exist", "check the name"));
    fuzz("words", &seeds::words(), 1.0, |bytes| {
        let words = String::from_utf8_lossy(bytes);
        let said = Said::of(words.as_ref()).source(&none);
        for quantity in [Quantity::Length, Quantity::Time, Quantity::Angle, Quantity::Wavelength] {
            if let Ok(value) = quantity.read(&words) {
                assert!(value.is_finite());
                let _ = quantity.write(value);
            }
        }
        let _ = (Scale::read(&words), read_place(&words), read_reading(&words));
        said.map(drop)
    });
}
