//! The plate of some pictures of one scene, with the same parts of all enlarged.

use super::axes::{BAR_HEIGHT, scale_bar};
use super::canvas::{
    Anchor, DASHED, FINE, Frame, GAP, HEADING, LABEL, MARGIN, Plate, ROOM, SOLID, Sampling, Stroke,
    bytes,
};
use super::ink::Colour;
use super::pixels::{Crop, shown};
use crate::error::Error;
use crate::quantity::significant;
use crate::raster::Raster;

const BETWEEN: f64 = 48.0;
/// Wide enough for a scale bar and its words.
const MOST_PICTURES: usize = 4;
/// The most height that a picture takes, so that a portrait leaves its detail in sight.
const PICTURE_HEIGHT: f64 = 860.0;
/// How the enlarged parts are framed, one after the other.
const DETAILS: [Stroke; 2] = [
    Stroke { colour: Colour::Vermilion, width: 3.0, dashes: SOLID, cased: true },
    Stroke { colour: Colour::Blue, width: 3.0, dashes: DASHED, cased: true },
];

/// Tells what the plate of pictures shows.
#[derive(Debug, Clone, Copy)]
pub struct Comparison<'a> {
    /// Up to four pictures of one scene on one film, each with what it is in a few words.
    pub pictures: &'a [(&'a Raster, &'a str)],
    /// The parts to enlarge, one or two: left, top, width and height of each, as shares of the
    /// picture's width and height.
    pub details: &'a [[f64; 4]],
    /// The width of the pictures on the film, in mm.
    pub film_width_mm: f64,
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

impl Comparison<'_> {
    fn column(&self) -> f64 {
        let count = self.pictures.len() as f64;
        (ROOM - (count - 1.0) * BETWEEN) / count
    }
}

/// Draws pictures side by side and the same parts of all beneath, as the bytes of a PNG file.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for no or too many pictures or details, a picture without pixels, a detail that
/// does not lie in the picture, or a film that is not 0.1 mm to 100 m wide.
pub fn comparison(view: &Comparison<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(view)?)
}

fn drawn(view: &Comparison<'_>) -> Result<String, Error> {
    check(view)?;
    let mut plate = Plate::new(view.title)?;
    let (top, column) = (plate.bottom, view.column());
    let headings: Vec<Vec<String>> = view
        .pictures
        .iter()
        .map(|(_, title)| HEADING.lines(title, column, 3))
        .collect::<Result<_, _>>()?;
    let tallest = headings.iter().map(Vec::len).max().unwrap_or(1);
    let pictures_top = (top + tallest as f64 * HEADING.leading() + GAP / 2.0).round();
    for (index, ((picture, _), heading)) in view.pictures.iter().zip(headings).enumerate() {
        let x = MARGIN + index as f64 * (column + BETWEEN);
        for (index, line) in heading.iter().enumerate() {
            let y = top + index as f64 * HEADING.leading() + HEADING.size;
            plate.text([x, y], Anchor::Start, &HEADING, line);
        }
        let bottom = draw_column(&mut plate, view, picture, [x, pictures_top])?;
        plate.bottom = plate.bottom.max(bottom);
    }
    plate.svg(view.caption)
}

fn check(view: &Comparison<'_>) -> Result<(), Error> {
    if !(0.1..=100_000.0).contains(&view.film_width_mm) {
        return Err(Error::limit(
            format!("a film width of {} mm is out of range", view.film_width_mm),
            "give between 0.1 mm and 100 m",
        ));
    }
    let (pictures, details) = (view.pictures.len(), view.details.len());
    if !(1..=MOST_PICTURES).contains(&pictures) || !(1..=DETAILS.len()).contains(&details) {
        return Err(Error::limit(
            format!("{pictures} pictures with {details} details do not fit on a plate"),
            format!("give up to {MOST_PICTURES} pictures and {} details", DETAILS.len()),
        ));
    }
    view.details.iter().try_for_each(|detail| check_detail(*detail))
}

fn check_detail([x, y, width, height]: [f64; 4]) -> Result<(), Error> {
    // Shares that add up to the whole may pass it by rounding.
    let whole = 1.0 + 1e-9;
    let inside = x >= 0.0
        && y >= 0.0
        && width > 0.0
        && height > 0.0
        && x + width <= whole
        && y + height <= whole;
    if inside {
        return Ok(());
    }
    Err(Error::limit(
        format!("a detail of {width} x {height} at {x}, {y} does not lie in the picture"),
        "give its left, top, width and height as shares of the picture, from 0 to 1",
    ))
}

/// A picture and its details from `top` down; where they end.
fn draw_column(
    plate: &mut Plate,
    view: &Comparison<'_>,
    picture: &Raster,
    [x, top]: [f64; 2],
) -> Result<f64, Error> {
    let all = Crop::all(picture)?;
    let (columns, rows) = (all.columns as f64, all.rows as f64);
    let mm_per_px = view.film_width_mm / columns;
    let column = view.column();
    let whole = draw_picture(plate, picture, all, [x, top], [column, PICTURE_HEIGHT])?;
    let units_per_px = whole.width / columns;
    let bar = [x, whole.bottom() + GAP];
    scale_bar(plate, bar, whole.width / 3.0, mm_per_px / units_per_px, &LABEL, " on the film");
    let mut bottom = whole.bottom() + BAR_HEIGHT + 3.0 * GAP;
    for ([left, above, width, height], stroke) in view.details.iter().zip(DETAILS) {
        let part = all.within(
            [left * columns, above * rows],
            [(left + width) * columns, (above + height) * rows],
        );
        plate.border(
            Frame {
                x: x + part.column as f64 * units_per_px,
                y: top + part.row as f64 * whole.height / rows,
                width: part.columns as f64 * units_per_px,
                height: part.rows as f64 * whole.height / rows,
            },
            stroke,
        );
        let detail = draw_picture(plate, picture, part, [x, bottom], [column, column])?;
        plate.border(detail, Stroke { cased: false, ..stroke });
        let detail_units_per_px = detail.width / part.columns as f64;
        let bar = [x, detail.bottom() + GAP];
        let times = significant(detail_units_per_px / units_per_px, 2);
        let add = format!(", enlarged {times} times");
        scale_bar(plate, bar, detail.width / 3.0, mm_per_px / detail_units_per_px, &LABEL, &add);
        bottom = bar[1] + BAR_HEIGHT + 2.0 * GAP;
    }
    Ok(bottom - 2.0 * GAP)
}

/// Part of a picture, as large as the room lets it.
fn draw_picture(
    plate: &mut Plate,
    picture: &Raster,
    crop: Crop,
    [x, y]: [f64; 2],
    [room, most]: [f64; 2],
) -> Result<Frame, Error> {
    let size = crop.fitted(room, most);
    let frame = Frame { x, y, width: size[0], height: size[1] };
    plate.picture(frame, &shown(picture, crop, size)?, Sampling::Squares)?;
    plate.border(frame, Stroke { width: 1.0, ..FINE });
    Ok(frame)
}

#[cfg(test)]
#[path = "comparison_tests.rs"]
mod tests;
