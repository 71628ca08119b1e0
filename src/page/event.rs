//! What a long answer tells while it is made: server-sent events (WHATWG HTML, 9.2) over one POST.

use super::pool::{Leash, Watcher};
use axum::body::{Body, Bytes};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use futures_core::Stream;
use serde::Serialize;
use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

/// Where a job tells of its steps. Nothing waits for a slow reader: an answer is small against the memory.
#[derive(Clone)]
pub(super) struct Teller(UnboundedSender<Bytes>);

/// The events, as the body of an answer. Dropped with the connection, and with it the leash.
struct Events {
    events: UnboundedReceiver<Bytes>,
    _leash: Leash,
}

impl Teller {
    /// One event. That nobody listens any more is seen by the watcher.
    pub(super) fn tell(&self, name: &str, data: &impl Serialize) {
        // A value of ours always has its JSON, which holds no line end.
        let Ok(json) = serde_json::to_string(data) else { return };
        let _ = self.0.send(Bytes::from(format!("event: {name}\ndata: {json}\n\n")));
    }
}

impl Stream for Events {
    type Item = Result<Bytes, Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.events.poll_recv(context).map(|event| event.map(Ok))
    }
}

/// Begins a stream: who tells, who watches, and the answer that carries it.
pub(super) fn stream() -> (Teller, Watcher, Response) {
    let (sender, events) = unbounded_channel();
    let (watcher, leash) = Watcher::new();
    let body = Body::from_stream(Events { events, _leash: leash });
    let kind = [
        (header::CONTENT_TYPE, "text/event-stream"),
        (header::HeaderName::from_static("x-accel-buffering"), "no"),
    ];
    (Teller(sender), watcher, (kind, body).into_response())
}
