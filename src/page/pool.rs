//! The work: so many jobs at once, so many in line, and none for a browser that has gone.
//!
//! Each pool has threads of its own. In one pool a short job would wait for the long one before it: threads that
//! share work finish what they have begun. Between pools the system shares the cores.

use rayon::{ThreadPool, ThreadPoolBuildError, ThreadPoolBuilder};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// Jobs that may wait for a core. Beyond it a caller is sent away, to come back later.
const LINE: usize = 16;
/// The longest that a job may take: many times what the largest photo needs.
const LONGEST: Duration = Duration::from_secs(120);
/// After so many seconds a caller who was sent away may try again.
pub(super) const RETRY_AFTER_S: u64 = 5;

/// So many jobs at once.
#[derive(Clone)]
pub(super) struct Pool {
    jobs: Arc<Semaphore>,
    line: Arc<Semaphore>,
    threads: Arc<ThreadPool>,
}

/// The line is full.
#[derive(Debug)]
pub(super) struct Busy;

/// A place in the pool: held until the job is done.
pub(super) struct Turn {
    threads: Arc<ThreadPool>,
    _job: OwnedSemaphorePermit,
    _line: OwnedSemaphorePermit,
}

impl Turn {
    /// Does the work on the pool's threads; none where it failed to come to an end.
    pub(super) async fn run<T: Send + 'static>(
        self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Option<T> {
        tokio::task::spawn_blocking(move || self.threads.install(work)).await.ok()
    }
}

impl Pool {
    /// A pool for as many jobs as cores.
    pub(super) fn new() -> Result<Pool, ThreadPoolBuildError> {
        Pool::of(cores())
    }

    /// A pool for so many jobs, each with all cores where others leave them.
    pub(super) fn of(jobs: usize) -> Result<Pool, ThreadPoolBuildError> {
        Ok(Pool {
            jobs: Arc::new(Semaphore::new(jobs)),
            line: Arc::new(Semaphore::new(jobs + LINE)),
            threads: Arc::new(ThreadPoolBuilder::new().num_threads(cores()).build()?),
        })
    }

    /// Waits in line. Who gives up waiting leaves the line.
    pub(super) async fn turn(&self) -> Result<Turn, Busy> {
        let line = Arc::clone(&self.line).try_acquire_owned().map_err(|_| Busy)?;
        let job = Arc::clone(&self.jobs).acquire_owned().await.map_err(|_| Busy)?;
        Ok(Turn { threads: Arc::clone(&self.threads), _job: job, _line: line })
    }
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// Tells a job whether anybody still waits for it.
#[derive(Clone)]
pub(super) struct Watcher {
    gone: Arc<AtomicBool>,
    until: Instant,
}

impl Watcher {
    /// As tasks ask it, step by step.
    pub(super) fn answer(&self) -> ControlFlow<()> {
        if self.stops() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

/// Held by who waits for a job: let go, it stops the job.
pub(super) struct Leash(Arc<AtomicBool>);

impl Watcher {
    /// A watcher, and the leash that it heeds.
    pub(super) fn new() -> (Watcher, Leash) {
        let gone = Arc::new(AtomicBool::new(false));
        let leash = Leash(Arc::clone(&gone));
        (Watcher { gone, until: Instant::now() + LONGEST }, leash)
    }

    /// The same for the next job on the same leash: it may take its own time.
    pub(super) fn again(&self) -> Watcher {
        Watcher { gone: Arc::clone(&self.gone), until: Instant::now() + LONGEST }
    }

    /// Whether the job is to end now.
    pub(super) fn stops(&self) -> bool {
        self.gone.load(Ordering::Relaxed) || Instant::now() > self.until
    }
}

impl Drop for Leash {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_has_an_end_and_a_leash_stops_the_job() {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        runtime.block_on(async {
            let pool = Pool::new().unwrap();
            let mut turns = Vec::new();
            for _ in 0..pool.jobs.available_permits() {
                turns.push(pool.turn().await.unwrap());
            }
            let waiting: Vec<_> = (0..LINE)
                .map(|_| {
                    tokio::spawn({
                        let pool = pool.clone();
                        async move { pool.turn().await.map(drop) }
                    })
                })
                .collect();
            tokio::task::yield_now().await;
            assert!(pool.turn().await.is_err());
            // Those in line come to their turn when the others are done.
            drop(turns);
            for turn in waiting {
                turn.await.unwrap().unwrap();
            }
            assert!(pool.turn().await.is_ok());
        });
        let (watcher, leash) = Watcher::new();
        assert!(!watcher.stops());
        drop(leash);
        assert!(watcher.stops());
    }
}
