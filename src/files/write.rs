//! Writing files in one piece, and files that belong together all or none.

use super::stray;
use crate::error::{Error, printable};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::time::Duration;
use tempfile::NamedTempFile;

/// How long a pipe may wait for its reader, which the work before has given time to begin.
const PATIENCE: Duration = Duration::from_secs(2);
/// The most links that lead from one to the next; the common limit of systems is 40.
const MOST_LINKS: usize = 40;

/// The most letters of a file's name; file systems take 255 bytes.
const LONGEST_NAME: usize = 60;

/// Writes a file beside its place and renames it: what was there before is replaced only by a finished file
/// that is on the disk, and nothing half-written is left. A link is followed, a file keeps its permissions, and
/// what is no regular file, such as a pipe, is written through.
///
/// # Errors
/// A fault that names the file, when it cannot be written.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    write_together(&[(path, bytes)])
}

/// Writes files that belong together: all of them are finished and on the disk before the first takes its place,
/// so that a full disk leaves what was there.
///
/// # Errors
/// As [`write`](fn@write).
pub fn write_together(files: &[(impl AsRef<Path>, impl AsRef<[u8]>)]) -> Result<(), Error> {
    write_together_and(files, || Ok(()))
}

/// Writes files that belong together and then does what belongs to them, such as adding a line to a log. Where that
/// fails, or a file cannot take its place, all is put back as it was.
///
/// What ends the program between the files and what is done last leaves the files: the same call makes them anew, and
/// then the rest.
///
/// # Errors
/// As [`write`](fn@write), and those of what is done last.
pub fn write_together_and(
    files: &[(impl AsRef<Path>, impl AsRef<[u8]>)],
    last: impl FnOnce() -> Result<(), Error>,
) -> Result<(), Error> {
    let failed = |path: &Path, why: &io::Error| {
        Error::damaged(
            format!("cannot be written: {}", printable(&why.to_string())),
            "check that its folder exists, can be written and has room",
        )
        .in_file(path.display())
    };
    let mut finished = Vec::new();
    for (path, bytes) in files {
        let path = path.as_ref();
        let made = Finished::of(path, bytes.as_ref()).map_err(|why| failed(path, &why))?;
        finished.push((path, made));
    }
    let mut replaced = Vec::new();
    let placed = finished.into_iter().try_for_each(|(path, file)| {
        replaced.extend(file.take_place().map_err(|why| failed(path, &why))?);
        Ok(())
    });
    placed.and_then(|()| last()).inspect_err(|_| {
        replaced.into_iter().rev().for_each(Replaced::put_back);
    })
}

/// Writes files together, some of them into a folder that is made where there is none.
///
/// # Errors
/// As [`write`](fn@write), and when the folder cannot be made.
pub fn write_folder(
    folder: &Path,
    files: &[(impl AsRef<Path>, impl AsRef<[u8]>)],
) -> Result<(), Error> {
    write_folder_and(folder, files, || Ok(()))
}

/// Writes files together, some of them into a folder that is made where there is none, and then does what belongs to
/// them, as [`write_together_and`] does.
///
/// # Errors
/// As [`write_together_and`], and when the folder cannot be made.
pub fn write_folder_and(
    folder: &Path,
    files: &[(impl AsRef<Path>, impl AsRef<[u8]>)],
    last: impl FnOnce() -> Result<(), Error>,
) -> Result<(), Error> {
    let was_there = folder.is_dir();
    fs::create_dir_all(folder).map_err(|why| {
        Error::damaged(
            format!("the folder cannot be made: {}", printable(&why.to_string())),
            "give another place",
        )
        .in_file(folder.display())
    })?;
    write_together_and(files, last).inspect_err(|_| {
        if !was_there {
            // Only an empty folder can be removed so; another is left.
            let _ = fs::remove_dir(folder);
        }
    })
}

/// A file's name of words, on any system: letters, digits, points and strokes, all else a stroke.
pub fn name_of(words: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || c == '.';
    let parts = words.split(|c: char| !plain(c)).filter(|part| !part.is_empty());
    let name = parts.collect::<Vec<_>>().join("-");
    let name: String = name.trim_matches('.').chars().take(LONGEST_NAME).collect();
    if name.is_empty() { "hole".into() } else { name }
}

/// A file that only has to take its place.
enum Finished<'a> {
    Beside(NamedTempFile, PathBuf),
    Through(&'a Path, &'a [u8]),
}

impl<'a> Finished<'a> {
    fn of(path: &'a Path, bytes: &'a [u8]) -> io::Result<Finished<'a>> {
        let place = real_place(path)?;
        let there = fs::metadata(&place).ok();
        if there.as_ref().is_some_and(fs::Metadata::is_dir) {
            return Err(io::Error::from(io::ErrorKind::IsADirectory));
        }
        if there.as_ref().is_some_and(|there| !there.is_file()) {
            return Ok(Finished::Through(path, bytes));
        }
        let mut beside = stray::new_file_in(folder_of(&place))?;
        beside.write_all(bytes)?;
        if let Some(there) = there {
            fs::set_permissions(beside.path(), there.permissions())?;
        }
        beside.as_file().sync_all()?;
        Ok(Finished::Beside(beside, place))
    }

    /// What it replaced, where it can be put back.
    fn take_place(self) -> io::Result<Option<Replaced>> {
        match self {
            Finished::Beside(beside, place) => {
                let before =
                    if place.exists() { Some(stray::other_name_of(&place)?) } else { None };
                beside.persist(&place)?;
                Ok(Some(Replaced { before, place }))
            }
            Finished::Through(path, bytes) => opened_through(path)?.write_all(bytes).map(|()| None),
        }
    }
}

