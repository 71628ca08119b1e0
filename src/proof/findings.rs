//! What a picture of the chart proves, cause by cause.

use super::causes::{Cause, Fit};
use super::depth::Depth;
use super::size::Drawn;
use super::tone::Tone;
use crate::verdict::thresholds::DONE_JND;

/// Fog below this share of paper white is within what print and film leave open.
const FOG: f64 = 0.03;
/// Swing beyond an edge's levels that no blur makes: a picture sharpened by software (common practice, no source).
const OVERSHOOT: f64 = 0.04;
/// What softens the middle of a print by less, in jnd, leaves it as sharp as the hole allows: no eye can tell, by the rule that calls a
/// hole of so little loss done. The middle is where most is to be lost.
const UNSEEN_JND: f64 = DONE_JND;
/// Odds below which a cause is not told from the next.
const TOLD: f64 = 0.9;

/// Tells what was found.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
#[serde(tag = "finding", rename_all = "kebab-case")]
pub enum Finding {
    /// The picture is as sharp as this hole allows.
    AsSharp,
    /// A cause of blur.
    Blurred {
        /// The most probable cause.
        #[serde(flatten)]
        fit: Fit,
        /// The next, where the two cannot be told apart.
        or: Option<Fit>,
        /// What it costs in the middle of the print, in jnd.
        loss_jnd: f64,
    },
    /// A cause of blur that was measured, though it is too small to see, or no larger than what is not known of the scanner.
    Trace {
        /// The cause.
        #[serde(flatten)]
        fit: Fit,
        /// What it costs in the middle of the print, in jnd.
        loss_jnd: f64,
    },
    /// The chart was not drawn for this camera at this distance.
    OtherChart {
        /// How large its octagons are against their spacing, over those that are expected.
        octagon: f64,
        /// The shortest and the longest distance for which this camera's chart has such octagons, in mm; null where none has.
        drawn_for_mm: Option<[f64; 2]>,
    },
    /// The image is larger or smaller than it should be.
    Distance {
        /// How much further out the film would lie, in mm; below zero nearer.
        film_mm: f64,
        /// Its expanded uncertainty, in mm.
        uncertainty_mm: f64,
        /// How much nearer the chart would hang instead, in mm.
        or_chart_mm: f64,
    },
    /// The film leans, or the chart does.
    Tilted {
        /// How much further out the film's right and upper edge lie than its middle, in mm, at the outer octagons.
        film_mm: [f64; 2],
        /// Their expanded uncertainties, in mm.
        uncertainty_mm: [f64; 2],
    },
    /// The film is bowed.
    Bowed {
        /// How much further out the outer octagons lie than the middle, along x and along y, in mm.
        film_mm: [f64; 2],
        /// Their expanded uncertainties, in mm.
        uncertainty_mm: [f64; 2],
    },
    /// Light fell on everything alike.
    Fogged {
        /// Its share of the light of bare paper.
        share: f64,
        /// Its expanded uncertainty.
        uncertainty: f64,
    },
    /// Software sharpened the picture: its contrast is not the film's.
    Sharpened {
        /// How far edges swing beyond their levels, over the step.
        overshoot: f64,
    },
}

impl Finding {
    /// The word by which a log knows it.
    pub fn word(&self) -> &'static str {
        match self {
            Finding::AsSharp => "as-sharp",
            Finding::Trace { .. } => "trace",
            Finding::Blurred { fit, .. } => match fit.cause {
                Cause::None => "none",
                Cause::Moved { .. } => "moved",
                Cause::Softened { .. } => "softened",
                Cause::Resized { .. } => "resized",
            },
            Finding::OtherChart { .. } => "other-chart",
            Finding::Distance { .. } => "distance",
            Finding::Tilted { .. } => "tilted",
            Finding::Bowed { .. } => "bowed",
            Finding::Fogged { .. } => "fogged",
            Finding::Sharpened { .. } => "sharpened",
        }
    }
}

/// Everything that was found, what matters most first; [`Finding::AsSharp`] goes with what leaves sharpness alone. `loss_jnd` is
/// what the first of the causes costs, and the distances are those of film and chart from the hole.
pub fn findings(
    (fits, loss_jnd): (&[Fit], f64),
    (depth, drawn): (&Depth, Option<&Drawn>),
    tone: &Tone,
    overshoot: f64,
    [film_mm, chart_mm]: [f64; 2],
) -> Vec<Finding> {
    let mut found = Vec::new();
    if overshoot > OVERSHOOT {
        found.push(Finding::Sharpened { overshoot });
    }
    match fits {
        [first, ..] if matches!(first.cause, Cause::None) => {}
        [first, ..] if loss_jnd.abs() < UNSEEN_JND || !is_certain(first.cause) => {
            found.push(Finding::Trace { fit: *first, loss_jnd });
        }
        [first, second, ..] => {
            let or = (first.odds < TOLD).then_some(*second);
            found.push(Finding::Blurred { fit: *first, or, loss_jnd });
        }
        _ => {}
    }
    if let Some(drawn) = drawn.filter(|drawn| !drawn.is_as_stated()) {
        found.push(Finding::OtherChart { octagon: drawn.octagon, drawn_for_mm: drawn.for_mm });
    }
    let certain = depth.certain().terms_mm;
    if certain[0] != 0.0 {
        let ratio = 1.0 + certain[0] / film_mm;
        found.push(Finding::Distance {
            film_mm: certain[0],
            uncertainty_mm: depth.uncertainties_mm[0],
            or_chart_mm: chart_mm * (1.0 - 1.0 / ratio),
        });
    }
    let pair = |i: usize| [certain[i], certain[i + 1]];
    let doubt = |i: usize| [depth.uncertainties_mm[i], depth.uncertainties_mm[i + 1]];
    if pair(3) != [0.0; 2] {
        found.push(Finding::Bowed { film_mm: pair(3), uncertainty_mm: doubt(3) });
    }
    if pair(1) != [0.0; 2] {
        found.push(Finding::Tilted { film_mm: pair(1), uncertainty_mm: doubt(1) });
    }
    if let Some(share) = tone.fog.filter(|share| *share - tone.fog_uncertainty / 2.0 > FOG) {
        found.push(Finding::Fogged { share, uncertainty: tone.fog_uncertainty });
    }
    let is_soft =
        found.iter().any(|one| matches!(one, Finding::Blurred { .. } | Finding::Sharpened { .. }));
    if !is_soft {
        found.insert(0, Finding::AsSharp);
    }
    found
}

/// Whether a blur is larger than what is not known of it, the scanner's share included.
fn is_certain(cause: Cause) -> bool {
    match cause {
        Cause::Softened { sigma_mm, sigma_uncertainty_mm } => sigma_mm > sigma_uncertainty_mm,
        _ => true,
    }
}
