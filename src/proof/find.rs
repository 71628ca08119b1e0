//! Finding the chart in a picture: turned anyhow, mirrored, positive or negative.

use super::blobs::{Blob, Tone, blobs, outside, relief, thresholds};
use super::chart::Chart;
use crate::error::Error;
use crate::geometry::{Map, Point, distance};
use crate::raster::Raster;
use ndarray::Array2;

/// The width of an octagon in the reduced picture in which it is looked for, in px.
const WIDTH_PX: f64 = 24.0;
/// How many times as large as expected the chart may be: further off, the scale is another one.
const SCALES: [f64; 5] = [1.0, 0.5, 2.0, 0.25, 4.0];
/// Spots that are looked at, the largest.
const MOST_BLOBS: usize = 60;
/// What an octagon is at least, after blur.
const COMPACT: f64 = 0.93;
/// How far, over the spacing, an octagon may be from its place between the others: paper bows and tilts.
const OFF: f64 = 0.2;
/// Octagons of one picture differ in area by no more than this.
const AREAS: f64 = 1.8;

/// Describes a chart that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The middles of the nine octagons in px, in the chart's order.
    pub places_px: [Point; 9],
    /// A step on the film in mm, as one in the picture in px.
    pub film_to_px: Map,
    /// Whether what is dark on the chart is bright.
    pub is_negative: bool,
}

impl Found {
    /// Where in the picture a place on the film lies, about, in px.
    pub fn px(&self, film_mm: Point) -> Point {
        let step = self.film_to_px.of(film_mm);
        [0, 1].map(|i| self.places_px[4][i] + step[i])
    }

    /// Whether left and right are changed. On the film, y runs up and in a picture down.
    pub fn is_mirrored(&self) -> bool {
        self.film_to_px.determinant() > 0.0
    }
}

/// Finds the chart; `mm_per_px` is what the picture's scale says.
///
/// # Errors
/// [`NotThere`](crate::Kind::NotThere) for a picture without it, with a part of it, or with that of another camera.
pub fn find(picture: &Raster, chart: &Chart, mm_per_px: f64) -> Result<Found, Error> {
    let mut nearest = None;
    // With what lies about the picture; and then without, where that hides the chart in fog.
    for is_masked in [false, true] {
        for scale in SCALES {
            let side = (scale * chart.octagon_mm / mm_per_px / WIDTH_PX).round().max(1.0) as usize;
            let light = picture.reduced(side);
            if light.nrows().min(light.ncols()) < 3 * WIDTH_PX as usize {
                continue;
            }
            let width = scale * chart.octagon_mm / mm_per_px / side as f64;
            for tone in [Tone::Dark, Tone::Bright] {
                let lid = is_masked.then(|| outside(&light, tone));
                let relief = relief(&light, (3.0 * width) as usize | 1, tone, lid.as_ref());
                match search(&relief, width, tone, chart) {
                    Ok(found) => return Ok(enlarged(&found, side as f64)),
                    Err(fault) => nearest = nearest.max(Some(fault)),
                }
            }
        }
    }
    Err(nearest.unwrap_or(Fault::Nothing).error())
}

/// What a search came to, from the least to the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fault {
    Nothing,
    Some(usize),
    Marks,
}

impl Fault {
    fn error(self) -> Error {
        let remedy = "scan the whole picture of the chart, with all nine octagons and a little around them, \
                      and give the scan's resolution";
        match self {
            Fault::Nothing => Error::not_there(
                "shows no chart, or one without contrast (fog, or far too little light)",
                remedy,
            ),
            Fault::Some(count) => Error::not_there(
                format!(
                    "shows {count} spots that may be the chart's octagons, and not nine in three rows: it is cut off, \
                     too dark, fogged, or of another kind"
                ),
                "scan the whole picture of the chart, with all nine octagons and little around them, and give the scan's \
                 resolution; where light got into the camera, expose another without it",
            ),
            Fault::Marks => Error::not_there(
                "shows nine octagons, but the marks by its corners are not those of this camera's chart",
                "give the camera and the distance that the chart was drawn for",
            ),
        }
    }
}

fn enlarged(found: &Found, side: f64) -> Found {
    let larger = |p: Point| p.map(|v| v * side);
    Found {
        places_px: found.places_px.map(larger),
        film_to_px: Map {
            of_x: larger(found.film_to_px.of_x),
            of_y: larger(found.film_to_px.of_y),
        },
        ..*found
    }
}

fn search(relief: &Array2<f32>, width: f64, tone: Tone, chart: &Chart) -> Result<Found, Fault> {
    let mut nearest = Fault::Nothing;
    for threshold in thresholds(relief) {
        match search_above(threshold, relief, width, tone, chart) {
            Ok(found) => return Ok(found),
            Err(fault) => nearest = nearest.max(fault),
        }
    }
    Err(nearest)
}

