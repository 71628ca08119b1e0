//! The program under test, and requests to it as bytes, so that wrong ones can be made.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

pub(crate) const BOUNDARY: &str = "a-line-that-nothing-holds";

/// A running `foramen serve`, ended with its test.
pub(crate) struct Program {
    child: Child,
    /// The address that it printed.
    pub(crate) address: String,
    /// Host and port.
    pub(crate) host: String,
}

impl Program {
    pub(crate) fn start(words: &[&str]) -> Program {
        let mut child = Command::new(env!("CARGO_BIN_EXE_foramen"))
            .args(["serve", "--no-open"])
            .args(words)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().to_owned();
        let host = address.trim_start_matches("http://").split('/').next().unwrap().to_owned();
        Program { child, address, host }
    }

    /// What the system says of the process: its second words in /proc/PID/status, by their first.
    pub(crate) fn status(&self, key: &str) -> Option<f64> {
        let text = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = text.lines().find(|line| line.starts_with(key))?;
        line.split_whitespace().nth(1)?.parse().ok()
    }

    /// The processor's time that the process has taken, in ticks of (nearly everywhere) 10 ms.
    pub(crate) fn ticks(&self) -> Option<u64> {
        let text = std::fs::read_to_string(format!("/proc/{}/stat", self.child.id())).ok()?;
        let after = text.rsplit_once(')')?.1;
        let mut words = after.split_whitespace().skip(11);
        Some(words.next()?.parse::<u64>().ok()? + words.next()?.parse::<u64>().ok()?)
    }

    /// The answer to bytes, read to its end.
    pub(crate) fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = self.connect();
        // A server that has refused may have closed already.
        let _ = stream.write_all(request);
        Answer::read(&mut stream)
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
        stream
    }

    pub(crate) fn get(&self, path: &str, headers: &str) -> Answer {
        let host = &self.host;
        self.raw(
            format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{headers}\r\n")
                .as_bytes(),
        )
    }

    /// A form from the page itself.
    pub(crate) fn post(&self, path: &str, parts: &[Part], headers: &str) -> Answer {
        let origin = format!("Origin: http://{}\r\n{headers}", self.host);
        self.raw(&self.form(path, parts, &origin))
    }

    pub(crate) fn form(&self, path: &str, parts: &[Part], headers: &str) -> Vec<u8> {
        let body = body(parts);
        let mut request = format!(
            "POST {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: multipart/form-data; \
             boundary={BOUNDARY}\r\nContent-Length: {}\r\n{headers}\r\n",
            self.host,
            body.len()
        )
        .into_bytes();
        request.extend(body);
        request
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A part of a form: its name, its file's name where it is a file, its bytes.
pub(crate) type Part<'a> = (&'a str, Option<&'a str>, &'a [u8]);

fn body(parts: &[Part]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, file, bytes) in parts {
        let file = file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
        let head = format!(
            "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n"
        );
        body.extend(head.as_bytes());
        body.extend(*bytes);
        body.extend(b"\r\n");
    }
    body.extend(format!("--{BOUNDARY}--\r\n").as_bytes());
    body
}

/// An answer as it came.
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Answer {
    pub(crate) fn read(stream: &mut TcpStream) -> Answer {
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes);
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|word| word.parse().ok()).unwrap_or(0);
        let is_chunked = head.to_lowercase().contains("transfer-encoding: chunked");
        let body = if is_chunked { unchunked(body) } else { body.to_owned() };
        Answer { status, head: head.to_owned(), body }
    }

    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|line| line.split_once(": "));
        lines.filter(|(key, _)| key.eq_ignore_ascii_case(name)).map(|(_, value)| value).next()
    }
}

/// Chunks put together (RFC 9112, 7.1).
fn unchunked(mut body: &str) -> String {
    let mut whole = String::new();
    while let Some((size, rest)) = body.split_once("\r\n") {
        let size = usize::from_str_radix(size.trim(), 16).unwrap_or(0);
        let Some(chunk) = rest.get(..size).filter(|_| size > 0) else { break };
        whole += chunk;
        body = rest.get(size + 2..).unwrap_or_default();
    }
    whole
}

/// Bytes of a photo of the invented hole, and its scale in pixels to a millimetre.
pub(crate) fn photo() -> (Vec<u8>, f64) {
    let photo = foramen::hole::specimen::demonstration().unwrap();
    let png = foramen::raster::png(&foramen::raster::display(&photo.raster).unwrap()).unwrap();
    (png, 1.0 / photo.mm_per_px)
}
