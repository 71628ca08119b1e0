//! A bench that no socket leads to, for tests: every request passes the same door, guard and limits.

use super::answer::Bench;
use super::door::Door;
use super::routes;
use super::server::{OnEnd, connection};
use crate::error::Error;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex, split};
use tokio::runtime::Runtime;

/// The port of plain HTTP, which a request need not name: its Host is `localhost`.
const PORT: u16 = 80;
/// What may be on its way at once, in bytes.
const ON_ITS_WAY: usize = 64 << 10;

/// A bench in memory: bytes of a request in, bytes of its answer out.
pub struct InMemory {
    runtime: Runtime,
    router: axum::Router,
}

impl InMemory {
    /// Sets up a bench without a log that answers to the name `localhost`.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the system gives no threads.
    pub fn new() -> Result<InMemory, Error> {
        let failed = |why: io::Error| {
            Error::limit(format!("the bench cannot begin: {why}"), "end other programs")
        };
        let runtime =
            tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(failed)?;
        let door = Door::new(SocketAddr::new(Ipv4Addr::LOCALHOST.into(), PORT), &[], None);
        let bench = Bench::new(door, None).map_err(|why| failed(io::Error::other(why)))?;
        Ok(InMemory { runtime, router: routes::router(Arc::new(bench)) })
    }

    /// The bytes of the answer to a request, as a browser would get them before the connection ends; none where the
    /// request breaks off before its first line does.
    pub fn answer(&self, request: &[u8]) -> Vec<u8> {
        let (browser, server) = duplex(ON_ITS_WAY);
        self.runtime.block_on(async {
            let (mut from, mut to) = split(browser);
            let sent = async {
                // A server that has refused may have hung up already.
                let _ = to.write_all(request).await;
                let _ = to.shutdown().await;
            };
            let mut answer = Vec::new();
            let served = connection(server, self.router.clone(), OnEnd::Answer);
            let (_, (), _) = tokio::join!(served, sent, from.read_to_end(&mut answer));
            answer
        })
    }
}
