//! The light behind a hole: the numerical core. It opens no file, reads no clock, prints nothing.
//!
//! # What is computed
//!
//! A point of the subject at distance u sends a spherical wave through a flat, thin, opaque plate
//! with an opening; the film lies at distance v behind it. With 1/z = 1/u + 1/v, r in the plane of
//! the hole, and X on the film measured from the straight line through the hole's origin, both
//! distances expanded to second order in r,
//!
//! ```text
//! U(X) = ∬_hole exp(iπ r²/(λz)) exp(-2πi X·r/(λv)) d²r          e(X) = |U|² / (λ²v² A)
//! ```
//!
//! with A the open area. Factors of modulus 1 are dropped. e is the energy per area on the film, as
//! a fraction of the energy that came through the hole: its integral over the whole film plane is
//! 1 exactly (Parseval). Source: Goodman, Introduction to Fourier Optics, ch. 4; Born & Wolf,
//! Principles of Optics, ch. 8 (chapters from memory).
//!
//! # Conventions
//!
//! Lengths in mm, wavelengths in nm, frequencies in line pairs per mm on the film. x to the right,
//! y up, on hole and film alike, looking from the film out to the scene: the shadow of the hole on
//! the film is upright. Rows of an array run from low y to high y, the film grid is centred at
//! index `size / 2`.
//!
//! # Where it stops holding
//!
//! Scalar light, a thin plate, a point on the axis: good while the neglected phase
//! π a⁴/(4λz³) is small ([`Distances::neglected_phase_rad`]), which for holes below 1 mm and
//! distances above 10 mm it is.
//!
//! # The parts
//!
//! - [`analytic`]: closed forms, which judge all the rest.
//! - [`direct`]: the diffraction integral done slowly and plainly; shares no code with the fast route.
//! - [`Aperture`]: an outline as exact moments, then as a small weighted grid of points.
//! - [`Psf`]: energy per area on the film, wavelengths added.
//! - [`Chords`]: the outline in strips along one direction, which give the OTF there exactly.
//! - [`Encircled`]: the energy inside a circle, from the OTF.

pub mod analytic;
mod aperture;
mod coverage;
pub mod direct;
mod encircled;
mod family;
mod field;
mod grid;
mod legendre;
mod light;
mod measures;
mod moments;
mod psf;
mod spread;
mod transfer;
mod wide;

pub use aperture::{Aperture, Quadrature, TOLERANCE, order_for};
pub use encircled::Encircled;
pub use family::{Family, Stack};
pub use grid::Grid;
pub use legendre::Gauss;
pub use light::{Distances, Light, MM_PER_NM, fresnel_number};
pub use measures::Window;
pub use psf::{Psf, energy_beyond};
pub use spread::Spread;
pub use transfer::Chords;
