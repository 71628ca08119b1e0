//! Who may speak to the bench, and what every answer says to the browser.
//!
//! A page elsewhere can make a browser on this machine send requests here. Its name in Host (after it has
//! pointed that name at this machine) or its name in Origin gives it away. A shared bench asks for its
//! secret besides.

use super::answer::Bench;
use super::{secret::Secret, shell};
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::sync::Arc;

/// Where the secret is kept in the browser.
const COOKIE: &str = "foramen";
/// Where the secret is in the address that the terminal shows.
pub(super) const KEY: &str = "key";

/// What the browser may load and do: what comes from here, and nothing inline.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; connect-src 'self'; \
                      img-src 'self' data: blob:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The names under which the bench answers, and its secret where it is shared.
pub(super) struct Door {
    hosts: BTreeSet<String>,
    names: BTreeSet<String>,
    secret: Option<Secret>,
}

impl Door {
    /// `names`: further names without a port, under which a proxy reaches the bench.
    pub(super) fn new(at: SocketAddr, names: &[String], secret: Option<Secret>) -> Door {
        let port = at.port();
        let mut hosts: BTreeSet<String> =
            [format!("localhost:{port}"), format!("127.0.0.1:{port}"), format!("[::1]:{port}")]
                .into();
        hosts.insert(at.to_string());
        // Browsers leave the port of plain HTTP out.
        if port == 80 {
            hosts.extend([
                "localhost".into(),
                "127.0.0.1".into(),
                "[::1]".into(),
                at.ip().to_string(),
            ]);
        }
        let names = names.iter().map(|name| name.to_lowercase()).collect();
        Door { hosts, names, secret }
    }

    pub(super) fn is_shared(&self) -> bool {
        self.secret.is_some()
    }

    fn answers_to(&self, host: &str) -> bool {
        let host = host.to_lowercase();
        let bare = host.rsplit_once(':').map_or(host.as_str(), |(name, _)| name);
        self.hosts.contains(&host) || self.names.contains(&host) || self.names.contains(bare)
    }

    /// Whether the one Host header names the bench.
    fn is_meant(&self, headers: &HeaderMap) -> bool {
        let mut hosts = headers.get_all(header::HOST).iter();
        match (hosts.next().map(HeaderValue::to_str), hosts.next()) {
            (Some(Ok(host)), None) => self.answers_to(host),
            _ => false,
        }
    }

    /// Whether a request comes from a page of the bench or, where nothing is changed, from a person.
    fn is_ours(&self, method: &Method, headers: &HeaderMap) -> bool {
        let said = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
        let site = said("sec-fetch-site");
        if *method == Method::GET || *method == Method::HEAD {
            // A link may lead here; a page elsewhere may not put the bench's parts to use.
            return site != Some("cross-site") || said("sec-fetch-mode") == Some("navigate");
        }
        match said("origin") {
            // Under no-referrer a browser sends a form of ours with this word; its own word then counts.
            Some("null") | None => site == Some("same-origin"),
            Some(origin) => origin.split_once("://").is_some_and(|(scheme, host)| {
                matches!(scheme, "http" | "https") && self.answers_to(host)
            }),
        }
    }

    /// Whether the cookie holds the secret, where there is one.
    fn is_known(&self, headers: &HeaderMap) -> bool {
        let Some(secret) = &self.secret else { return true };
        let cookies =
            headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
        let pairs =
            cookies.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
        pairs.filter(|(name, _)| *name == COOKIE).any(|(_, said)| secret.is(said))
    }

    /// Takes the secret from the address into a cookie, so that it leaves the address.
    fn let_in(&self, request: &Request) -> Option<Response> {
        let secret = self.secret.as_ref()?;
        let said = request.uri().query()?.split('&').find_map(|pair| {
            pair.split_once('=').filter(|(name, _)| *name == KEY).map(|(_, said)| said)
        })?;
        let cookie = format!("{COOKIE}={}; HttpOnly; SameSite=Strict; Path=/", secret.text());
        secret.is(said).then(|| ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
    }
}

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
