//! The exposure card in words: what to keep in the camera.

use super::{Column, Table};
use crate::camera::Camera;
use crate::camera::exposure::{Exposure, SceneTime};
use crate::quantity::{significant, spoken_time};

/// Says what to do with the card.
pub const USE: &str = "Cut the card out and keep it in the camera. Exposure values are common \
                       practice, no source; where it matters, expose one more sheet a stop longer, \
                       and one a stop shorter.";

/// Returns the camera and its f-number.
pub fn heading(camera: &Camera, exposure: &Exposure) -> String {
    format!("{}, f/{:.0}", camera.name, exposure.f_number)
}

/// Says what the times hold for.
pub fn basis(camera: &Camera) -> String {
    let reciprocity = match camera.emulsion.reciprocity {
        Some(_) => ", reciprocity failure included",
        None => "",
    };
    let speed = significant(camera.emulsion.speed_iso, 2);
    let medium = if camera.emulsion.is_paper { "paper, metered as ISO" } else { "film of ISO" };
    format!("For {medium} {speed} and the middle of the sheet{reciprocity}.")
}

/// Returns the time for each kind of light.
pub fn table(exposure: &Exposure) -> Table {
    let cells = |one: &SceneTime| {
        let value = format!("{:.0}", one.exposure_value);
        vec![one.scene.to_owned(), value, spoken_time(one.time_s)]
    };
    Table {
        columns: vec![Column::words("Light"), Column::numbers("EV"), Column::numbers("Time")],
        rows: exposure.scenes.iter().map(cells).collect(),
    }
}

/// Returns the light at the sides of the sheet.
pub fn fall_off(exposure: &Exposure) -> String {
    let light = &exposure.fall_off;
    format!(
        "Sides: {}. Top and bottom: {}. Corners: {}.",
        light_at(light.side_stops),
        light_at(light.upper_stops),
        light_at(light.corner_stops)
    )
}

/// Light against the middle of the film, in stops.
pub(super) fn light_at(stops: Option<f64>) -> String {
    match stops {
        Some(stops) if stops.abs() < 0.05 => "as bright as the middle".into(),
        Some(stops) if stops < 0.0 => format!("{:.1} stops darker than the middle", -stops),
        Some(stops) => format!("{stops:.1} stops brighter than the middle"),
        None => "dark: no light gets there".into(),
    }
}
