//! What the bench does over time: it stops for who has left, and does not grow.

use super::program::{Part, Program, photo};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Sends a form that wants its answer in stages.
fn begun(bench: &Program, parts: &[Part]) -> TcpStream {
    let mut stream = bench.connect();
    let headers = format!("Origin: http://{}\r\nAccept: text/event-stream\r\n", bench.host);
    stream.write_all(&bench.form("/", parts, &headers)).unwrap();
    stream
}

/// Reads until an event is there; false where the answer ends before.
fn comes(stream: &mut TcpStream, event: &str) -> bool {
    let (mut seen, mut part): (Vec<u8>, _) = (Vec::new(), [0; 4096]);
    while let Ok(count) = stream.read(&mut part)
        && count > 0
    {
        seen.extend(&part[..count]);
        if seen.windows(event.len()).any(|letters| letters == event.as_bytes()) {
            return true;
        }
        // The last letters of what was read may be the first of the event.
        seen.drain(..seen.len().saturating_sub(event.len()));
    }
    false
}

/// Sends an appraisal, reads until the verdict is there, and leaves.
fn appraise_and_leave(bench: &Program, photo: &[u8], scale: &str) {
    let parts = [
        ("photo", Some("hole.png"), photo),
        ("px", None, scale.as_bytes()),
        ("apart", None, &b"1"[..]),
    ];
    assert!(comes(&mut begun(bench, &parts), "event: verdict"));
}

/// Nobody's verdict waits for somebody else's pictures: where many come at once, all have their verdict before
/// half have their files.
#[test]
fn verdicts_come_before_the_pictures_of_others() {
    const MANY: usize = 6;
    let bench = Program::start(&[]);
    let done = AtomicUsize::new(0);
    let before = std::thread::scope(|scope| {
        let one = || {
            let mut stream = begun(&bench, &[("size", None, b"0.34 mm")]);
            assert!(comes(&mut stream, "event: verdict"));
            let before = done.load(Ordering::SeqCst);
            assert!(comes(&mut stream, "event: files"));
            done.fetch_add(1, Ordering::SeqCst);
            before
        };
        let all: Vec<_> = (0..MANY).map(|_| scope.spawn(one)).collect();
        all.into_iter().map(|one| one.join().unwrap()).max()
    });
    assert!(
        before.unwrap() < MANY / 2,
        "{before:?} of {MANY} had their files before the last verdict"
    );
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

/// Ten minutes (or as many as FORAMEN_MINUTES says) of bad and heavy requests, while honest people look at the page
/// and have a size appraised. All are served; how long they wait is told, for a quiet machine to be judged by.
#[test]
#[ignore = "takes ten minutes"]
fn honest_people_are_served_amid_abuse() {
    let minutes = std::env::var("FORAMEN_MINUTES").ok().and_then(|text| text.parse().ok());
    let bench = Program::start(&[]);
    let host = &bench.host;
    let over = AtomicBool::new(false);
    let (png, _) = photo();
    let noise = noise(1600, 1200);
    let vast = vast(10_000, 10_000);
    let photo_of = |bytes| {
        [("photo", Some("a.png"), bytes), ("px", None, &b"400"[..]), ("apart", None, &b"1"[..])]
    };
    let answered = |request: &[u8]| {
        let mut stream = bench.connect();
        let _ = stream.write_all(request);
        let mut part = [0; 65536];
        while matches!(stream.read(&mut part), Ok(count) if count > 0) {}
    };
    let slowly = |bytes: &[u8], pause_ms| {
        let mut stream = bench.connect();
        for part in bytes.chunks(200) {
            if over.load(Ordering::Relaxed) || stream.write_all(part).is_err() {
                return;
            }
            sleep(Duration::from_millis(pause_ms));
        }
    };
    let headers = format!("Origin: http://{host}\r\nAccept: text/event-stream\r\n");
    let form = |path: &str, parts: &[Part]| bench.form(path, parts, &headers);
    let abuse: [(u64, Box<dyn Fn() + Sync + Send>); 11] = [
        (
            300,
            Box::new(|| {
                answered(b"GET / HTTP/1.1\r\nHost: elsewhere.example\r\nConnection: close\r\n\r\n");
            }),
        ),
        (
            300,
            Box::new(|| {
                answered(&bench.form(
                    "/",
                    &[("size", None, b"0.3 mm")],
                    "Origin: http://elsewhere.example\r\n",
                ));
            }),
        ),
        (
            300,
            Box::new(|| {
                answered(format!("GET /static/../../etc/passwd HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").as_bytes());
            }),
        ),
        (300, Box::new(|| answered(&form("/", &[("size", None, b"<script>alert(1)</script>")])))),
        (
            500,
            Box::new(|| {
                answered(format!("POST / HTTP/1.1\r\nHost: {host}\r\n{headers}Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 1000000000\r\n\r\n").as_bytes());
            }),
        ),
        (100, Box::new(|| slowly(&form("/", &photo_of(&noise)), 400))),
        (
            100,
            Box::new(|| {
                slowly(
                    format!("GET / HTTP/1.1\r\nHost: {host}\r\nA: {}", "b".repeat(20000))
                        .as_bytes(),
                    400,
                );
            }),
        ),
        (1000, Box::new(|| appraise_and_leave(&bench, &png, "400"))),
        (1000, Box::new(|| answered(&form("/", &photo_of(&noise))))),
        (2000, Box::new(|| answered(&form("/", &photo_of(&vast))))),
        (3000, Box::new(|| answered(&form("/every", &photo_of(&noise))))),
    ];
    let waits = std::thread::scope(|scope| {
        for (pause_ms, attack) in &abuse {
            scope.spawn(|| {
                while !over.load(Ordering::Relaxed) {
                    attack();
                    sleep(Duration::from_millis(*pause_ms));
                }
            });
        }
        let until = Instant::now() + Duration::from_secs(60 * minutes.unwrap_or(10));
        let mut waits = Vec::new();
        while Instant::now() < until {
            let since = Instant::now();
            assert_eq!(bench.get("/", "").status, 200);
            let page_s = since.elapsed().as_secs_f64();
            let mut stream = begun(&bench, &[("size", None, b"0.34 mm")]);
            assert!(comes(&mut stream, "event: verdict"), "an honest form was turned away");
            waits.push([page_s, since.elapsed().as_secs_f64()]);
            sleep(Duration::from_secs(1));
        }
        over.store(true, Ordering::Relaxed);
        waits
    });
    for (i, what) in ["page", "verdict"].iter().enumerate() {
        let mut all: Vec<f64> = waits.iter().map(|wait| wait[i]).collect();
        all.sort_by(f64::total_cmp);
        let [median, worst] = [all[all.len() / 2], all[all.len() - 1]];
        eprintln!("{what}: {} times, median {median:.2} s, longest {worst:.2} s", all.len());
    }
    let held = |key| bench.status(key).map_or(0.0, |kilobytes| kilobytes / 1024.0);
    eprintln!("memory: {:.0} MB at most, {:.0} MB now", held("VmHWM:"), held("VmRSS:"));
}

/// A picture of noise, as a PNG.
fn noise(columns: u32, rows: u32) -> Vec<u8> {
    let mut state = 1_u32;
    let image = image::GrayImage::from_fn(columns, rows, |_, _| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        image::Luma([(state >> 24) as u8])
    });
    packed(&image)
}

/// A picture of nothing with many pixels, as a small PNG.
fn vast(columns: u32, rows: u32) -> Vec<u8> {
    packed(&image::GrayImage::new(columns, rows))
}

fn packed(image: &image::GrayImage) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}
