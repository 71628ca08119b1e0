//! The rim of one opening, in the light that keeps it.

use super::Traced;
use super::doubt::{self, Likeness};
use super::edge::RimUncertainty;
use super::exposure::Exposure;
use super::openings::Opening;
use super::overexposed::{self, MOST_MISFIT, RimBlur};
use super::rim::Rim;
use super::sound::{sound, upright};
use super::strand;
use super::tone_profile::ToneProfile;
use super::window::Window;
use crate::error::Error;
use crate::geometry::{centroid, edges, signed_area};
use crate::raster::Raster;
use ndarray::Axis;
use std::f64::consts::PI;

/// Blur beyond this share of the hole's radius leaves no light of its own in the middle to measure by.
const MOST_BLUR: f64 = 0.45;
/// Noise above this share of the step drowns the rim.
const MOST_NOISE: f64 = 0.35;
/// An over-exposed hole whose diameter is not known this well (k = 2, as a share) is not measured.
const MOST_UNCERTAIN: f64 = 0.2;
/// A rim that may lie elsewhere by more than this share of the radius is told.
const TOLD_ELSEWHERE: f64 = 0.005;
/// The tone profile of a whole edge is taken as if this were its light: below the clip, where the tone
/// curve of a camera is plain.
const AS_IF: f64 = 0.8;

/// A rim in the window and light that it is measured in.
struct Seen {
    window: Window,
    rim: Rim,
    /// Of a bright side that no channel keeps, the light at which it is clipped.
    clip: Option<f64>,
    /// Of a bright side that may be clipped or not, the same.
    may_clip: Option<f64>,
}

impl Seen {
    fn of(picture: &Raster, opening: &Opening) -> Result<Seen, Error> {
        let all: Vec<usize> = (0..picture.linear.len_of(Axis(0))).collect();
        let in_channels = |channels: &[usize]| {
            let window = Window::around(opening, picture, channels);
            let rim = Rim::of(&window, opening).map_err(|lost| no_rim(lost, opening))?;
            Ok::<_, Error>((window, rim))
        };
        let (window, rim) = in_channels(&all)?;
        let bright = opening.is_bright();
        let balance = rim.edge.balance(bright);
        match Exposure::of(picture, &rim.open, window.corner(), bright, balance) {
            Exposure::Whole => Ok(Seen { window, rim, clip: None, may_clip: None }),
            Exposure::Doubtful { channels, clip } => {
                let (window, rim) = in_channels(&channels)?;
                Ok(Seen { window, rim, clip: None, may_clip: Some(clip) })
            }
            Exposure::Channels(channels) => {
                let (window, rim) = in_channels(&channels)?;
                Ok(Seen { window, rim, clip: None, may_clip: None })
            }
            Exposure::Clipped { channel, clip } => {
                let (window, rim) = in_channels(&[channel])?;
                Ok(Seen { window, rim, clip: Some(clip), may_clip: None })
            }
        }
    }
}

