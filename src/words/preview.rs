//! `preview` in words: what the picture's pixels are, and how accurate they are.

use super::{Row, terminal};
use crate::quantity::{Quantity, significant};
use crate::task::preview::{Answer, Orientation};

/// Is the sentence of a print that the film's pixels are too coarse for.
pub const FILM_IS_COARSER: &str = "The print is drawn from coarser pixels than an eye sees.";

/// Returns the picture's pixels, and how the image of a point was found between the places it was computed
/// at.
pub fn rows(answer: &Answer) -> Vec<Row> {
    vec![
        Row::new(
            "Picture",
            format!(
                "{} × {} pixels of {} on the film, {:.0}° across",
                answer.columns,
                answer.rows,
                Quantity::Length.write(answer.film_pixel_um / 1000.0),
                answer.angle_of_view_deg
            ),
        ),
        Row::new(
            "PSF",
            format!(
                "computed at {} × {} places; between them its contrast is accurate to {}",
                answer.nodes[0],
                answer.nodes[1],
                significant(answer.contrast_error, 1)
            ),
        ),
        Row::new("Way round", orientation(answer.orientation)),
    ]
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    terminal::rows(&rows(answer))
}

/// Says how a picture is turned.
pub fn orientation(orientation: Orientation) -> &'static str {
    match orientation {
        Orientation::Scene => "Drawn the right way round, as the scene.",
        Orientation::Camera => {
            "Drawn as the film lies in the camera, looking from it out to the hole: upside down."
        }
        Orientation::Hand => {
            "Drawn as the sheet is held, its light-sensitive side to the eye: left and right are changed."
        }
    }
}