/// A file that has taken its place, and the one that was there before, under another name until all is done.
struct Replaced {
    before: Option<NamedTempFile<Option<File>>>,
    place: PathBuf,
}

impl Replaced {
    /// The fault that led here is the one that is told.
    fn put_back(self) {
        let _ = match self.before {
            Some(before) => before.into_temp_path().persist(&self.place).map_err(io::Error::from),
            None => fs::remove_file(&self.place),
        };
    }
}

/// A device or pipe, opened to be written; a pipe that nobody reads would keep the opener for ever.
fn opened_through(path: &Path) -> io::Result<File> {
    let (tell, heard) = mpsc::channel();
    let path = path.to_owned();
    std::thread::Builder::new().spawn(move || {
        // Nobody listens once the patience is over.
        let _ = tell.send(fs::OpenOptions::new().write(true).open(path));
    })?;
    let nobody = |_| io::Error::new(io::ErrorKind::TimedOut, "nobody reads from this pipe");
    heard.recv_timeout(PATIENCE).map_err(nobody)?
}

/// The folder that a file is in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    }
}

/// Where a name leads: links followed, also to what does not exist yet, and folders by their one real name as far
/// as they exist.
pub(super) fn real_place(path: &Path) -> io::Result<PathBuf> {
    let mut path = path.to_owned();
    for _ in 0..MOST_LINKS {
        if let Ok(real) = fs::canonicalize(&path) {
            return Ok(real);
        }
        match fs::read_link(&path) {
            Ok(target) => path = folder_of(&path).join(target),
            Err(_) => return place_of_new(&path),
        }
    }
    Err(io::Error::other("its links lead round in a circle"))
}

fn place_of_new(path: &Path) -> io::Result<PathBuf> {
    let mut missing: Vec<OsString> = Vec::new();
    let mut there = path;
    loop {
        let Some(name) = there.file_name() else {
            return Err(io::Error::from(io::ErrorKind::NotFound));
        };
        missing.push(name.to_owned());
        there = folder_of(there);
        if let Ok(real) = fs::canonicalize(there) {
            return Ok(missing.iter().rev().fold(real, |place, name| place.join(name)));
        }
    }
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
        File::create(folder.path().join("plain")).unwrap();
        assert_eq!(mode(&new), mode(&folder.path().join("plain")));
        write(Path::new("/dev/null"), b"x").unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4);
    }

    /// A link to what is not there yet makes it there.
    #[test]
    fn a_link_to_nothing_yet_is_followed() {
        let folder = tempfile::tempdir().unwrap();
        let [file, link, circle] = ["file", "link", "circle"].map(|name| folder.path().join(name));
        symlink("file", &link).unwrap();
        write(&link, b"x").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink() && file.is_file());
        symlink("circle", &circle).unwrap();
        assert!(write(&circle, b"x").unwrap_err().to_string().contains("circle"));
    }

    /// What was there is there again, with its permissions, and what was not is gone.
    #[test]
    fn what_fails_last_leaves_all_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let new = folder.path().join("new");
        let files = [(folder.path().join("old"), "b"), (new.join("c"), "d")];
        fs::write(&files[0].0, "a").unwrap();
        fs::set_permissions(&files[0].0, fs::Permissions::from_mode(0o640)).unwrap();
        let mut was_written = false;
        let why = write_folder_and(&new, &files, || {
            was_written = fs::read(&files[0].0).unwrap() == b"b" && files[1].0.is_file();
            Err(Error::damaged("is full", "make room"))
        });
        assert!(was_written && why.unwrap_err().to_string() == "is full");
        assert_eq!((fs::read(&files[0].0).unwrap(), mode(&files[0].0)), (b"a".to_vec(), 0o640));
        assert!(!new.exists());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        write_folder_and(&new, &files, || Ok(())).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    }

    #[test]
    fn what_cannot_be_written_is_named() {
        for place in ["/nowhere/at/all.png", "/"] {
            let said = write(Path::new(place), b"x").unwrap_err().to_string();
            assert!(said.starts_with(place), "{said}");
        }
    }

    /// One that cannot be written leaves the others as they were, and no folder that was not there.
    #[test]
    fn files_that_belong_together_are_written_all_or_none() {
        let folder = tempfile::tempdir().unwrap();
        let names = |folder: &Path, last: &str| ["a", last].map(|name| (folder.join(name), "new"));
        fs::write(folder.path().join("a"), "old").unwrap();
        let all_is_well = || Ok(());
        let into_none = names(folder.path(), "none/b");
        assert!(write_folder_and(folder.path(), &into_none, all_is_well).is_err());
        assert_eq!(fs::read(folder.path().join("a")).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        let new = folder.path().join("new");
        let into_none = names(&new, "none/b");
        assert!(write_folder_and(&new, &into_none, all_is_well).is_err() && !new.exists());
        write_folder_and(&new, &names(&new, "b"), all_is_well).unwrap();
        assert_eq!(fs::read_dir(&new).unwrap().count(), 2);
    }
}