/// The rim of an opening; `blur` is that of the rim, if another photo shows it.
pub(super) fn rim_of(
    picture: &Raster,
    opening: &Opening,
    blur: Option<RimBlur>,
) -> Result<(Traced, Likeness), Error> {
    let Seen { window, rim, clip, may_clip } = Seen::of(picture, opening)?;
    let Rim { loops, edge, noise, .. } = &rim;
    let (loops, _) = sound(loops.clone()).ok_or_else(|| no_rim(None, opening))?;
    let outline = upright(&loops)?;
    let likeness = Likeness::of(&rim, &outline, (picture.rows() * picture.columns()) as f64);
    let radius = outline.equivalent_diameter_mm() / 2.0;
    if *noise > MOST_NOISE {
        return Err(Error::damaged(
            "shows no hole that stands out of its noise",
            "use more light or a longer exposure",
        ));
    }
    if edge.sigma_px > MOST_BLUR * radius {
        return Err(blurred(edge.sigma_px, 2.0 * radius));
    }
    let top = opening.inside.max(opening.outside);
    let mut uncertainty = edge.uncertainty_px(*noise, radius, top);
    let bright = opening.is_bright();
    let lost = || no_rim(None, opening);
    let (crescent_px, wall_px) = (doubt::crescent_px(&rim), doubt::wall_px(&rim));
    let beside_px = crescent_px.max(wall_px);
    // Twice the mean place is what is stated of a radius (k = 2): it reaches to the band's end.
    uncertainty.mean_px = uncertainty.mean_px.hypot(0.5 * beside_px);
    let clipped_at = |clip: f64| {
        ToneProfile::of(&window.light, &loops[0], clip, bright)
            .and_then(|profile| overexposed::place(&profile, blur))
            .filter(|place| place.misfit < MOST_MISFIT)
    };
    // How far the rim would lie elsewhere if the bright side were clipped.
    let elsewhere_px = may_clip
        .and_then(&clipped_at)
        .map_or(0.0, |place| place.outwards_px.abs() + place.uncertainty_px);
    uncertainty.mean_px = uncertainty.mean_px.hypot(0.5 * elsewhere_px);
    let hair = strand::crosses(&rim).then(hair_across);
    let Some(clip) = clip else {
        let grown: Vec<_> = loops.iter().map(|points| unshrunk(points, edge.sigma_px)).collect();
        let mut found =
            traced(&window, &grown, edge.sigma_px, uncertainty, None).map_err(|()| lost())?;
        if crescent_px > 0.0 {
            found.warnings.push(lit_band(2.0 * radius, crescent_px));
        }
        if wall_px > 0.0 {
            found.warnings.push(wall(2.0 * radius, wall_px));
        }
        if 2.0 * elsewhere_px > TOLD_ELSEWHERE * radius {
            found.warnings.push(of_one_tone(2.0 * elsewhere_px));
        }
        found.warnings.extend(hair);
        return Ok((found, likeness));
    };
    let place = clipped_at(clip)
        .filter(|place| 4.0 * place.uncertainty_px < MOST_UNCERTAIN * 2.0 * radius)
        .ok_or_else(blown_out)?;
    let outwards = if bright { place.outwards_px } else { -place.outwards_px };
    let moved: Vec<_> = loops.iter().map(|points| moved_out(points, &loops[0], outwards)).collect();
    let uncertainty =
        RimUncertainty { mean_px: place.uncertainty_px, place_px: uncertainty.place_px };
    let mut found = traced(&window, &moved, place.width_px, uncertainty, Some(place.exposures))
        .map_err(|()| lost())?;
    found.warnings.extend(hair);
    Ok((found, likeness))
}

/// What is said of a bright side that may be clipped, and of a hole that would then be narrower by so much, or, being dark,
/// wider.
fn of_one_tone(narrower_px: f64) -> String {
    format!(
        "The bright side of the rim is all of one tone: it may be too bright for the photo to keep. The hole may then be off by \
         {narrower_px:.1} px; the uncertainty holds that. Take the photo again with a shorter exposure."
    )
}

/// What is said of a thin dark line from rim to rim.
fn hair_across() -> String {
    "A thin dark line runs across the hole, as of a hair or a scratch: it was measured as if it were not there. \
     Blow the hole clean and take the photo again."
        .into()
}

/// What is said of a ground that is lit along part of the rim.
fn lit_band(diameter_px: f64, beside_px: f64) -> String {
    format!(
        "Along part of the rim lies a band lit more strongly than the ground: it may be the ground behind the \
         hole, which would then be {:.1} px wide instead of {diameter_px:.1}; the uncertainty holds both.",
        diameter_px + 2.0 * beside_px
    )
}

/// What is said of a wall that is seen beside the hole.
fn wall(diameter_px: f64, wall_px: f64) -> String {
    format!(
        "Along part of the rim lies a band darker than the hole and lighter than the plate: it may be the wall of \
         the hole, seen at an angle, and the hole itself {:.1} px wide instead of {diameter_px:.1}; the uncertainty \
         holds both. Take the photo again square to the plate.",
        diameter_px + 2.0 * wall_px
    )
}

