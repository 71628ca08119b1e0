//! A scene put before the camera, and its perfect image on the film.
//!
//! The scene is a picture on a backdrop: flat, as a wall square to the axis, or round, as a wide
//! distant landscape is, bent about the hole so that equal angles are equal widths. Along the bend of
//! the film each column looks in one direction; within a column the picture is only drawn larger or
//! smaller. So the image is exact coverage (`coverage`) twice, along the rows and then down each column, a few
//! columns at a time.

use super::coverage::{ABOUT, Edge, Line, Window, mirrored};
use super::lines::{Light, Lines, Turned};
use super::scene::Scene;
use crate::camera::{Axis, Camera, Shape};
use crate::error::Error;
use crate::raster::Raster;
use ndarray::parallel::prelude::*;
use ndarray::{Array3, ArrayViewMut2, ArrayViewMut3, Axis as Dimension};
use rayon::prelude::*;

/// Tells how the scene lies before the camera.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Backdrop {
    /// A wall square to the axis.
    Flat,
    /// A tube about the hole that bends as the film does; about an upright axis where the film is flat.
    Round,
}

/// From this half-angle of view on, in rad (50 degrees), a wall would have to be so long that little of
/// it could be made out: the backdrop is round.
const WIDE_RAD: f64 = 50.0 * std::f64::consts::PI / 180.0;
/// Sharpest and largest scene that is drawn: pixels along a side, and in all.
const MOST_ALONG: f64 = 12_000.0;
const MOST_PIXELS: f64 = 40e6;
/// How much farther up and down than in the middle the backdrop reaches at most, for films that see
/// much at their ends. Beyond, it is its own mirror image.
const TALLEST: f64 = 2.0;
/// Columns of the film that are laid together: a line of the cache each in the picture, and few enough for
/// what they see of a scene to stay in the fast caches.
const COLUMNS_TOGETHER: usize = 16;

/// Describes the film of a camera in pixels, and what each of them sees of a backdrop.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    columns: usize,
    rows: usize,
    backdrop: Backdrop,
    /// Whether the bend runs down the columns: then rows and columns change their parts.
    turned: bool,
    /// Nothing is bent: the scene is the image.
    plain: bool,
    /// The scene's coordinate at each edge between pixels along the bend, rising, in units of the distance.
    edges: Vec<f64>,
    /// The scene's height to a mm on the film, at each of them.
    rise_per_mm: Vec<f64>,
    pixel_mm: f64,
    /// Half the scene's extent along the bend and across it, and the side of a pixel of it.
    half: [f64; 2],
    scene_pixel: f64,
}

impl View {
    /// Returns the view of a camera whose film is `columns` by `rows` pixels; a flat backdrop up to 50
    /// degrees to each side where none is chosen, a round one beyond.
    ///
    /// # Errors
    /// As [`crate::camera::Film::place`].
    pub fn of(
        camera: &Camera,
        backdrop: Option<Backdrop>,
        columns: usize,
        rows: usize,
    ) -> Result<View, Error> {
        let film = camera.film;
        let turned = matches!(film.shape, Shape::Cylinder { axis: Axis::Horizontal, .. });
        let (long, length_mm, height_mm) = if turned {
            (rows, film.height_mm, film.width_mm)
        } else {
            (columns, film.width_mm, film.height_mm)
        };
        let pixel_mm = length_mm / long as f64;
        let place = |s: f64| camera.place(if turned { [0.0, s] } else { [s, 0.0] });
        let widest = place(length_mm / 2.0)?.hole_angle_rad();
        let backdrop =
            backdrop.unwrap_or(if widest <= WIDE_RAD { Backdrop::Flat } else { Backdrop::Round });
        // Where a place along the bend looks, and how steeply the scene rises there. The picture is
        // upright, so that it runs against the film.
        let looks = |s: f64| -> Result<(f64, f64), Error> {
            let [x, y, z] = place(s)?.position_mm;
            let aside = if turned { y } else { x };
            Ok(match backdrop {
                Backdrop::Flat => (aside / z, 1.0 / z),
                Backdrop::Round => (aside.atan2(z), 1.0 / aside.hypot(z)),
            })
        };
        let edges = (0..=long)
            .map(|i| looks((i as f64 / long as f64 - 0.5) * length_mm))
            .collect::<Result<Vec<_>, _>>()?;
        let pairs = || edges.windows(2).map(|two| (two[0], two[1]));
        let rise_per_mm: Vec<f64> = pairs().map(|(a, b)| (a.1 + b.1) / 2.0).collect();
        let in_the_middle = 1.0 / camera.distances.film_mm();
        let steepest = rise_per_mm.iter().copied().fold(in_the_middle, f64::max);
        let half = [edges[long].0, height_mm / 2.0 * steepest.min(TALLEST * in_the_middle)];
        let gentlest = rise_per_mm.iter().copied().fold(in_the_middle, f64::min);
        let finest = pairs().map(|(a, b)| b.0 - a.0).fold(pixel_mm * gentlest, f64::min);
        let scene_pixel = finest
            .max(2.0 * half[0].max(half[1]) / MOST_ALONG)
            .max((4.0 * half[0] * half[1] / MOST_PIXELS).sqrt());
        let plain = film.shape == Shape::Flat && backdrop == Backdrop::Flat;
        Ok(View {
            columns,
            rows,
            backdrop,
            turned,
            plain,
            edges: edges.into_iter().map(|edge| edge.0).collect(),
            rise_per_mm,
            pixel_mm,
            half,
            scene_pixel,
        })
    }

