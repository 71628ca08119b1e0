//! What is shown, as a figure with its caption: for a slide or a text.

use super::light::{Answer, SAMPLES};
use super::sliders::Setting;
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Drawing, Line, Panel, Picture, Shows};
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::page::known::PART;
use crate::quantity::Quantity;
use image::{Rgb, RgbImage};

/// Decades of light in a map that shows faint light.
const DECADES: f64 = 4.0;

pub(super) fn diagram(setting: &Setting, answer: &Answer, faint: bool) -> Result<Diagram, Error> {
    let Setting { camera, hole, diameter_mm, .. } = setting;
    let length = |mm| Quantity::Length.write(mm);
    let best = shapes::disc(answer.best_mm)?;
    let title = format!("{} against the best, {}", length(*diameter_mm), length(answer.best_mm));
    let caption = format!(
        "{}, film {} from the hole. This hole loses {:.1} jnd against the best: {}. Left halves and solid lines: this \
         hole; right halves and dashed lines: the best.{}",
        camera.name,
        length(camera.distances.film_mm()),
        answer.loss_jnd,
        answer.words,
        if faint { " Light is drawn by its logarithm, four decades down." } else { "" }
    );
    Ok(Diagram {
        alternative: caption.clone(),
        title,
        caption,
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "The hole".into(),
                shows: Shows::Drawing(drawing(hole, best, answer.best_mm.max(*diameter_mm))),
            },
            Panel {
                title: "A point of light".into(),
                shows: Shows::Picture(halves_of_light(answer, faint)),
            },
            Panel { title: "Contrast of lines".into(), shows: Shows::Chart(contrast(answer)) },
            Panel { title: "A picture, twice".into(), shows: Shows::Picture(pictures(answer)) },
        ],
    })
}

fn drawing(hole: &Outline, best: Outline, widest_mm: f64) -> Drawing {
    let side = 1.4 * widest_mm;
    Drawing {
        span_mm: [side, side],
        openings: vec![hole.clone()],
        rims: vec![(best, Line::Second)],
        strokes: Vec::new(),
        magnified: None,
    }
}

fn halves_of_light(answer: &Answer, faint: bool) -> Picture {
    let peak = answer.seen.iter().flat_map(|seen| &seen.psf).copied().fold(0.0, f32::max);
    let side = SAMPLES as u32;
    let image = RgbImage::from_fn(side, side, |column, row| {
        let seen = &answer.seen[usize::from(column > side / 2)];
        let share = f64::from(seen.psf[((side - 1 - row) * side + column) as usize] / peak);
        let bright = if faint { (1.0 + share.log10() / DECADES).clamp(0.0, 1.0) } else { share };
        let colour = colorous::INFERNO.eval_continuous(bright);
        Rgb([colour.r, colour.g, colour.b])
    });
    Picture {
        image,
        smooth: true,
        scale: Some((2.0 * answer.frame.half_mm, " on the film")),
        circles_mm: Vec::new(),
        samples: Vec::new(),
    }
}

fn contrast(answer: &Answer) -> Chart {
    let finest = answer.frame.finest_lp_per_mm;
    let curve = |name: &str, values: &[f64], line| {
        let step = finest / (values.len() - 1).max(1) as f64;
        Curve {
            name: name.into(),
            points: values.iter().enumerate().map(|(i, v)| [step * i as f64, *v]).collect(),
            line,
        }
    };
    Chart {
        x: Axis::linear("line pairs per mm", [0.0, finest]),
        y: Axis::linear("contrast", [0.0, 1.0]),
        curves: vec![
            curve("this hole", &answer.mtf[0], Line::First),
            curve("the best", &answer.mtf[1], Line::Second),
        ],
        marks: Vec::new(),
        bands: Vec::new(),
    }
}

fn pictures(answer: &Answer) -> Picture {
    let [w, h] = PART.map(|side| side as u32);
    let image = RgbImage::from_fn(2 * w + 4, h, |column, row| {
        let (seen, column) = match column {
            c if c < w => (&answer.seen[0], c),
            c if c < w + 4 => return Rgb([128; 3]),
            c => (&answer.seen[1], c - w - 4),
        };
        let at = 3 * (row * w + column) as usize;
        Rgb([seen.picture[at], seen.picture[at + 1], seen.picture[at + 2]])
    });
    Picture { image, smooth: true, scale: None, circles_mm: Vec::new(), samples: Vec::new() }
}
