//! What comes out of the camera: scenes, and the picture that a point-spread function makes of them.
//!
//! A scene is a [`Raster`](crate::raster::Raster) in linear light, a sample to a film pixel: a
//! person's own picture brought to the film's shape by [`fitted`], or one drawn here ([`Scene`]).
//! [`form`] lays a point-spread function over every point of it. All scenes stand upright: turning
//! the image over, as a camera does, is left to the eye that looks at the film.
//!
//! What the film makes of the picture follows in this order: [`Tone`], its [`Grain`] if wanted, and
//! the print as it is [`seen`].

mod backdrop;
mod bands;
mod chart;
mod coverage;
mod film_kernels;
mod fitted;
mod form;
mod grain;
mod image;
mod kernel;
mod kernel_grid;
mod landscape;
mod lines;
mod mirrors;
mod node;
mod nodes;
mod print;
mod scene;
mod tone;

pub use backdrop::{Backdrop, View};
pub use bands::shares;
pub use film_kernels::{as_pixels_show, film_kernels, film_kernels_bytes, on_film};
pub use fitted::fitted;
pub use form::form;
pub use grain::Grain;
pub(crate) use image::taken;
pub use image::{film_pixels, in_the_middle, perfect};
pub use kernel::Kernel;
pub use kernel_grid::KernelGrid;
pub use nodes::{CONTRAST_TOLERANCE, contrast_error, nodes};
pub use print::{Seen, seen};
pub use scene::Scene;
pub use tone::Tone;