    /// Returns how the scene lies.
    pub fn backdrop(&self) -> Backdrop {
        self.backdrop
    }

    /// Returns the columns and rows of a scene that fills the view, as sharp as the film's finest place asks
    /// for.
    pub fn scene_pixels(&self) -> (usize, usize) {
        if self.plain {
            return (self.columns, self.rows);
        }
        let [along, across] =
            self.half.map(|half| ((2.0 * half / self.scene_pixel).ceil() as usize).max(1));
        if self.turned { (across, along) } else { (along, across) }
    }

    /// Returns the perfect image of a scene of this library, drawn so that it fills the view.
    ///
    /// # Errors
    /// As [`Scene::drawn`].
    pub fn image_of(&self, scene: Scene) -> Result<Raster, Error> {
        let (columns, rows) = self.scene_pixels();
        if self.plain {
            scene.drawn(columns, rows)
        } else {
            self.laid(&*scene.lines(columns, rows)?)
        }
    }

    /// Returns the perfect image of a scene, upright, on the sheet laid flat, in three channels. A scene of
    /// [`View::scene_pixels`] fills the view; any other is cropped about its centre to the view's shape.
    /// Each pixel sees the mean of what falls on it.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when the scene has no pixels.
    pub fn image(&self, scene: &Raster) -> Result<Raster, Error> {
        let fits = (scene.columns(), scene.rows()) == (self.columns, self.rows);
        if self.plain && fits && scene.linear.dim().0 == 3 {
            return Ok(scene.clone());
        }
        self.laid(scene)
    }

    fn laid(&self, scene: &dyn Lines) -> Result<Raster, Error> {
        if scene.size().contains(&0) {
            return Err(Error::limit("the scene has no pixels", "give it at least one each way"));
        }
        let mut linear = Array3::zeros((3, self.rows, self.columns));
        let mut image = linear.view_mut();
        if self.turned {
            image.swap_axes(1, 2);
            self.lay(&Turned(scene), image);
        } else {
            self.lay(scene, image);
        }
        Ok(Raster { linear })
    }

