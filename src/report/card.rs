//! The exposure card: what to keep in the camera.

use crate::camera::Camera;
use crate::camera::Meter;
use crate::camera::exposure::{Exposure, FallOff, Timing};
use crate::quantity::{Quantity, significant};
use maud::{Markup, html};

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

pub(super) fn card(camera: &Camera, exposure: &Exposure) -> Markup {
    let time = |ev: f64| {
        let lit = Camera { meter: Meter::ExposureValue(ev), ..camera.clone() };
        Quantity::Time.write(Timing::of(&lit).needed_s(exposure.f_number, 1.0))
    };
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
                    @for (light, ev) in LIGHTS {
                        tr {
                            th scope="row" { (light) }
                            td.number { (format!("{ev:.0}")) }
                            td.number { (time(ev)) }
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
