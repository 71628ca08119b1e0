//! The plate of a question: what in a photo may be the hole, numbered.

use super::sheet::{Opening, Sheet, sheet};
use crate::error::{Candidate, Error};
use crate::raster::Raster;
use std::f64::consts::TAU;

/// Corners of the ring around a candidate.
const CORNERS: u32 = 64;
/// The least radius of a ring, in pixels of the photo.
const LEAST_RADIUS: f64 = 3.0;

/// Draws the whole photo with a numbered ring around each candidate, and beneath it where each lies and how
/// wide it is, as the bytes of a PNG file.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a photo without pixels, or a candidate that is nowhere.
pub fn candidates(photo: &Raster, candidates: &[Candidate]) -> Result<Vec<u8>, Error> {
    if candidates.iter().any(|c| !(c.diameter_px.is_finite() && c.diameter_px > 0.0)) {
        return Err(Error::limit("a candidate has no size", "give it a diameter in pixels"));
    }
    let rings: Vec<Vec<Vec<[f64; 2]>>> = candidates.iter().map(ring).collect();
    let labels: Vec<String> = candidates
        .iter()
        .map(|c| {
            let [x, y] = c.place_px;
            format!("at {x:.0},{y:.0} px, {:.0} px wide", c.diameter_px)
        })
        .collect();
    let openings: Vec<Opening<'_>> = candidates
        .iter()
        .zip(rings.iter().zip(&labels))
        .map(|(c, (loops_px, label))| Opening { loops_px, place_px: c.place_px, label })
        .collect();
    sheet(&Sheet {
        photo,
        openings: &openings,
        mm_per_px: None,
        title: "Which of these is the hole?",
        caption: "Nothing was measured. Say which one is meant by its place: column and row in pixels \
                  from the upper left corner.",
    })
}

fn ring(candidate: &Candidate) -> Vec<Vec<[f64; 2]>> {
    let radius = (candidate.diameter_px / 2.0).max(LEAST_RADIUS);
    let [x, y] = candidate.place_px;
    let angles = (0..CORNERS).map(|k| TAU * f64::from(k) / f64::from(CORNERS));
    vec![angles.map(|a| [x + radius * a.cos(), y + radius * a.sin()]).collect()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn candidates_are_drawn_or_refused() {
        let photo = Raster { linear: ndarray::Array3::from_elem((1, 60, 80), 0.5) };
        let at = |x: f64, diameter_px: f64| Candidate { place_px: [x, 30.0], diameter_px };
        let png = candidates(&photo, &[at(20.0, 9.0), at(60.0, 1.0)]).unwrap();
        assert!(png.starts_with(b"\x89PNG"));
        for bad in [at(f64::NAN, 9.0), at(3.0, f64::INFINITY), at(3.0, 0.0)] {
            assert!(candidates(&photo, &[bad]).is_err());
        }
    }
}