    /// Lays the scene on the film, the bend along the rows of both.
    fn lay(&self, scene: &dyn Lines, mut image: ArrayViewMut3<f32>) {
        let [channels, high, wide] = scene.size();
        // Samples of the scene to a unit of its coordinates: the side that runs out first decides.
        let unit = (wide as f64 / (2.0 * self.half[0])).min(high as f64 / (2.0 * self.half[1]));
        let windows: Vec<Window> = self
            .edges
            .windows(2)
            .map(|two| {
                let [low, high] = [0, 1].map(|i| Edge::at(wide as f64 / 2.0 + two[i] * unit));
                Window::between(&low, &high, (two[1] - two[0]) * unit)
            })
            .collect();
        let across = image.len_of(Dimension(1));
        let columns = image.axis_chunks_iter_mut(Dimension(2), COLUMNS_TOGETHER).into_par_iter();
        let columns = columns
            .zip(windows.par_chunks(COLUMNS_TOGETHER))
            .zip(self.rise_per_mm.par_chunks(COLUMNS_TOGETHER));
        columns.for_each(|((mut image, windows), rises)| {
            let step = |rise: f64| rise * self.pixel_mm * unit;
            // What lies above and below all that these columns see is not read.
            let seen = across as f64 / 2.0 * step(rises.iter().copied().fold(0.0, f64::max));
            let unseen = (high / 2).saturating_sub(seen as usize + ABOUT);
            let long = high - 2 * unseen;
            let narrowed = narrowed(scene, windows, unseen);
            for (i, (column, rise)) in image.axis_iter_mut(Dimension(2)).zip(rises).enumerate() {
                let lines = narrowed.each_ref().map(|columns| Line(&columns[i * long..][..long]));
                shrunk(lines, step(*rise), column);
            }
            // The last channel there is stands for those that are not.
            for channel in channels..3 {
                let (seen, mut others) = image.view_mut().split_at(Dimension(0), channel);
                let last = seen.index_axis(Dimension(0), channel - 1);
                others.index_axis_mut(Dimension(0), 0).assign(&last);
            }
        });
    }
}

/// Each channel of a scene as some columns of film see its rows but for the `unseen` at both ends: column by column.
/// What it has no channel for is dark.
fn narrowed(scene: &dyn Lines, windows: &[Window], unseen: usize) -> [Vec<f32>; 3] {
    let [_, rows, wide] = scene.size();
    let high = rows - 2 * unseen;
    let first = windows.iter().map(|window| window.first).min().unwrap_or(0);
    let behind = windows.iter().map(Window::behind).max().unwrap_or(first);
    let mut line = vec![Light::default(); (behind - first) as usize];
    let inside = usize::try_from(first).ok().filter(|first| first + line.len() <= wide);
    let mut columns = std::array::from_fn(|_| vec![0.0; windows.len() * high]);
    for row in 0..high {
        if let Some(first) = inside {
            scene.read(unseen + row, first, &mut line);
        } else {
            for (light, sample) in line.chunks_exact_mut(1).zip(first..) {
                scene.read(unseen + row, mirrored(sample, wide), light);
            }
        }
        for (i, window) in windows.iter().enumerate() {
            let light = window.mean(&line[(window.first - first) as usize..]);
            for (column, light) in columns.iter_mut().zip(light) {
                column[i * high + row] = light.max(0.0);
            }
        }
    }
    columns
}

