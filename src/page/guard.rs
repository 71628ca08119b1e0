//! What every request passes, and what every answer says to the browser.

use super::answer::Bench;
use super::shell;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// What the browser may load and do: what comes from here, and nothing inline.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; connect-src 'self'; \
                      img-src 'self' data: blob:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Every request passes here, and every answer.
pub(super) async fn guard(
    State(bench): State<Arc<Bench>>,
    request: Request,
    next: Next,
) -> Response {
    let door = &bench.door;
    let (method, headers) = (request.method(), request.headers());
    let is_asked_for_health = request.uri().path() == "/health" && *method == Method::GET;
    let mut answer = if !door.is_meant(headers) {
        refused(StatusCode::MISDIRECTED_REQUEST, "This address is not the bench's.")
    } else if is_asked_for_health {
        next.run(request).await
    } else if !door.is_ours(method, headers) {
        refused(StatusCode::FORBIDDEN, "This came from a page elsewhere, so nothing was done.")
    } else if door.is_known(headers) {
        next.run(request).await
    } else if let Some(entered) = door.let_in(&request) {
        entered
    } else {
        (StatusCode::FORBIDDEN, shell::strangers()).into_response()
    };
    seal(answer.headers_mut());
    answer
}

fn refused(status: StatusCode, why: &'static str) -> Response {
    (status, why).into_response()
}

/// The headers of every answer.
fn seal(headers: &mut HeaderMap) {
    let mut set = |name: HeaderName, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value));
    };
    set(header::CONTENT_SECURITY_POLICY, POLICY);
    set(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    set(header::REFERRER_POLICY, "no-referrer");
    set(header::X_FRAME_OPTIONS, "DENY");
    set(HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    set(HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}
