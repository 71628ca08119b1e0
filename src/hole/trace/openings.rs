//! The spots of a picture that may be holes, bright on dark and dark on bright.

use super::tree::{Spot, spots};
use crate::raster::Raster;
use ndarray::Array2;

/// Pixels of the picture in which spots are searched; a larger one is reduced to it.
const SEARCHED_PX: f64 = 1.5e6;
/// But never by more than this: a hole of twelve pixels keeps three.
const MOST_REDUCED: usize = 4;
/// Spots that differ by less of the brightest light from what is around them are no holes.
const LEAST_STEP: f64 = 0.01;
/// Spots about one place that differ by less than this factor in width are one.
const SAME: f64 = 1.6;

/// A spot that stands out of its surroundings.
#[derive(Debug, Clone)]
pub(super) struct Opening {
    /// Centre of gravity: column and row in pixels of the picture.
    pub(super) centre: [f64; 2],
    /// The diameter of the disc of its area, in pixels.
    pub(super) diameter: f64,
    /// First row and the one after the last; the same for columns.
    pub(super) rows: [usize; 2],
    pub(super) columns: [usize; 2],
    /// As [`Spot::compactness`].
    pub(super) compactness: f64,
    /// Light in it and around it.
    pub(super) inside: f64,
    pub(super) outside: f64,
    /// Whether it touches the frame.
    pub(super) cut: bool,
}

impl Opening {
    /// How much lighter or darker it is than what is around it.
    pub(super) fn step(&self) -> f64 {
        (self.inside - self.outside).abs()
    }

    pub(super) fn is_bright(&self) -> bool {
        self.inside > self.outside
    }

    /// Whether a place lies in the rectangle around it.
    pub(super) fn surrounds(&self, [x, y]: [f64; 2]) -> bool {
        let within = |at: f64, [first, end]: [usize; 2]| at >= first as f64 && at <= end as f64;
        within(x, self.columns) && within(y, self.rows)
    }
}

/// All spots that stand out, largest first.
pub(super) fn openings(picture: &Raster) -> Vec<Opening> {
    let pixels = (picture.rows() * picture.columns()) as f64;
    let side = ((pixels / SEARCHED_PX).sqrt().ceil() as usize).clamp(1, MOST_REDUCED);
    let light = picture.reduced(side);
    let brightest = light.iter().copied().fold(0.0, f32::max);
    if brightest <= 0.0 {
        return Vec::new();
    }
    // By the square root of the light: dark metal keeps as many levels as a bright hole.
    let bright = light.mapv(|value| ((value / brightest).max(0.0).sqrt() * 255.0).round() as u8);
    let light_of = |level: u8| f64::from(brightest) * (f64::from(level) / 255.0).powi(2);
    let dark = bright.mapv(|level| 255 - level);
    let least = LEAST_STEP * f64::from(brightest);
    let search = |levels: &Array2<u8>, light_of: &(dyn Fn(u8) -> f64 + Sync)| {
        standing_out(&spots(levels), light_of, least)
            .into_iter()
            .filter(|found| !found.is_ground(light.dim()))
            .map(|found| found.in_picture(side, light.dim(), picture))
            .collect::<Vec<Opening>>()
    };
    let (mut found, darker) = rayon::join(
        || search(&bright, &light_of),
        || search(&dark, &|level| light_of(255 - level)),
    );
    found.extend(darker);
    single(found)
}

/// Each spot once, largest first: noise may put one half way at several levels, of which the one that
/// stands out most is kept.
fn single(mut found: Vec<Opening>) -> Vec<Opening> {
    found.sort_by(|a, b| b.step().total_cmp(&a.step()));
    let mut kept: Vec<Opening> = Vec::new();
    for opening in found {
        let is_known = |other: &Opening| {
            other.is_bright() == opening.is_bright()
                && other.surrounds(opening.centre)
                && (opening.diameter / other.diameter).ln().abs() < SAME.ln()
        };
        if !kept.iter().any(is_known) {
            kept.push(opening);
        }
    }
    kept.sort_by(|a, b| b.diameter.total_cmp(&a.diameter));
    kept
}

/// A spot at half way between the light in it and around it.
struct Standing<'a> {
    spot: &'a Spot,
    inside: f64,
    outside: f64,
}

/// The spots whose own level is half way between the light within half their area and the light at
/// which they grow to twice their area.
fn standing_out<'a>(
    spots: &'a [Spot],
    light_of: &dyn Fn(u8) -> f64,
    least: f64,
) -> Vec<Standing<'a>> {
    let walk = |start: usize, next: fn(&Spot) -> Option<usize>, stop: &dyn Fn(f64) -> bool| {
        let mut at = start;
        while let Some(then) = next(&spots[at]) {
            at = then;
            if stop(spots[at].area) {
                break;
            }
        }
        light_of(spots[at].level)
    };
    let mut found = Vec::new();
    for (i, spot) in spots.iter().enumerate() {
        let (Some(parent), area) = (spot.parent, spot.area) else { continue };
        let inside = walk(i, |spot| spot.core, &|other| other < 0.5 * area);
        let outside = walk(i, |spot| spot.parent, &|other| other > 2.0 * area);
        let half = 0.5 * (inside + outside);
        // The spot at half way is the first whose next lower level lies beyond it.
        let beyond = |level: u8| (light_of(level) - half) * (inside - outside) < 0.0;
        if (inside - outside).abs() >= least && !beyond(spot.level) && beyond(spots[parent].level) {
            found.push(Standing { spot, inside, outside });
        }
    }
    found
}

impl Standing<'_> {
    /// Whether it goes from one side of the picture to the opposite one.
    fn is_ground(&self, (rows, columns): (usize, usize)) -> bool {
        let across = |[first, last]: [usize; 2], count: usize| first == 0 && last + 1 == count;
        across(self.spot.rows, rows) || across(self.spot.columns, columns)
    }

    fn in_picture(
        &self,
        side: usize,
        (rows, columns): (usize, usize),
        picture: &Raster,
    ) -> Opening {
        let spot = self.spot;
        let scale = side as f64;
        Opening {
            centre: spot.centre().map(|at| at * scale),
            diameter: 2.0 * (spot.area / std::f64::consts::PI).sqrt() * scale,
            rows: [spot.rows[0] * side, ((spot.rows[1] + 1) * side).min(picture.rows())],
            columns: [
                spot.columns[0] * side,
                ((spot.columns[1] + 1) * side).min(picture.columns()),
            ],
            compactness: spot.compactness(),
            inside: self.inside,
            outside: self.outside,
            cut: spot.rows[0] == 0
                || spot.columns[0] == 0
                || spot.rows[1] + 1 == rows
                || spot.columns[1] + 1 == columns,
        }
    }
}
