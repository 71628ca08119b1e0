//! Attacks, each from an address of this machine, 127.0.0.0/8.

use super::program::{BOUNDARY, Program};
use std::io::Write;

#[test]
fn a_foreign_name_in_host_is_refused() {
    let bench = Program::start(&[]);
    let port = bench.host.rsplit(':').next().unwrap();
    let ask = |host: &str| {
        bench.raw(format!("GET / HTTP/1.1\r\n{host}Connection: close\r\n\r\n").as_bytes()).status
    };
    for host in
        ["evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example"]
    {
        assert_eq!(ask(&format!("Host: {host}\r\n")), 421, "{host}");
    }
    assert!([400, 421].contains(&ask("")));
    assert!([400, 421].contains(&ask(&format!("Host: {}\r\nHost: evil.example\r\n", bench.host))));
    for host in [bench.host.clone(), format!("localhost:{port}"), format!("[::1]:{port}")] {
        assert_eq!(ask(&format!("Host: {host}\r\n")), 200, "{host}");
    }
}

#[test]
fn a_page_elsewhere_can_do_nothing() {
    let bench = Program::start(&[]);
    let form = [("size", None, &b"0.35 mm"[..])];
    let post = |headers: &str| bench.raw(&bench.form("/camera/check", &form, headers)).status;
    for origin in [
        "http://evil.example",
        "null",
        "https://127.0.0.1.evil.example",
        "http://127.0.0.1:1",
        "file://",
    ] {
        assert_eq!(post(&format!("Origin: {origin}\r\n")), 403, "{origin}");
    }
    assert_eq!(post(""), 403);
    assert_eq!(post("Sec-Fetch-Site: cross-site\r\n"), 403);
    // As browsers send a form of the page's own under no-referrer.
    assert_eq!(post("Origin: null\r\nSec-Fetch-Site: same-origin\r\n"), 200);
    assert_eq!(post(&format!("Origin: http://{}\r\n", bench.host)), 200);
    let from_elsewhere = "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n";
    assert_eq!(bench.get("/static/page.js", from_elsewhere).status, 403);
    assert_eq!(
        bench.get("/", "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\n").status,
        200
    );
}

#[test]
fn a_shared_bench_asks_for_its_secret() {
    let bench = Program::start(&["--share", "--listen", "127.0.0.2:0"]);
    let key = bench.address.split_once("?key=").unwrap().1.to_owned();
    assert_eq!(key.len(), 32);
    let wrong = "0".repeat(32);
    for path in [
        "/",
        "/?key=",
        &format!("/?key={wrong}"),
        &format!("/?key={key}0"),
        "/static/page.js",
        "/camera",
    ] {
        let answer = bench.get(path, "");
        assert_eq!(answer.status, 403, "{path}");
        assert!(answer.body.contains("Open the address from the terminal again."));
        assert!(answer.header("set-cookie").is_none());
    }
    assert_eq!(bench.get("/", &format!("Cookie: foramen={wrong}\r\n")).status, 403);
    let entered = bench.get(&format!("/?key={key}"), "");
    assert_eq!((entered.status, entered.header("location")), (303, Some("/")));
    let cookie = entered.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let pair = cookie.split(';').next().unwrap();
    let page = bench.get("/", &format!("Cookie: other=1; {pair}\r\n"));
    assert_eq!(page.status, 200);
    assert!(page.body.contains("Shared on your network"));
    assert_eq!(bench.get("/health", "").status, 200);
}

#[test]
fn only_a_shared_bench_listens_beyond_this_machine() {
    let refused = std::process::Command::new(env!("CARGO_BIN_EXE_foramen"))
        .args(["serve", "--no-open", "--listen", "0.0.0.0:0"])
        .output()
        .unwrap();
    assert!(!refused.status.success());
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(said.contains("open to other machines"), "{said}");
}

#[test]
fn every_answer_is_sealed() {
    let bench = Program::start(&[]);
    for path in ["/", "/what-if", "/camera", "/log", "/health", "/static/page.css", "/none"] {
        let answer = bench.get(path, "");
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"));
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(answer.header("referrer-policy"), Some("no-referrer"));
        // What the policy would stop anyway is not written.
        for inline in [" style=", " onclick", " onload", "<script>", "javascript:"] {
            assert!(
                !answer.body.contains(inline) || path.starts_with("/static"),
                "{path}: {inline}"
            );
        }
    }
}

