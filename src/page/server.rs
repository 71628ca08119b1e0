//! The listener, its connections, and their limits.

use super::answer::Bench;
use super::door::{Door, KEY};
use super::routes;
use super::secret::Secret;
use crate::error::Error;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpListener;
use tokio::runtime::Runtime;
use tokio::sync::Semaphore;

/// Connections at the same time.
const MOST_CONNECTIONS: usize = 512;
/// How long a browser may take to say what it wants, and to say nothing.
const HEADERS_WITHIN: Duration = Duration::from_secs(10);
/// How long a connection may last: longer than the longest job.
const LONGEST_CONNECTION: Duration = Duration::from_secs(600);
/// The largest head of a request, in bytes.
const LARGEST_HEAD: usize = 32 << 10;

/// Where the bench listens, and to whom.
#[derive(Debug, Clone, Default)]
pub struct Settings {
    /// The address to listen at; without one, this machine alone, or the local network for a shared bench,
    /// at any free port.
    pub listen: Option<SocketAddr>,
    /// Whether other machines may come, by a secret.
    pub share: bool,
    /// Names under which a proxy reaches the bench.
    pub names: Vec<String>,
    /// The bench log that the page shows and adds to.
    pub log: Option<PathBuf>,
}

/// A bench that listens.
pub struct Server {
    runtime: Runtime,
    listener: TcpListener,
    bench: Arc<Bench>,
    address: String,
}

impl Server {
    /// Begins to listen.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the address cannot be listened at, or would be open to other machines
    /// without a secret.
    pub fn bind(settings: Settings) -> Result<Server, Error> {
        let listen = match settings.listen {
            Some(listen) => listen,
            None if settings.share => SocketAddr::new(own_address()?, 0),
            None => SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 0),
        };
        if !settings.share && !listen.ip().is_loopback() {
            return Err(Error::limit(
                format!("{listen} is open to other machines"),
                "share the bench, so that a secret keeps strangers out, or listen at 127.0.0.1",
            ));
        }
        let failed = |why: io::Error| {
            Error::limit(
                format!("cannot listen at {listen}: {why}"),
                "choose another address or port",
            )
        };
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .map_err(failed)?;
        let listener = runtime.block_on(TcpListener::bind(listen)).map_err(failed)?;
        let at = listener.local_addr().map_err(failed)?;
        let secret = if settings.share { Some(Secret::new()?) } else { None };
        let key =
            secret.as_ref().map(|secret| format!("?{KEY}={}", secret.text())).unwrap_or_default();
        // All addresses at once are no address: one of them is shown.
        let shown =
            if at.ip().is_unspecified() { SocketAddr::new(own_address()?, at.port()) } else { at };
        let bench = Bench::new(Door::new(shown, &settings.names, secret), settings.log)
            .map_err(|why| failed(io::Error::other(why)))?;
        Ok(Server {
            runtime,
            listener,
            bench: Arc::new(bench),
            address: format!("http://{shown}/{key}"),
        })
    }

    /// The address to open, with its secret where there is one.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Answers until Ctrl-C.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the system does not tell of Ctrl-C.
    pub fn run(self) -> Result<(), Error> {
        let Server { runtime, listener, bench, .. } = self;
        let ended = runtime.block_on(async {
            tokio::select! {
                ended = tokio::signal::ctrl_c() => ended,
                () = accept(listener, bench) => Ok(()),
            }
        });
        // Jobs under way are not waited for.
        runtime.shutdown_background();
        ended.map_err(|why| {
            Error::limit(format!("Ctrl-C cannot be heard: {why}"), "end the program otherwise")
        })
    }
}

async fn accept(listener: TcpListener, bench: Arc<Bench>) {
    let connections = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let router = routes::router(bench);
    loop {
        // Mostly too many open files: those that are open end before long.
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        // One connection too many is closed at once.
        let Ok(place) = Arc::clone(&connections).try_acquire_owned() else { continue };
        let router = router.clone();
        tokio::spawn(async move {
            let _place = place;
            // Small answers leave at once; that this cannot be had is no reason to hang up.
            let _ = stream.set_nodelay(true);
            connection(stream, router, OnEnd::HangUp).await;
        });
    }
}

/// What becomes of a request whose sender says nothing more.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum OnEnd {
    /// Nobody waits for its answer.
    HangUp,
    /// It is answered as far as it came.
    Answer,
}

/// Answers what comes over a connection, within the limits of every connection.
pub(super) async fn connection(
    stream: impl AsyncRead + AsyncWrite + Unpin + 'static,
    router: axum::Router,
    on_end: OnEnd,
) {
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS_WITHIN)
        .max_buf_size(LARGEST_HEAD)
        .half_close(on_end == OnEnd::Answer)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router));
    // How a connection ends is the browser's affair.
    let _ = tokio::time::timeout(LONGEST_CONNECTION, served).await;
}

/// This machine's address on the local network. Nothing is sent: the system only chooses the way to an
/// address that is kept for documentation (`RFC5737`).
fn own_address() -> Result<IpAddr, Error> {
    let found = UdpSocket::bind("0.0.0.0:0")
        .and_then(|socket| socket.connect("192.0.2.1:9").and_then(|()| socket.local_addr()));
    found.map(|at| at.ip()).map_err(|why| {
        Error::limit(
            format!("this machine has no address on a network: {why}"),
            "join a network, or name the address to listen at",
        )
    })
}
