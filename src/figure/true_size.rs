//! Holes that touch each other along a rule, at their true size on paper: what "so many to a millimetre" looks like.

use super::Bench;
use crate::diagram::{Columns, Diagram, Drawing, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::quantity::{Quantity, significant};
use crate::verdict::target::target;

/// How long the rules are, in mm: at their true size, and enlarged ten times. Both fit the width of a phone's print.
const TRUE_MM: f64 = 80.0;
const ENLARGED_MM: f64 = 8.0;
const TIMES: f64 = 10.0;
/// Corners of a hole at its true size: nobody sees more.
const CORNERS: usize = 24;
/// From one rule to the next, in diameters of the largest hole, and the length of the lines.
const APART: f64 = 2.6;
const LINE: f64 = 0.55;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let target = target(&bench.camera);
    let band = target.good_enough();
    let sizes = [band.low_mm, target.diameter_mm, band.high_mm];
    let length = |mm: f64| Quantity::Length.write(mm);
    let told: Vec<String> = sizes
        .iter()
        .map(|mm| format!("{} ({} to a mm)", length(*mm), significant(1.0 / mm, 2)))
        .collect();
    let [smallest, best, largest] = &told[..] else {
        return Err(Error::limit("the camera has no range of good sizes", "name another camera"));
    };
    let panel = |title: &str, long_mm: f64, times: f64| -> Result<Panel, Error> {
        Ok(Panel { title: title.into(), shows: Shows::Drawing(rules(&sizes, long_mm, times)?) })
    };
    Ok(Diagram {
        title: format!("Touching holes of {}", bench.camera.name),
        caption: format!(
            "From the top: the smallest hole that is good enough, {smallest}; the best, {best}; the largest, {largest}. From \
             one line to the next is a millimetre. Print at 100 % (160 mm wide on a page, 90 mm on a phone's), lay the \
             metal on the lower rules, and look at both through one loupe: yours is right when it is as large as those in the \
             row of the best. Never look at the Sun.",
        ),
        alternative: format!(
            "Three rows of touching holes along rules with a line each millimetre, ten times enlarged and at true size: \
             {smallest}, {best} and {largest}."
        ),
        columns: Columns::Fixed(1),
        panels: vec![
            panel("As through a loupe of ten times", ENLARGED_MM, TIMES)?,
            panel("True size when printed", TRUE_MM, 1.0)?,
        ],
    })
}

/// A rule for each size, from the top, with its row of holes.
fn rules(sizes_mm: &[f64; 3], long_mm: f64, times: f64) -> Result<Drawing, Error> {
    let apart = APART * sizes_mm[2];
    let (mut openings, mut strokes) = (Vec::new(), Vec::new());
    for (row, diameter) in sizes_mm.iter().enumerate() {
        let y = apart * (1.0 - row as f64);
        let count = (long_mm / diameter) as usize;
        for i in 0..count {
            let x = (i as f64 + 0.5) * diameter - long_mm / 2.0;
            openings.push(hole_at([x, y], *diameter)?);
        }
        // The lines end where the holes begin.
        let foot = y - diameter / 2.0;
        for mm in 0..=long_mm as usize {
            let x = mm as f64 - long_mm / 2.0;
            strokes.push([[x, foot - LINE * sizes_mm[2]], [x, foot]]);
        }
    }
    Ok(Drawing {
        span_mm: [1.04 * long_mm, 3.0 * apart],
        openings,
        rims: Vec::new(),
        strokes,
        magnified: Some(times),
    })
}

fn hole_at([x, y]: Point, diameter_mm: f64) -> Result<Outline, Error> {
    let disc = shapes::regular_polygon(CORNERS, diameter_mm)?;
    let shifted = |rim: &Vec<Point>| rim.iter().map(|[a, b]| [a + x, b + y]).collect();
    Outline::new(disc.loops().iter().map(shifted).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::diagram::{Format, Size};
    use crate::plate::Ground;

    /// A page of 160 mm: the lines of the lower rules are a millimetre apart on paper, and the holes of a row touch.
    #[test]
    fn a_millimetre_is_a_millimetre_on_paper() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.3).unwrap();
        let bench = Bench { camera, hole, named: true, diameter_mm: None };
        let drawn = draw(&bench).unwrap();
        let Shows::Drawing(drawing) = &drawn.panels[1].shows else { panic!("no drawing") };
        let [one, next] = [drawing.openings[0].bounds_mm(), drawing.openings[1].bounds_mm()];
        assert!((one.1[0] - next.0[0]).abs() < 1e-9, "{one:?} {next:?}");
        let svg = drawn.svg(Format { size: Size::Page, ground: Ground::Light }).unwrap();
        assert!(svg.contains("width=\"160mm\"") || svg.contains("width='160mm'"), "no mm");
        assert!(svg.contains("true size") && svg.contains("× 10"));
    }
}
