//! Writing files in one piece.

use crate::error::{Error, printable};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The most letters of a file's name; file systems take 255 bytes.
const LONGEST_NAME: usize = 60;

/// Writes a file beside its place and renames it: what was there before is replaced only by a finished file
/// that is on the disk, and nothing half-written is left. A link is followed, a file keeps its permissions, and
/// what is no regular file, such as a pipe, is written through.
///
/// # Errors
/// A fault that names the file, when it cannot be written.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let failed = |why: io::Error| {
        Error::damaged(
            format!("cannot be written: {}", printable(&why.to_string())),
            "check that its folder exists, can be written and has room",
        )
        .in_file(path.display())
    };
    if path.is_dir() {
        return Err(Error::damaged("is a folder, not a file to write", "name a file")
            .in_file(path.display()));
    }
    match fs::metadata(path) {
        Ok(there) if there.is_file() => {
            let real = fs::canonicalize(path).map_err(failed)?;
            replaced(&real, bytes, Some(there.permissions())).map_err(failed)
        }
        Ok(_) => fs::OpenOptions::new()
            .write(true)
            .open(path)
            .and_then(|mut stream| stream.write_all(bytes))
            .map_err(failed),
        Err(_) => replaced(path, bytes, None).map_err(failed),
    }
}

fn replaced(path: &Path, bytes: &[u8], permissions: Option<fs::Permissions>) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let mut beside = new_file_in(folder)?;
    beside.write_all(bytes)?;
    if let Some(permissions) = permissions {
        fs::set_permissions(beside.path(), permissions)?;
    }
    beside.as_file().sync_all()?;
    beside.persist(path).map_err(|why| why.error)?;
    Ok(())
}

/// A temporary file that may be read by all, as far as the user's mask lets new files be.
#[cfg(unix)]
fn new_file_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    use std::os::unix::fs::PermissionsExt;
    tempfile::Builder::new().permissions(fs::Permissions::from_mode(0o666)).tempfile_in(folder)
}

#[cfg(not(unix))]
fn new_file_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    tempfile::NamedTempFile::new_in(folder)
}

/// A file's name of words, on any system: letters, digits, points and strokes, all else a stroke.
pub fn name_of(words: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || c == '.';
    let parts = words.split(|c: char| !plain(c)).filter(|part| !part.is_empty());
    let name = parts.collect::<Vec<_>>().join("-");
    let name: String = name.trim_matches('.').chars().take(LONGEST_NAME).collect();
    if name.is_empty() { "hole".into() } else { name }
}

/// Makes a folder where there is none.
///
/// # Errors
/// A fault that names it, when that is not possible.
pub fn folder(path: &Path) -> Result<PathBuf, Error> {
    fs::create_dir_all(path).map_err(|why| {
        Error::damaged(
            format!("the folder cannot be made: {}", printable(&why.to_string())),
            "give another place",
        )
        .in_file(path.display())
    })?;
    Ok(path.into())
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().permissions().mode() & 0o777
    }

    #[test]
    fn permissions_and_links_are_kept() {
        let folder = tempfile::tempdir().unwrap();
        let [file, link, new] = ["a", "b", "c"].map(|name| folder.path().join(name));
        fs::write(&file, "old").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
        symlink(&file, &link).unwrap();
        write(&link, b"new").unwrap();
        assert_eq!((fs::read(&file).unwrap(), mode(&file)), (b"new".to_vec(), 0o600));
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        write(&new, b"x").unwrap();
        fs::File::create(folder.path().join("plain")).unwrap();
        assert_eq!(mode(&new), mode(&folder.path().join("plain")));
        write(Path::new("/dev/null"), b"x").unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4);
    }

    #[test]
    fn what_cannot_be_written_is_named() {
        for place in ["/nowhere/at/all.png", "/"] {
            let said = write(Path::new(place), b"x").unwrap_err().to_string();
            assert!(said.starts_with(place), "{said}");
        }
    }
}
