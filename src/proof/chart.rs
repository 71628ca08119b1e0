//! The chart: what is drawn where, in the places of the film on which its image falls.
//!
//! Each shape is laid out on the film and carried out to the wall by the straight lines through the hole, so that its
//! image is an octagon, a square or a straight edge on flat film and on a tube alike. An octagon has edges in
//! four directions, each twice, five degrees off the scanner's rows and columns and off their diagonals, so that a scan's
//! pixels meet an edge at every fraction (the slanted edge of `ISO12233`). Steps of grey give the curve from light to
//! pixel values (the idea of `ISO14524`); each is there twice, on both sides of the middle, so that lamps that
//! light one side more than the other cancel.

use crate::camera::{Camera, Place, Shape as FilmShape};
use crate::error::Error;
use crate::geometry::Point;
use crate::quantity::Quantity;
use crate::raster::decode;
use crate::wave::{Distances, MM_PER_NM};
use std::f64::consts::{PI, TAU};

/// How far edges are turned from the film's sides, in rad: 5 degrees.
pub const TURN_RAD: f64 = 5.0 * PI / 180.0;
/// Greys of the steps as they are printed, in sRGB codes, from dark to bare paper.
pub const STEP_CODES: [u8; 8] = [63, 80, 99, 124, 154, 188, 218, 255];
/// The tangent of the angle beyond which nothing is drawn: a wall would have to be endless.
const WIDEST_TANGENT: f64 = 1.0;
/// The share of the film's half width and height that is used: holders hide the rest (common practice, no source).
const USED: f64 = 0.95;
/// The width of an octagon across flats, over the natural length √(λz) v/z of the hole's images: the foot of an edge is 18 of them long.
const WIDEST: f64 = 40.0;
/// Below this the foot of one edge lies on the next and hides what the hole does.
const NARROWEST: f64 = 16.0;
/// From the middle of an outer octagon to the end of what is used of the film, over the octagon's width: an edge's foot lies in it.
const BORDER: f64 = 0.97;
/// Distances of the marks by a corner's octagon: inward along x, and outward along y, over its width.
const MARKS_INWARD: [f64; 2] = [0.9, 1.3];
const MARK_OUTWARD: f64 = 0.6;
/// The width of a mark, over the octagon's.
const MARK_WIDTH: f64 = 0.22;
/// Which marks are printed by the corners: no turn and no mirror makes another of these.
const MARKS: [([f64; 2], [bool; 2]); 4] = [
    ([-1.0, 1.0], [true, true]),
    ([1.0, 1.0], [true, false]),
    ([1.0, -1.0], [false, false]),
    ([-1.0, -1.0], [false, true]),
];
/// How far to either side of an edge is looked, over the octagon's width: to the middle but for a little.
pub const REACH: f64 = 0.45;
/// Points to a curved side of a shape on a tube.
const PIECES: usize = 16;

/// Describes a chart for one camera at one distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The camera as it looks at the chart, standing still.
    pub camera: Camera,
    /// The middle of the right column and the upper row of octagons on the film, in mm.
    pub spacing_mm: Point,
    /// The width of an octagon across flats, on the film, in mm.
    pub octagon_mm: f64,
}

/// Describes something printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// What it is for.
    pub part: Part,
    /// Its outline on the film laid flat, in mm from the middle.
    pub film_mm: Vec<Point>,
    /// The grey it is printed in, as an sRGB code.
    pub code: u8,
}

/// Tells what a shape of the chart is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// Edges to measure.
    Octagon,
    /// A grey step.
    Step,
    /// Tells which way round the picture lies.
    Mark,
    /// For the eye: a star of wedges.
    Star,
    /// For the eye: a group of lines.
    Lines,
}

/// Returns the light that a printed grey sends back, over that of bare paper (`IEC61966`).
pub fn reflectance(code: u8) -> f64 {
    decode(f64::from(code) / 255.0)
}

