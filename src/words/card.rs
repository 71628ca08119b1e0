//! The exposure card in words: what to keep in the camera.

use super::{Column, Table, expose};
use crate::camera::exposure::{Exposure, Timing};
use crate::camera::{Camera, Meter};
use crate::quantity::{Quantity, significant};

/// Light as one meets it: exposure values at ISO 100. Common practice, no source.
const LIGHTS: [(&str, f64); 7] = [
    ("Sun, clear sky", 15.0),
    ("Hazy sun", 14.0),
    ("Bright cloud", 13.0),
    ("Overcast", 12.0),
    ("Heavy cloud, open shade", 11.0),
    ("Deep shade, just after sunset", 9.0),
    ("Bright room", 6.0),
];

/// What to do with the card.
pub const USE: &str = "Cut the card out and keep it in the camera. Exposure values are common \
                       practice, no source; where it matters, expose one more sheet a stop longer, \
                       and one a stop shorter.";

/// The camera and its f-number.
pub fn heading(camera: &Camera, exposure: &Exposure) -> String {
    format!("{}, f/{:.0}", camera.name, exposure.f_number)
}

/// What the times hold for.
pub fn basis(camera: &Camera) -> String {
    let reciprocity = match camera.emulsion.reciprocity {
        Some(_) => ", reciprocity failure included",
        None => "",
    };
    let speed = significant(camera.emulsion.speed_iso, 2);
    format!("For film of ISO {speed} and the middle of the sheet{reciprocity}.")
}

/// The time for each light.
pub fn table(camera: &Camera, exposure: &Exposure) -> Table {
    let time = |ev: f64| {
        let lit = Camera { meter: Meter::ExposureValue(ev), ..camera.clone() };
        Quantity::Time.write(Timing::of(&lit).needed_s(exposure.f_number, 1.0))
    };
    let cells = |(light, ev): (&str, f64)| vec![light.to_owned(), format!("{ev:.0}"), time(ev)];
    Table {
        columns: vec![Column::words("Light"), Column::numbers("EV"), Column::numbers("Time")],
        rows: LIGHTS.map(cells).to_vec(),
    }
}

/// The light at the sides of the sheet.
pub fn fall_off(exposure: &Exposure) -> String {
    let light = &exposure.fall_off;
    format!(
        "Sides: {}. Top and bottom: {}. Corners: {}.",
        expose::light(light.side_stops),
        expose::light(light.upper_stops),
        expose::light(light.corner_stops)
    )
}
