//! The spots of a picture that may be holes, bright on dark and dark on bright.

use super::tree::{Spot, spots};
use crate::error::Candidate;
use crate::hole::median::median;
use crate::raster::Raster;
use ndarray::Array2;
use std::f64::consts::PI;

/// Pixels of the picture in which spots are searched; a larger one is reduced to it.
const SEARCHED_PX: f64 = 1.5e6;
/// Pixels searched above which bright and dark spots are searched one after the other.
const MOST_AT_ONCE: usize = 10_000_000;
/// But never by more than this: a hole of twelve pixels keeps three.
pub(super) const MOST_REDUCED: usize = 4;
/// Spots that differ by less of the brightest light from what is around them are no holes.
const LEAST_STEP: f64 = 0.01;
/// A picture whose brightest light is less than this share of white is black: a number of 15 of 255 in sRGB.
const DARK: f32 = 0.005;
/// Spots of which one is part of the other and that differ by less than this factor in area are one.
const SAME: f64 = 2.5;
/// A spot is more than noise when its step times the root of its pixels is so many times the noise of a
/// pixel: the signal-to-noise ratio of its mean light. Clusters of white noise reach 20 (measured on
/// drawn noise).
const LEAST_SIGNAL: f64 = 30.0;
/// How far a ring's middle may lie from that of what it surrounds, in widths of the ring.
const CONCENTRIC: f64 = 0.1;
/// The least width of what a ring surrounds, in widths of the ring: less is a speck in a hole.
const LAND: f64 = 0.5;

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
    /// Its area at three quarters of the way up its edge over that at a quarter: near 1 where the edge
    /// is steep, a half where the light merely fades.
    pub(super) steadiness: f64,
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

    /// The mean width of the rectangle around it: of a ring, its outer diameter.
    pub(super) fn breadth(&self) -> f64 {
        let [rows, columns] = [self.rows, self.columns].map(|[first, end]| (end - first) as f64);
        0.5 * (rows + columns)
    }

    /// Its pixels.
    pub(super) fn area(&self) -> f64 {
        PI * self.diameter * self.diameter / 4.0
    }

    /// Whether it is a ring about another opening: the land of a plated hole, the rim of an eyelet.
    pub(super) fn is_ring_about(&self, inner: &Opening) -> bool {
        let off = (self.centre[0] - inner.centre[0]).hypot(self.centre[1] - inner.centre[1]);
        let breadth = self.breadth();
        self.is_bright() != inner.is_bright()
            && off < CONCENTRIC * breadth
            && (LAND * breadth..0.95 * breadth).contains(&inner.diameter)
    }

    /// Whether a place belongs to it: in the rectangle around it, and lit as it is.
    pub(super) fn holds(&self, place: [f64; 2], light: f64) -> bool {
        let beyond_half =
            (light - 0.5 * (self.inside + self.outside)) * (self.inside - self.outside);
        self.surrounds(place) && beyond_half > 0.0
    }

    /// What it is for those who are asked which opening they mean.
    pub(super) fn candidate(&self) -> Candidate {
        Candidate { place_px: self.centre, diameter_px: self.diameter }
    }

    /// Whether a place lies in the rectangle around it.
    pub(super) fn surrounds(&self, [x, y]: [f64; 2]) -> bool {
        let within = |at: f64, [first, end]: [usize; 2]| at >= first as f64 && at <= end as f64;
        within(x, self.columns) && within(y, self.rows)
    }
}

/// The spots of a picture.
pub(super) struct Found {
    /// All that stand out, largest first.
    pub(super) openings: Vec<Opening>,
    /// How many more there were that are no more than the picture's noise makes.
    pub(super) noise: usize,
}

/// All spots that stand out of a picture.
pub(super) fn openings(picture: &Raster) -> Found {
    let pixels = (picture.rows() * picture.columns()) as f64;
    let side = ((pixels / SEARCHED_PX).sqrt().ceil() as usize).clamp(1, MOST_REDUCED);
    openings_in(&picture.reduced(side), side, [picture.rows(), picture.columns()])
}

/// All spots that stand out of the light of a picture, of so many rows and columns, that was made smaller by
/// `side`.
pub(super) fn openings_in(light: &Array2<f32>, side: usize, size: [usize; 2]) -> Found {
    let brightest = light.iter().copied().fold(0.0, f32::max);
    if brightest < DARK {
        return Found { openings: Vec::new(), noise: 0 };
    }
    // By the square root of the light: dark metal keeps as many levels as a bright hole.
    let bright = light.mapv(|value| ((value / brightest).max(0.0).sqrt() * 255.0).round() as u8);
    let light_of = |level: u8| f64::from(brightest) * (f64::from(level) / 255.0).powi(2);
    let dark = bright.mapv(|level| 255 - level);
    let least = LEAST_STEP * f64::from(brightest);
    let grain = grain(light);
    let search = |levels: &Array2<u8>, light_of: &(dyn Fn(u8) -> f64 + Sync)| {
        let spots = spots(levels);
        let standing = standing_out(&spots, light_of, least);
        let all = standing.len();
        let signal =
            |found: &Standing| (found.step() * found.spot.area.sqrt()) > LEAST_SIGNAL * grain;
        let standing: Vec<Standing> = standing.into_iter().filter(signal).collect();
        let noise = all - standing.len();
        let openings = single(&spots, standing)
            .into_iter()
            .filter(|found| !found.is_ground(light.dim()))
            .map(|found| found.in_picture(side, light.dim(), size))
            .collect::<Vec<Opening>>();
        Found { openings, noise }
    };
    let lighter = || search(&bright, &light_of);
    let darker = || search(&dark, &|level| light_of(255 - level));
    // The trees of a large picture take turns in memory.
    let (mut found, darker) = if light.len() > MOST_AT_ONCE {
        (lighter(), darker())
    } else {
        rayon::join(lighter, darker)
    };
    found.openings.extend(darker.openings);
    found.openings.sort_by(|a, b| b.diameter.total_cmp(&a.diameter));
    found.noise += darker.noise;
    found
}

