//! The merit of a hole: what an eye can tell of its picture, over the sheet.
//!
//! At one place on the film it is Barten's square-root integral ([`eye`]) of
//!
//! ```text
//! M = max(0, Re H(f)) ,     f = u · (180/π) · enlargement / viewing distance
//! ```
//!
//! the mean over directions. u is in cycles per degree at the eye, f in line pairs per mm on the film, H the OTF
//! without the phase of the point image's centroid (a straight shift is no blur). It is in just-noticeable
//! differences: a hole that has one less than another is the worse one for three of four observers who see both
//! prints side by side. It ignores detail that nobody can see, counts reversed contrast as none, and takes
//! wavelengths, distances, angles and what else blurs as factors of H.
//!
//! The merit of a hole is the mean of that over the sheet laid flat, with the weight
//!
//! ```text
//! w = 2^-(ξ² + η²) ,     ξ, η = -1..1 from border to border
//! ```
//!
//! which counts the middle of a side half and a corner a quarter as much as the middle: what matters
//! in a picture is mostly not in its corners. Common practice, no source. A place that no light reaches,
//! behind thick metal or beside it, has no image and counts 0.
//!
//! [`acutance`] is the older measure, over the same places and with the same weights: the share of the eye's weight
//! (`IEEE1858`) that passes, 1 for a perfect image. Its ancestor: `GrangerCupery1972`.

pub mod eye;
pub mod film_map;

use crate::camera::{Blur, Camera, PointImage};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::wave::{Gauss, MM_PER_NM};
use eye::{FINEST_SEEN, RootRule, Sensitivity, Viewing, acutance_total, acutance_weight};
use rayon::prelude::*;
use std::f64::consts::PI;
use std::sync::LazyLock;

/// How closely the merit is looked at. What each is worth is measured in the tests.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Fineness {
    /// Gauss points across the sheet, each way: even, so that none is in the middle.
    places: usize,
    /// Directions over half a turn at each place; the OTF repeats after it.
    directions: usize,
    /// Strips of the hole in each direction.
    strips: usize,
    /// Points in frequency.
    frequencies: usize,
    /// Wavelengths that stand for all.
    lines: usize,
    /// Corners of the outline that stand out less than this share of its width are left out.
    smooth: f64,
}

/// One place alone.
const PLACE: Fineness =
    Fineness { places: 1, directions: 16, strips: 128, frequencies: 40, lines: 5, smooth: 0.0 };

/// All over the sheet, where the errors of single places are mostly averaged out.
const SHEET: Fineness =
    Fineness { places: 4, directions: 8, strips: 64, frequencies: 20, lines: 3, smooth: 1e-4 };

/// All over the sheet, to find about where the best size lies.
const GLANCE: Fineness =
    Fineness { places: 4, directions: 4, strips: 24, frequencies: 10, lines: 1, smooth: 1e-4 };

/// Metal that a ray to the corner sees this far aslant, in √(λz), darkens corners enough to roughen the
/// merit over the sheet, which then needs four times as many places.
const THICK: f64 = 0.35;

/// Cells of the square-root integral to a point in frequency.
const CELLS: usize = 4;

/// What is measured of what passes a hole.
enum Measure {
    /// The square-root integral, in jnd.
    Jnd(Viewing, RootRule),
    /// The share of the eye's weight, 0 to 1.
    Acutance(Gauss),
}

impl Measure {
    /// The square-root integral of a camera's print; near 0 its cells are even in number.
    fn jnd(camera: &Camera, points: usize) -> Measure {
        Measure::jnd_seen(Viewing::of(camera), points)
    }

    fn jnd_seen(seen: Viewing, points: usize) -> Measure {
        Measure::Jnd(seen, RootRule::of(points, CELLS * points))
    }

    fn acutance(points: usize) -> Measure {
        Measure::Acutance(Gauss::rule(points))
    }

    /// Of a transfer at ν cycles per degree, which is none from `finest` on.
    fn of(&self, finest: f64, transfer: impl Fn(f64) -> f64) -> f64 {
        match self {
            Measure::Jnd(seen, rule) => rule.jnd(seen, finest, transfer),
            Measure::Acutance(rule) => {
                let finest = finest.min(FINEST_SEEN);
                // ν = finest x²: the weight rises as ν^0.8 and would be rough at 0 otherwise.
                let terms = rule.on(0.0, 1.0).map(|(x, weight)| {
                    let nu = finest * x * x;
                    weight * 2.0 * finest * x * acutance_weight(nu) * transfer(nu).max(0.0)
                });
                terms.sum::<f64>() / acutance_total()
            }
        }
    }
}

/// The merit of a hole over the sheet of a camera's film, in jnd.
pub fn quality(camera: &Camera, outline: &Outline) -> f64 {
    Sheet::of(camera).of_form(&Form::of(outline), 1.0)
}

