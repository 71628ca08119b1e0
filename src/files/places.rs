//! What a run reads and what it writes, held against each other before any work is done.
//!
//! Files are told apart by what they are, not by what they are called: two names of one file are one place.

use super::write::{folder_of, real_place};
use crate::error::{Error, printable};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The files that a run reads, and the places that it will write.
#[derive(Debug, Clone, Default)]
pub struct Places {
    read: Vec<PathBuf>,
    written: Vec<PathBuf>,
    folders: Vec<PathBuf>,
    log: Option<PathBuf>,
}

impl Places {
    /// A run that writes these files, as far as they are wanted.
    pub fn writing<'a>(files: impl IntoIterator<Item = Option<&'a Path>>) -> Places {
        let written = files.into_iter().flatten().map(Path::to_owned).collect();
        Places { written, ..Places::default() }
    }

    /// Adds files that are written into a folder, which is made where there is none.
    #[must_use]
    pub fn and_folder(mut self, folder: &Path, names: &[&str]) -> Places {
        self.written.extend(names.iter().map(|name| folder.join(name)));
        self.folders.push(folder.to_owned());
        self
    }

    /// Adds the bench log that is added to.
    #[must_use]
    pub fn and_log(mut self, log: Option<&Path>) -> Places {
        self.log = log.map(Path::to_owned);
        self
    }

    /// Adds files that are read. A name that leads to no file is passed over: its reader reports it.
    pub fn read(&mut self, files: impl IntoIterator<Item = PathBuf>) {
        self.read.extend(files);
    }

    /// Checks that every place can be written, and that none of them is a file that is read, the log, or another of
    /// them.
    ///
    /// # Errors
    /// A fault that names the place.
    pub fn check(&self) -> Result<(), Error> {
        for folder in &self.folders {
            can_become_a_folder(folder).map_err(|why| why.in_file(folder.display()))?;
        }
        let read = self.read.iter().filter(|path| path.is_file());
        let read: Vec<Identity> = read.filter_map(|path| Identity::of(path)).collect();
        let log = self.log.as_deref().and_then(Identity::of);
        let mut before = Vec::new();
        for path in &self.written {
            let one = Identity::of(path);
            let clash = match &one {
                Some(one) if read.contains(one) => Some("is a file that is read"),
                Some(one) if log.as_ref() == Some(one) => Some("is the bench log"),
                Some(one) if before.contains(one) => Some("is named for two files to be written"),
                _ => None,
            };
            if let Some(clash) = clash {
                return Err(Error::damaged(
                    format!("{clash}, and would be overwritten; nothing is changed"),
                    "give each file to be written a name of its own",
                )
                .in_file(path.display()));
            }
            before.extend(one);
            self.can_be_written(path).map_err(|why| why.in_file(path.display()))?;
        }
        self.log.as_deref().map_or(Ok(()), |log| {
            self.can_be_written(log).map_err(|why| why.in_file(log.display()))
        })
    }

    /// Tries what writing will need, without changing anything.
    fn can_be_written(&self, path: &Path) -> Result<(), Error> {
        name_is_taken(path)?;
        let place = real_place(path).map_err(|why| unwritable(&why))?;
        match fs::metadata(&place) {
            Ok(there) if there.is_dir() => {
                return Err(Error::damaged("is a folder, not a file to write", "name a file"));
            }
            // A device or a pipe is opened when there is something for it.
            Ok(there) if !there.is_file() => return Ok(()),
            Ok(_) => {
                fs::OpenOptions::new().append(true).open(&place).map_err(|why| unwritable(&why))?;
            }
            Err(_) => {}
        }
        let folder = folder_of(&place);
        let will_be_made =
            || self.folders.iter().any(|made| real_place(made).is_ok_and(|made| made == folder));
        if !folder.is_dir() && will_be_made() {
            return Ok(());
        }
        takes_new_files(folder)
    }
}

fn unwritable(why: &io::Error) -> Error {
    Error::damaged(
        format!("cannot be written: {}", printable(&why.to_string())),
        "check the name and its permissions, or give another place",
    )
}

/// Whether a name may be one of a file, there or not: one that is too long never is.
fn name_is_taken(path: &Path) -> Result<(), Error> {
    match fs::symlink_metadata(path).map_err(|why| (why.kind(), why)) {
        Err((io::ErrorKind::InvalidFilename, why)) => Err(unwritable(&why)),
        _ => Ok(()),
    }
}

