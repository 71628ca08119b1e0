//! `foramen target`.

use super::next::Next;
use super::output::Output;
use super::words::CameraWords;
use crate::error::Error;
use crate::files::Places;
use crate::task::{self, document};
use crate::verdict::target::criterion::Criterion;
use crate::watch::Watch;
use crate::words;
use clap::ValueEnum;

/// Finds the diameter to aim for in this camera, and how far off still looks the same
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen target --camera camera.toml\n  foramen target --camera camera.toml --criterion resolution"
)]
pub(super) struct Words {
    #[command(flatten)]
    camera: CameraWords,
    /// What must be best: eye, resolution, encircled or peak
    #[arg(
        long,
        value_enum,
        value_name = "MEASURE",
        default_value_t = CriterionWord::Eye,
        hide_possible_values = true
    )]
    criterion: CriterionWord,
    /// Print one JSON document instead of text
    #[arg(long)]
    json: bool,
}

/// What is to be best.
#[derive(Clone, Copy, ValueEnum)]
enum CriterionWord {
    /// What an eye can tell of the print, over the sheet
    Eye,
    /// The MTF weighted as in IEEE 1858, over the sheet
    Acutance,
    /// The line pairs per mm at which the MTF falls to 20 %, mid film
    Resolution,
    /// The circle that holds 80 % of the light of a point, mid film
    Encircled,
    /// The peak of the image of a point, for the light in it, mid film
    Peak,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let camera = self.camera.open(&mut Places::default())?;
        let criterion = match self.criterion {
            CriterionWord::Eye => Criterion::Eye,
            CriterionWord::Acutance => Criterion::Acutance,
            CriterionWord::Resolution => Criterion::Resolution,
            CriterionWord::Encircled => Criterion::EncircledEnergy,
            CriterionWord::Peak => Criterion::Peak,
        };
        let request = task::target::Request { camera, criterion };
        let answer = task::target::run(&request, Watch::nobody())?;
        if self.json {
            return output.json(document::TARGET, &answer);
        }
        let count = words::verdict::count(answer.target.diameter_mm);
        let next = Next::of("appraise").with("--hole", &count).and(&self.camera.again());
        output.say(&format!("{}\n{next}", words::target::text(&request.camera, &answer)))
    }
}
