//! A map over the film: what a hole does at each of its places.

use super::acutance_at;
use crate::camera::{Camera, exposure};
use crate::error::Error;
use crate::geometry::Outline;
use crate::watch::{Step, Watch};
use ndarray::Array2;
use rayon::prelude::*;

/// Places along the film's longer side: between them everything is smooth.
const ALONG: usize = 21;

/// Values at places spread evenly over the film, from border to border: rows from the top of the sheet,
/// columns from its left. Not a number where no light comes.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmMap {
    /// Acutance: the share of the eye's weight (`IEEE1858`) that passes, 1 for a perfect image.
    pub sharpness: Array2<f64>,
    /// Light against the middle of the film, in stops.
    pub stops: Array2<f64>,
    /// From the hole, in mm.
    pub distance_mm: Array2<f64>,
}

/// Maps the film of a camera.
///
/// # Errors
/// As [`crate::camera::Film::place`]; a stop by the watcher.
pub fn run(camera: &Camera, outline: &Outline, watch: Watch) -> Result<FilmMap, Error> {
    watch.begins(Step::FilmMap)?;
    let (width, height) = (camera.film.width_mm, camera.film.height_mm);
    let count = |side: f64| {
        let along = side / width.max(height) * (ALONG - 1) as f64;
        // Odd, so that the middle is one of them.
        2 * ((along / 2.0).round() as usize).max(1) + 1
    };
    let (across, down) = (count(width), count(height));
    let places = (0..across * down)
        .into_par_iter()
        .map(|i| {
            watch.is_at(Step::FilmMap, i as f64 / (across * down) as f64)?;
            let share = |i: usize, count: usize| i as f64 / (count - 1) as f64 - 0.5;
            let at = [share(i % across, across) * width, -share(i / across, down) * height];
            let light = exposure::irradiance(camera, outline, at)?;
            let sharpness = acutance_at(camera, outline, at)?;
            Ok([sharpness, light.log2(), camera.place(at)?.distance_mm()])
        })
        .collect::<Result<Vec<[f64; 3]>, Error>>()?;
    let map = |which: usize| {
        Array2::from_shape_fn((down, across), |(row, column)| {
            let value = places[row * across + column][which];
            if value.is_finite() { value } else { f64::NAN }
        })
    };
    Ok(FilmMap { sharpness: map(0), stops: map(1), distance_mm: map(2) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    #[test]
    fn the_middle_is_the_middle_and_the_dark_is_dark() {
        let mut camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.36).unwrap();
        let map = run(&camera, &hole, Watch::nobody()).unwrap();
        let (rows, columns) = map.stops.dim();
        let middle = [rows / 2, columns / 2];
        assert!(map.stops[middle].abs() < 1e-9);
        assert!((map.distance_mm[middle] - camera.distances.film_mm()).abs() < 1e-9);
        // A round hole on flat film: all four corners alike.
        assert!((map.sharpness[[0, 0]] - map.sharpness[[rows - 1, columns - 1]]).abs() < 1e-6);
        assert!(map.sharpness[middle] > map.sharpness[[0, 0]]);
        camera.plate_mm = 0.6;
        assert!(run(&camera, &hole, Watch::nobody()).unwrap().stops[[0, 0]].is_nan());
    }
}
