//! The outer edge: paths to bytes and back. Everything before this module takes bytes and values.
//!
//! - [`camera`], [`picture`], [`outline`], [`log`]: a file, read within its limit and understood; what is
//!   wrong is told with the file's name.
//! - [`said`]: the holes that a command line names, with their files.
//! - [`Memory`]: the most that a run may take.
//! - [`Places`]: what is read and what will be written, checked before any work.
//! - [`write`](fn@write), [`write_together`], [`write_folder`]: what is written, in one piece; what a killed run
//!   left is removed; [`name_of`]: a name that any system takes.

mod memory;
mod places;
mod read;
mod stray;
mod write;

pub use memory::Memory;
pub use places::Places;
pub use read::{camera, log, log_to_add_to, outline, picture, said};
pub use write::{
    name_of, write, write_folder, write_folder_and, write_together, write_together_and,
};