/// Tries a nameless file in a folder.
fn takes_new_files(folder: &Path) -> Result<(), Error> {
    if !folder.exists() {
        return Err(Error::not_there(
            "its folder does not exist",
            "make the folder first, or give another place",
        ));
    }
    tempfile::tempfile_in(folder).map(drop).map_err(|why| {
        Error::damaged(
            format!("its folder cannot be written: {}", printable(&why.to_string())),
            "check the folder's permissions, or give another place",
        )
    })
}

/// Whether a folder is there or can be made, and takes files.
fn can_become_a_folder(path: &Path) -> Result<(), Error> {
    name_is_taken(path)?;
    let mut there = real_place(path).map_err(|why| unwritable(&why))?;
    while !there.exists() {
        there = folder_of(&there).to_owned();
    }
    if !there.is_dir() {
        return Err(Error::damaged(
            "is a file or lies in one, and a folder is needed",
            "give another place",
        ));
    }
    takes_new_files(&there)
}

/// What makes a file that one and no other.
#[derive(Debug, PartialEq)]
enum Identity {
    /// The number of its disk and its number there.
    #[cfg(unix)]
    Number(u64, u64),
    /// The place where it is, or will be.
    Place(PathBuf),
}

impl Identity {
    /// The identity of a regular file, or of one that is not there yet. Devices and pipes keep nothing that could be
    /// overwritten.
    fn of(path: &Path) -> Option<Identity> {
        let place = real_place(path).ok()?;
        match fs::metadata(&place) {
            Ok(there) if there.is_file() => Some(Identity::of_file(&there, place)),
            Ok(_) => None,
            Err(_) => Some(Identity::Place(place)),
        }
    }

    #[cfg(unix)]
    fn of_file(there: &fs::Metadata, _: PathBuf) -> Identity {
        use std::os::unix::fs::MetadataExt;
        Identity::Number(there.dev(), there.ino())
    }

    #[cfg(not(unix))]
    fn of_file(_: &fs::Metadata, place: PathBuf) -> Identity {
        Identity::Place(place)
    }
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use super::*;
    use std::os::unix::fs::symlink;

    fn refused(places: &Places, part: &str) {
        let why = places.check().unwrap_err();
        assert!(why.to_string().contains(part) && !why.remedy().is_empty(), "{part}: {why}");
    }

    #[test]
    fn one_file_by_two_names_is_one_place() {
        let folder = tempfile::tempdir().unwrap();
        let [hole, link, hard, new] =
            ["hole.png", "link", "hard", "new"].map(|name| folder.path().join(name));
        fs::write(&hole, "photo").unwrap();
        symlink("hole.png", &link).unwrap();
        fs::hard_link(&hole, &hard).unwrap();
        let dotted = folder.path().join(".").join("hole.png");
        for name in [&hole, &link, &hard, &dotted] {
            let mut places = Places::writing([Some(name.as_path())]);
            places.read([hole.clone()]);
            refused(&places, "is a file that is read");
        }
        let also = folder.path().join("none").join("..").join("new");
        fs::create_dir(folder.path().join("none")).unwrap();
        refused(&Places::writing([Some(new.as_path()), Some(also.as_path())]), "two files");
        let into = Places::default().and_folder(folder.path(), &["new"]).and_log(Some(&new));
        refused(&into, "is the bench log");
        let mut places = Places::writing([Some(new.as_path()), None]);
        places.read([hole, new.clone()]);
        assert!(places.check().is_ok());
        let device = Some(Path::new("/dev/null"));
        assert!(Places::writing([device, device]).check().is_ok());
        assert!(!new.exists());
    }

    #[test]
    fn places_that_cannot_be_written_are_found_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let of = |name: &str| folder.path().join(name);
        fs::write(of("file"), "x").unwrap();
        refused(&Places::writing([Some(folder.path())]), "is a folder");
        refused(&Places::writing([Some(of("none/x").as_path())]), "folder does not exist");
        refused(&Places::default().and_log(Some(&of("none/x"))), "folder does not exist");
        refused(&Places::default().and_folder(&of("file/in"), &["x"]), "lies in one");
        let long = of(&"n".repeat(300));
        refused(&Places::writing([Some(long.as_path())]), "cannot be written");
        refused(&Places::default().and_folder(&long, &["x"]), "cannot be written");
        refused(&Places::writing([Some(of("file/in").as_path())]), "");
        // The folder of the answer is made, so that its log may be in it.
        let made = of("made");
        let inside = Places::default().and_folder(&made, &["x"]).and_log(Some(&of("made/log")));
        assert!(inside.check().is_ok() && !made.exists());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
