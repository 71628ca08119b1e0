//! What all answers share: the bench they are given from, faults as a script reads them, work on a core.

use super::door::Door;
use super::known::Known;
use super::pool::{Pool, RETRY_AFTER_S, Watcher};
use crate::error::Error;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use rayon::ThreadPoolBuildError;
use serde::Serialize;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::Semaphore;

/// The memory for forms that come in or wait, in MB.
const FORMS_MB: usize = 384;

/// What every request finds here. Nothing in it changes with a request, but for results that are kept to
/// be quick.
pub(super) struct Bench {
    pub(super) door: Door,
    /// The log named at the start, and no other.
    pub(super) log: Option<PathBuf>,
    /// For verdicts: a second each.
    pub(super) verdicts: Pool,
    /// For pictures and whole pages: some seconds each.
    pub(super) pictures: Pool,
    /// For large photos, one at a time: each takes a gigabyte or two.
    pub(super) large: Pool,
    /// For what follows a hand.
    pub(super) quick: Pool,
    /// Each permit is a megabyte of a form.
    pub(super) forms: Arc<Semaphore>,
    pub(super) known: Known,
}

impl Bench {
    pub(super) fn new(door: Door, log: Option<PathBuf>) -> Result<Bench, ThreadPoolBuildError> {
        Ok(Bench {
            door,
            log,
            verdicts: Pool::new()?,
            pictures: Pool::new()?,
            large: Pool::of(1)?,
            quick: Pool::new()?,
            forms: Arc::new(Semaphore::new(FORMS_MB)),
            known: Known::default(),
        })
    }
}

/// Too many are at work: the caller may come back.
pub(super) fn busy() -> Response {
    let after = [(header::RETRY_AFTER, RETRY_AFTER_S.to_string())];
    (
        StatusCode::SERVICE_UNAVAILABLE,
        after,
        format!("Others are at work. Next try in {RETRY_AFTER_S} s."),
    )
        .into_response()
}

/// What is wrong, for a script.
#[derive(Serialize)]
pub(super) struct Fault {
    pub(super) wrong: String,
    pub(super) remedy: String,
    /// The field of the form to blame, where one is.
    pub(super) field: Option<String>,
}

impl Fault {
    pub(super) fn of(error: &Error) -> Fault {
        let field = error.place().field.clone();
        Fault { wrong: told(error), remedy: sentence(error.remedy()), field }
    }
}

/// What is wrong, as a sentence. One that begins with a file's name begins as the name does.
pub(super) fn told(error: &Error) -> String {
    let said = error.to_string();
    if error.place().file.is_some() { format!("{said}.") } else { sentence(&said) }
}

/// A clause as a sentence.
pub(super) fn sentence(clause: &str) -> String {
    let mut letters = clause.trim().chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    let end = if clause.trim_end().ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{end}", letters.as_str())
}

/// A value as JSON, with its status.
pub(super) fn json(status: StatusCode, value: &impl Serialize) -> Response {
    match serde_json::to_string(value) {
        Ok(text) => (status, [(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// A fault as JSON.
pub(super) fn fault(error: &Error) -> Response {
    json(StatusCode::UNPROCESSABLE_ENTITY, &Fault::of(error))
}

/// Does work on a core when its turn comes. It is stopped when the request is given up.
pub(super) async fn job<T: Send + 'static>(
    pool: &Pool,
    work: impl FnOnce(&Watcher) -> T + Send + 'static,
) -> Result<T, Response> {
    let turn = pool.turn().await.map_err(|_| busy())?;
    let (watcher, _leash) = Watcher::new();
    let done = turn.run(move || work(&watcher)).await;
    done.ok_or_else(|| StatusCode::INTERNAL_SERVER_ERROR.into_response())
}

/// Bytes as they stand in a data address.
pub(super) fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}