impl Chart {
    /// Lays out the chart for a camera whose hole is `distance_mm` from it.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a distance that is not a length in front of the camera, and for
    /// film so small that the images of neighbouring edges would run into each other.
    pub fn of(camera: &Camera, distance_mm: f64) -> Result<Chart, Error> {
        let film_mm = camera.distances.film_mm();
        if !(10.0..=1e5).contains(&distance_mm) {
            return Err(Error::limit(
                format!("a chart {} away is out of range", Quantity::Length.write(distance_mm)),
                "hang it between 10 mm and 100 m from the hole",
            ));
        }
        let distances = Distances::new(distance_mm, film_mm)?;
        let camera = Camera { distances, support: None, ..camera.clone() };
        let half = [camera.film.width_mm / 2.0, camera.film.height_mm / 2.0];
        let reach = [0, 1].map(|axis| reach_mm(&camera, axis, USED * half[axis]));
        let least = reach[0].min(reach[1]);
        let natural = natural_mm(&camera);
        let octagon_mm = (least / 3.3).min(WIDEST * natural);
        if octagon_mm < NARROWEST * natural {
            return Err(Error::limit(
                format!(
                    "the film is too small for a chart: at {} its edges blur over {}, and three octagons must fit \
                     into {}",
                    Quantity::Length.write(film_mm),
                    Quantity::Length.write(NARROWEST * natural),
                    Quantity::Length.write(2.0 * least)
                ),
                "measure a single edge in any picture instead",
            ));
        }
        let spacing_mm = reach.map(|reach| reach - BORDER * octagon_mm);
        Ok(Chart { camera, spacing_mm, octagon_mm })
    }

    /// The distance from the hole to the chart, in mm.
    pub fn distance_mm(&self) -> f64 {
        self.camera.distances.subject_mm()
    }

    /// The middles of the nine octagons on the film, in mm: rows from the top, each from the left.
    pub fn places_mm(&self) -> [Point; 9] {
        let [x, y] = self.spacing_mm;
        std::array::from_fn(|i| [x * ((i % 3) as f64 - 1.0), y * (1.0 - (i / 3) as f64)])
    }

    /// The directions of an octagon's edges from dark to light, in rad anticlockwise from the film's x: four, each
    /// of which holds for the edge on the other side too.
    pub fn directions_rad() -> [f64; 4] {
        std::array::from_fn(|i| TURN_RAD + i as f64 * PI / 4.0)
    }

    /// The length of an octagon's side, in mm.
    pub fn side_mm(&self) -> f64 {
        self.octagon_mm * (PI / 8.0).tan()
    }

    /// The width of a grey step, in mm on the film.
    pub fn step_mm(&self) -> f64 {
        self.octagon_mm / 2.0
    }

    /// The middles of a grey step's two patches on the film, in mm.
    pub fn step_places_mm(&self, step: usize) -> [Point; 2] {
        let ([x, y], half) = (self.spacing_mm.map(|mm| mm / 2.0), self.step_mm() / 2.0);
        // Four steps to a cluster of two by two; clusters between four octagons.
        let side = if step < 4 { 1.0 } else { -1.0 };
        let [right, up] = [(step % 2) as f64 * 2.0 - 1.0, (step % 4 / 2) as f64 * 2.0 - 1.0];
        let at = [side * x + right * half, y + up * half];
        [at, at.map(|mm| -mm)]
    }

    /// Places on the film, in mm, where a mark is printed or left out: they tell which way round a picture lies.
    pub fn marks_mm(&self) -> Vec<(Point, bool)> {
        let at = |([right, up], printed): ([f64; 2], [bool; 2])| {
            [0, 1].map(|i| {
                let x = right * (self.spacing_mm[0] - MARKS_INWARD[i] * self.octagon_mm);
                let y = up * (self.spacing_mm[1] + MARK_OUTWARD * self.octagon_mm);
                ([x, y], printed[i])
            })
        };
        MARKS.into_iter().flat_map(at).collect()
    }

    /// Everything that is printed.
    pub fn shapes(&self) -> Vec<Shape> {
        let mut shapes = Vec::new();
        let mut add = |part, film_mm, code| shapes.push(Shape { part, film_mm, code });
        let corner = self.octagon_mm / 2.0 / (PI / 8.0).cos();
        for place in self.places_mm() {
            add(Part::Octagon, polygon(place, corner, 8, TURN_RAD + PI / 8.0), STEP_CODES[0]);
        }
        for (step, code) in STEP_CODES.into_iter().enumerate() {
            for [x, y] in self.step_places_mm(step) {
                add(Part::Step, rectangle([x, y], [self.step_mm(); 2]), code);
            }
        }
        let radius = MARK_WIDTH * self.octagon_mm / 2.0;
        for (place, _) in self.marks_mm().into_iter().filter(|(_, printed)| *printed) {
            add(Part::Mark, polygon(place, radius, 24, 0.0), STEP_CODES[0]);
        }
        // Where the longer spacing leaves room.
        let along = if self.spacing_mm[0] >= self.spacing_mm[1] { [0.5, 0.0] } else { [0.0, 0.5] };
        let [x, y] = [0, 1].map(|i| along[i] * self.spacing_mm[i]);
        for wedge in star([x, y], 0.4 * self.octagon_mm) {
            add(Part::Star, wedge, STEP_CODES[0]);
        }
        for line in lines([-x, -y], 0.8 * self.octagon_mm, natural_mm(&self.camera)) {
            add(Part::Lines, line, STEP_CODES[0]);
        }
        shapes
    }

