//! Who may speak to the bench.
//!
//! A page elsewhere can make a browser on this machine send requests here. Its name in Host (after it has
//! pointed that name at this machine) or its name in Origin gives it away. A shared bench asks for its
//! secret besides.

use super::secret::Secret;
use axum::extract::Request;
use axum::http::Method;
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::response::{IntoResponse, Redirect, Response};
use std::collections::BTreeSet;
use std::net::SocketAddr;

/// Where the secret is kept in the browser.
const COOKIE: &str = "foramen";
/// Where the secret is in the address that the terminal shows.
pub(super) const KEY: &str = "key";

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
    pub(super) fn is_meant(&self, headers: &HeaderMap) -> bool {
        let mut hosts = headers.get_all(header::HOST).iter();
        match (hosts.next().map(HeaderValue::to_str), hosts.next()) {
            (Some(Ok(host)), None) => self.answers_to(host),
            _ => false,
        }
    }

    /// Whether a request comes from a page of the bench or, where nothing is changed, from a person.
    pub(super) fn is_ours(&self, method: &Method, headers: &HeaderMap) -> bool {
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
    pub(super) fn is_known(&self, headers: &HeaderMap) -> bool {
        let Some(secret) = &self.secret else { return true };
        let cookies =
            headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
        let pairs =
            cookies.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
        pairs.filter(|(name, _)| *name == COOKIE).any(|(_, said)| secret.is(said))
    }

    /// Takes the secret from the address into a cookie, so that it leaves the address.
    pub(super) fn let_in(&self, request: &Request) -> Option<Response> {
        let secret = self.secret.as_ref()?;
        let said = request.uri().query()?.split('&').find_map(|pair| {
            pair.split_once('=').filter(|(name, _)| *name == KEY).map(|(_, said)| said)
        })?;
        let cookie = format!("{COOKIE}={}; HttpOnly; SameSite=Strict; Path=/", secret.text());
        secret.is(said).then(|| ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
    }
}
