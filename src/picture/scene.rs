//! The scenes that are drawn here, at the film's size.

use super::fitted::within_limits;
use super::lines::Lines;
use super::{chart, landscape};
use crate::error::Error;
use crate::raster::Raster;

/// Describes a scene that comes with the library.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scene {
    /// A grey test plate: line groups, slanted edge, spokes, letters and grey steps.
    Chart,
    /// A farmhouse at dusk with bare trees, a fence and water, full of fine structure.
    Landscape,
}

impl Scene {
    /// Draws the scene on a film of `columns` by `rows` pixels, upright, three channels of linear light
    /// in 0..1; the same light every time.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a film of no pixels, longer than 16 384 pixels, or of more than a
    /// hundred million.
    pub fn drawn(self, columns: usize, rows: usize) -> Result<Raster, Error> {
        within_limits(columns, rows)?;
        match self {
            Scene::Chart => chart::drawn(columns, rows),
            Scene::Landscape => landscape::drawn(columns, rows),
        }
    }

    /// The same to be read line by line: a large one takes half as much memory.
    pub(super) fn lines(self, columns: usize, rows: usize) -> Result<Box<dyn Lines>, Error> {
        within_limits(columns, rows)?;
        Ok(match self {
            Scene::Landscape if columns.max(rows) > landscape::LARGER_BELOW => {
                Box::new(landscape::painted(columns, rows)?)
            }
            _ => Box::new(self.drawn(columns, rows)?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_size_is_refused() {
        for (wide, high) in
            [(0, 1), (1, 0), (16_385, 1), (16_384, 16_384), (usize::MAX, usize::MAX)]
        {
            assert!(Scene::Chart.drawn(wide, high).is_err(), "{wide} x {high}");
        }
    }

    #[test]
    fn scenes_are_light_of_any_shape_and_the_same_every_time() {
        for scene in [Scene::Chart, Scene::Landscape] {
            for (columns, rows) in [(1, 1), (150, 100), (70, 70), (1, 5000), (16_384, 1)] {
                let drawn = scene.drawn(columns, rows).unwrap();
                assert_eq!(drawn.linear.dim(), (3, rows, columns));
                assert!(drawn.linear.iter().all(|light| (0.0..=1.0).contains(light)));
                assert_eq!(drawn, scene.drawn(columns, rows).unwrap());
            }
        }
    }
}
