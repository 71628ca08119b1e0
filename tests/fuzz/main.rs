//! Readers and whole answers given seeds that were changed at random: nothing panics, and every fault says what
//! is wrong and what to do, in words short enough to read.
//!
//! The runs of a test are the same each time. With `FORAMEN_FUZZ_RUNS=1000000` every reader has as many, a
//! whole answer a tenth of them, and a run may take 5 s; `FORAMEN_FUZZ_SEED=7` begins elsewhere.

#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::panic)]

mod change;
#[cfg(feature = "page")]
mod forms;
mod properties;
mod seeds;
mod whole;

use change::Change;
use foramen::camera::Camera;
use foramen::hole::outline_file::{self, Form};
use foramen::hole::{Said, Scale, Shape, read_place, read_reading};
use foramen::quantity::Quantity;
use foramen::raster::{Scan, Transfer, decoded};
use foramen::{Error, record};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::time::{Duration, Instant};

/// The longest fault, in letters: what is wrong, and what to do.
const LONGEST_FAULT: usize = 4000;
/// A run of a long job that takes longer hangs, for whoever waits for it.
const LONGEST_RUN: Duration = Duration::from_secs(5);
const EVERY_MINUTE: Duration = Duration::from_secs(60);

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Runs of a target: in an ordinary run of the tests, and as a part of those that are asked for.
#[derive(Clone, Copy)]
struct Runs {
    ordinary: u64,
    asked: f64,
}

/// Of a reader, so many in an ordinary run.
const fn reads(ordinary: u64) -> Runs {
    Runs { ordinary, asked: 1.0 }
}

/// Of whole answers.
const fn answers(ordinary: u64) -> Runs {
    Runs { ordinary, asked: 0.1 }
}

/// Gives a reader changed seeds.
fn fuzz(target: &str, seeds: &[Vec<u8>], runs: u64, read: impl Fn(&[u8]) -> Result<(), Error>) {
    each_run(target, reads(runs), |run| {
        let bytes = Change::new(run).of(seeds);
        catch_unwind(AssertUnwindSafe(|| read(&bytes))).unwrap_or_else(|panic| {
            let kept = std::env::temp_dir().join(format!("foramen-fuzz-{target}-{run}"));
            std::fs::write(&kept, &bytes).unwrap();
            println!("{target} panicked in run {run}; its input is {}", kept.display());
            resume_unwind(panic)
        })
    });
}

/// Does the runs of a target, each known by its number. A long job tells each minute how far it has come, and
/// holds every run to the limit of time.
fn each_run(target: &str, runs: Runs, once: impl Fn(u64) -> Result<(), Error>) {
    let asked = number("FORAMEN_FUZZ_RUNS");
    let runs = asked.map_or(runs.ordinary, |asked| (asked as f64 * runs.asked).ceil() as u64);
    let first = number("FORAMEN_FUZZ_SEED").unwrap_or(1) << 40;
    let (mut taken, mut slowest) = (0, (Duration::ZERO, 0));
    let mut told = Instant::now();
    let tell = |done: u64, taken: u64, (time, run): (Duration, u64)| {
        println!(
            "{target}: {done} of {runs} runs, {taken} taken, the slowest {} ms (run {run}), {} MB at most",
            time.as_millis(),
            most_megabytes()
        );
    };
    for run in first..first + runs {
        let begun = spent();
        match catch_unwind(AssertUnwindSafe(|| once(run))) {
            Ok(Ok(())) => taken += 1,
            Ok(Err(why)) => {
                let said = why.to_string();
                assert!(!why.remedy().is_empty(), "{target}, run {run}: {said}");
                assert!(said.chars().count() < LONGEST_FAULT, "{target}, run {run}: {said}");
            }
            Err(_) => panic!("{target} panicked in run {run}"),
        }
        let time = spent().saturating_sub(begun);
        slowest = slowest.max((time, run));
        if asked.is_some() {
            assert!(time < LONGEST_RUN, "{target}, run {run}: {time:?}");
            if told.elapsed() > EVERY_MINUTE {
                told = Instant::now();
                tell(run + 1 - first, taken, slowest);
            }
        }
    }
    tell(runs, taken, slowest);
}

/// The processor's time of this process so far, where the system tells it (in hundredths of a second): on a busy
/// machine a run may wait for minutes. Elsewhere none.
fn spent() -> Duration {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = text.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = after_name.split_whitespace().skip(11).take(2);
    Duration::from_millis(10 * ticks.filter_map(|word| word.parse::<u64>().ok()).sum::<u64>())
}

/// The most memory that this process has taken so far, where the system tells.
fn most_megabytes() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
    kilobytes.unwrap_or(0u64) / 1000
}

#[test]
fn pictures() {
    fuzz("picture", &seeds::pictures(), 2000, |bytes| {
        let picture = decoded(bytes, Transfer::ByFile)?;
        assert!(picture.raster.linear.iter().all(|light| light.is_finite()));
        Ok(())
    });
}

#[test]
fn pictures_in_strips() {
    fuzz("strips", &seeds::pictures(), 1000, |bytes| {
        Scan::of(bytes.to_vec(), Transfer::ByFile)?.each_strip(|_, _| {})
    });
}

#[test]
fn outlines() {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    fuzz("table", &seeds::tables(), 2000, |bytes| {
        outline_file::parse(&text(bytes), Form::Csv).map(drop)
    });
    fuzz("drawing", &seeds::drawings(), 2000, |bytes| {
        outline_file::parse(&text(bytes), Form::Svg).map(drop)
    });
}

#[test]
fn cameras() {
    fuzz("camera", &seeds::cameras(), 1000, |bytes| {
        Camera::parse(&String::from_utf8_lossy(bytes), "camera.toml", &seeds::a_curve).map(drop)
    });
}

#[test]
fn curves() {
    let camera = seeds::camera_with_a_filter();
    fuzz("curve", &seeds::curves(), 1000, |bytes| {
        let curve = String::from_utf8_lossy(bytes).into_owned();
        Camera::parse(&camera, "camera.toml", &|_| Ok(curve.clone())).map(drop)
    });
}

#[test]
fn logs() {
    fuzz("log", &seeds::logs(), 2000, |bytes| {
        let record = record::parse(bytes)?;
        let _ = record.passes();
        let hole = record.entries.first().map(|entry| entry.hole.clone());
        record.of(hole.as_deref(), None).map(drop)
    });
}

#[test]
fn words() {
    let none = |_: &str| Err(Error::not_there("does not exist", "check the name"));
    fuzz("words", &seeds::words(), 2000, |bytes| {
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

/// What is read is a hole that light can pass, and its own words mean it again.
#[test]
fn shapes() {
    fuzz("shapes", &seeds::shapes(), 2000, |bytes| {
        let words = String::from_utf8_lossy(bytes);
        let Some(shape) = Shape::read(&words)? else { return Ok(()) };
        let area = shape.outline.area_mm2();
        assert!(area > 0.0 && area.is_finite(), "{words}: {area}");
        let again = Shape::read(&shape.words).unwrap().unwrap();
        // Its own words keep six digits.
        let ratio = again.outline.area_mm2() / area;
        assert!((ratio - 1.0).abs() < 1e-3, "{words}: {} has {ratio} times the area", shape.words);
        Ok(())
    });
}