    /// Width and height of the wall that must be bare paper or print, in mm: the feet of the outer edges lie in it.
    pub fn paper_mm(&self) -> [f64; 2] {
        let [x, y] = self.spacing_mm.map(|mm| mm + BORDER * self.octagon_mm);
        let ends = [[x, 0.0], [0.0, y], [x, y]].map(|place| self.on_wall_mm(place));
        [0, 1].map(|axis| 2.0 * ends.iter().map(|end| end[axis].abs()).fold(0.0, f64::max))
    }

    /// Where the chart's wall is met by the line from a place on the film through the hole, in mm from the point
    /// opposite the hole: x to the right and y up, for somebody who looks at the chart.
    pub fn on_wall_mm(&self, film_mm: Point) -> Point {
        self.anywhere(film_mm).view().map(|tangent| tangent * self.distance_mm())
    }

    /// The outline of a shape on the wall, in mm.
    pub fn outline_on_wall_mm(&self, film_mm: &[Point]) -> Vec<Point> {
        let pieces = if self.camera.film.shape == FilmShape::Flat { 1 } else { PIECES };
        let ends = film_mm.iter().zip(film_mm.iter().cycle().skip(1));
        ends.flat_map(|(from, to)| {
            (0..pieces).map(move |i| {
                let share = i as f64 / pieces as f64;
                [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis]))
            })
        })
        .map(|place| self.on_wall_mm(place))
        .collect()
    }

    fn anywhere(&self, film_mm: Point) -> Place {
        self.camera.film.anywhere(self.camera.distances.film_mm(), film_mm)
    }
}

/// The length that the images of a hole near the best size scale with, L = v √(λ/z), in mm.
fn natural_mm(camera: &Camera) -> f64 {
    let wave = camera.light.mean_nm() * MM_PER_NM;
    camera.distances.film_mm() * (wave / camera.distances.effective_mm()).sqrt()
}

/// How far from the middle along x (0) or y (1) film at most `most_mm` away sees the wall within reach.
fn reach_mm(camera: &Camera, axis: usize, most_mm: f64) -> f64 {
    let is_seen = |mm: f64| {
        let mut at = [0.0; 2];
        at[axis] = mm;
        let place = camera.film.anywhere(camera.distances.film_mm(), at);
        place.position_mm[2] > 0.0 && place.view()[axis].abs() <= WIDEST_TANGENT
    };
    let (mut low, mut high) = (0.0, most_mm);
    if is_seen(high) {
        return high;
    }
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if is_seen(middle) { low = middle } else { high = middle }
    }
    low
}

fn polygon([x, y]: Point, radius: f64, corners: usize, from_rad: f64) -> Vec<Point> {
    let corner = |i: usize| {
        let (sin, cos) = (from_rad + TAU * i as f64 / corners as f64).sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    (0..corners).map(corner).collect()
}

fn rectangle([x, y]: Point, [width, height]: [f64; 2]) -> Vec<Point> {
    let corner = |[right, up]: [f64; 2]| [x + right * width / 2.0, y + up * height / 2.0];
    [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]].map(corner).to_vec()
}