/// The noise of a pixel, as a standard deviation: from the differences of neighbours, and of pixels
/// three apart, which see the noise of a file whose neighbours were smoothed.
fn grain(light: &Array2<f32>) -> f64 {
    let columns = light.ncols();
    let stride = (light.len() / 200_000).max(1);
    let values: Vec<f32> = light.iter().copied().collect();
    let apart = |lag: usize| {
        let pairs = (0..values.len().saturating_sub(lag)).step_by(stride);
        let pairs = pairs.filter(|i| i % columns + lag < columns);
        // As in `Window::noise`: the median magnitude of a normal distribution, of a difference.
        median(pairs.map(|i| f64::from((values[i] - values[i + lag]).abs()))) / 0.6745 / 2f64.sqrt()
    };
    apart(1).max(apart(3))
}

/// Each spot once: noise may put one half way at several levels, of which the one that stands out most
/// is kept.
fn single<'a>(spots: &[Spot], mut found: Vec<Standing<'a>>) -> Vec<Standing<'a>> {
    found.sort_by(|a, b| b.step().total_cmp(&a.step()));
    // For each spot whether it, or one of like area that it is part of or that is part of it, is kept.
    let mut taken = vec![false; spots.len()];
    let mut kept = vec![false; spots.len()];
    let like = |start: usize| {
        let most = SAME * spots[start].area;
        std::iter::successors(Some(start), |&at| spots[at].parent)
            .take_while(move |&at| spots[at].area <= most)
    };
    found.retain(|standing| {
        if taken[standing.index] || like(standing.index).any(|at| kept[at]) {
            return false;
        }
        kept[standing.index] = true;
        like(standing.index).for_each(|at| taken[at] = true);
        true
    });
    found
}

/// A spot at half way between the light in it and around it.
struct Standing<'a> {
    spot: &'a Spot,
    index: usize,
    inside: f64,
    outside: f64,
    steadiness: f64,
}

/// The spots whose own level is half way between the light within half their area and the light at
/// which they grow to twice their area.
fn standing_out<'a>(
    spots: &'a [Spot],
    light_of: &dyn Fn(u8) -> f64,
    least: f64,
) -> Vec<Standing<'a>> {
    let walk = |start: usize, next: fn(&Spot) -> Option<usize>, stop: &dyn Fn(&Spot) -> bool| {
        let mut at = start;
        while let Some(then) = next(&spots[at]) {
            at = then;
            if stop(&spots[at]) {
                break;
            }
        }
        &spots[at]
    };
    let mut found = Vec::new();
    for (index, spot) in spots.iter().enumerate() {
        let (Some(parent), area) = (spot.parent, spot.area) else { continue };
        let core: fn(&Spot) -> Option<usize> = |spot| spot.core;
        let whole: fn(&Spot) -> Option<usize> = |spot| spot.parent;
        let inside = light_of(walk(index, core, &|other| other.area < 0.5 * area).level);
        let outside = light_of(walk(index, whole, &|other| other.area > 2.0 * area).level);
        let half = 0.5 * (inside + outside);
        // Whether a level lies farther out than a share of the way from outside to inside.
        let below = |level: u8, share: f64| {
            (light_of(level) - outside - share * (inside - outside)) * (inside - outside) < 0.0
        };
        let beyond = |level: u8| (light_of(level) - half) * (inside - outside) < 0.0;
        // The spot at half way is the first whose next lower level lies beyond it.
        if (inside - outside).abs() >= least && !beyond(spot.level) && beyond(spots[parent].level) {
            let along = |next: fn(&Spot) -> Option<usize>| {
                std::iter::successors(Some(index), move |&at| next(&spots[at]))
            };
            let upper = along(core).find(|&at| !below(spots[at].level, 0.75));
            let lower = along(whole).take_while(|&at| !below(spots[at].level, 0.25)).last();
            let area_of = |at: Option<usize>| at.map_or(0.0, |at| spots[at].area);
            let steadiness = area_of(upper) / area_of(lower).max(1.0);
            found.push(Standing { spot, index, inside, outside, steadiness });
        }
    }
    found
}

impl Standing<'_> {
    fn step(&self) -> f64 {
        (self.inside - self.outside).abs()
    }

    /// Whether it goes from one side of the picture to the opposite one.
    fn is_ground(&self, (rows, columns): (usize, usize)) -> bool {
        let across = |[first, last]: [usize; 2], count: usize| first == 0 && last + 1 == count;
        across(self.spot.rows, rows) || across(self.spot.columns, columns)
    }

    fn in_picture(
        &self,
        side: usize,
        (rows, columns): (usize, usize),
        [all_rows, all_columns]: [usize; 2],
    ) -> Opening {
        let spot = self.spot;
        let scale = side as f64;
        Opening {
            centre: spot.centre().map(|at| at * scale),
            diameter: 2.0 * (spot.area / PI).sqrt() * scale,
            rows: [spot.rows[0] * side, ((spot.rows[1] + 1) * side).min(all_rows)],
            columns: [spot.columns[0] * side, ((spot.columns[1] + 1) * side).min(all_columns)],
            compactness: spot.compactness(),
            inside: self.inside,
            outside: self.outside,
            steadiness: self.steadiness,
            cut: spot.rows[0] == 0
                || spot.columns[0] == 0
                || spot.rows[1] + 1 == rows
                || spot.columns[1] + 1 == columns,
        }
    }
}
