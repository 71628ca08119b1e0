//! The plate of two pictures of one scene, with the same part of both enlarged.

use super::axes::{BAR_HEIGHT, scale_bar};
use super::pixels::{Crop, shown};
use super::plate::{
    Anchor, FINE, Frame, GAP, HEADING, LABEL, MARGIN, Plate, ROOM, SOLID, Sampling, Stroke,
    VERMILION, bytes,
};
use crate::error::Error;
use crate::quantity::significant;
use crate::raster::Raster;

const BETWEEN: f64 = 48.0;
const COLUMN: f64 = (ROOM - BETWEEN) / 2.0;
/// The most height that a picture takes, so that a portrait leaves its detail in sight.
const PICTURE_HEIGHT: f64 = 860.0;
const DETAIL_HEIGHT: f64 = COLUMN;
const DETAIL: Stroke = Stroke { colour: VERMILION, width: 3.0, dashes: SOLID, cased: true };

/// What the plate of two pictures shows.
#[derive(Debug, Clone, Copy)]
pub struct Comparison<'a> {
    /// The picture on the left.
    pub left: &'a Raster,
    /// The picture on the right: the same scene on the same film.
    pub right: &'a Raster,
    /// What the left picture is: a few words.
    pub left_title: &'a str,
    /// What the right picture is: a few words.
    pub right_title: &'a str,
    /// The part to enlarge: its left, its top, its width and its height, as shares of the
    /// picture's width and height.
    pub detail: [f64; 4],
    /// The width of both pictures on the film, in mm.
    pub film_width_mm: f64,
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Two pictures side by side and the same part of both beneath, as the bytes of a PNG file.
///
/// # Errors
/// [`Error::Limit`] for a picture without pixels, a detail that does not lie in the picture, or a
/// film that is not 0.1 mm to 100 m wide.
pub fn comparison(view: &Comparison<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(view)?)
}

fn drawn(view: &Comparison<'_>) -> Result<String, Error> {
    check(view)?;
    let mut plate = Plate::new(view.title)?;
    let top = plate.bottom;
    let headings =
        [HEADING.lines(view.left_title, COLUMN, 3)?, HEADING.lines(view.right_title, COLUMN, 3)?];
    let tallest = headings.iter().map(Vec::len).max().unwrap_or(1);
    let pictures_top = (top + tallest as f64 * HEADING.leading() + GAP / 2.0).round();
    for (index, (picture, heading)) in [view.left, view.right].into_iter().zip(headings).enumerate()
    {
        let x = MARGIN + index as f64 * (COLUMN + BETWEEN);
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
            format!("{} mm is no width for a film", view.film_width_mm),
            "give between 0.1 mm and 100 m",
        ));
    }
    let [x, y, width, height] = view.detail;
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

/// A picture and its detail from `top` down; where they end.
fn draw_column(
    plate: &mut Plate,
    view: &Comparison<'_>,
    picture: &Raster,
    [x, top]: [f64; 2],
) -> Result<f64, Error> {
    let all = Crop::all(picture)?;
    let [left, above, width, height] = view.detail;
    let (columns, rows) = (all.columns as f64, all.rows as f64);
    let part = all.within(
        [left * columns, above * rows],
        [(left + width) * columns, (above + height) * rows],
    );
    let mm_per_px = view.film_width_mm / columns;
    let whole = draw_picture(plate, picture, all, [x, top], PICTURE_HEIGHT)?;
    let units_per_px = whole.width / columns;
    plate.border(
        Frame {
            x: x + part.column as f64 * units_per_px,
            y: top + part.row as f64 * whole.height / rows,
            width: part.columns as f64 * units_per_px,
            height: part.rows as f64 * whole.height / rows,
        },
        DETAIL,
    );
    let bar = [x, whole.bottom() + GAP];
    scale_bar(plate, bar, whole.width / 3.0, mm_per_px / units_per_px, &LABEL, " on the film");
    let detail_top = whole.bottom() + BAR_HEIGHT + 3.0 * GAP;
    let detail = draw_picture(plate, picture, part, [x, detail_top], DETAIL_HEIGHT)?;
    plate.border(detail, Stroke { cased: false, ..DETAIL });
    let detail_units_per_px = detail.width / part.columns as f64;
    let bar = [x, detail.bottom() + GAP];
    let times = significant(detail_units_per_px / units_per_px, 2);
    let add = format!(" on the film, enlarged {times} times");
    scale_bar(plate, bar, detail.width / 3.0, mm_per_px / detail_units_per_px, &LABEL, &add);
    Ok(bar[1] + BAR_HEIGHT)
}

/// Part of a picture, as large as the column's width and `most` height let it.
fn draw_picture(
    plate: &mut Plate,
    picture: &Raster,
    crop: Crop,
    [x, y]: [f64; 2],
    most: f64,
) -> Result<Frame, Error> {
    let size = crop.fitted(COLUMN, most);
    let frame = Frame { x, y, width: size[0], height: size[1] };
    plate.picture(frame, &shown(picture, crop, size)?, Sampling::Squares)?;
    plate.border(frame, Stroke { width: 1.0, ..FINE });
    Ok(frame)
}

#[cfg(test)]
#[path = "comparison_tests.rs"]
mod tests;