/// The blur of the rim of an opening that is not over-exposed.
pub(super) fn blur_of(picture: &Raster, opening: &Opening) -> Result<RimBlur, Error> {
    let Seen { window, rim, clip, .. } = Seen::of(picture, opening)?;
    if clip.is_some() {
        return Err(Error::damaged(
            "is over-exposed itself, and cannot tell the blur of others",
            "take it again with less light, at the same distance and focus",
        ));
    }
    let top = opening.inside.max(opening.outside);
    ToneProfile::of(&window.light, &rim.loops[0], top / AS_IF, opening.is_bright())
        .and_then(|profile| overexposed::blur_of(&profile))
        .ok_or_else(|| {
            Error::damaged(
                "shows no rim plain enough to tell the blur by",
                "take a well exposed photo of one clean hole",
            )
        })
}

fn traced(
    window: &Window,
    loops: &[Vec<[f64; 2]>],
    blur_px: f64,
    rim_uncertainty: RimUncertainty,
    over_exposure: Option<[f64; 2]>,
) -> Result<Traced, ()> {
    let placed = loops.iter().map(|points| window.placed(points)).collect();
    let (loops_px, joined) = sound(placed).ok_or(())?;
    let outline = upright(&loops_px).map_err(|_| ())?;
    let [x, y] = outline.centroid_mm();
    let mut said = warnings(outline.equivalent_diameter_mm(), blur_px, over_exposure);
    if joined {
        said.push("Specks that touch each other or the rim were joined to it.".into());
    }
    said.extend(tilted(&loops_px[0]));
    Ok(Traced {
        centroid_px: [x, -y],
        blur_px,
        rim_uncertainty,
        warnings: said,
        over_exposure,
        loops_px,
    })
}

fn no_rim(lost_in: Option<f64>, opening: &Opening) -> Error {
    match lost_in {
        Some(sigma) if sigma > 0.5 * MOST_BLUR * opening.diameter / 2.0 => {
            blurred(sigma, opening.diameter)
        }
        _ => Error::damaged(
            format!(
                "shows no closed rim around its spot at {:.0},{:.0} px",
                opening.centre[0], opening.centre[1]
            ),
            "take a sharper picture, with some metal around the hole",
        ),
    }
}

fn blurred(sigma_px: f64, diameter_px: f64) -> Error {
    Error::damaged(
        format!(
            "is blurred beyond use: the rim is smeared by {sigma_px:.1} px (σ) or more, and the hole \
             is {diameter_px:.0} px wide"
        ),
        "focus on the rim, come nearer, and hold the camera still",
    )
}

fn blown_out() -> Error {
    Error::damaged(
        "is blown out: the light across the rim is cut off, and the rim's place is lost",
        "expose for the hole: less, until its brightest part is just not white; a hole that fills more \
         of the picture helps, too",
    )
}

/// The loop larger by the area that its blur has taken, about its own middle.
///
/// That is πσ² where σ is small against the radius r. Of the blurred disc (the non-central χ²
/// distribution with two degrees of freedom) it is πσ²/(1 + 0.35 σ²/r²) to 0.1 % of the area up to
/// σ = 0.4 r, σ being that which the 20 % and 80 % places of its profile give.
fn unshrunk(points: &[[f64; 2]], sigma_px: f64) -> Vec<[f64; 2]> {
    let found = signed_area(points).abs();
    let lost = PI * sigma_px * sigma_px / (1.0 + 0.35 * PI * sigma_px * sigma_px / found);
    resized(points, found + lost)
}

/// A loop moved outwards from the opening whose outer rim is `outer`: to the area that a rim has that
/// lies so far out; an island, which runs the other way, shrinks.
fn moved_out(points: &[[f64; 2]], outer: &[[f64; 2]], outwards_px: f64) -> Vec<[f64; 2]> {
    let side = (signed_area(points) * signed_area(outer)).signum();
    let length: f64 = edges(points).map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1])).sum();
    let (area, out) = (signed_area(points).abs(), side * outwards_px);
    // Steiner's formula; nothing shrinks to less than a tenth.
    resized(points, (area + length * out + PI * out * out).max(0.1 * area))
}

