//! A landscape at dusk: bare trees, a house of boards, a fence, birds on a wire, and a lake.
//!
//! Soft things are painted pixel by pixel from smooth noise, crisp ones are printed over them as
//! drawings; both in linear light. The scene is measured in units of which the film's height holds
//! about a thousand, and goes on to the sides of a longer film.

mod air;
mod canvas;
mod farm;
mod noise;
mod trees;
mod water;

use super::fitted;
use crate::error::Error;
use crate::raster::Raster;
use air::SUN;
pub(super) use canvas::Canvas;
use canvas::{Drawing, Frame};
use farm::inks;
use noise::{Dice, layered};
use trees::{Habit, Strokes, grass, tree};

/// Beyond this way from the middle a long film shows sky, ridges and water alone.
const FARTHEST: f64 = 3000.0;

/// Pixels along the longer side below which the scene is painted larger.
pub(super) const LARGER_BELOW: usize = 1200;

/// The landscape on a film of `columns` by `rows` pixels.
pub(super) fn drawn(columns: usize, rows: usize) -> Result<Raster, Error> {
    // Twigs and ripples need pixels of their own: a small film is painted larger and averaged.
    let times = (LARGER_BELOW / columns.max(rows)).clamp(1, 8);
    let raster = painted(columns * times, rows * times)?.into_raster();
    if times == 1 { Ok(raster) } else { fitted(&raster, columns, rows) }
}

/// The same, each pixel painted as it is.
pub(super) fn painted(columns: usize, rows: usize) -> Result<Canvas, Error> {
    let frame = Frame::new(columns, rows);
    let mut canvas = Canvas::new(frame);
    let ((), (far, near)) = rayon::join(
        || air::paint(&mut canvas),
        || {
            rayon::join(
                || Drawing::of(frame, &far_bank(frame)),
                || Drawing::of(frame, &near_bank(frame)),
            )
        },
    );
    canvas.lay(&far?);
    water::paint(&mut canvas);
    canvas.lay(&near?);
    Ok(canvas)
}

/// The crest of the far bank, above the waterline.
fn bank(x: f64) -> f64 {
    -4.0 - 34.0 * layered(x / 330.0 + 4.0, 2.5, 4)
}

/// Meadow, house, fence, wire and the trees about them.
fn far_bank(frame: Frame) -> String {
    let half = frame.half.min(FARTHEST);
    let mut dice = Dice::new(11);
    let mut svg = String::new();
    let mut behind = Strokes::default();
    let habit = Habit { finest: 0.42, upward: 0.06, crooked: 0.26 };
    let mut x = -half;
    while x < half {
        x += dice.between(34.0, 150.0);
        let thick = dice.between(3.0, 8.5);
        // None in front of the sun.
        if (x - SUN.0).abs() > 120.0 {
            let lean = dice.between(-0.08, 0.08);
            tree(&mut behind, &mut dice, habit, (x, bank(x) + 4.0), lean, thick);
        }
    }
    svg += &behind.svg(&inks(26, 4));
    svg += &meadow(half);
    let mut blades = Strokes::default();
    grass(&mut blades, &mut dice, (-half, half), |x| bank(x) + 3.0, 16.0, (5.0 * half) as usize);
    svg += &blades.svg(&inks(22, 5));
    svg += &farm::wires(&mut dice, 588.0, frame.half);
    svg += &farm::house(215.0, -22.0);
    // Below the crest, for it stands on this side of it, but not in the water.
    let foot = |x| (bank(x) + 8.0).min(-3.0);
    svg += &farm::fence(&mut dice, -20.0, 212.0, foot);
    svg += &farm::fence(&mut dice, 450.0, half, foot);
    svg
}

fn meadow(half: f64) -> String {
    let mut path = format!("M{} 1", -half);
    let steps = 240;
    for place in 0..=steps {
        let x = half * (2.0 * f64::from(place) / f64::from(steps) - 1.0);
        path += &format!("L{x:.1} {:.1}", bank(x));
    }
    format!("<path d='{path}L{half} 1z' fill='{}'/>", inks(16, 2))
}

/// The great tree on the left and the reeds at the eye's own side.
fn near_bank(frame: Frame) -> String {
    let half = frame.half.min(FARTHEST);
    let mut dice = Dice::new(5);
    let mut strokes = Strokes::default();
    let habit = Habit { finest: 0.62, upward: 0.05, crooked: 0.24 };
    tree(&mut strokes, &mut dice, habit, (-430.0, frame.bottom + 20.0), 0.05, 46.0);
    let mut svg = strokes.svg(&inks(5, 1));
    let mut reeds = Strokes::default();
    let foot = |_: f64| frame.bottom + 8.0;
    grass(&mut reeds, &mut dice, (-half, half), foot, 190.0, (0.9 * half) as usize);
    grass(&mut reeds, &mut dice, (-half, half), foot, 80.0, (2.5 * half) as usize);
    svg += &reeds.svg(&inks(6, 1));
    svg
}

#[cfg(test)]
mod tests {
    use super::canvas::lightened;
    use super::*;

    /// Red, green, blue at a place in units of the scene.
    fn at(picture: &Raster, x: f64, y: f64) -> [f32; 3] {
        let frame = Frame::new(picture.columns(), picture.rows());
        let column = ((x + frame.half) * frame.scale) as usize;
        let row = ((y - frame.top) * frame.scale) as usize;
        [0, 1, 2].map(|channel| picture.linear[[channel, row, column]])
    }

    #[test]
    fn sky_is_above_and_the_great_tree_stands_left() {
        for (columns, rows) in [(600, 400), (300, 500), (400, 400)] {
            let picture = drawn(columns, rows).unwrap();
            // Blue to red along a line: the sky's far up and the sun's afterglow over the ridges.
            let hue = |y: f64| {
                let line: Vec<_> =
                    (-50..50).map(|x| at(&picture, 10.0 * f64::from(x), y)).collect();
                line.iter().map(|c| c[2]).sum::<f32>() / line.iter().map(|c| c[0]).sum::<f32>()
            };
            assert!(hue(-560.0) > 1.5 * hue(-170.0), "{} and {}", hue(-560.0), hue(-170.0));
            // The trunk is the only thing so dark that stands above the reeds.
            let trunk = Frame::new(columns, rows).bottom - 200.0;
            let is_dark = |x: f64| at(&picture, x, trunk)[1] < lightened(0.02);
            let dark = |side: f64| (250..550).filter(|&x| is_dark(side * f64::from(x))).count();
            assert!(dark(-1.0) >= 20 && dark(1.0) < 5, "{} and {}", dark(-1.0), dark(1.0));
        }
    }

    #[test]
    fn inks_mix_by_area() {
        let mut canvas = Canvas::new(Frame::new(1200, 1000));
        let bottom = canvas.frame.bottom;
        canvas.paint(f64::NEG_INFINITY, bottom, |_, row| row.fill([0.5; 3]));
        // Half of the pixel at the middle under the cool ink at full.
        let half = format!("<rect x='0' y='0' width='0.5' height='1' fill='{}'/>", inks(255, 0));
        canvas.lay(&Drawing::of(canvas.frame, &half).unwrap());
        // 0.5·0.5 + 0.5·0.16 in red; the painter rounds to 1/255.
        let light = canvas.at(0.5, 0.5);
        assert!((light[0] - 0.33).abs() < 0.005, "{light:?}");
        assert_eq!(canvas.at(2.5, 0.5), [0.5; 3]);
    }
}