#[test]
fn no_path_and_no_field_names_a_file() {
    let bench = Program::start(&[]);
    for path in [
        "/static/../Cargo.toml",
        "/static/%2e%2e/Cargo.toml",
        "/static/..%2fCargo.toml",
        "/../../etc/passwd",
        "//etc/passwd",
        "/static/%00",
    ] {
        let answer = bench.get(path, "");
        assert!([400, 404].contains(&answer.status), "{path}: {}", answer.status);
        assert!(!answer.body.contains("[package]") && !answer.body.contains("root:"));
    }
    for name in ["size", "camera", "template", "spacing", "log"] {
        for said in ["/etc/passwd", "../../Cargo.toml", "file:///etc/passwd"] {
            let answer = bench.post("/", &[(name, None, said.as_bytes())], "");
            assert_eq!(answer.status, 422, "{name} {said}");
            assert!(!answer.body.contains("root:x") && !answer.body.contains("[package]"));
        }
    }
    let with_curve = b"[film]\ndistance=\"100 mm\"\nwidth=\"60 mm\"\nheight=\"60 mm\"\n[light]\nfilter=\"/etc/passwd\"\n";
    let answer = bench.post("/camera/check", &[("camera", None, with_curve)], "");
    assert_eq!(answer.status, 422);
    assert!(!answer.body.contains("root:x"), "{}", answer.body);
}

#[test]
fn bodies_end_at_64_megabytes() {
    let bench = Program::start(&[]);
    let head = |length: &str| {
        format!(
            "POST / HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nContent-Type: multipart/form-data; boundary={BOUNDARY}\r\n{length}\r\n",
            bench.host
        )
    };
    // Told beforehand.
    assert_eq!(
        bench.raw(head("Content-Length: 1000000000\r\nConnection: close\r\n").as_bytes()).status,
        413
    );
    // Not told: chunk after chunk, until the bench hangs up.
    let mut stream = bench.connect();
    stream.write_all(head("Transfer-Encoding: chunked\r\n").as_bytes()).unwrap();
    let part = format!(
        "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.png\"\r\n\r\n"
    );
    stream.write_all(format!("{:x}\r\n{part}\r\n", part.len()).as_bytes()).unwrap();
    let megabyte = vec![b'a'; 1 << 20];
    let mut sent = 0;
    for _ in 0..1000 {
        let chunk = stream
            .write_all(b"100000\r\n")
            .and_then(|()| stream.write_all(&megabyte))
            .and_then(|()| stream.write_all(b"\r\n"));
        if chunk.is_err() {
            break;
        }
        sent += 1;
    }
    assert!(sent < 200, "{sent} MB were taken");
    assert_eq!(bench.get("/health", "").status, 200);
}

#[test]
fn a_half_sent_form_is_cut_and_200_connections_hold_nobody_up() {
    let bench = Program::start(&[]);
    let form = bench.form(
        "/",
        &[("size", None, b"0.35 mm")],
        &format!("Origin: http://{}\r\n", bench.host),
    );
    let mut half = bench.connect();
    half.write_all(&form[..form.len() - 30]).unwrap();
    let idle: Vec<_> = (0..200)
        .map(|i| {
            let mut stream = bench.connect();
            if i % 2 == 0 {
                stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
            }
            stream
        })
        .collect();
    assert_eq!(bench.get("/", "").status, 200);
    assert_eq!(super::program::Answer::read(&mut half).status, 408);
    drop(idle);
}

#[test]
fn pictures_that_lie_are_refused_and_names_are_escaped() {
    let bench = Program::start(&[]);
    // A PNG of 74 bytes that claims 60 000 by 60 000 pixels of 16 bits: signature, IHDR, and no more.
    let mut bomb = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    bomb.extend(60_000u32.to_be_bytes());
    bomb.extend(60_000u32.to_be_bytes());
    bomb.extend([16, 2, 0, 0, 0, 0, 0, 0, 0]);
    let script = "<script>alert(1)</script>.png";
    for bytes in [&bomb[..], b"no picture", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n"] {
        let answer = bench.post("/", &[("photo", Some(script), bytes), ("dpi", None, b"2400")], "");
        assert_eq!(answer.status, 422);
        assert!(!answer.body.contains("<script>alert"), "{}", answer.body);
    }
    let camera = b"name = \"<img src=x onerror=alert(1)>\"\n[film]\ndistance=\"100 mm\"\nwidth=\"60 mm\"\nheight=\"60 mm\"\n";
    let page = bench.post("/camera", &[("camera", None, camera)], "");
    assert_eq!(page.status, 200);
    assert!(!page.body.contains("<img src=x"));
    let size = bench.post("/", &[("size", None, b"<b>0.35</b>")], "");
    assert!(!size.body.contains("<b>0.35"));
}
