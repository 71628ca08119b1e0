//! The commands as a person types them, each in an empty folder of its own.

mod answers;
mod eight_holes;
mod figures;
mod log;
mod notebook;
mod photos;
mod physics;
mod places;
mod proof;
mod report;
mod schemas;
mod shapes;
mod shell;
mod takes;
mod target;
mod tube;
mod verdict;
