//! The exposure card: what to keep in the camera.

use crate::camera::Camera;
use crate::camera::exposure::{Exposure, FallOff};
use crate::quantity::{significant, spoken_time};
use maud::{Markup, html};

pub(super) fn card(camera: &Camera, exposure: &Exposure) -> Markup {
    html! {
        section.card aria-label="Exposure card" {
            h3 { (camera.name) ", f/" (format!("{:.0}", exposure.f_number)) }
            p {
                "Film of ISO " (significant(camera.emulsion.speed_iso, 2)) ", right for the middle"
                @if camera.emulsion.reciprocity.is_some() { ", reciprocity failure included" } "."
            }
            table {
                thead {
                    tr {
                        th scope="col" { "Light" }
                        th scope="col" { "EV" }
                        th scope="col" { "Time" }
                    }
                }
                tbody {
                    @for light in &exposure.scenes {
                        tr {
                            th scope="row" { (light.scene) }
                            td.number { (format!("{:.0}", light.exposure_value)) }
                            td.number { (spoken_time(light.time_s)) }
                        }
                    }
                }
            }
            p { (fall_off(&exposure.fall_off)) }
        }
        p.quiet { "Cut the card out and keep it in the camera. Exposure values are common practice, no source; \
                   expose one sheet more and one less, a stop apart, where it matters." }
    }
}

fn fall_off(light: &FallOff) -> String {
    let stops = |stops: Option<f64>| {
        stops.map_or("no light".to_owned(), |stops| match stops {
            s if s.abs() < 0.05 => "as much".to_owned(),
            s if s < 0.0 => format!("{:.1} stops less", -s),
            s => format!("{s:.1} stops more"),
        })
    };
    format!(
        "Against the middle the sides get {}, top and bottom {}, the corners {}.",
        stops(light.side_stops),
        stops(light.upper_stops),
        stops(light.corner_stops)
    )
}
