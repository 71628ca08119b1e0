//! What is on the workbench: a hole, measured.
//!
//! - [`gauge`]: every size of an outline, as one table.
//! - [`burr`]: inward departures from the smooth rim, and the outline without them.
//! - [`specimen`]: a drawn photo of an invented hole, for the demonstration and for tests.

pub mod burr;
pub mod gauge;
mod smooth_form;
pub mod specimen;
