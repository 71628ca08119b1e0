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
//! 1 exactly (Parseval). Wavelengths add in e. Source: `Goodman`, ch. 4; `BornWolf`, ch. 8.
//!
//! One number decides what the light looks like: the Fresnel number N = a²/(λz) of a hole of radius a.
//! Far below 1 the pattern is the hole's Fourier transform, far above it its shadow; a good pinhole
//! has N between 0.5 and 1.
//!
//! ```
//! use foramen::geometry::shapes;
//! use foramen::wave::{Aperture, Chords, Distances, Grid, Light, Spread, Window};
//! // Prepared once; lengths in mm, wavelengths in nm.
//! let hole = shapes::burred_disc(0.35, 0.7, 0.15, 0.06)?;
//! let aperture = Aperture::of(&hole);
//! let (light, distances) = (Light::single(550.0)?, Distances::new(2000.0, 100.0)?);
//! let psf = aperture.psf(&light, distances, Grid::new(256, 0.005)?)?;
//! assert!(psf.energy_on_grid() > 0.9 && psf.energy_on_grid() < 1.0);
//! // A stack over distances is weights on the nodes of one family.
//! let near_and_far = [100.0, 110.0, 120.0].map(|v| Distances::new(2000.0, v));
//! let near_and_far = near_and_far.into_iter().collect::<Result<Vec<_>, _>>()?;
//! let family = aperture.family(&light, &near_and_far, Grid::new(128, 0.01)?)?;
//! let stack = family.stack(&near_and_far.iter().map(|d| (550.0, *d)).collect::<Vec<_>>())?;
//! assert_eq!(stack.density.dim(), (3, 128, 128));
//! // Measures.
//! let pixel = aperture.energy_within(&light, distances, Window::Square(0.1))?;
//! let circle = aperture.energy_within(&light, distances, Window::Circle(0.1))?;
//! assert!(circle < pixel && pixel < 0.2);
//! let across = Chords::along(&hole, 0.0, 1024);
//! let mtf = across.otf(&light, distances, 2.0).norm();
//! let spread = Spread::along(&across, &light, distances);
//! assert!(mtf < 1.0 && spread.edge_at(1.0) > spread.edge_at(-1.0));
//! # Ok::<(), foramen::Error>(())
//! ```
//!
//! # Why it is exact
//!
//! The integrand is a smooth wave; only the region is awkward. Polynomials of degree n represent a
//! wave over the hole's square to any tolerance once n passes its largest phase, and beyond that the
//! error falls faster than any power (Bernstein's theorem for entire functions). The region's moments
//! of those polynomials are exact sums along its edges, by Green's theorem. So weights on n × n
//! Gauss points ([`Aperture`]) stand for the very outline, islands and burrs included, and a PSF is two
//! small matrix products. Two things remain: rounding, and that a curve is given as a polygon.
//!
//! The family over Fresnel numbers ([`Family`]) rests on the same fact: in shadow coordinates |U|² is
//! entire in 1/(λz), so that Chebyshev nodes represent it to any tolerance. Wide fields
//! ([`Aperture::wide_psf`]) sample the hole through smooth bells whose integrals are exact sums along
//! the edges, and whose spectrum is divided out again.
//!
//! The tolerance is stated ([`Aperture::with_tolerance`], 1e-7 of the brightest place wanted where nothing
//! is said), and so is the number of points it took ([`Psf::order`]). [`order_for`] tells how that number
//! follows from the phase, on small grids and for slits too.
//!
//! # What judges it
//!
//! [`analytic`] holds the closed forms; [`direct`] does the integral slowly along the rim and shares no
//! code with the fast routes. Tables made elsewhere (mpmath), the closed forms, the rim integral on
//! holes nobody chose, symmetries, energies and rates of convergence are compared in tests/physics;
//! `cargo run --release --example verification` prints every check with its error.
//!
//! # What it costs
//!
//! With n points across the hole and a film of M × M samples, moments cost 2 E n² multiplications for
//! E edges, a PSF about n M²/4 for a hole that is its own mirror image and n M² for any other, once a
//! wavelength. n is some 45 for six dark rings, and grows by 4 a ring. Wide fields cost M + D transforms
//! of 2 M points, D the samples across the hole. A member of a family costs K M² with K some tens.
//!
//! # Where it stops holding
//!
//! - **Vector effects**: a scalar wave knows no polarisation. It serves holes of many wavelengths; at
//!   0.1 mm, 200 wavelengths, the difference is out of reach of film (`BornWolf`, 11; `Goodman`, 3.1).
//! - **Thick metal**: the plate is taken as infinitely thin, unless [`Aperture::between_rims`] takes it for two
//!   rims. Along the axis the far rim cuts off what the near one throws √(λt) beyond itself: some 1 % of the
//!   light for 0.1 mm. Light at an angle is clipped by both rims.
//! - **Near field**: [`Aperture::of`] expands distances to second order, which drops a phase of
//!   π a⁴/(4λz³) ([`Aperture::neglected_phase_rad`], the next term of √(z² + a²)): 1e-5 rad for 0.3 mm at
//!   50 mm. Above 1 rad it is refused.
//! - **Off the axis**: [`Aperture::along`] takes the exact path through each point of the hole to one place
//!   of film that may lean and bend ([`Path`]). Steps on the film from there are of first order; what they
//!   drop grows with their square ([`Path::dropped_rad`]), so a large grid is cut into tiles ([`Tile`]).
//! - **Coherence**: every wavelength is a line; points of the subject do not interfere.
//!
//! # Conventions
//!
//! Lengths in mm, wavelengths in nm, frequencies in line pairs per mm on the film. x to the right,
//! y up, on hole and film alike, looking from the film out to the scene: the shadow of the hole on
//! the film is upright. Rows of an array run from low y to high y, the film grid is centred at
//! index `size / 2`.
//!
//! # The parts
//!
//! - [`analytic`]: closed forms, which judge all the rest.
//! - [`direct`]: the diffraction integral done slowly and plainly.
//! - [`Aperture`]: an outline as exact moments, then as a small weighted grid of points.
//! - [`Psf`]: energy per area on the film, wavelengths added; by products or, wide, by transforms.
//! - [`Family`]: all wavelengths and distances of one hole, for stacks: `psf` writes them.
//! - [`Path`], [`Tile`]: exact paths to film that leans and bends, and film cut into pieces.
//! - [`Chords`]: the outline in strips along one direction, which give the OTF there.
//! - [`Shadow`]: the OTF of a hole of many zones, by sums along its rim.
//! - [`Spread`]: the images of a line and of an edge.
//! - [`Encircled`], [`Window`]: the energy inside circles and squares.

pub mod analytic;
mod aperture;
mod blurred;
mod coverage;
pub mod direct;
mod encircled;
mod exact;
mod family;
mod field;
mod filter;
mod fourier;
mod grid;
mod legendre;
mod light;
mod measures;
mod metric;
mod moments;
mod order;
mod path;
mod psf;
mod shadow;
mod spread;
mod tiles;
mod transfer;
mod two_rims;
mod waves;
mod wide;

pub use aperture::{Aperture, Quadrature, TOLERANCE};
pub use encircled::Encircled;
pub use family::{Family, Stack};
pub(crate) use fourier::{good_length, good_odd_length};
pub use grid::Grid;
pub use legendre::Gauss;
pub use light::{Distances, Light, MM_PER_NM, fresnel_number};
pub use measures::Window;
pub use order::order_for;
pub use path::Path;
pub use psf::{Psf, energy_beyond};
pub use shadow::Shadow;
pub use spread::Spread;
pub use tiles::Tile;
pub use transfer::Chords;
pub use two_rims::rims_error;