/// A loop of the same form about its own middle, with this area.
fn resized(points: &[[f64; 2]], area: f64) -> Vec<[f64; 2]> {
    let factor = (area / signed_area(points).abs()).sqrt();
    let count = points.len() as f64;
    let middle = [0, 1].map(|axis: usize| points.iter().map(|p| p[axis]).sum::<f64>() / count);
    let grow =
        |p: &[f64; 2]| [0, 1].map(|axis: usize| middle[axis] + factor * (p[axis] - middle[axis]));
    points.iter().map(grow).collect()
}

fn warnings(diameter_px: f64, sigma_px: f64, over_exposure: Option<[f64; 2]>) -> Vec<String> {
    let mut said = Vec::new();
    if diameter_px < 30.0 {
        said.push(
            "The hole is fewer than 30 pixels across: form and burrs are not to be trusted.".into(),
        );
    }
    if sigma_px > 0.06 * diameter_px {
        said.push(format!(
            "The picture is blurred by {sigma_px:.1} px (σ): small burrs cannot be seen in it."
        ));
    }
    if let Some(range) = over_exposure {
        said.push(too_bright(range));
    }
    said
}

/// Over-exposure in stops, factors of two.
fn too_bright([from, to]: [f64; 2]) -> String {
    let [from, to] = [from, to].map(|factor| factor.log2().max(0.0));
    let about = match (from, to) {
        (_, to) if to < 0.75 => "by less than a stop".to_owned(),
        (from, to) if from < 0.5 && to >= 2.0 => format!("by up to {to:.0} stops"),
        (from, to) if from.round() == to.round() => format!("by about {to:.0} stops"),
        (from, to) => format!("by some {from:.0} to {to:.0} stops"),
    };
    format!(
        "The hole is too bright {about}: its size is worked out from the foot of the rim's edge. Expose \
         for the hole, and the size is known several times better."
    )
}

/// A plain oval has no other form of more than this share of its own, over the angle (root mean square);
/// what hands make has. Common practice, no source.
const PLAIN: f64 = 0.12;
/// An oval less than this is not spoken of: its axes are as those of a disc tilted by 15 degrees.
const LEAST_OVAL: f64 = 0.017;

/// What to bear in mind of a rim that is an oval and nothing else: a disc tilted to the lens by θ is one,
/// of axes in the ratio cos θ, and the outline cannot tell them apart.
fn tilted(rim: &[[f64; 2]]) -> Option<String> {
    let area = signed_area(rim).abs();
    let [x, y] = centroid(rim);
    let radius = (area / PI).sqrt();
    // The radius by its angle, over equal steps of the contour: uneven by the oval, to first order.
    let polar: Vec<(f64, f64)> = rim
        .iter()
        .map(|p| ((p[1] - y).atan2(p[0] - x), (p[0] - x).hypot(p[1] - y) / radius - 1.0))
        .collect();
    let count = polar.len() as f64;
    let wave = |part: fn(f64) -> f64| {
        2.0 * polar.iter().map(|(angle, off)| off * part(2.0 * angle)).sum::<f64>() / count
    };
    let (cos, sin) = (wave(f64::cos), wave(f64::sin));
    let oval = cos.hypot(sin);
    let mean = polar.iter().map(|(_, off)| off).sum::<f64>() / count;
    let rest = polar.iter().map(|(angle, off)| {
        let wave = cos * (2.0 * angle).cos() + sin * (2.0 * angle).sin();
        (off - mean - wave).powi(2)
    });
    let rest = (rest.sum::<f64>() / count).sqrt();
    (oval > LEAST_OVAL && rest < PLAIN * oval).then(|| {
        let tilt = ((1.0 - oval) / (1.0 + oval)).acos().to_degrees();
        format!(
            "The rim is a plain oval: a round hole in a plate tilted to the lens by {tilt:.0}° looks like \
             this, too. If the plate may have been tilted, take the photo again square to it."
        )
    })
}
