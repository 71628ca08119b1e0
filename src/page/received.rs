//! A form as it came in. Everything stays in memory and is gone with the answer.

use super::answer::{Bench, busy};
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::timeout;

/// The largest form, in bytes.
pub(super) const LARGEST: usize = 64 << 20;
/// The longest text in a field: a camera file.
const LONGEST_TEXT: usize = 1 << 20;
const MOST_PARTS: usize = 64;
/// A form that is no longer on its way.
const LONGEST_PAUSE: Duration = Duration::from_secs(10);
/// The largest form over a slow network.
const LONGEST_WAY: Duration = Duration::from_secs(120);
/// From then on a form must have come at the slowest rate at least, in bytes a second: a phone far from its
/// station still sends more.
const GRACE: Duration = Duration::from_secs(5);
const SLOWEST: f64 = 4096.0;

/// A file in a form.
#[derive(Debug, Clone)]
pub(super) struct Upload {
    /// What the sender calls it. It names no place on this machine.
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// The fields of a form by their names, and its files.
#[derive(Debug, Clone, Default)]
pub(super) struct Received {
    texts: BTreeMap<String, String>,
    files: BTreeMap<String, Upload>,
    /// The megabytes that it holds of what all forms may.
    _room: Option<Arc<OwnedSemaphorePermit>>,
}

impl Received {
    /// What a field says, without blanks around it; empty where it is missing.
    pub(super) fn text(&self, name: &str) -> &str {
        self.texts.get(name).map_or("", |text| text.trim())
    }

    /// A field that says something.
    pub(super) fn said(&self, name: &str) -> Option<&str> {
        Some(self.text(name)).filter(|text| !text.is_empty())
    }

    /// A file that holds something.
    pub(super) fn file(&self, name: &str) -> Option<&Upload> {
        self.files.get(name).filter(|file| !file.bytes.is_empty())
    }

    #[cfg(test)]
    pub(super) fn of(texts: &[(&str, &str)]) -> Received {
        let texts = texts.iter().map(|(name, text)| ((*name).into(), (*text).into())).collect();
        Received { texts, ..Received::default() }
    }
}

impl FromRequest<Arc<Bench>> for Received {
    type Rejection = Response;

    async fn from_request(request: Request, bench: &Arc<Bench>) -> Result<Received, Response> {
        let length = request.headers().get(header::CONTENT_LENGTH);
        let length =
            length.and_then(|value| value.to_str().ok()).and_then(|text| text.parse().ok());
        if length.is_some_and(|length: u64| length > LARGEST as u64) {
            return Err(too_large());
        }
        let way = Way::new(&bench.forms).map_err(IntoResponse::into_response)?;
        let parts =
            Multipart::from_request(request, bench).await.map_err(IntoResponse::into_response)?;
        match timeout(LONGEST_WAY, read(parts, way)).await {
            Ok(read) => read,
            Err(_) => Err(too_slow()),
        }
    }
}

/// Why a form is not read to its end.
enum Refusal {
    Busy,
    TooSlow,
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        match self {
            Refusal::Busy => busy(),
            Refusal::TooSlow => too_slow(),
        }
    }
}

/// What has come of a form: it takes room as it comes, and must come at a fair rate.
struct Way {
    forms: Arc<Semaphore>,
    room: OwnedSemaphorePermit,
    bytes: usize,
    since: Instant,
}

impl Way {
    fn new(forms: &Arc<Semaphore>) -> Result<Way, Refusal> {
        let room = Arc::clone(forms).try_acquire_owned().map_err(|_| Refusal::Busy)?;
        Ok(Way { forms: Arc::clone(forms), room, bytes: 0, since: Instant::now() })
    }

    fn comes(&mut self, bytes: usize) -> Result<(), Refusal> {
        const MB: usize = 1 << 20;
        self.bytes += bytes;
        let late = self.since.elapsed().saturating_sub(GRACE).as_secs_f64();
        if (self.bytes as f64) < SLOWEST * late {
            return Err(Refusal::TooSlow);
        }
        while self.bytes > self.room.num_permits() * MB {
            let more = Arc::clone(&self.forms).try_acquire_owned().map_err(|_| Refusal::Busy)?;
            self.room.merge(more);
        }
        Ok(())
    }
}

async fn read(mut parts: Multipart, mut way: Way) -> Result<Received, Response> {
    let mut received = Received::default();
    for _ in 0..=MOST_PARTS {
        let part = timeout(LONGEST_PAUSE, parts.next_field()).await.map_err(|_| too_slow())?;
        let Some(mut part) = part.map_err(IntoResponse::into_response)? else {
            received._room = Some(Arc::new(way.room));
            return Ok(received);
        };
        let name = part.name().unwrap_or_default().to_owned();
        let file_name = part.file_name().map(str::to_owned);
        let most = if file_name.is_some() { LARGEST } else { LONGEST_TEXT };
        let mut bytes = Vec::new();
        loop {
            let chunk = timeout(LONGEST_PAUSE, part.chunk()).await.map_err(|_| too_slow())?;
            let Some(chunk) = chunk.map_err(IntoResponse::into_response)? else { break };
            if bytes.len() + chunk.len() > most {
                return Err(too_large());
            }
            way.comes(chunk.len()).map_err(IntoResponse::into_response)?;
            bytes.extend_from_slice(&chunk);
        }
        match file_name {
            Some(file_name) => {
                received.files.insert(name, Upload { name: shown(&file_name), bytes });
            }
            None => {
                let text =
                    String::from_utf8(bytes).map_err(|_| bad("A field is not text in UTF-8."))?;
                received.texts.insert(name, text);
            }
        }
    }
    Err(bad("The form has too many fields."))
}

/// A file's name as it may be shown: its last part, without what moves a cursor.
fn shown(name: &str) -> String {
    const LONGEST_NAME: usize = 100;
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let kept: String = last.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
    if kept.trim().is_empty() { "photo".into() } else { kept }
}

fn bad(why: &'static str) -> Response {
    (StatusCode::BAD_REQUEST, why).into_response()
}

fn too_large() -> Response {
    (
        StatusCode::PAYLOAD_TOO_LARGE,
        "This is larger than 64 MB. Make the photo smaller, or cut out the hole.",
    )
        .into_response()
}

fn too_slow() -> Response {
    (StatusCode::REQUEST_TIMEOUT, "The form stopped coming in. Send it again.").into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_names_no_place() {
        assert_eq!(shown("../../etc/passwd"), "passwd");
        assert_eq!(shown("C:\\photos\\hole.png"), "hole.png");
        assert_eq!(shown("a\u{1b}[2Jb.png"), "a[2Jb.png");
        assert_eq!(shown(""), "photo");
        assert_eq!(shown(&"x".repeat(1000)).len(), 100);
    }
}
