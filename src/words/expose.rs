//! `expose` in words: the exposure in a sentence, how much light the sheet's sides get, and a series.

use super::{Column, Row, Table, card, terminal};
use crate::camera::exposure::Exposure;
use crate::camera::{Assumed, Camera, INCIDENT_CONSTANT, Meter};
use crate::quantity::{Quantity, significant};

fn time(s: f64) -> String {
    Quantity::Time.write(s)
}

/// Returns the exposure as people say it.
pub fn sentence(camera: &Camera, exposure: &Exposure) -> String {
    let longer = if exposure.corrected_s > 1.02 * exposure.metered_s {
        format!(" ({} by the meter, more for reciprocity failure)", time(exposure.metered_s))
    } else {
        String::new()
    };
    let metered = match camera.meter {
        Meter::ExposureValue(value) => format!("exposure value {value}"),
        Meter::Reading { time_s, f_number } => {
            format!("a reading of {} at f/{f_number}", time(time_s))
        }
        Meter::Illuminance(lux) => {
            format!("{lux} lux on the subject (calibration constant {INCIDENT_CONSTANT})")
        }
    };
    format!(
        "{}{longer} at f/{:.0}, ISO {}, for {metered}",
        time(exposure.corrected_s),
        exposure.f_number,
        significant(camera.emulsion.speed_iso, 3),
    )
}

/// Tells how the f-number compares, and the light at the sides of the sheet.
pub fn rows(camera: &Camera, exposure: &Exposure) -> Vec<Row> {
    let fall_off = &exposure.fall_off;
    let average = format!(
        "{}; to expose for the average: {}",
        card::light_at(Some(fall_off.average_stops)),
        time(exposure.average_corrected_s)
    );
    let rows = [
        Row::new("f-number", f_number(exposure)),
        Row::new("Sides", card::light_at(fall_off.side_stops)),
        Row::new("Top, bottom", card::light_at(fall_off.upper_stops)),
        Row::new("Corners", card::light_at(fall_off.corner_stops)),
        Row::new("Average", average),
    ];
    rows.into_iter().chain(assumed(camera).map(|assumed| Row::new("Assumed", assumed))).collect()
}

/// What the camera file does not say of what decides the time.
fn assumed(camera: &Camera) -> Option<String> {
    let said: Vec<&str> = camera
        .assumed
        .iter()
        .filter_map(|what| match what {
            Assumed::Speed => Some("ISO 100"),
            Assumed::Reciprocity => Some("no reciprocity failure"),
            _ => None,
        })
        .collect();
    (!said.is_empty())
        .then(|| format!("{}: the camera file does not say otherwise", said.join("; ")))
}

/// The f-number against that of the reading.
fn f_number(exposure: &Exposure) -> String {
    let stops = exposure.stops_from_reference;
    let reference = significant(exposure.f_number / (stops / 2.0).exp2(), 3);
    let slower = if stops < 0.0 { "faster" } else { "slower" };
    format!("f/{:.0}, {:.1} stops {slower} than f/{reference}", exposure.f_number, stops.abs())
}

/// Lists exposures around the one advised.
pub fn series(exposure: &Exposure) -> Table {
    let bracket = exposure.bracket.iter();
    Table {
        columns: vec![Column::numbers("stops"), Column::words("time")],
        rows: bracket.map(|one| vec![format!("{:+.0}", one.stops), time(one.time_s)]).collect(),
    }
}

/// Lays the whole answer out for a terminal.
pub fn text(camera: &Camera, exposure: &Exposure) -> String {
    format!(
        "{}\n\n{}\n  In other light (common practice, no source)\n{}\n  A series around it\n{}",
        terminal::wrapped("  Expose ", &sentence(camera, exposure)),
        terminal::rows(&rows(camera, exposure)),
        terminal::table(&card::table(exposure)),
        terminal::table(&series(exposure)),
    )
}