/// Lays lines on a column of as many channels, about the middle of both, a pixel to so many samples.
fn shrunk(lines: [Line; 3], step: f64, mut column: ArrayViewMut2<f32>) {
    let across = column.len_of(Dimension(1));
    let edge = |row: usize| {
        let steps = row as f64 - across as f64 / 2.0;
        Edge::at(lines[0].0.len() as f64 / 2.0 + steps * step)
    };
    let mut before = edge(0);
    let mut beyond = lines.map(|line| line.beyond(&before));
    for row in 0..across {
        let here = edge(row + 1);
        for ((channel, line), beyond) in lines.iter().enumerate().zip(&mut beyond) {
            let next = line.beyond(&here);
            let sum = line.whole(&before, &here) + next - *beyond;
            column[[channel, row]] = (sum / step).max(0.0) as f32;
            *beyond = next;
        }
        before = here;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Film;
    use std::f64::consts::PI;

    fn camera(shape: Shape, width_mm: f64, height_mm: f64) -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.distances = crate::wave::Distances::distant(100.0).unwrap();
        camera.film = Film { width_mm, height_mm, shape };
        camera
    }

    const TUBE: Shape = Shape::Cylinder { radius_mm: 50.0, axis: Axis::Vertical };

    /// A scene whose light is its own coordinate along one of the directions.
    fn ramp(view: &View, across: bool) -> Raster {
        let (columns, rows) = view.scene_pixels();
        Raster {
            linear: Array3::from_shape_fn((1, rows, columns), |(_, row, column)| {
                let [along, up] = [column as f64 + 0.5, row as f64 + 0.5];
                let of = |place: f64, samples: usize, half: f64| {
                    ((2.0 * place / samples as f64 - 1.0) * half) as f32
                };
                if across { of(up, rows, view.half[1]) } else { of(along, columns, view.half[0]) }
            }),
        }
    }

    /// Hole in the wall: the arc is v θ. A wall is seen at tan θ, a round backdrop at θ; upright, a mm on
    /// the film is 1/z = 1/(v cos² θ) of the wall, 1/(v cos θ) of the round one.
    #[test]
    fn a_tube_lays_the_scene_by_its_angles() {
        for backdrop in [Backdrop::Flat, Backdrop::Round] {
            // 57 degrees to each side: 200 mm of arc.
            let camera = camera(TUBE, 200.0, 20.0);
            let view = View::of(&camera, Some(backdrop), 400, 40).unwrap();
            let along = view.image(&ramp(&view, false)).unwrap();
            let up = view.image(&ramp(&view, true)).unwrap();
            for (row, column) in [(20, 5), (3, 200), (35, 320), (10, 390)] {
                let theta: f64 = ((column as f64 + 0.5) / 400.0 - 0.5) * 2.0;
                let y = (row as f64 + 0.5 - 20.0) * 0.5;
                let (seen, rise): (f64, f64) = match backdrop {
                    Backdrop::Flat => (theta.tan(), y / (100.0 * theta.cos().powi(2))),
                    Backdrop::Round => (theta, y / (100.0 * theta.cos())),
                };
                // A window that cuts samples takes them for even: an eighth of one at the most, when it is
                // as wide as one. The bend within a pixel is below 2 tan θ sec² θ (0.01 rad)²/8.
                let bend = view.scene_pixel / 8.0 + 2e-4;
                // No light is below zero, and so the ramp shows in the half where it is above.
                let off = f64::from(along.linear[[0, row, column]]) - seen.max(0.0);
                assert!(off.abs() < bend, "{backdrop:?} {row} {column}: {off:e} {bend:e}");
                let inside = rise.abs() < view.half[1] - 0.01;
                let found = f64::from(up.linear[[0, row, column]]);
                assert!(
                    !inside || (found - rise.max(0.0)).abs() < bend,
                    "{row} {column}: {found} {rise}"
                );
            }
        }
    }

    #[test]
    fn a_lying_tube_is_a_standing_one_turned() {
        let standing = camera(TUBE, 160.0, 30.0);
        let lying_tube = Shape::Cylinder { radius_mm: 50.0, axis: Axis::Horizontal };
        let lying = camera(lying_tube, 30.0, 160.0);
        let a = View::of(&standing, None, 320, 60).unwrap();
        let b = View::of(&lying, None, 60, 320).unwrap();
        let (columns, rows) = a.scene_pixels();
        assert_eq!(b.scene_pixels(), (rows, columns));
        let scene =
            Array3::from_shape_fn((1, rows, columns), |(_, r, c)| ((r * 7 + c * 3) % 11) as f32);
        let turned = scene.view().permuted_axes([0, 2, 1]).as_standard_layout().into_owned();
        let one = a.image(&Raster { linear: scene }).unwrap();
        let other = b.image(&Raster { linear: turned }).unwrap();
        assert_eq!(one.linear, other.linear.permuted_axes([0, 2, 1]));
    }

    #[test]
    fn flat_film_sees_a_flat_scene_as_it_is() {
        let view = View::of(&camera(Shape::Flat, 120.0, 80.0), None, 60, 40).unwrap();
        assert_eq!((view.backdrop(), view.scene_pixels()), (Backdrop::Flat, (60, 40)));
        let wide = camera(TUBE, 50.0 * PI * 1.8, 40.0);
        let view = View::of(&wide, None, 900, 130).unwrap();
        assert_eq!(view.backdrop(), Backdrop::Round);
        // A scene of one brightness stays one, mirror and all.
        let (columns, rows) = view.scene_pixels();
        let image = view.image(&Raster { linear: Array3::from_elem((3, rows, columns), 0.3) });
        assert!(image.unwrap().linear.iter().all(|light| (light - 0.3).abs() < 1e-6));
        assert!(view.image(&Raster { linear: Array3::zeros((1, 0, 2)) }).is_err());
    }
}
