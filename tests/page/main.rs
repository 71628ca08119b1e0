//! The bench in a browser: what it refuses, what it answers, and what a person does with it.

#![cfg(feature = "page")]
#![allow(clippy::print_stderr, clippy::unwrap_used, clippy::panic, clippy::expect_used)]

mod answers;
mod attacks;
mod browser;
mod endurance;
mod program;
mod webdriver;