/// A star of 24 wedges, dark and light in turn.
fn star([x, y]: Point, radius: f64) -> Vec<Vec<Point>> {
    let at = |turn: f64| {
        let (sin, cos) = (TAU * turn).sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    (0..24)
        .map(|i| (f64::from(i) / 24.0, f64::from(i) / 24.0 + 1.0 / 48.0))
        .map(|(from, to)| vec![[x, y], at(from), at(to)])
        .collect()
}

/// Three groups of three lines, upright: as wide as 1, 1/2 and 1/3 of the natural length, within a square.
fn lines([x, y]: Point, side: f64, natural_mm: f64) -> Vec<Vec<Point>> {
    let group = |row: usize| {
        let width = natural_mm / (row + 1) as f64;
        let up = y + side * (1.0 - row as f64) / 3.0;
        (0..3).map(move |i| {
            rectangle([x + (f64::from(i) - 1.0) * 2.0 * width, up], [width, side / 4.0])
        })
    };
    (0..3).flat_map(group).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::{Axis, Film};

    fn box_camera(shape: FilmShape) -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.distances = Distances::distant(60.0).unwrap();
        camera.film = Film { width_mm: 60.0, height_mm: 60.0, shape };
        camera
    }

    /// Similar triangles: on flat film 60 mm from the hole, what is 600 mm away is drawn a tenth as large and
    /// upside down.
    #[test]
    fn the_wall_is_the_film_through_the_hole() {
        let chart = Chart::of(&box_camera(FilmShape::Flat), 600.0).unwrap();
        let [x, y] = chart.on_wall_mm([3.0, -2.0]);
        assert!((x + 30.0).abs() < 1e-9 && (y - 20.0).abs() < 1e-9, "{x} {y}");
    }

    /// The sides of the octagons run at the stated angles, on the wall too where the film is flat.
    #[test]
    fn edges_run_at_the_stated_angles() {
        let chart = Chart::of(&box_camera(FilmShape::Flat), 600.0).unwrap();
        let octagon = chart.outline_on_wall_mm(&chart.shapes()[0].film_mm);
        for (i, from) in octagon.iter().enumerate() {
            let to = octagon[(i + 1) % 8];
            // The normal of a side is its direction turned back by a quarter.
            let along = (to[1] - from[1]).atan2(to[0] - from[0]) - PI / 2.0;
            let off = (along - TURN_RAD).rem_euclid(PI / 4.0);
            assert!(off.min(PI / 4.0 - off) < 1e-9, "{i}: {off}");
            let side = (to[0] - from[0]).hypot(to[1] - from[1]);
            assert!((side / (10.0 * chart.side_mm()) - 1.0).abs() < 1e-9);
        }
    }

    /// No shape touches another, and all are on the film.
    #[test]
    fn shapes_keep_apart() {
        let tube = FilmShape::Cylinder { radius_mm: 40.0, axis: Axis::Vertical };
        for shape in [FilmShape::Flat, tube] {
            let chart = Chart::of(&box_camera(shape), 600.0).unwrap();
            let shapes = chart.shapes();
            let ends = |shape: &Shape| {
                let of = |axis: usize| {
                    let values = shape.film_mm.iter().map(move |p| p[axis]);
                    values.fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)))
                };
                [of(0), of(1)]
            };
            for (i, one) in shapes.iter().enumerate() {
                for other in &shapes[i + 1..] {
                    if one.part == other.part && one.part != Part::Octagon {
                        continue;
                    }
                    let (a, b) = (ends(one), ends(other));
                    let apart = (0..2).any(|axis| a[axis].1 < b[axis].0 || b[axis].1 < a[axis].0);
                    assert!(apart, "{:?} on {:?}", one.part, other.part);
                }
                for point in &one.film_mm {
                    assert!(point.iter().all(|mm| mm.abs() <= 30.0), "{:?} {point:?}", one.part);
                }
            }
        }
    }

    #[test]
    fn steps_lie_on_both_sides_of_the_middle_and_rise() {
        let chart = Chart::of(&box_camera(FilmShape::Flat), 600.0).unwrap();
        for step in 0..8 {
            let [one, other] = chart.step_places_mm(step);
            assert!((0..2).all(|i| (one[i] + other[i]).abs() < 1e-12));
        }
        // `IEC61966` for code 188, by hand: ((188/255 + 0.055)/1.055)^2.4.
        assert!((reflectance(188) - 0.502_886).abs() < 1e-5, "{}", reflectance(188));
        assert!(STEP_CODES.windows(2).all(|two| two[0] < two[1]));
    }

    #[test]
    fn what_no_chart_fits_is_refused() {
        let mut camera = box_camera(FilmShape::Flat);
        for distance in [0.0, -5.0, f64::NAN, f64::INFINITY] {
            assert!(Chart::of(&camera, distance).is_err(), "{distance}");
        }
        camera.film.width_mm = 8.0;
        assert!(Chart::of(&camera, 600.0).unwrap_err().to_string().contains("too small"));
    }
}
