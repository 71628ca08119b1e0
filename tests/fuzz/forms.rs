//! Forms of the page, changed at random, through the same door as the server but without a socket: each gets a page,
//! a document or a plain error, within limits, and no job fails.

use super::change::Change;
use super::{LONGEST_FAULT, answers, each_run, reads, seeds};
use foramen::Error;

use foramen::page::InMemory;

/// The line between the parts of a form.
const BOUNDARY: &str = "a-line-that-nothing-holds";
/// Addresses whose answer is a matter of milliseconds, and those that are asked for a whole one.
const QUICK: [&str; 7] =
    ["/photo", "/photo", "/camera/check", "/log", "/log/revoke", "/health", "/static/page.js"];
const WHOLE: [&str; 10] = [
    "/",
    "/",
    "/report",
    "/every",
    "/what-if",
    "/what-if/light",
    "/what-if/figure",
    "/camera",
    "/camera/check",
    "/camera/card",
];
/// Every field that the page reads, with what it may say.
const FIELDS: [(&str, &[&str]); 45] = [
    ("size", &["0.34 mm", "4.5 per mm", "0.3", "oval 0.42 x 0.37 mm", "ring 0.5 / 0.2 mm"]),
    ("d", &["0.35", "4 per mm", "round 0.3 mm"]),
    ("name", &["brass 3", "<b>\u{1b}[2J", "\u{202e}"]),
    ("template", &["tube", "tin", "wide", "none"]),
    ("invented", &["yes"]),
    ("edited", &["yes"]),
    ("start", &["tube"]),
    ("px", &["40", "412"]),
    ("apart", &["1", "1 mm"]),
    ("dpi", &["2400", "2400 dpi"]),
    ("spacing", &["1", "0.5 mm"]),
    ("x", &["19.6", "0", "1e9"]),
    ("y", &["20.3", "-1"]),
    ("last", &["2026-03-01T18:04:05Z brass 3 0.3"]),
    (
        "entry",
        &[
            r#"{"format":1,"time":"2026-03-01T18:04:05Z","hole":"a","camera":"b","diameter_mm":0.3,"diameter_uncertainty_mm":0.004,"target_mm":0.38,"band_low_mm":0.32,"band_high_mm":0.44,"loss":0.1,"action":"enlarge"}"#,
        ],
    ),
    ("oval", &["0", "21", "100"]),
    ("depth", &["0", "0.05", "0.12"]),
    ("width", &["0.02", "0.1"]),
    ("metal", &["0", "0.3"]),
    ("film", &["100", "20 mm", "50 cm"]),
    ("subject", &["far", "2 m", "100"]),
    ("light", &["camera", "550 nm", "400"]),
    ("place", &["0", "60"]),
    ("movement", &["0", "36", "60"]),
    ("print", &["1", "10"]),
    ("constant", &["1.5", "0.9"]),
    ("faint", &["on"]),
    ("as", &["png", "svg"]),
    ("ground", &["dark", "light"]),
    ("film.distance", &["100 mm", "40"]),
    ("film.width", &["60 mm", "120"]),
    ("film.height", &["60 mm", "90"]),
    ("film.shape", &["flat", "cylinder"]),
    ("film.radius", &["50 mm"]),
    ("emulsion.speed", &["100", "3"]),
    ("emulsion.paper-speed", &["P 3", "6"]),
    ("plate.thickness", &["0.1 mm"]),
    ("subject.distance", &["infinity", "2 m"]),
    ("light.medium", &["panchromatic", "eye", "colour"]),
    ("light.illuminant", &["D65", "3200 K"]),
    ("support.drift", &["1 mm/min", "0"]),
    ("support.sway", &["0.3 mm"]),
    ("print.enlargement", &["3"]),
    ("print.viewing-distance", &["300 mm"]),
    ("none", &["x"]),
];

/// One form in so many brings a camera that sees many wavelengths.
const LONG_CAMERAS: usize = 64;

/// Forms of some fields at an address each.
struct Forms {
    page: InMemory,
    pictures: Vec<Vec<u8>>,
    cameras: Vec<Vec<u8>>,
    short_cameras: Vec<Vec<u8>>,
    outlines: Vec<Vec<u8>>,
}

impl Forms {
    fn new() -> Forms {
        Forms {
            page: InMemory::new().unwrap(),
            pictures: seeds::pictures(),
            cameras: seeds::cameras(),
            short_cameras: seeds::short_cameras(),
            outlines: [seeds::tables(), seeds::drawings()].concat(),
        }
    }

