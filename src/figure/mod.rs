//! Teaching figures: what a hole does to light, each drawn from the same engine that judges a hole.
//!
//! Every figure takes the camera and the hole on the bench, so that a class sees its own; the built-in
//! ones tell the story where there are no others.

mod airy;
mod best_size;
mod burr;
mod colour;
mod contrast;
mod curved_film;
mod detail;
mod five_holes;
mod growing;
mod loupe_card;
mod maps;
mod other_shapes;
mod oval;
mod thick_plate;
mod two_rims;
mod waiting;
mod widening;

pub(crate) use contrast::draw as contrast;

use crate::camera::Camera;
use crate::diagram::Diagram;
use crate::error::Error;
use crate::geometry::{Outline, shapes};

/// Tells what is on the bench.
#[derive(Debug, Clone)]
pub struct Bench {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub hole: Outline,
    /// Whether that is a hole of one's own; otherwise it is invented, and no figure says that it is yours.
    pub named: bool,
}

/// Returns the hole of the story where none is named: about as wide as the demonstration's, with a burr so
/// coarse that nobody overlooks what it does.
///
/// # Errors
/// None: it is a hole.
pub fn invented_hole() -> Result<Outline, Error> {
    shapes::burred_disc(0.36, 0.6, 0.25, 0.11)
}

/// Describes a teaching figure.
#[derive(Debug, Clone, Copy)]
pub struct Figure {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it teaches, in a few words.
    pub about: &'static str,
    draw: Draw,
}

/// How a figure draws.
#[derive(Debug, Clone, Copy)]
enum Draw {
    Still(fn(&Bench) -> Result<Diagram, Error>),
    Moving(fn(&Bench) -> Result<Vec<Diagram>, Error>),
}

/// Lists all figures, in the order in which they are told.
pub const FIGURES: &[Figure] = &[
    Figure {
        name: "airy",
        about: "a small hole far from the film: the Airy pattern and its dark rings",
        draw: Draw::Still(airy::draw),
    },
    Figure {
        name: "growing",
        about: "the image of a point as the hole grows, from the far field to its shadow",
        draw: Draw::Still(growing::draw),
    },
    Figure {
        name: "best-size",
        about: "sharpness against diameter, with what others have recommended",
        draw: Draw::Still(best_size::draw),
    },
    Figure {
        name: "five-holes",
        about: "one scene through holes from too small to too large, and through yours",
        draw: Draw::Still(five_holes::draw),
    },
    Figure {
        name: "widening",
        about: "a point, a picture and their sharpness while the hole is widened (moving)",
        draw: Draw::Moving(widening::draw),
    },
    Figure {
        name: "contrast",
        about: "MTF and encircled energy of this hole and of the best disc",
        draw: Draw::Still(contrast::draw),
    },
    Figure {
        name: "burr",
        about: "what a burr does to a point, a star, an edge and a picture",
        draw: Draw::Still(burr::draw),
    },
    Figure {
        name: "oval",
        about: "an oval hole: contrast along it and across",
        draw: Draw::Still(oval::draw),
    },
    Figure {
        name: "shapes",
        about: "square, slit, star and two holes, near the film and far from it",
        draw: Draw::Still(other_shapes::draw),
    },
    Figure {
        name: "colour",
        about: "the best size for blue-sensitive paper and for panchromatic film",
        draw: Draw::Still(colour::draw),
    },
    Figure {
        name: "curved-film",
        about: "distance, sharpness and light along a sheet, flat and bent to a tube",
        draw: Draw::Still(curved_film::draw),
    },
    Figure {
        name: "thick-plate",
        about: "how thick metal clips oblique light",
        draw: Draw::Still(thick_plate::draw),
    },
    Figure {
        name: "two-rims",
        about: "what the thickness of the metal does to the image of a point",
        draw: Draw::Still(two_rims::draw),
    },
    Figure {
        name: "waiting",
        about: "exposure and movement: why too small a hole loses twice",
        draw: Draw::Still(waiting::draw),
    },
    Figure {
        name: "loupe-card",
        about: "how large the best hole looks between graduation lines under a loupe",
        draw: Draw::Still(loupe_card::draw),
    },
];

impl Figure {
    /// Draws the figure for what is on the bench: one, or the frames of a moving one.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the camera or the hole leaves nothing to be seen, and says why.
    pub fn draw(&self, bench: &Bench) -> Result<Vec<Diagram>, Error> {
        match self.draw {
            Draw::Still(draw) => Ok(vec![draw(bench)?]),
            Draw::Moving(draw) => draw(bench),
        }
    }
}

#[cfg(test)]
mod tests;
