//! Adding a line to the log without harm to what is there.

use super::locking::held;
use super::{Entry, LARGEST, LONGEST, Proof};
use crate::error::Error;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::time::SystemTime;

/// Adds an entry at the end of a log, which is made if it is not there.
///
/// The file is locked against other writers, for which it waits a few seconds, the line is added whole by one write and synced to the
/// disk. A last line without its newline, as a crash leaves it, is closed off first: it stays as it is
/// and the new line stays whole. When the line cannot be written whole, the file is cut back to what it
/// was.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the file cannot be opened, locked or written, or is full;
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for an entry that could not be read again.
pub fn append(path: &Path, entry: &Entry) -> Result<(), Error> {
    append_checked(path, entry.line())
}

/// Adds what a picture of the chart proved.
///
/// # Errors
/// As [`append`].
pub fn append_proof(path: &Path, proof: &Proof) -> Result<(), Error> {
    append_checked(path, proof.line())
}

/// Adds a line, unless there is something wrong with what it would hold.
fn append_checked(path: &Path, line: Result<String, String>) -> Result<(), Error> {
    let unfit = |wrong| Error::limit(format!("the entry {wrong}"), "check its values");
    let line = line.map_err(unfit)?;
    if line.len() > LONGEST {
        return Err(unfit("is too long for a line of the log".into()));
    }
    append_line(path, &line)
}

/// Adds a line that takes back the last entry that still holds. Nothing is rewritten.
///
/// # Errors
/// As [`append`].
pub fn revoke_last(path: &Path, now: SystemTime) -> Result<(), Error> {
    append_line(path, &Entry::revocation(now))
}

fn append_line(path: &Path, line: &str) -> Result<(), Error> {
    let failed = |what: &str, why: &io::Error| {
        Error::damaged(
            format!("{what}: {why}"),
            "check that the log can be written and its disk has room",
        )
        .in_file(path.display())
    };
    let mut file = File::options()
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(|why| failed("cannot be opened to add to it", &why))?;
    held(&file, File::try_lock)
        .map_err(|why| failed("cannot be locked against other writers", &why))?;
    // The lock ends with the file, at the end of this function.
    let before = file.metadata().map_err(|why| failed("cannot be examined", &why))?.len();
    if before + line.len() as u64 >= LARGEST {
        return Err(Error::limit("is full: a log holds 64 MiB", "start another log")
            .in_file(path.display()));
    }
    let torn =
        before > 0 && !ends_a_line(&mut file).map_err(|why| failed("cannot be read", &why))?;
    let text = if torn { format!("\n{line}") } else { line.to_owned() };
    add(&mut file, text.as_bytes()).map_err(|why| match file.set_len(before) {
        Ok(()) => failed("cannot be added to, and is unchanged", &why),
        Err(_) => failed("cannot be added to; a part of the new line may be at its end", &why),
    })
}

/// Whether the last byte of a file that is not empty is a newline.
fn ends_a_line(file: &mut File) -> io::Result<bool> {
    let mut last = [0];
    file.seek(SeekFrom::End(-1))?;
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}

/// Adds all of the bytes in one write, and waits until they are on the disk.
fn add(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    if file.write(bytes)? < bytes.len() {
        return Err(io::Error::new(io::ErrorKind::StorageFull, "no room for the whole line"));
    }
    file.sync_all()
}

#[cfg(test)]
#[path = "append_tests.rs"]
mod tests;