/// The merit of a disc over the sheet, in jnd; none where the diameter is none.
pub fn quality_of_disc(camera: &Camera, diameter_mm: f64) -> f64 {
    Sheet::of(camera).of_disc(diameter_mm)
}

/// The same as a print is felt by another published sensitivity of the eye.
pub fn quality_of_disc_felt(camera: &Camera, diameter_mm: f64, felt: Sensitivity) -> f64 {
    let seen = Viewing { felt, ..Viewing::of(camera) };
    let measure = Measure::jnd_seen(seen, SHEET.frequencies);
    Sheet::measured(camera, Fineness::of(camera), measure).of_disc(diameter_mm)
}

/// The acutance of a disc over the sheet, 0 to 1; none where the diameter is none.
pub fn acutance_of_disc(camera: &Camera, diameter_mm: f64) -> f64 {
    let measure = Measure::acutance(SHEET.frequencies);
    Sheet::measured(camera, Fineness::of(camera), measure).of_disc(diameter_mm)
}

/// The acutance of a hole over the sheet, 0 to 1.
pub fn acutance(camera: &Camera, outline: &Outline) -> f64 {
    let measure = Measure::acutance(SHEET.frequencies);
    let form = Form::of(outline);
    Sheet::measured(camera, Fineness::of(camera), measure).of_form(&form, 1.0)
}

impl Fineness {
    /// By the camera alone, so that the merit of all its holes is looked at alike.
    fn of(camera: &Camera) -> Fineness {
        let corner = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        let slant = camera.place(corner).map_or(f64::INFINITY, |p| p.hole_angle_rad().tan());
        let unit_mm = (camera.light.mean_nm() * MM_PER_NM * camera.distances.effective_mm()).sqrt();
        let thick = camera.plate_mm * slant > THICK * unit_mm;
        Fineness { places: if thick { 2 * SHEET.places } else { SHEET.places }, ..SHEET }
    }
}

/// The merit of a hole at a place on the film, in mm from its middle, in jnd; not a number where no light comes.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn quality_at(camera: &Camera, outline: &Outline, at_mm: Point) -> Result<f64, Error> {
    at(camera, outline, at_mm, &Measure::jnd(camera, PLACE.frequencies))
}

/// The acutance of a hole at a place on the film, in mm from its middle, 0 to 1; not a number where no light comes.
///
/// # Errors
/// As [`crate::camera::Film::place`].
pub fn acutance_at(camera: &Camera, outline: &Outline, at_mm: Point) -> Result<f64, Error> {
    at(camera, outline, at_mm, &Measure::acutance(PLACE.frequencies))
}

fn at(camera: &Camera, outline: &Outline, at_mm: Point, by: &Measure) -> Result<f64, Error> {
    let image = PointImage::where_lit(camera, outline, at_mm)?;
    let light = camera.light.condensed(PLACE.lines);
    Ok(image.map_or(f64::NAN, |image| of_image(camera, &image.in_light(&light), FIRST, PLACE, by)))
}

/// The merit of a hole in the middle of the film, of what is fine along single directions alone, in rad
/// anticlockwise: 0 is the fineness of upright lines.
pub fn quality_along(camera: &Camera, outline: &Outline, directions_rad: &[f64]) -> Vec<f64> {
    let light = camera.light.condensed(PLACE.lines);
    let image = PointImage::on_axis(camera, outline).in_light(&light);
    let one = Fineness { directions: 1, ..PLACE };
    let measure = Measure::jnd(camera, PLACE.frequencies);
    let along = |angle: &f64| of_image(camera, &image, angle / PI, one, &measure);
    directions_rad.par_iter().map(along).collect()
}

/// Where the first direction lies at a single place, in steps. A quarter of a step off an axis, a hole
/// that is its own mirror image there is seen along twice as many directions.
const FIRST: f64 = 0.25;

/// How much of the sheet is looked at for all of it.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    /// The upper half. Turned by half a turn, camera and film are what they were, and so is what the plate
    /// leaves open; the hole's point image is turned, and its OTF has the same real part.
    Half,
    /// The upper right quarter, for a hole and a movement that are their own mirror images.
    Quarter,
}

/// The form of a hole as it is looked at all over the sheet: without the corners that hardly stand out, of the same area.
pub(super) struct Form(Outline);

impl Form {
    pub(super) fn of(outline: &Outline) -> Form {
        Form::smoothed(outline, SHEET.smooth)
    }

    fn smoothed(outline: &Outline, smooth: f64) -> Form {
        let (low, high) = outline.bounds_mm();
        let width = (high[0] - low[0]).max(high[1] - low[1]);
        let few = outline.simplified(smooth * width);
        // Of the same area, for that counts most.
        Form(few.scaled((outline.area_mm2() / few.area_mm2()).sqrt()))
    }

    /// The disc of 1 mm.
    fn unit_disc() -> Option<&'static Form> {
        static DISC: LazyLock<Option<Form>> =
            LazyLock::new(|| shapes::disc(1.0).ok().map(|disc| Form::of(&disc)));
        DISC.as_ref()
    }
}

