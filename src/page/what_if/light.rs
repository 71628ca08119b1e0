//! What a hole does, quickly: the image of a point, the contrast of lines, a part of a picture, and the loss.

use super::sliders::Setting;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::page::known::{BORDER, Best, Known, PART, Seen, scene_px};
use crate::picture::in_the_middle;
use crate::raster::{Raster, display};
use crate::verdict::merit::{quality, quality_of_disc};
use crate::verdict::target::target;
use crate::wave::{Grid, MM_PER_NM};
use crate::words;
use ndarray::{Axis, Slice};
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;
use std::sync::Arc;

/// Samples of a point image to a side: odd, so that one is in the middle.
pub(super) const SAMPLES: usize = 121;
/// Wavelengths that stand for all: the maps of daylight on three layers look the same with more.
const LINES: usize = 5;
/// The error of a sample that may be seen: less than a step of grey.
const TOLERANCE: f64 = 1e-3;
/// Strips of the hole, and frequencies of a curve.
const STRIPS: usize = 192;
const FREQUENCIES: usize = 49;
/// Corners of the rim that are drawn stand out by this share of the diameter.
const DRAWN: f64 = 2e-3;

/// How the windows of one camera are laid out: by its best hole, so that they hold still.
#[derive(Clone, Copy, Serialize)]
pub(super) struct Frame {
    /// Half the side of the map, in mm.
    pub(super) half_mm: f64,
    /// The highest frequency of the curves, in line pairs per mm.
    pub(super) finest_lp_per_mm: f64,
    /// Frequencies that an eye sees best in the print: from 1 to 12 cycles per degree.
    pub(super) seen_lp_per_mm: [f64; 2],
    /// The width of the part of the picture on the film, in mm.
    pub(super) part_mm: f64,
}

/// The answer to one position of the sliders.
#[derive(Serialize)]
pub(super) struct Answer {
    pub(super) diameter_mm: f64,
    pub(super) best_mm: f64,
    pub(super) loss_jnd: f64,
    pub(super) words: &'static str,
    pub(super) outline: Vec<Vec<Point>>,
    pub(super) mtf: [Vec<f64>; 2],
    pub(super) frame: Frame,
    pub(super) samples: usize,
    pub(super) part_px: [usize; 2],
    /// Whether the best is only near it, for a hand that still moves.
    pub(super) coarse: bool,
    #[serde(skip)]
    pub(super) seen: [Seen; 2],
}

impl Frame {
    fn of(camera: &Camera, best_mm: f64) -> Frame {
        let wave_mm = camera.light.mean_nm() * MM_PER_NM * camera.distances.film_mm();
        let degree = camera.lp_per_mm_at_one_cycle_per_degree();
        let pixel_mm = camera.film.width_mm / scene_px()[0] as f64;
        Frame {
            half_mm: 2.2 * (1.22 * wave_mm / best_mm + best_mm / 2.0),
            finest_lp_per_mm: 0.9 * best_mm / wave_mm,
            seen_lp_per_mm: [degree, 12.0 * degree],
            part_mm: PART[0] as f64 * pixel_mm,
        }
    }
}

/// What the best disc of a camera does; the best is searched for where it is not known.
pub(super) fn best_of(known: &Known, camera: &Camera, place_mm: f64) -> Result<Arc<Best>, Error> {
    known.best(camera, place_mm, || {
        let target = target(camera);
        let disc = shapes::disc(target.diameter_mm)?;
        let frame = Frame::of(camera, target.diameter_mm);
        let seen = seen(known, camera, &disc, frame, place_mm)?;
        Ok(Best { target, seen })
    })
}

/// The answer, exact.
pub(super) fn exact(known: &Known, setting: &Setting) -> Result<(Answer, Arc<Best>), Error> {
    let Setting { camera, hole, place_mm, .. } = setting;
    let best = best_of(known, camera, *place_mm)?;
    let frame = Frame::of(camera, best.target.diameter_mm);
    let own = seen(known, camera, hole, frame, *place_mm)?;
    let loss = loss_jnd(best.target.quality, quality(camera, hole));
    Ok((
        answer(setting, best.target.diameter_mm, loss, frame, [own, best.seen.clone()], false),
        best,
    ))
}

