//! `foramen expose`.

use super::output::Output;
use super::words::{BenchWords, MeterWords};
use crate::camera::exposure::Exposure;
use crate::error::Error;
use crate::quantity::Quantity;
use crate::task;

/// The exposure time, from an exposure value or a meter's reading
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    bench: BenchWords,
    #[command(flatten)]
    meter: MeterWords,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let (camera, hole) = self.bench.open()?;
        let exposure = task::expose::run(&camera, &hole, self.meter.read()?)?;
        if self.json {
            return output.json(&exposure);
        }
        output.say(&format!(
            "  {}\n  {:.1} stops from the reference f-number\n",
            sentence(&exposure, &self.meter, camera.emulsion.speed_iso),
            exposure.stops_from_reference
        ))
    }
}

/// The exposure as people say it.
pub(super) fn sentence(exposure: &Exposure, meter: &MeterWords, speed_iso: f64) -> String {
    let time = |s| Quantity::Time.write(s);
    let longer = if exposure.corrected_s > 1.02 * exposure.metered_s {
        format!(" ({} by the meter, more for reciprocity failure)", time(exposure.metered_s))
    } else {
        String::new()
    };
    format!(
        "Expose {}{longer} at f/{:.0}, ISO {speed_iso}, for {}",
        time(exposure.corrected_s),
        exposure.f_number,
        meter.in_words()
    )
}