/// A camera whose sheet is looked at, hole after hole.
pub(super) struct Sheet {
    /// The camera with the few wavelengths that stand for all.
    camera: Camera,
    fineness: Fineness,
    measure: Measure,
    half: Vec<Place>,
    /// What is looked at for a disc: a quarter, where all that moves is its own mirror image too.
    of_disc: Vec<Place>,
}

impl Sheet {
    /// By what an eye can tell.
    pub(super) fn of(camera: &Camera) -> Sheet {
        let measure = Measure::jnd(camera, SHEET.frequencies);
        Sheet::measured(camera, Fineness::of(camera), measure)
    }

    /// The same at a glance, a hundred times as quick: where the best size about lies.
    pub(super) fn at_a_glance(camera: &Camera) -> Sheet {
        Sheet::measured(camera, GLANCE, Measure::jnd(camera, GLANCE.frequencies))
    }

    fn measured(camera: &Camera, fineness: Fineness, measure: Measure) -> Sheet {
        let is_round = Blur::at_f_number(camera, 1.0).is_round();
        let part = if is_round { Part::Quarter } else { Part::Half };
        Sheet {
            half: places(camera, fineness.places, Part::Half),
            of_disc: places(camera, fineness.places, part),
            camera: Camera { light: camera.light.condensed(fineness.lines), ..camera.clone() },
            fineness,
            measure,
        }
    }

    /// The merit of a form of hole at `factor` times its size.
    pub(super) fn of_form(&self, form: &Form, factor: f64) -> f64 {
        self.over(&self.half, &form.0.scaled(factor))
    }

    /// The merit of a disc; none where the diameter is none.
    pub(super) fn of_disc(&self, diameter_mm: f64) -> f64 {
        let is_size = diameter_mm > 0.0 && diameter_mm.is_finite();
        match Form::unit_disc() {
            Some(disc) if is_size => self.over(&self.of_disc, &disc.0.scaled(diameter_mm)),
            _ => 0.0,
        }
    }

    fn over(&self, places: &[Place], outline: &Outline) -> f64 {
        let seen = |place: &Place| {
            // A place beside the plate sees as little as one behind it.
            let image = PointImage::where_lit(&self.camera, outline, place.at_mm).ok().flatten();
            image.map_or(0.0, |image| {
                let found =
                    of_image(&self.camera, &image, place.first, self.fineness, &self.measure);
                place.weight * found
            })
        };
        summed(places.par_iter().map(seen))
    }
}

/// The sum of what is computed in parallel, always in the same order: the same answer to the last digit, whatever
/// the threads.
fn summed(terms: impl IndexedParallelIterator<Item = f64>) -> f64 {
    terms.collect::<Vec<f64>>().iter().sum()
}

/// A place on the film.
struct Place {
    at_mm: Point,
    /// Its share of all: their sum is 1.
    weight: f64,
    /// Where its first direction lies, in steps: half a step apart left and right, so that both together
    /// are twice as many, and an eighth off an axis, so that for a hole that is its own mirror image they
    /// are four times as many.
    first: f64,
}

fn places(camera: &Camera, count: usize, part: Part) -> Vec<Place> {
    let rule = Gauss::rule(count);
    let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
    let counts = |(x, weight): (f64, f64)| (x, weight * (-x * x).exp2());
    let across: Vec<(f64, f64)> = rule.on(-1.0, 1.0).map(counts).collect();
    let total: f64 = across.iter().map(|(_, weight)| weight).sum();
    let (parts, least) = match part {
        Part::Half => (2.0, -1.0),
        Part::Quarter => (4.0, 0.0),
    };
    let mut places = Vec::new();
    for (y, share) in across.iter().filter(|(y, _)| *y > 0.0) {
        for (x, weight) in across.iter().filter(|(x, _)| *x > least) {
            places.push(Place {
                at_mm: [x * half[0], y * half[1]],
                weight: parts * weight * share / (total * total),
                first: if *x > 0.0 { 0.625 } else { 0.125 },
            });
        }
    }
    places
}

/// The merit of a point image, along evenly spread directions of which the first lies `first`
/// steps from the sheet's x.
fn of_image(
    camera: &Camera,
    image: &PointImage,
    first: f64,
    fineness: Fineness,
    measure: &Measure,
) -> f64 {
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let seen = |i: usize| -> f64 {
        let angle = PI * (i as f64 + first) / fineness.directions as f64;
        let along = image.along(angle, fineness.strips);
        let finest = image.cut_off_lp_per_mm(&along) / per_cycle;
        measure.of(finest, |nu| image.otf(&along, nu * per_cycle).re)
    };
    let sum = summed((0..fineness.directions).into_par_iter().map(seen));
    sum / fineness.directions as f64
}

#[cfg(test)]
#[path = "merit_tests.rs"]
pub(super) mod tests;
