//! Teaching figures: what a hole does to light, each drawn from the same engine that judges a hole.
//!
//! Every figure takes the camera and the hole on the bench, so that a class sees its own; the built-in
//! ones tell the story where there are no others.

mod airy;
mod best_size;
mod burr;
mod colour;
mod constants;
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
mod true_size;
mod two_rims;
mod waiting;
mod widening;

pub(crate) use contrast::draw as contrast;

use crate::camera::Camera;
use crate::diagram::{Diagram, Mark};
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::Quantity;

/// Tells what is on the bench.
#[derive(Debug, Clone)]
pub struct Bench {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub hole: Outline,
    /// Whether that is a hole of one's own; otherwise it is invented, and no figure says that it is yours.
    pub named: bool,
    /// A diameter that was asked for, for the figures that else choose one of their own.
    pub diameter_mm: Option<f64>,
}

impl Bench {
    /// The camera in words: its name, its distance, its light and how much it takes in.
    fn setting(&self) -> String {
        let Camera { name, distances, light, .. } = &self.camera;
        let film = Quantity::Length.write(distances.film_mm());
        let view = self.camera.view_rad().map_or(String::new(), |[_, _, corners]| {
            format!(", {:.0}° from corner to corner", corners.to_degrees())
        });
        format!("{name} (film at {film}{view}; light of {:.0} nm on average)", light.mean_nm())
    }

    /// The bench's own hole on an axis of diameters.
    fn mark(&self) -> Option<Mark> {
        let own = self.hole.equivalent_diameter_mm();
        self.named
            .then(|| Mark { x: own, words: format!("yours: {}", Quantity::Length.write(own)) })
    }
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
        name: "constants",
        about: "why published best sizes differ: each is the best by another measure",
        draw: Draw::Still(constants::draw),
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
    Figure {
        name: "true-size",
        about: "touching holes that fill a millimetre, printed at their true size",
        draw: Draw::Still(true_size::draw),
    },
];

impl Figure {
    /// Whether it moves.
    pub fn is_moving(&self) -> bool {
        matches!(self.draw, Draw::Moving(_))
    }

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
