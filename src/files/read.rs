//! Reading files within limits, and saying which file is wrong.

use super::memory::Memory;
use crate::camera::Camera;
use crate::error::{Error, printable};
use crate::geometry::Outline;
use crate::hole::{Said, Source, outline_file};
use crate::raster::{self, Decoded, Transfer};
use crate::record::{self, Record};
use std::cell::RefCell;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::{Component, Path, PathBuf};

/// The largest of each kind, in bytes.
const CAMERA: u64 = 1 << 20;
const CURVE: u64 = 1 << 20;
const OUTLINE: u64 = 400_000_000;

/// The camera of a camera file (TOML), and every file that it was read from: its curves are files beside it.
///
/// # Errors
/// As [`Camera::parse`], and for files that cannot be read.
pub fn camera(path: &Path) -> Result<(Camera, Vec<PathBuf>), Error> {
    let text = text(path, CAMERA).map_err(|why| why.in_file(path.display()))?;
    let read = RefCell::new(vec![path.to_owned()]);
    let beside = |name: &str| {
        // A name with a folder in it could lead anywhere.
        let mut parts = Path::new(name).components();
        if !matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None)) {
            return Err(Error::not_there(
                "is not the name of a file beside the camera file",
                "put the curve beside the camera file, and give its name without a folder",
            ));
        }
        let curve = path.with_file_name(name);
        let text = self::text(&curve, CURVE)?;
        read.borrow_mut().push(curve);
        Ok(text)
    };
    let camera = Camera::parse(&text, &path.display().to_string(), &beside)?;
    Ok((camera, read.into_inner()))
}

/// The picture of a PNG, JPEG or TIFF file.
///
/// # Errors
/// As [`raster::decoded`], for files that cannot be read, and for a picture that would take more than the memory.
pub fn picture(path: &Path, transfer: Transfer, memory: Memory) -> Result<Decoded, Error> {
    let read = || {
        let bytes = bytes(path, raster::LARGEST_FILE)?;
        if let Some(needed) = raster::memory_bytes(&bytes) {
            memory.allows(needed, |_| "make the picture smaller, or allow more memory".into())?;
        }
        raster::decoded(&bytes, transfer)
    };
    read().map_err(|why| why.in_file(path.display()))
}

/// The outline of an outline file (.csv .svg).
///
/// # Errors
/// As [`outline_file::parse`], and for files that cannot be read.
pub fn outline(path: &Path) -> Result<Outline, Error> {
    let form = outline_file::Form::of_name(&path.display().to_string());
    let read = form.and_then(|form| outline_file::parse(&text(path, OUTLINE)?, form));
    read.map_err(|why| why.in_file(path.display()))
}

/// The record of a bench log.
///
/// # Errors
/// As [`record::parse`], and for files that cannot be read.
pub fn log(path: &Path) -> Result<Record, Error> {
    let read = || {
        let mut file = opened(path)?;
        // A writer is let finish its line. Where that cannot be had the line would be reported as torn, which
        // does no harm, so that is no reason not to read.
        let _ = record::held(&file, File::try_lock_shared);
        record::parse(&within(&mut file, record::LARGEST)?)
    };
    read().map_err(|why| why.in_file(path.display()))
}

/// The record of a log that will be added to: a bench log, an empty file, or none yet.
///
/// # Errors
/// As [`log`].
pub fn log_to_add_to(path: &Path) -> Result<Record, Error> {
    let is_new_or_empty = match std::fs::metadata(path) {
        Ok(there) => there.is_file() && there.len() == 0,
        Err(why) => why.kind() == ErrorKind::NotFound,
    };
    if is_new_or_empty { Ok(Record::default()) } else { log(path) }
}

/// The hole or holes that words name: sizes, counts, and files by their paths.
///
/// # Errors
/// As [`Said::source`], for files that cannot be read, and for pictures that would take more than the memory.
pub fn said(said: &Said, memory: Memory) -> Result<Source, Error> {
    // Of several photos the best is kept while the next is opened.
    let at_once = said.holes.len().min(2) as f64;
    said.source(&|name| {
        let bytes = bytes(Path::new(name), raster::LARGEST_FILE)?;
        if let Some(needed) = raster::memory_bytes(&bytes) {
            memory.allows(needed * at_once, |_| {
                "crop it to the part with the hole, or allow more memory".into()
            })?;
        }
        Ok(bytes)
    })
}

