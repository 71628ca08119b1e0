//! Whether what was traced is a hole in metal, as a person would see it.
//!
//! The limits below are rules of thumb, tried on drawn and on real photos (common practice, no
//! source). They are far from what a needle or a drill leaves.

use super::edge::{CLEAR_OF_BLUR, sampled};
use super::rim::Rim;
use crate::geometry::reference_circles::{least_squares, profile, zone_about};
use crate::geometry::{Outline, signed_area};
use crate::hole::median::median;

/// The roundness deviation of a hole over its diameter: an oval of 1.8 : 1 has it.
const MOST_OUT_OF_ROUND: f64 = 0.3;
/// What stands alone in a picture, on an even ground and with nothing in it, may be odder: a crescent, a
/// slit.
const MOST_OUT_OF_ROUND_ALONE: f64 = 0.6;
/// The blur (σ) of a rim over the hole's diameter: what fades more is out of focus or moving. Narrower
/// spots are as blurred by pixels alone.
const MOST_FADED: f64 = 0.12;
const FADES_FROM_PX: f64 = 40.0;
/// The share of the picture that a hole takes with metal enough around it.
const MOST_OF_PICTURE: f64 = 0.45;
/// Specks in one hole, and the share of it that they take.
const MOST_SPECKS: usize = 16;
const MOST_SPECKED: f64 = 0.15;
/// How much the light of one side may differ round the rim, as a share of the step.
const MOST_UNEVEN: f64 = 0.45;
/// Stretches of the rim in which its two sides are looked at.
const STRETCHES: usize = 16;

/// What is unlike a hole in metal about a traced rim.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Likeness {
    /// The roundness deviation about the least-squares circle, over the diameter.
    pub(super) out_of_round: f64,
    /// The blur of the rim (σ), in pixels, where that is too much for a rim.
    pub(super) faded_px: Option<f64>,
    /// The share of the picture that lies inside the rim.
    pub(super) of_picture: f64,
    pub(super) specks: usize,
    /// The share of the hole that specks take.
    pub(super) specked: f64,
    /// The range of the light inside the rim and outside it, round the rim, over the step; a stretch
    /// or two at each end are left out.
    pub(super) uneven: [f64; 2],
}

impl Likeness {
    pub(super) fn of(rim: &Rim, outline: &Outline, picture_px: f64) -> Likeness {
        let areas: Vec<f64> = outline.loops().iter().map(|points| signed_area(points)).collect();
        let whole = areas.iter().copied().fold(0.0, f64::max);
        let islands = areas.iter().filter(|area| **area < 0.0);
        let profile = profile(outline);
        let zone = zone_about(&profile, least_squares(&profile).centre_mm);
        Likeness {
            out_of_round: zone.roundness_mm() / outline.equivalent_diameter_mm(),
            faded_px: Some(rim.edge.sigma_px).filter(|sigma| {
                let diameter = outline.equivalent_diameter_mm();
                *sigma > MOST_FADED * diameter && diameter > FADES_FROM_PX
            }),
            of_picture: whole / picture_px,
            specks: islands.clone().count(),
            specked: -islands.sum::<f64>() / whole,
            uneven: [-1.0, 1.0].map(|side| uneven(rim, side)),
        }
    }

    fn is_odd(&self, alone: bool) -> bool {
        let is_even = self.uneven.iter().all(|range| *range <= MOST_UNEVEN);
        let most = if alone && is_even && self.specks == 0 {
            MOST_OUT_OF_ROUND_ALONE
        } else {
            MOST_OUT_OF_ROUND
        };
        self.out_of_round > most
    }

    /// What is to be said of an odd form that is taken all the same.
    pub(super) fn remark(&self) -> Option<String> {
        (self.out_of_round > MOST_OUT_OF_ROUND).then(|| {
            format!(
                "It is out of round by {:.0} % of its width: see that it is the hole.",
                100.0 * self.out_of_round
            )
        })
    }

    /// Why it is hardly a hole in metal; `alone` when nothing else stands out in the picture.
    pub(super) fn doubts(&self, alone: bool) -> Vec<String> {
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let mut said = Vec::new();
        if self.is_odd(alone) {
            said.push(format!("it is out of round by {} of its width", percent(self.out_of_round)));
        }
        if let Some(sigma) = self.faded_px {
            said.push(format!("its rim fades over some {:.0} px", 2.5 * sigma));
        }
        if self.of_picture > MOST_OF_PICTURE {
            said.push(format!("it takes {} of the picture", percent(self.of_picture)));
        }
        if self.specks > MOST_SPECKS || self.specked > MOST_SPECKED {
            said.push(format!("{} other things lie inside it", self.specks));
        }
        match self.uneven {
            [inside, _] if inside > MOST_UNEVEN => said.push(format!(
                "the light inside its rim differs by {} of the step",
                percent(inside)
            )),
            [_, outside] if outside > MOST_UNEVEN => said
                .push(format!("the ground around it differs by {} of the step", percent(outside))),
            _ => {}
        }
        said
    }
}

