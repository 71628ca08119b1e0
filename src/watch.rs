//! Who watches a long piece of work, hears how far it is, and may stop it.

use crate::error::Error;
use serde::Serialize;
use std::fmt;
use std::ops::ControlFlow;

/// A step of the work. Each face words it in its own way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// The scene is drawn or read.
    Scene,
    /// The hole is measured.
    Hole,
    /// The best size for the camera is searched, and what this hole loses.
    Verdict,
    /// The image of a point in the middle of the film is computed.
    PointImage,
    /// The image of a point is computed at places over the film.
    PointImages,
    /// The picture through the hole is formed.
    Picture,
    /// The holes of a sheet are measured, or several holes judged.
    Holes,
    /// A map over the film is computed.
    FilmMap,
    /// A picture of the chart, or of one edge, is measured and held against what the hole allows.
    Chart,
    /// A teaching figure is drawn.
    Figure,
    /// The files are drawn and written.
    Files,
}

/// Who watches. It is called when a step begins, and from then on with the share of it that is done, from
/// several threads at once; it stops the work by [`ControlFlow::Break`].
#[derive(Clone, Copy)]
pub struct Watch<'a>(&'a (dyn Fn(Step, f64) -> ControlFlow<()> + Sync));

impl fmt::Debug for Watch<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("Watch")
    }
}

impl<'a> Watch<'a> {
    /// A watcher that hears of each step with the share of it that is done, 0..1.
    pub fn new(tell: &'a (dyn Fn(Step, f64) -> ControlFlow<()> + Sync)) -> Watch<'a> {
        Watch(tell)
    }

    /// Nobody watches.
    pub fn nobody() -> Watch<'static> {
        Watch(&|_, _| ControlFlow::Continue(()))
    }

    /// Tells that a step begins.
    ///
    /// # Errors
    /// [`Error::stopped`] when the watcher stops the work.
    pub fn begins(&self, step: Step) -> Result<(), Error> {
        self.is_at(step, 0.0)
    }

    /// Tells the share of a step that is done, 0..1, and asks whether to go on. Loops that take longer than a
    /// tenth of a second ask.
    ///
    /// # Errors
    /// [`Error::stopped`] when the watcher stops the work.
    pub fn is_at(&self, step: Step, done: f64) -> Result<(), Error> {
        match (self.0)(step, done) {
            ControlFlow::Continue(()) => Ok(()),
            ControlFlow::Break(()) => Err(Error::stopped()),
        }
    }
}