/// The answer while a hand moves a slider of the camera: the best size follows √(λz) from `constant`, the
/// last exact one's.
pub(super) fn coarse(known: &Known, setting: &Setting, constant: f64) -> Result<Answer, Error> {
    let Setting { camera, hole, place_mm, .. } = setting;
    let unit_mm = (camera.light.mean_nm() * MM_PER_NM * camera.distances.effective_mm()).sqrt();
    let best_mm = constant.clamp(0.5, 3.0) * unit_mm;
    let frame = Frame::of(camera, best_mm);
    let own = seen(known, camera, hole, frame, *place_mm)?;
    let best = seen(known, camera, &shapes::disc(best_mm)?, frame, *place_mm)?;
    let loss = loss_jnd(quality_of_disc(camera, best_mm), quality(camera, hole));
    Ok(answer(setting, best_mm, loss, frame, [own, best], true))
}

fn answer(
    setting: &Setting,
    best_mm: f64,
    loss_jnd: f64,
    frame: Frame,
    seen: [Seen; 2],
    coarse: bool,
) -> Answer {
    let [own, best] = &seen;
    Answer {
        diameter_mm: setting.diameter_mm,
        best_mm,
        loss_jnd,
        words: words::verdict::loss(loss_jnd),
        outline: setting.hole.simplified(DRAWN * setting.diameter_mm).loops().to_vec(),
        mtf: [own.mtf.clone(), best.mtf.clone()],
        frame,
        samples: SAMPLES,
        part_px: PART,
        coarse,
        seen,
    }
}

/// The loss against the best, never below zero: a form that happens to be better than the best disc by a
/// hair is as good.
pub(super) fn loss_jnd(best: f64, own: f64) -> f64 {
    (best - own).max(0.0)
}

fn seen(
    known: &Known,
    camera: &Camera,
    hole: &Outline,
    frame: Frame,
    place_mm: f64,
) -> Result<Seen, Error> {
    let [w, h] = [camera.film.width_mm, camera.film.height_mm];
    let place = [w, h].map(|side| place_mm * side / w.hypot(h));
    let image = PointImage::at(camera, hole, place)?.in_light(&camera.light.condensed(LINES));
    let grid = Grid::new(SAMPLES, 2.0 * frame.half_mm / (SAMPLES - 1) as f64)?;
    let (psf, picture) = rayon::join(
        || image.clone().with_tolerance(TOLERANCE).psf(grid),
        || part(known.scene()?, camera, hole),
    );
    let axes =
        [0.0, FRAC_PI_2].map(|turn| image.along(image.place.tangential_rad() + turn, STRIPS));
    let contrast = |i: usize| {
        let f = frame.finest_lp_per_mm * i as f64 / (FREQUENCIES - 1) as f64;
        axes.iter().map(|axis| image.otf(axis, f).norm()).sum::<f64>() / 2.0
    };
    Ok(Seen {
        psf: psf?.density.iter().map(|density| *density as f32).collect(),
        mtf: (0..FREQUENCIES).map(contrast).collect(),
        picture: picture?,
    })
}

/// The part of the picture through a hole: the middle's point image throughout.
fn part(scene: &Raster, camera: &Camera, hole: &Outline) -> Result<Vec<u8>, Error> {
    let formed = in_the_middle(camera, hole, scene, scene_px())?;
    let inside = |axis: usize| Slice::from(BORDER..BORDER + PART[axis]);
    let rows = formed.linear.slice_axis(Axis(1), inside(1));
    let cut =
        Raster { linear: rows.slice_axis(Axis(2), inside(0)).as_standard_layout().into_owned() };
    Ok(display(&cut)?.into_raw())
}

/// JSON, then the maps of this hole and of the best as 32-bit floats, then both pictures: little-endian, the
/// length of the JSON first, which ends at a multiple of four.
pub(super) fn packed(answer: &Answer, more: serde_json::Value) -> Vec<u8> {
    let mut head = serde_json::to_value(answer).unwrap_or_default();
    if let (Some(head), Some(more)) = (head.as_object_mut(), more.as_object()) {
        head.extend(more.clone());
    }
    let mut text = head.to_string();
    while !text.len().is_multiple_of(4) {
        text.push(' ');
    }
    let mut bytes = (text.len() as u32).to_le_bytes().to_vec();
    bytes.extend(text.as_bytes());
    for seen in &answer.seen {
        bytes.extend(seen.psf.iter().flat_map(|sample| sample.to_le_bytes()));
    }
    for seen in &answer.seen {
        bytes.extend(&seen.picture);
    }
    bytes
}
