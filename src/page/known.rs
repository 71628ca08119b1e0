//! Results that many requests share, kept to be quick: the scene, and what is best in a camera. They depend
//! on what they are asked for and on nothing else, so that keeping them is no state.

use crate::camera::Camera;
use crate::error::Error;
use crate::picture::Scene;
use crate::raster::Raster;
use crate::verdict::target::Target;
use ndarray::{Axis, Slice};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Cameras whose best is kept.
const KEPT: usize = 12;
/// The scene is drawn so wide and so high, in pixels; a part of it is shown.
const DRAWN: [usize; 2] = [1600, 1280];
/// The part that is shown, in pixels: 5 to 4, with a border whose light falls into it.
pub(super) const PART: [usize; 2] = [224, 180];
pub(super) const BORDER: usize = 24;
/// Its upper left corner: the farmhouse and what is about it.
const CORNER: [usize; 2] = [976, 580];

/// What one hole does.
#[derive(Clone)]
pub(super) struct Seen {
    /// From the lowest row up, energy fraction per mm².
    pub(super) psf: Vec<f32>,
    /// The mean of the curves along and across.
    pub(super) mtf: Vec<f64>,
    /// Red, green and blue of the part of the picture, row by row.
    pub(super) picture: Vec<u8>,
}

/// What is best in a camera.
pub(super) struct Best {
    pub(super) target: Target,
    pub(super) seen: Seen,
}

/// What was asked for lately.
#[derive(Default)]
pub(super) struct Known {
    best: Mutex<Vec<(String, Arc<Best>)>>,
    scene: OnceLock<Option<Raster>>,
}

impl Known {
    /// What is best in a camera, at a place on its film: computed where it is not known.
    pub(super) fn best(
        &self,
        camera: &Camera,
        place_mm: f64,
        compute: impl FnOnce() -> Result<Best, Error>,
    ) -> Result<Arc<Best>, Error> {
        let key = format!("{camera:?} {place_mm}");
        if let Some(best) = self.kept(&key) {
            return Ok(best);
        }
        let best = Arc::new(compute()?);
        let mut kept = self.best.lock().unwrap_or_else(PoisonError::into_inner);
        kept.truncate(KEPT - 1);
        kept.insert(0, (key, Arc::clone(&best)));
        Ok(best)
    }

    fn kept(&self, key: &str) -> Option<Arc<Best>> {
        let mut kept = self.best.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|best| best.0 == key)?;
        let found = kept.remove(at);
        kept.insert(0, found);
        kept.first().map(|best| Arc::clone(&best.1))
    }

    /// The part of the scene that is shown, with its border, in linear light.
    pub(super) fn scene(&self) -> Result<&Raster, Error> {
        let drawn = self.scene.get_or_init(|| {
            let all = Scene::Landscape.drawn(DRAWN[0], DRAWN[1]).ok()?;
            let cut = |axis: usize| {
                let from = CORNER[axis] - BORDER;
                Slice::from(from..from + PART[axis] + 2 * BORDER)
            };
            let rows = all.linear.slice_axis(Axis(1), cut(1));
            Some(Raster {
                linear: rows.slice_axis(Axis(2), cut(0)).as_standard_layout().into_owned(),
            })
        });
        drawn
            .as_ref()
            .ok_or_else(|| Error::limit("the scene cannot be drawn", "start the program again"))
    }
}

/// The whole scene, of which a part is shown, in pixels.
pub(super) fn scene_px() -> [usize; 2] {
    DRAWN
}
