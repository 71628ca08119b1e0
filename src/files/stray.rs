//! Files that are being written, beside their places, and those that a killed run left there.
//!
//! A file that is being written is locked by its writer, and the lock ends with the writer however that ends. So
//! one that can be locked is nobody's, and the next run that writes into the folder removes it.

use std::fs::{self, File};
use std::io;
use std::path::Path;
use tempfile::{Builder, NamedTempFile};

const BEGINNING: &str = ".foramen-";
const ENDING: &str = ".part";
/// How often a new file may be taken for a stray one before it is locked.
const MOST_TRIES: usize = 8;

/// A new file that its writer holds. It may be read by all, as far as the user's mask lets new files be.
pub(super) fn new_file_in(folder: &Path) -> io::Result<NamedTempFile> {
    remove_strays(folder);
    for _ in 0..MOST_TRIES {
        let file = builder().tempfile_in(folder)?;
        // Where locks are unknown no run removes anything either.
        let _ = file.as_file().lock();
        if file.path().exists() {
            return Ok(file);
        }
    }
    Err(io::Error::other("another program removes new files from its folder"))
}

/// Another name beside it for a file that is there, so that the file outlives what takes its place; where the disk
/// knows one name a file, a copy.
pub(super) fn other_name_of(place: &Path) -> io::Result<NamedTempFile<Option<File>>> {
    let folder = super::write::folder_of(place);
    let named = builder().make_in(folder, |name| {
        fs::hard_link(place, name)?;
        // Held, as a new file is, where it may be read.
        let file = File::open(name).ok();
        Ok(file.inspect(|file| drop(file.try_lock_shared())))
    });
    named.or_else(|_| {
        let (file, copy) = new_file_in(folder)?.into_parts();
        fs::copy(place, &copy)?;
        Ok(NamedTempFile::from_parts(Some(file), copy))
    })
}

#[cfg(unix)]
fn builder() -> Builder<'static, 'static> {
    use std::os::unix::fs::PermissionsExt;
    let mut builder = Builder::new();
    builder.prefix(BEGINNING).suffix(ENDING).permissions(fs::Permissions::from_mode(0o666));
    builder
}

#[cfg(not(unix))]
fn builder() -> Builder<'static, 'static> {
    let mut builder = Builder::new();
    builder.prefix(BEGINNING).suffix(ENDING);
    builder
}

/// Removes what killed runs left. What cannot be removed does no harm.
fn remove_strays(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let is_ours =
            name.to_str().is_some_and(|name| name.starts_with(BEGINNING) && name.ends_with(ENDING));
        let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
        if is_ours && is_file && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok())
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_holds_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let stray = folder.path().join(".foramen-abc.part");
        let [other, ours] = ["abc.part", ".foramen-notes"].map(|name| folder.path().join(name));
        for path in [&stray, &other, &ours] {
            fs::write(path, "x").unwrap();
        }
        let first = new_file_in(folder.path()).unwrap();
        assert!(!stray.exists() && other.exists() && ours.exists());
        let second = new_file_in(folder.path()).unwrap();
        assert!(first.path().exists() && second.path().exists());
    }
}