    /// The parts of a form; some of what they say is changed.
    fn parts(&self, change: &mut Change) -> Vec<u8> {
        let mut body = Vec::new();
        // Half of them name a hole as a person does.
        if change.below(2) == 0 {
            let said = change.maybe(b"0.34 mm".to_vec(), 4);
            part(&mut body, "size", None, &said);
        }
        let is_long = change.below(LONG_CAMERAS) == 0;
        let cameras = if is_long { &self.cameras } else { &self.short_cameras };
        for _ in 0..change.below(9) {
            let (name, values) = FIELDS[change.below(FIELDS.len())];
            let value = values[change.below(values.len())].as_bytes().to_vec();
            let said = change.maybe(value, 3);
            part(&mut body, name, None, &said);
        }
        let files: [(&str, &[&str], &[Vec<u8>]); 4] = [
            (
                "photo",
                &["hole.png", "a.jpg", "x", "../../etc/passwd", "\u{1b}.tif"],
                &self.pictures,
            ),
            ("photo", &["o.csv", "o.svg"], &self.outlines),
            ("camera-file", &["my.toml"], cameras),
            ("camera", &[""], cameras),
        ];
        for (name, called, seeds) in files {
            if change.below(3) == 0 {
                let called = Some(called[change.below(called.len())]).filter(|it| !it.is_empty());
                let bytes = seeds[change.below(seeds.len())].clone();
                let said = change.maybe(bytes, 2);
                part(&mut body, name, called, &said);
            }
        }
        body.extend(format!("--{BOUNDARY}--\r\n").as_bytes());
        body
    }

    /// A request to one of the addresses, now and then changed itself.
    fn request(&self, addresses: &[&str], change: &mut Change) -> Vec<u8> {
        let address = addresses[change.below(addresses.len())];
        let parts = self.parts(change);
        let body = change.maybe(parts, 6);
        let kinds = [
            format!("multipart/form-data; boundary={BOUNDARY}"),
            "application/x-www-form-urlencoded".into(),
            "multipart/form-data".into(),
            "text/plain".into(),
        ];
        let kind = &kinds[if change.below(12) == 0 { change.below(4) } else { 0 }];
        let method =
            if change.below(20) == 0 { ["GET", "HEAD", "PUT"][change.below(3)] } else { "POST" };
        let accept = ["text/html", "text/event-stream", "application/json"][change.below(3)];
        let head = format!(
            "{method} {address} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nOrigin: http://localhost\r\n\
             Accept: {accept}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        let head = change.maybe(head.into_bytes(), 20);
        [head, body].concat()
    }

    /// Sends a request and looks at what comes back.
    fn asked(&self, addresses: &[&str], run: u64) -> Result<(), Error> {
        let mut change = Change::new(run);
        let request = self.request(addresses, &mut change);
        let answer = self.page.answer(&request);
        let shown = || String::from_utf8_lossy(&request).into_owned();
        let Some(end) = answer.windows(4).position(|four| four == b"\r\n\r\n") else {
            assert!(answer.is_empty(), "{}", shown());
            return Ok(());
        };
        let head = String::from_utf8_lossy(&answer[..end]).to_lowercase();
        let body = &answer[end..];
        let status: u16 = head.split(' ').nth(1).and_then(|word| word.parse().ok()).unwrap();
        assert!(
            [200, 303, 400, 403, 404, 405, 413, 414, 415, 421, 422, 431].contains(&status),
            "{status} for {}",
            shown()
        );
        assert!(body.len() < 40_000_000, "{} bytes for {}", body.len(), shown());
        // What breaks the rules of HTTP is refused before the door.
        let is_sealed = head.contains("content-security-policy: default-src 'none'");
        assert!(is_sealed || matches!(status, 400 | 414 | 431), "{head}\n for {}", shown());
        // A page gives back what was typed into its fields, whatever that is.
        let kind = head.split("content-type: ").nth(1).unwrap_or_default();
        if ["text/plain", "application/json"].iter().any(|text| kind.starts_with(text)) {
            let text = std::str::from_utf8(body).unwrap();
            let is_control = |c: char| c.is_ascii_control() && !"\n\r\t".contains(c);
            assert!(!text.contains(is_control), "control characters for {}", shown());
        }
        // A plain error is short.
        assert!(
            status == 200 || kind.starts_with("text/html") || body.len() < LONGEST_FAULT,
            "{}",
            shown()
        );
        Ok(())
    }
}

fn part(body: &mut Vec<u8>, name: &str, file: Option<&str>, bytes: &[u8]) {
    let file = file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
    body.extend(
        format!("--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n")
            .as_bytes(),
    );
    body.extend(bytes);
    body.extend(b"\r\n");
}

#[test]
fn forms_get_a_page_or_a_plain_error() {
    let forms = Forms::new();
    each_run("form", reads(400), |run| forms.asked(&QUICK, run));
}

#[test]
fn whole_answers_of_forms() {
    let forms = Forms::new();
    each_run("whole form", answers(10), |run| forms.asked(&WHOLE, run));
}