fn search_above(
    threshold: f32,
    relief: &Array2<f32>,
    width: f64,
    tone: Tone,
    chart: &Chart,
) -> Result<Found, Fault> {
    let fits = |blob: &Blob| {
        let share = blob.area_px / (width * width);
        (0.3..3.0).contains(&share) && blob.compactness > COMPACT
    };
    let mut spots: Vec<Blob> = blobs(relief, threshold).into_iter().filter(fits).collect();
    spots.sort_by(|one, other| other.area_px.total_cmp(&one.area_px));
    spots.truncate(MOST_BLOBS);
    let lattice = lattice(&spots).ok_or(match spots.len() {
        0..3 => Fault::Nothing,
        count => Fault::Some(count),
    })?;
    let relief_at = |[x, y]: Point| {
        let (row, column) = (y.floor(), x.floor());
        let inside = row >= 0.0 && column >= 0.0;
        let value = relief.get((row as usize, column as usize)).copied();
        value.filter(|_| inside).unwrap_or(0.0)
    };
    // A mark is printed as dark as an octagon: half of that is between it and the paper, whatever found the octagons.
    let mut octagons = lattice.map(relief_at);
    octagons.sort_by(f32::total_cmp);
    let is_marked = |place: Point| relief_at(place) > 0.5 * octagons[4];
    let mut best: Option<(usize, Found)> = None;
    for places_px in turns(&lattice) {
        let found = Found {
            places_px,
            film_to_px: across(&places_px, chart),
            is_negative: tone == Tone::Bright,
        };
        let wrong = chart
            .marks_mm()
            .into_iter()
            .filter(|(mark, printed)| is_marked(mark_px(&found, chart, *mark)) != *printed);
        let wrong = wrong.count();
        if best.as_ref().is_none_or(|(least, _)| wrong < *least) {
            best = Some((wrong, found));
        }
    }
    match best {
        Some((0, found)) => Ok(found),
        _ => Err(Fault::Marks),
    }
}

/// Where a mark by a corner's octagon lies: from that octagon, since paper bows.
fn mark_px(found: &Found, chart: &Chart, mark_mm: Point) -> Point {
    let places = chart.places_mm();
    let nearest = (0..9)
        .min_by(|a, b| distance(places[*a], mark_mm).total_cmp(&distance(places[*b], mark_mm)));
    let corner = nearest.unwrap_or(4);
    let step = found.film_to_px.of([0, 1].map(|i| mark_mm[i] - places[corner][i]));
    [0, 1].map(|i| found.places_px[corner][i] + step[i])
}

/// The map from the film to the picture, by the middles of the outer octagons.
fn across(places: &[Point; 9], chart: &Chart) -> Map {
    let column = |i: usize| {
        [0, 1].map(|axis| (places[i][axis] + places[i + 3][axis] + places[i + 6][axis]) / 3.0)
    };
    let row = |i: usize| {
        [0, 1].map(|axis| {
            (places[3 * i][axis] + places[3 * i + 1][axis] + places[3 * i + 2][axis]) / 3.0
        })
    };
    let half =
        |from: Point, to: Point, spacing: f64| [0, 1].map(|i| (to[i] - from[i]) / (2.0 * spacing));
    Map {
        of_x: half(column(0), column(2), chart.spacing_mm[0]),
        of_y: half(row(2), row(0), chart.spacing_mm[1]),
    }
}

/// Nine spots in three rows, row by row: those of the largest spots, where there are several.
fn lattice(spots: &[Blob]) -> Option<[Point; 9]> {
    let mut best: Option<(f64, [Point; 9])> = None;
    for middle in spots {
        let alike = |spot: &&Blob| {
            let ratio = spot.area_px / middle.area_px;
            spot.middle_px != middle.middle_px && (1.0 / AREAS..AREAS).contains(&ratio)
        };
        let others: Vec<&Blob> = spots.iter().filter(alike).collect();
        let near = |place: Point, reach: f64| {
            let near =
                others.iter().map(|spot| spot.middle_px).filter(|p| distance(*p, place) < reach);
            near.min_by(|a, b| distance(*a, place).total_cmp(&distance(*b, place)))
        };
        let m = middle.middle_px;
        let step = |p: Point| [p[0] - m[0], p[1] - m[1]];
        for a in others.iter().map(|spot| step(spot.middle_px)) {
            for b in others.iter().map(|spot| step(spot.middle_px)) {
                let (sides, area) =
                    (a[0].hypot(a[1]) * b[0].hypot(b[1]), a[0] * b[1] - a[1] * b[0]);
                // A right angle or nearly, one sense of turning only.
                if area < 0.9 * sides {
                    continue;
                }
                let reach = OFF * a[0].hypot(a[1]).min(b[0].hypot(b[1]));
                let mut places = [m; 9];
                let whole = (0..9).filter(|i| *i != 4).all(|i| {
                    let (right, up) = ((i % 3) as f64 - 1.0, 1.0 - (i / 3) as f64);
                    let expected = [0, 1].map(|k| m[k] + right * a[k] + up * b[k]);
                    near(expected, reach).map(|found| places[i] = found).is_some()
                });
                let score = middle.area_px;
                if whole && best.as_ref().is_none_or(|(most, _)| score > *most) {
                    best = Some((score, places));
                }
            }
        }
    }
    best.map(|(_, places)| places)
}

/// The eight ways in which nine places can be turned and mirrored.
fn turns(places: &[Point; 9]) -> [[Point; 9]; 8] {
    std::array::from_fn(|turn| {
        std::array::from_fn(|i| {
            let (mut column, mut row) = (i % 3, i / 3);
            if turn & 1 > 0 {
                column = 2 - column;
            }
            if turn & 2 > 0 {
                row = 2 - row;
            }
            if turn & 4 > 0 {
                (column, row) = (row, column);
            }
            places[3 * row + column]
        })
    })
}
