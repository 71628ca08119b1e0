//! The steps of a long piece of work, as a person hears of them while they wait.

use crate::watch::Step;

/// Says what is being done.
pub fn sentence(step: Step) -> &'static str {
    match step {
        Step::Scene => "drawing the scene",
        Step::Hole => "measuring the hole",
        Step::Verdict => "finding the best size, and what this hole loses",
        Step::PointImage => "computing the image of a point",
        Step::PointImages => "computing the image of a point at places over the film",
        Step::Picture => "forming the picture through the hole",
        Step::Holes => "judging the holes",
        Step::FilmMap => "mapping the film",
        Step::Chart => "measuring the picture, and what the hole allows",
        Step::Figure => "drawing the figure",
        Step::Files => "drawing and writing the files",
    }
}
