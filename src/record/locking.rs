//! Waiting for another program that holds the log, for a while.

use std::fs::{File, TryLockError};
use std::io;
use std::path::Path;
use std::time::{Duration, Instant};

/// How long a log may be held by another. Adding a line takes milliseconds.
const PATIENCE: Duration = Duration::from_secs(3);
const BETWEEN_TRIES: Duration = Duration::from_millis(20);

/// Locks a file by `try_lock`, waiting while another holds it. The lock ends with the file.
pub(crate) fn held(
    file: &File,
    try_lock: impl Fn(&File) -> Result<(), TryLockError>,
) -> io::Result<()> {
    let begun = Instant::now();
    loop {
        match try_lock(file) {
            Ok(()) => return Ok(()),
            Err(TryLockError::Error(why)) => return Err(why),
            Err(TryLockError::WouldBlock) if begun.elapsed() > PATIENCE => {
                let wrong = "another program holds it";
                return Err(io::Error::new(io::ErrorKind::ResourceBusy, wrong));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(BETWEEN_TRIES),
        }
    }
}

/// Tells whether another program holds a log just now, so that adding to it or reading it will wait.
pub(crate) fn is_held(path: &Path) -> bool {
    let is_regular = std::fs::metadata(path).is_ok_and(|there| there.is_file());
    let file = if is_regular { File::open(path).ok() } else { None };
    file.is_some_and(|file| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock)))
}