/// Light beyond that of the ground by this share of the step belongs to another ground.
const BEYOND_GROUND: f64 = 0.3;
/// A wall that light falls on is so much lighter than the ground, as a share of the step, and no more.
const WALL: [f64; 2] = [0.08, 0.45];
/// Noise of a single pixel counts so many times.
const NOISE: f64 = 4.0;
/// A band of such light is no wider than this share of the hole's radius: what goes on is ground.
const WIDEST_BAND: f64 = 0.6;
/// A wall is no narrower than this, in pixels: less is blur.
const NARROWEST_WALL_PX: f64 = 2.0;
/// At its end a wall has this much of the light that it begins with: what fades is glow.
const LASTING: f64 = 0.6;
/// The least and the largest share of the rim that it lies along: less is a glint, all is a halo.
const BAND_ALONG: [f64; 2] = [0.1, 0.7];

/// How much farther out the rim would lie, on average, if a band beside it that stands out of the ground
/// to the other side than the hole does were part of the hole: a hole half over a lit ground. 0 where
/// there is none.
pub(super) fn crescent_px(rim: &Rim) -> f64 {
    let first = rim.edge.sigma_px + 0.5;
    // It begins at the rim, blur allowed for, and ends.
    let width = |along: &[f64]| {
        let is_beyond = |light: &f64| *light < -BEYOND_GROUND;
        let begins = along.iter().take((3.0 * first).ceil() as usize).position(is_beyond)?;
        let ends = along[begins..].iter().position(|light| !is_beyond(light))?;
        Some(first + STEP_PX * (begins + ends) as f64)
    };
    band_px(rim, first, width)
}

/// The same of a band lit between the ground and the hole: the wall of a hole in a plate that leans.
pub(super) fn wall_px(rim: &Rim) -> f64 {
    let first = CLEAR_OF_BLUR * rim.edge.sigma_px + 0.5;
    let least = WALL[0].max(NOISE * rim.noise);
    let width = |along: &[f64]| {
        let ends = along.iter().position(|light| !(least..WALL[1]).contains(light))?;
        let last = ends.checked_sub(3)?;
        let is_wall = STEP_PX * ends as f64 > NARROWEST_WALL_PX
            && along[ends] < least
            && along[last] > LASTING * along[0];
        is_wall.then_some(first + STEP_PX * ends as f64)
    };
    band_px(rim, first, width)
}

/// Steps outwards from the rim, in pixels.
const STEP_PX: f64 = 0.5;

/// The mean width of a band beside the rim, whose width at a place is told by the light outwards from `first` px off
/// the rim. 0 where it lies along too little of the rim, or nearly all.
fn band_px(rim: &Rim, first: f64, width: impl Fn(&[f64]) -> Option<f64>) -> f64 {
    let Some(points) = rim.loops.first() else { return 0.0 };
    let radius = (signed_area(points).abs() / std::f64::consts::PI).sqrt();
    let turn = signed_area(points).signum();
    let span = (points.len() / 60).clamp(2, 12);
    let steps = (WIDEST_BAND * radius / STEP_PX).ceil() as usize;
    let width_at = |i: usize| {
        let [a, b] = [(i + points.len() - span) % points.len(), (i + span) % points.len()];
        let (dx, dy) = (points[b][0] - points[a][0], points[b][1] - points[a][1]);
        let length = dx.hypot(dy).max(1e-9);
        let light = |k: usize| {
            let t = first + STEP_PX * k as f64;
            let at = [points[i][0] + t * turn * dy / length, points[i][1] - t * turn * dx / length];
            sampled(&rim.open, at).unwrap_or(0.0)
        };
        width(&(0..steps).map(light).collect::<Vec<f64>>())
    };
    let stride = points.len().div_ceil(360).max(1);
    let widths: Vec<Option<f64>> = (0..points.len()).step_by(stride).map(width_at).collect();
    let along = widths.iter().flatten().count() as f64 / widths.len() as f64;
    if !(BAND_ALONG[0]..=BAND_ALONG[1]).contains(&along) {
        return 0.0;
    }
    widths.iter().flatten().sum::<f64>() / widths.len() as f64
}

/// The range of the light on one side of the rim (-1 inside, 1 outside), over the step.
fn uneven(rim: &Rim, side: f64) -> f64 {
    let Some(points) = rim.loops.first() else { return 0.0 };
    let away = side * (CLEAR_OF_BLUR * rim.edge.sigma_px + 1.0);
    let turn = signed_area(points).signum();
    let span = (points.len() / 60).clamp(2, 12);
    let place = |i: usize| {
        let [a, b] = [(i + points.len() - span) % points.len(), (i + span) % points.len()];
        let (dx, dy) = (points[b][0] - points[a][0], points[b][1] - points[a][1]);
        let length = dx.hypot(dy).max(1e-9);
        [points[i][0] + away * turn * dy / length, points[i][1] - away * turn * dx / length]
    };
    let stretch = points.len().div_ceil(STRETCHES).max(1);
    let mut levels: Vec<f64> = (0..points.len())
        .step_by(stretch)
        .filter_map(|first| {
            let end = (first + stretch).min(points.len());
            let seen: Vec<f64> =
                (first..end).filter_map(|i| sampled(&rim.open, place(i))).collect();
            (!seen.is_empty()).then(|| median(seen))
        })
        .collect();
    levels.sort_by(f64::total_cmp);
    // The two least and the two most alike are left out: a burr, a glint.
    match levels.len() {
        count if count > 8 => levels[count - 3] - levels[2],
        _ => 0.0,
    }
}
