//! What the bench does over time: it stops for who has left, and does not grow.

use super::program::{Program, photo};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::thread::sleep;
use std::time::Duration;

/// Sends an appraisal, reads until the verdict is there, and leaves.
fn appraise_and_leave(bench: &Program, photo: &[u8], scale: &str) -> usize {
    let mut stream: TcpStream = bench.connect();
    let headers = format!("Origin: http://{}\r\nAccept: text/event-stream\r\n", bench.host);
    let parts = [
        ("photo", Some("hole.png"), photo),
        ("px", None, scale.as_bytes()),
        ("apart", None, &b"1"[..]),
    ];
    stream.write_all(&bench.form("/", &parts, &headers)).unwrap();
    let (mut seen, mut part) = (Vec::new(), [0; 4096]);
    while !String::from_utf8_lossy(&seen).contains("event: verdict") {
        let count = stream.read(&mut part).unwrap();
        assert!(count > 0, "{}", String::from_utf8_lossy(&seen));
        seen.extend(&part[..count]);
    }
    seen.len()
}

/// A page that is closed stops its job: from 0.2 s on the processor rests. Where nobody leaves, point images
/// and pictures take a second of it and more.
#[test]
fn who_leaves_stops_the_work() {
    let (png, px_per_mm) = photo();
    let bench = Program::start(&[]);
    let Some(_) = bench.ticks() else {
        eprintln!("skipped: this system does not say what time a process has taken");
        return;
    };
    appraise_and_leave(&bench, &png, &px_per_mm.to_string());
    sleep(Duration::from_millis(200));
    let before = bench.ticks().unwrap();
    sleep(Duration::from_secs(2));
    let after = bench.ticks().unwrap();
    assert!(after - before <= 10, "{} ticks after the page was closed", after - before);
}

/// A thousand appraisals one after the other (or as many as FORAMEN_APPRAISALS says) need no more memory than
/// the first fifty: what an allocator keeps by chance is less than 16 MB.
#[test]
#[ignore = "takes a quarter of an hour"]
fn a_thousand_appraisals_do_not_grow() {
    let rounds = std::env::var("FORAMEN_APPRAISALS").ok().and_then(|text| text.parse().ok());
    let (png, px_per_mm) = photo();
    let bench = Program::start(&[]);
    let mut first = None;
    for round in 1..=rounds.unwrap_or(1000) {
        appraise_and_leave(&bench, &png, &px_per_mm.to_string());
        let Some(kilobytes) = bench.status("VmRSS:") else { return };
        if round == 50 {
            first = Some(kilobytes);
        }
        if round % 100 == 0 {
            eprintln!("{round} appraisals: {:.0} MB", kilobytes / 1024.0);
        }
        let grown = first.map_or(0.0, |first| kilobytes - first);
        assert!(grown < 16.0 * 1024.0, "{grown} kB more after {round} appraisals");
    }
}
