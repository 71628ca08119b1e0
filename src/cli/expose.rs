//! `foramen expose`.

use super::output::{Output, wrapped};
use super::words::BenchWords;
use crate::camera::exposure::{Exposure, INCIDENT_CONSTANT};
use crate::camera::{Camera, Meter};
use crate::error::Error;
use crate::quantity::{Quantity, significant, spoken_time};
use crate::task;
use std::fmt::Write;

/// The exposure time, from an exposure value or a meter's reading
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open()?;
        let exposure = task::expose::run(&camera, &hole)?;
        if self.json {
            return output.json(&exposure);
        }
        output.say(&text(&camera, &exposure))
    }
}

fn text(camera: &Camera, exposure: &Exposure) -> String {
    let time = |s| Quantity::Time.write(s);
    let mut text = wrapped("  ", &sentence(camera, exposure));
    let fall_off = &exposure.fall_off;
    let stops = |stops: Option<f64>| match stops {
        Some(stops) if stops.abs() < 0.05 => "as bright as the middle".into(),
        Some(stops) => format!("{stops:+.1} stops"),
        None => "dark: no light comes there".into(),
    };
    let rows = [
        (
            "Reference",
            format!("{:.1} stops from the f-number compared with", exposure.stops_from_reference),
        ),
        ("Sides", stops(fall_off.side_stops)),
        ("Top, foot", stops(fall_off.upper_stops)),
        ("Corners", stops(fall_off.corner_stops)),
        (
            "Average",
            format!(
                "{}; for it to be right, {}",
                stops(Some(fall_off.average_stops)),
                time(exposure.average_corrected_s)
            ),
        ),
    ];
    text.push_str("\n\n");
    for (name, value) in rows {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{}", wrapped(&format!("  {name:<10} "), &value));
    }
    text.push_str("\n  In other light (common practice, no source):\n");
    for one in &exposure.scenes {
        let value = format!("{:.0}", one.exposure_value);
        let _ = writeln!(text, "  {:<12} EV {value:<4} {}", one.scene, spoken_time(one.time_s));
    }
    text.push_str("\n  A series about it, in stops of light:\n");
    for one in &exposure.bracket {
        let _ = writeln!(text, "  {:>+10.0} {}", one.stops, time(one.time_s));
    }
    text
}

/// The exposure as people say it.
pub(super) fn sentence(camera: &Camera, exposure: &Exposure) -> String {
    let time = |s| Quantity::Time.write(s);
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
        "Expose {}{longer} at f/{:.0}, ISO {}, for {metered}",
        time(exposure.corrected_s),
        exposure.f_number,
        significant(camera.emulsion.speed_iso, 3),
    )
}
