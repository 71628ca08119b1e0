//! What the thickness of the metal leaves of a hole for rays aslant.

use super::Bench;
use crate::camera::{Camera, Film, Shape, opening};
use crate::diagram::{Columns, Diagram, Drawing, Line, Panel, Shows};
use crate::error::Error;
use crate::geometry::Outline;
use crate::quantity::Quantity;

/// Angles at which the opening is drawn, in degrees.
const ANGLES: [f64; 4] = [0.0, 20.0, 40.0, 60.0];
/// Metal that is drawn where the camera's has no thickness, against the hole's width.
const USUAL: f64 = 0.25;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let hole = bench.hole.centred();
    let width = hole.equivalent_diameter_mm();
    let plate_mm = if bench.camera.plate_mm > 0.0 { bench.camera.plate_mm } else { USUAL * width };
    let (thin, thick) = (behind(&bench.camera, plate_mm), behind(&bench.camera, 4.0 * plate_mm));
    let (low, high) = hole.bounds_mm();
    let span = 1.3 * (high[0] - low[0]).max(high[1] - low[1]);
    let mut panels = Vec::new();
    for camera in [&thin, &thick] {
        for angle in ANGLES {
            panels.push(seen(camera, &hole, angle, span)?);
        }
    }
    let length = |mm| Quantity::Length.write(mm);
    let closes = (width / (4.0 * plate_mm)).atan().to_degrees();
    Ok(Diagram {
        title: "Thick metal clips oblique light".into(),
        caption: format!(
            "A hole {} wide as oblique light meets it: foreshortened (dashed), and clipped by the \
             far rim of the metal. Metal of {} does little at {} degrees; metal of {} closes at \
             about {closes:.0} degrees, and the corners of the picture stay dark. The overlap of \
             both rims, computed exactly.",
            length(width),
            length(plate_mm),
            ANGLES[1],
            length(4.0 * plate_mm),
        ),
        alternative: format!(
            "The opening of a hole seen at 0, 20, 40 and 60 degrees through thin and through thick metal; \
             the thick metal closes it at {closes:.0} degrees."
        ),
        columns: Columns::Fixed(4),
        panels,
    })
}

/// The camera with metal of this thickness and flat film as wide as the angles ask for.
fn behind(camera: &Camera, plate_mm: f64) -> Camera {
    let side = 2.01 * camera.distances.film_mm() * ANGLES[3].to_radians().tan();
    let film = Film { width_mm: side, height_mm: side, shape: Shape::Flat };
    Camera { plate_mm, film, ..camera.clone() }
}

/// What is left open of a hole at an angle, in the plane of the metal.
fn left_open(camera: &Camera, hole: &Outline, angle: f64) -> Result<Option<Outline>, Error> {
    let x = camera.distances.film_mm() * angle.to_radians().tan();
    Ok(opening(camera, hole, &camera.place([x, 0.0])?))
}

fn share(open: Option<&Outline>, hole: &Outline) -> f64 {
    open.map_or(0.0, |open| open.area_mm2() / hole.area_mm2())
}

fn seen(camera: &Camera, hole: &Outline, angle: f64, span: f64) -> Result<Panel, Error> {
    let x = camera.distances.film_mm() * angle.to_radians().tan();
    let to_ray = camera.place([x, 0.0])?.plate_to_ray();
    let open = left_open(camera, hole, angle)?;
    let left = 100.0 * share(open.as_ref(), hole);
    let thickness = Quantity::Length.write(camera.plate_mm);
    Ok(Panel {
        title: format!("{thickness}, {angle:.0}°: {left:.0} %"),
        shows: Shows::Drawing(Drawing {
            span_mm: [span, span],
            openings: open.into_iter().map(|open| open.through(to_ray)).collect(),
            rims: vec![(hole.through(to_ray), Line::Second)],
            strokes: Vec::new(),
            magnified: None,
        }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    /// The overlap of two circles: (2/π)(arccos q - q √(1 - q²)), q = t tan θ/d (elementary geometry).
    #[test]
    fn a_disc_leaves_its_lens_open() {
        let (d, hole) = (0.36, shapes::disc(0.36).unwrap());
        for plate_mm in [0.05, 0.2] {
            let camera = behind(&Camera::demonstration().unwrap(), plate_mm);
            for angle in [0.0f64, 11.0, 33.0, 55.0, 60.0] {
                let q = (plate_mm * angle.to_radians().tan() / d).min(1.0);
                let lens = (q.acos() - q * (1.0 - q * q).sqrt()) * 2.0 / std::f64::consts::PI;
                let left = share(left_open(&camera, &hole, angle).unwrap().as_ref(), &hole);
                // The disc is a polygon of its own area: its rim is off by 1e-4 at most.
                assert!((left - lens).abs() < 5e-4, "{angle}: {left} {lens}");
            }
        }
    }
}
