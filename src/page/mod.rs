//! The bench in a browser.
//!
//! - [`Server`]: a listener, its connections and their limits; [`Settings`] say where; [`InMemory`]: the same without
//!   a socket.
//! - `door`: who may speak to it: Host, Origin, the secret of a shared bench; `guard`: what every request passes,
//!   and the headers of every answer.
//! - `pool`: the work, on as many threads as there are cores, in a line of limited length, stopped when
//!   the browser goes away.
//! - `received`: a form as it came in: fields and files, in memory only.
//! - `bench`: a form's words and files to a camera and a hole. Words become requests here and nowhere else.
//! - `answer`: what all answers share; `known`: results that are kept to be quick.
//! - `appraise`, `what_if`, `camera`, `log`: the four jobs; `rule`, `shell`, `window`: what they share on paper.
//!
//! The server keeps nothing between two requests: each carries what it needs. So the program can run behind
//! any proxy, and many times over.

#![allow(clippy::needless_pass_by_value)] // Pieces of HTML and forms are given away.

mod answer;
mod appraise;
mod assets;
mod bench;
mod camera;
mod door;
mod event;
mod guard;
mod in_memory;
mod known;
mod log;
mod pool;
mod received;
mod routes;
mod rule;
mod secret;
mod server;
mod shell;
mod what_if;

pub use in_memory::InMemory;
pub use server::{Server, Settings};
