//! The outer edge: paths to bytes and back. Everything before this module takes bytes and values.
//!
//! - [`camera`], [`picture`], [`outline`], [`log`]: a file, read within its limit and understood; what is
//!   wrong is told with the file's name.
//! - [`said`]: the holes that a command line names, with their files.
//! - [`write`](fn@write), [`folder`]: what is written, in one piece; [`name_of`]: under a name that any system takes.

mod read;
mod write;

pub use read::{camera, log, outline, picture, said};
pub use write::{folder, name_of, write};
