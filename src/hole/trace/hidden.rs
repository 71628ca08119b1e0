//! How far inside the half level of the file the rim of a clipped hole lies.
//!
//! Of the part of an edge that the clip hides the photo says next to nothing: the sharp foot of a rim that is a
//! little too bright and of a defocused one that is far too bright look alike, since what a camera does after the
//! clip (demosaic, denoising, sharpening) shapes both. A fit by itself is far too sure: on drawn photos at 16 times
//! the light its intervals held in one of three. Where no other photo shows the blur, what cameras hide in general
//! decides, and the fit only helps.

use super::tone_profile::ToneProfile;
use crate::raster::encode;

/// How far inside its half level the rim of a clipped hole lies, in pixels: on drawn photos with 1.3 to 16 times the
/// light that the camera holds it was 0.3 to 4 px, whatever fitted (tests/photos; no source).
const HIDDEN_PX: f64 = 1.3;
/// And this share of what the fit says.
const OF_FIT: f64 = 0.3;
/// A fit beyond this is none.
const MOST_FITTED_PX: f64 = 5.0;
/// The standard uncertainty of that, in pixels.
const HIDDEN_DOUBT_PX: f64 = 0.875;
/// With a blur of known width: this share of the width, ...
const OF_WIDTH: f64 = 0.7;
/// ... and this share of what the fit says; ...
const OF_FIT_KNOWN: f64 = 0.65;
/// ... its standard uncertainty, as a share of the width, and in pixels.
const WIDTH_DOUBT: f64 = 0.5;
const KNOWN_DOUBT_PX: f64 = 0.2;
/// A foot of the edge wider than this, in pixels from half of its light to a fifth, belongs to a picture more blurred
/// than those, and hides as much more.
const USUAL_FOOT_PX: f64 = 0.9;
/// The interval of a barely clipped rim is wider by this than its fit says, and no correction is trusted to better than
/// this share of itself. Chosen on rehearsed photos, no source.
const WIDER: f64 = 1.5;
const CORRECTION: f64 = 0.75;

/// How far the rim lies inside the half level of the file, and the standard uncertainty of that, in pixels.
pub(super) struct Inwards {
    pub(super) px: f64,
    pub(super) uncertainty_px: f64,
}

impl Inwards {
    /// Of a hole only in part too bright, whose light is therefore known.
    pub(super) fn barely_clipped(self) -> Inwards {
        let correction = CORRECTION * self.px / 2.0;
        Inwards { uncertainty_px: (WIDER * self.uncertainty_px).hypot(correction), ..self }
    }

    /// Where another photo shows the width of the blur: never less sure than without.
    pub(super) fn with_known_blur(self, width_px: f64, foot_px: f64) -> Inwards {
        let px = OF_WIDTH * width_px + OF_FIT_KNOWN * self.fitted_px();
        let doubt_px = (WIDTH_DOUBT * width_px).hypot(KNOWN_DOUBT_PX);
        Inwards { px, uncertainty_px: doubt_px.min(self.alone(foot_px).uncertainty_px) }
    }

    /// Of a photo by itself, whose edge is so wide at its foot.
    pub(super) fn alone(&self, foot_px: f64) -> Inwards {
        let blurred = (foot_px / USUAL_FOOT_PX).max(1.0);
        Inwards {
            px: HIDDEN_PX * blurred + OF_FIT * self.fitted_px(),
            uncertainty_px: HIDDEN_DOUBT_PX * blurred,
        }
    }

    fn fitted_px(&self) -> f64 {
        self.px.clamp(0.0, MOST_FITTED_PX)
    }
}

/// The distance from half of a clipped profile's light to a fifth of it, in pixels.
pub(super) fn foot_px(profile: &ToneProfile) -> f64 {
    let place = |share: f64| {
        let tone = encode(profile.ground + share * (1.0 - profile.ground));
        let bins = &profile.bins;
        let last = bins.iter().rposition(|bin| bin.tone >= tone)?;
        let (a, b) = (&bins[last], bins.get(last + 1)?);
        Some(a.at + (b.at - a.at) * (a.tone - tone) / (a.tone - b.tone).max(1e-9))
    };
    match (place(0.5), place(0.2)) {
        (Some(half), Some(fifth)) => (fifth - half).max(0.0),
        _ => 0.0,
    }
}
