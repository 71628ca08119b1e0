//! A browser under test, by the W3C WebDriver protocol: JSON over HTTP to chromedriver.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A Chromium without a window, ended with its test.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// None, said aloud, where there is no browser.
    pub(crate) fn start(width: u32, height: u32, more: &[&str]) -> Option<Browser> {
        let has =
            |name: &str| Command::new(name).arg("--version").stdout(Stdio::null()).status().is_ok();
        if !(has("chromium") && has("chromedriver")) {
            eprintln!("skipped, for want of a browser: apt-get install chromium chromium-driver");
            return None;
        }
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let profile = tempfile::tempdir().unwrap();
        let mut browser = Browser { driver, port, session: String::new(), _profile: profile };
        let deadline = Instant::now() + Duration::from_secs(20);
        while TcpStream::connect(("127.0.0.1", port)).is_err() && Instant::now() < deadline {
            std::thread::sleep(Duration::from_millis(50));
        }
        let mut words = vec![
            "--headless=new".to_owned(),
            "--no-sandbox".into(),
            "--disable-gpu".into(),
            "--disable-quic".into(),
            "--no-first-run".into(),
            "--disable-background-networking".into(),
            "--disable-component-update".into(),
            "--disable-sync".into(),
            // Nothing but this machine can be reached: the page is complete without a network.
            "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1".into(),
            format!("--user-data-dir={}", browser._profile.path().display()),
            format!("--window-size={width},{height}"),
        ];
        words.extend(more.iter().map(|word| (*word).to_owned()));
        let options = json!({ "binary": "/usr/bin/chromium", "args": words });
        let asked = json!({ "capabilities": { "alwaysMatch": { "goog:chromeOptions": options, "goog:loggingPrefs": { "browser": "ALL" } } } });
        let made = browser.call("POST", "/session", &asked);
        browser.session =
            made["sessionId"].as_str().unwrap_or_else(|| panic!("no session: {made}")).to_owned();
        Some(browser)
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        let body = if method == "GET" { String::new() } else { body.to_string() };
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.port,
            body.len()
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(body.as_bytes()).unwrap();
        let json = body_of(&mut stream);
        let mut answer: Value = serde_json::from_slice(&json)
            .unwrap_or_else(|why| panic!("{why}: {}", String::from_utf8_lossy(&json)));
        answer["value"].take()
    }

    fn ask(&self, path: &str, body: &Value) -> Value {
        let value = self.call("POST", &format!("/session/{}{path}", self.session), body);
        assert!(value["error"].is_null(), "{path} {body}: {value}");
        value
    }

    pub(crate) fn open(&self, address: &str) {
        self.ask("/url", &json!({ "url": address }));
    }

    /// What a script returns.
    pub(crate) fn run(&self, script: &str) -> Value {
        self.ask("/execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// Waits until an expression is true.
    pub(crate) fn until(&self, expression: &str) {
        let deadline = Instant::now() + Duration::from_secs(90);
        while self.run(&format!("return !!({expression})")) != Value::Bool(true) {
            assert!(Instant::now() < deadline, "never: {expression}; {}", self.text("main"));
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    pub(crate) fn text(&self, css: &str) -> String {
        let words = self.run(&format!("return document.querySelector({css:?})?.innerText ?? ''"));
        words.as_str().unwrap_or_default().to_owned()
    }

    /// The page's HTML as it is, without running a script in it.
    pub(crate) fn page(&self) -> String {
        let source = self.call("GET", &format!("/session/{}/source", self.session), &Value::Null);
        source.as_str().unwrap_or_default().to_owned()
    }

    fn element(&self, css: &str) -> String {
        let found = self.ask("/element", &json!({ "using": "css selector", "value": css }));
        found.as_object().unwrap().values().next().unwrap().as_str().unwrap().to_owned()
    }

    /// Types, or gives a file to a file field.
    pub(crate) fn keys(&self, css: &str, text: &str) {
        self.ask(&format!("/element/{}/value", self.element(css)), &json!({ "text": text }));
    }

    pub(crate) fn click(&self, css: &str) {
        self.ask(&format!("/element/{}/click", self.element(css)), &json!({}));
    }

    /// Presses keys wherever the focus is.
    pub(crate) fn press(&self, keys: &str) {
        let actions: Vec<Value> = keys
            .chars()
            .flat_map(|key| {
                ["keyDown", "keyUp"].map(|kind| json!({ "type": kind, "value": key.to_string() }))
            })
            .collect();
        self.ask(
            "/actions",
            &json!({ "actions": [{ "type": "key", "id": "keys", "actions": actions }] }),
        );
    }

    /// Drags the middle of an element by so many pixels.
    pub(crate) fn drag(&self, css: &str, by: [i32; 2]) {
        let origin = json!({ "element-6066-11e4-a52e-4f735466cecf": self.element(css) });
        let actions = json!([
            { "type": "pointerMove", "duration": 0, "x": 0, "y": 0, "origin": origin },
            { "type": "pointerDown", "button": 0 },
            { "type": "pointerMove", "duration": 50, "x": by[0], "y": by[1], "origin": "pointer" },
            { "type": "pointerUp", "button": 0 },
        ]);
        self.ask("/actions", &json!({ "actions": [{ "type": "pointer", "id": "hand", "parameters": { "pointerType": "mouse" }, "actions": actions }] }));
    }

    /// What the browser complained of.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let lines = self.ask("/se/log", &json!({ "type": "browser" }));
        let severe =
            lines.as_array().into_iter().flatten().filter(|line| line["level"] == "SEVERE");
        // A form that is refused is no fault of the page.
        severe
            .map(|line| line["message"].to_string())
            .filter(|line| !line.contains("status of 422"))
            .collect()
    }
}

/// The body of an answer: as long as its head says, for the driver keeps the line open.
fn body_of(stream: &mut TcpStream) -> Vec<u8> {
    stream.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
    let mut reader = BufReader::new(stream);
    let mut length = 0;
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).unwrap();
        let line = line.trim().to_lowercase();
        if line.is_empty() {
            break;
        }
        if let Some(said) = line.strip_prefix("content-length:") {
            length = said.trim().parse().unwrap();
        }
    }
    let mut body = vec![0; length];
    reader.read_exact(&mut body).unwrap();
    body
}

impl Drop for Browser {
    fn drop(&mut self) {
        if let Ok(mut stream) = TcpStream::connect(("127.0.0.1", self.port)) {
            let head = format!(
                "DELETE /session/{} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n",
                self.session
            );
            let _ = stream.write_all(head.as_bytes());
            // Answered when the browser has ended.
            let _ = stream.set_read_timeout(Some(Duration::from_secs(20)));
            let _ = stream.read(&mut [0; 64]);
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
