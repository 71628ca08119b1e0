//! Labelled plates: what was measured and computed, as PNG files to look at.
//!
//! - [`overlay()`]: the traced outline over the photo of the hole, with its reference circles.
//! - [`sheet()`]: every opening of a photo, numbered.
//! - [`candidates()`]: what in a photo may be the hole, numbered, where the answer is a question.
//! - [`point_image()`]: the light of a point on the film, beside that of the best disc.
//! - [`film_maps()`]: maps over the film, such as of sharpness and of light.
//! - [`bench_card()`]: a sheet of A5 at true size to lie beside the loupe.
//! - [`history()`]: a hole's diameter after each pass, with the sizes that are good enough.
//! - [`Chart`]: a chart to print at true size, on one sheet or in tiles.
//! - [`comparison()`]: some pictures of one scene, with the same parts of all enlarged.
//!
//! Every plate is 1600 pixels wide and as high as its content; its letters, colours and margins
//! come from one place. Texts longer than their room end in "…", and characters that the letters
//! lack are written as "?".
//!
//! A plate here is what it is in a book: a page of pictures. Everywhere else it is the metal with the hole in it:
//! `[plate]` in camera files, `Camera::plate_mm` and `PlateModel`, the plate of [`crate::wave`]. What people read calls
//! the metal alone a plate, and these drawings by what they show.

pub(crate) mod axes;
mod bench_card;
mod candidates;
pub(crate) mod canvas;
mod chart;
#[cfg(test)]
pub(crate) mod checks;
mod comparison;
mod film_map;
mod history;
pub(crate) mod ink;
mod numbers;
mod overlay;
mod pixels;
mod point_image;
mod sheet;
mod view;

pub use bench_card::{A5_MM, BAR_MM, BenchCard, CountedSize, bench_card};
pub use candidates::candidates;
pub use chart::{Chart, Instructions};
pub use comparison::{Comparison, comparison};
pub use film_map::{FilmMaps, MapPanel, film_maps};
pub use history::{History, Measured, history};
pub use ink::Ground;
pub use overlay::{Mark, Overlay, overlay};
pub use point_image::{PointImage, PsfView, point_image};
pub use sheet::{Opening, Sheet, sheet};
