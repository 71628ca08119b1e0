//! The plate of a proof: contrast at the nine places, and where and along what the picture is softer.

use super::prove::{PLACES, scale, sharpness};
use crate::diagram::{
    Axis, Chart, Columns, Curve, Diagram, Drawing, Format, Line, Panel, Shows, Size,
};
use crate::error::Error;
use crate::geometry::{Outline, Point, shapes};
use crate::plate::Ground;
use crate::task::prove::{Answer, DirectionAnswer, PlaceAnswer};
use std::f64::consts::PI;

/// The contrast below which a prediction tells nothing of blur.
const TELLING: f64 = 0.3;
/// How many times blur is enlarged against the film it is drawn on.
const ENLARGED: f64 = 40.0;

/// Draws the plate as the bytes of a PNG file.
///
/// # Errors
/// As [`Diagram::png`].
pub fn png(answer: &Answer, film_mm: [f64; 2]) -> Result<Vec<u8>, Error> {
    diagram(answer, film_mm)?.png(Format { size: Size::Page, ground: Ground::Light })
}

/// Describes the plate; `film_mm` is the film's width and height.
///
/// # Errors
/// As [`Outline::new`].
pub fn diagram(answer: &Answer, film_mm: [f64; 2]) -> Result<Diagram, Error> {
    // In the order in which one reads the picture, the right way round.
    let places = answer.places.iter().zip(PLACES).rev();
    let mut panels: Vec<Panel> = places
        .map(|(place, name)| Panel {
            title: capital(name),
            shows: Shows::Chart(chart(answer, place)),
        })
        .collect();
    panels.push(Panel {
        title: format!("Blur beyond the hole's, enlarged {ENLARGED:.0} times"),
        shows: Shows::Drawing(map(answer, film_mm)?),
    });
    let verdict = sharpness(answer);
    Ok(Diagram {
        title: "What the picture proves".into(),
        caption: format!(
            "{verdict} {} Measured: the mean of four directions at an octagon. Along the softest direction: where one is softer \
             than the others. What the hole allows is computed at that place. In the map each octagon's blur is drawn \
             along the four directions it was measured in; a faultless picture has specks.",
            scale(answer)
        ),
        alternative: format!(
            "Curves of measured and predicted contrast at nine places of the picture. {verdict}"
        ),
        columns: Columns::Fixed(3),
        panels,
    })
}

fn capital(name: &str) -> String {
    name.chars().take(1).flat_map(char::to_uppercase).chain(name.chars().skip(1)).collect()
}

fn chart(answer: &Answer, place: &PlaceAnswer) -> Chart {
    let frequencies = &answer.frequency_lp_per_mm;
    let last = frequencies.last().copied().unwrap_or(1.0);
    let line = |values: &[f64]| -> Vec<Point> {
        std::iter::once([0.0, 1.0])
            .chain(frequencies.iter().zip(values).map(|(f, value)| [*f, *value]))
            .collect()
    };
    let shown = place.directions.iter().map(|one| one.measured.len()).min().unwrap_or(0);
    let mean = |of: fn(&DirectionAnswer) -> &Vec<f64>| -> Vec<f64> {
        let count = place.directions.len() as f64;
        (0..shown)
            .map(|k| place.directions.iter().map(|one| of(one)[k]).sum::<f64>() / count)
            .collect()
    };
    let curve = |name: &str, points, line| Curve { name: name.into(), points, line };
    let mut curves = vec![
        curve("measured", line(&mean(|one| &one.measured)), Line::First),
        curve("the hole allows", line(&mean(|one| &one.predicted)), Line::Second),
    ];
    let softest =
        place.directions.iter().max_by(|a, b| blur_mm(answer, a).total_cmp(&blur_mm(answer, b)));
    if let Some(softest) = softest {
        curves.push(curve("along the softest", line(&softest.measured), Line::Third));
    }
    Chart {
        x: Axis::linear("line pairs per mm", [0.0, last]),
        y: Axis::linear("contrast", [0.0, 1.05]),
        curves,
        marks: Vec::new(),
        bands: Vec::new(),
    }
}

/// The standard deviation of the blur that takes the predicted contrast to the measured one, by least squares in f²; 0 where it
/// is sharper.
fn blur_mm(answer: &Answer, one: &DirectionAnswer) -> f64 {
    let (mut up, mut down) = (0.0, 0.0);
    let values = answer.frequency_lp_per_mm.iter().zip(&one.measured).zip(&one.predicted);
    for ((f, measured), predicted) in values.take_while(|(_, predicted)| **predicted > TELLING) {
        let (square, weight) = (2.0 * (PI * f).powi(2), measured.max(0.0).powi(2));
        up += weight * square * (predicted / measured.max(1e-3)).ln();
        down += weight * square * square;
    }
    (up / down.max(1e-12)).max(0.0).sqrt()
}

/// The film as one sees the picture, with the blur at each octagon.
fn map(answer: &Answer, film_mm: [f64; 2]) -> Result<Drawing, Error> {
    let mut rims = vec![(shapes::rectangle(film_mm[0], film_mm[1])?, Line::Quiet)];
    for place in answer.places.iter().filter(|place| place.directions.len() == 4) {
        // The picture is the film turned by half a turn.
        let [x, y] = place.at_mm.map(|mm| -mm);
        let corner = |i: usize| {
            let one = &place.directions[i % 4];
            let radius = ENLARGED * blur_mm(answer, one) + 0.008 * film_mm[0];
            let (sin, cos) =
                (one.direction_deg.to_radians() + if i < 4 { 0.0 } else { PI }).sin_cos();
            [x + radius * cos, y + radius * sin]
        };
        rims.push((Outline::new(vec![(0..8).map(corner).collect()])?, Line::First));
    }
    Ok(Drawing {
        span_mm: film_mm.map(|mm| 1.06 * mm),
        openings: Vec::new(),
        rims,
        strokes: Vec::new(),
        magnified: None,
    })
}
