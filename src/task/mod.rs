//! What can be asked for, one file a command: a request in, an answer out.
//!
//! An answer's fields are the keys of the command's JSON document, and are documented here and
//! nowhere else. Lengths, times and angles carry their unit in the key; uncertainties are expanded
//! (k = 2, about 95 %) half-widths.

pub mod appraise;
pub mod chart;
pub mod document;
pub mod expose;
pub mod gauge;
pub mod log;
pub mod preview;
pub mod prove;
pub mod prove_edge;
mod prove_places;
pub mod psf;
pub mod psf_error;
pub mod psf_memory;
pub mod psf_stack;
pub mod share_out;
#[cfg(test)]
mod stops;
pub mod target;