/// The bytes of a regular file of at most so many.
fn bytes(path: &Path, most: u64) -> Result<Vec<u8>, Error> {
    within(&mut opened(path)?, most)
}

fn text(path: &Path, most: u64) -> Result<String, Error> {
    String::from_utf8(bytes(path, most)?)
        .map_err(|_| Error::damaged("is not text in UTF-8", "save it as plain text (UTF-8)"))
}

/// A regular file, opened. Asked for its kind before it is opened: a pipe would keep the opener waiting, a
/// device would never end.
fn opened(path: &Path) -> Result<File, Error> {
    let about = std::fs::metadata(path).map_err(unreadable)?;
    if about.is_dir() {
        return Err(Error::damaged("is a folder", "name the file in it"));
    }
    if !about.is_file() {
        return Err(Error::damaged("is a device or a pipe", "name a regular file"));
    }
    // The system's own files (/proc) say so too, and some of them keep their reader waiting for ever.
    if about.len() == 0 {
        return Err(empty());
    }
    File::open(path).map_err(unreadable)
}

/// All bytes of a file, stopped just beyond the limit whatever the file says of its own length.
fn within(file: &mut File, most: u64) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() as u64 > most {
        let megabytes = most.div_ceil(1_000_000);
        return Err(Error::limit(
            format!("is longer than {megabytes} MB, too long for what it should be"),
            "check that it is the right file",
        ));
    }
    if bytes.is_empty() {
        return Err(empty());
    }
    Ok(bytes)
}

fn empty() -> Error {
    Error::damaged("is empty", "copy it again")
}

// Passed to map_err, which gives the error itself.
#[expect(clippy::needless_pass_by_value)]
fn unreadable(why: io::Error) -> Error {
    match why.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => {
            Error::not_there("does not exist", "check the name, and the folder you are in")
        }
        _ => Error::damaged(
            format!("cannot be read: {}", printable(&why.to_string())),
            "check its permissions",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_regular_file_is_refused() {
        let cases = [
            ("/nowhere/hole.png", "does not exist"),
            ("/", "folder"),
            #[cfg(unix)]
            ("/dev/zero", "device"),
            #[cfg(target_os = "linux")]
            ("/proc/kmsg", ""),
        ];
        for (path, expected) in cases {
            let memory = Memory::read("1 GB").unwrap();
            let said = picture(Path::new(path), Transfer::ByFile, memory).unwrap_err().to_string();
            assert!(said.contains(expected) && said.starts_with(path), "{said}");
        }
    }

    #[test]
    fn files_are_read_to_their_limit() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("curve.csv");
        std::fs::write(&path, [b'x'; 20]).unwrap();
        assert_eq!(bytes(&path, 20).unwrap().len(), 20);
        assert!(bytes(&path, 19).unwrap_err().to_string().contains("longer"));
        std::fs::write(&path, b"400,1\n500,\xff\n").unwrap();
        assert!(text(&path, 100).unwrap_err().to_string().contains("UTF-8"));
        std::fs::write(&path, b"").unwrap();
        assert!(text(&path, 100).unwrap_err().to_string().contains("empty"));
    }

    /// A camera names a curve beside it, and cannot name a file elsewhere.
    #[test]
    fn curves_are_read_beside_the_camera_and_nowhere_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("camera.toml");
        std::fs::write(folder.path().join("yellow.csv"), "450,0\n500,1\n700,1\n").unwrap();
        let camera_with = |filter: &str| {
            let text = crate::camera::DEMONSTRATION.replace(
                "medium = \"colour\"",
                &format!("medium = \"eye\"\nfilter = \"{filter}\""),
            );
            std::fs::write(&path, text).unwrap();
            camera(&path)
        };
        let (yellow, read) = camera_with("yellow.csv").unwrap();
        assert!(yellow.light.mean_nm() > 550.0 && read.len() == 2, "{read:?}");
        for elsewhere in ["/etc/hostname", "../camera.toml", "folder/yellow.csv", "..", ""] {
            let error = camera_with(elsewhere).unwrap_err();
            assert!(error.to_string().contains("beside"), "{error}");
        }
        assert!(camera_with("green.csv").unwrap_err().to_string().contains("does not exist"));
    }
}
