//! The plate of a sheet: every opening of a photo, outlined and numbered.

use super::axes::scale_bar;
use super::canvas::{Anchor, GAP, LIST, MARGIN, Plate, REMARK, ROOM, SOLID, Stroke, bytes};
use super::ink::Colour;
use super::numbers::{Numbers, RADIUS, draw_leader, draw_number};
use super::pixels::Crop;
use super::view::{Pitch, View};
use crate::error::Error;
use crate::geometry::Outline;
use crate::raster::Raster;

/// The most height that the photo takes.
const PHOTO_HEIGHT: f64 = 1900.0;
/// The most lines of the list: a longer one would be read in a table, and could not be drawn.
const MOST_LINES: usize = 120;
/// From one entry of the list to the next, across.
const BETWEEN: f64 = 40.0;
/// From one entry of the list to the next, down.
const LINE: f64 = 2.0 * RADIUS + 8.0;

const RIM: Stroke = Stroke { colour: Colour::Vermilion, width: 3.0, dashes: SOLID, cased: true };

/// Describes one opening of a sheet.
#[derive(Debug, Clone, Copy)]
pub struct Opening<'a> {
    /// Its loops, in pixels of the photo as in [`super::Overlay::loops_px`]; none where it could not be
    /// traced.
    pub loops_px: &'a [Vec<[f64; 2]>],
    /// Where its number stands when it has no loops: column and row in pixels.
    pub place_px: [f64; 2],
    /// What to write about it in the list: a word or two, such as its diameter.
    pub label: &'a str,
}

/// Tells what the plate of a sheet shows.
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// The photo of the sheet.
    pub photo: &'a Raster,
    /// The openings, numbered from 1 in this order.
    pub openings: &'a [Opening<'a>],
    /// The width and the height of a pixel on the sheet, in mm; none where the scale is not known: then
    /// pixels are square and no length is drawn.
    pub mm_per_px: Option<[f64; 2]>,
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Draws the whole photo in true proportion, each opening with its outline and number, and beneath it
/// what each number stands for, as the bytes of a PNG file.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a photo without pixels, or a pixel that is not 1e-6 mm to 10 mm wide and
/// high, or a place that is nowhere; [`Damaged`](crate::Kind::Damaged) for loops that are no outline.
pub fn sheet(sheet: &Sheet<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(sheet)?)
}

fn drawn(sheet: &Sheet<'_>) -> Result<String, Error> {
    let pitch = Pitch::checked(sheet.mm_per_px.unwrap_or([1e-2; 2]))?;
    if sheet.openings.iter().any(|opening| !opening.place_px.iter().all(|at| at.is_finite())) {
        return Err(Error::limit(
            "an opening is nowhere on the photo",
            "give it a place in pixels",
        ));
    }
    let outlines: Vec<Option<Outline>> = sheet
        .openings
        .iter()
        .map(|opening| match opening.loops_px {
            [] => Ok(None),
            loops => pitch.outline(loops).map(Some),
        })
        .collect::<Result<_, Error>>()?;
    let mut plate = Plate::new(sheet.title)?;
    let most = [ROOM, PHOTO_HEIGHT];
    let view = View::placed(Crop::all(sheet.photo)?, pitch, [MARGIN, plate.bottom], most);
    let view = view.centred(MARGIN, ROOM);
    view.draw(&mut plate, sheet.photo)?;
    plate.clipped(view.frame, |plate| {
        for points in sheet.openings.iter().flat_map(|opening| opening.loops_px) {
            let points: Vec<[f64; 2]> = points.iter().map(|point| view.place(*point)).collect();
            plate.ring(&points, RIM);
        }
        Ok(())
    })?;
    let unnumbered = draw_numbers(&mut plate, &view, &discs(&view, sheet.openings, &outlines));
    plate.bottom = view.frame.bottom() + 1.5 * GAP;
    if sheet.mm_per_px.is_some() {
        let bar = [MARGIN, plate.bottom];
        scale_bar(&mut plate, bar, ROOM / 3.0, 1.0 / view.units_per_mm(), &LIST, "");
        plate.bottom += LIST.leading() + 1.5 * GAP;
    }
    let listed = list(&mut plate, sheet.openings)?;
    if listed < sheet.openings.len() {
        plate.bottom += GAP;
        let note = format!("{} more are not listed here.", sheet.openings.len() - listed);
        plate.paragraph(MARGIN, ROOM, &REMARK, &note, 1)?;
    }
    if unnumbered > 0 {
        plate.bottom += GAP;
        let note = format!("{unnumbered} openings are too close together to be numbered.");
        plate.paragraph(MARGIN, ROOM, &REMARK, &note, 1)?;
    }
    plate.bottom += 1.5 * GAP;
    plate.paragraph(MARGIN, ROOM, &REMARK, sheet.caption, 8)?;
    plate.svg("")
}

/// The middle of each opening on the plate, and its reach; a point where it has no loops.
fn discs(
    view: &View,
    openings: &[Opening<'_>],
    outlines: &[Option<Outline>],
) -> Vec<([f64; 2], f64)> {
    let disc = |(opening, outline): (&Opening<'_>, &Option<Outline>)| {
        let Some(outline) = outline else { return (view.place_within(opening.place_px), 4.0) };
        let (low, high) = outline.bounds_mm();
        let middle = view.place_of_mm([0, 1].map(|axis| (low[axis] + high[axis]) / 2.0));
        let across = (high[0] - low[0]).max(high[1] - low[1]) * view.units_per_mm();
        (middle, across / 2.0)
    };
    openings.iter().zip(outlines).map(disc).collect()
}

/// Numbers the openings, inside those that have the room and beside the others; says how many found
/// no place.
fn draw_numbers(plate: &mut Plate, view: &View, discs: &[([f64; 2], f64)]) -> usize {
    let mut numbers = Numbers::new(view.frame);
    let is_roomy = |radius: f64| radius > 1.6 * RADIUS;
    for (middle, radius) in discs.iter().filter(|disc| !is_roomy(disc.1)) {
        numbers.keep_clear(*middle, *radius);
    }
    let mut unnumbered = 0;
    for (index, &(middle, radius)) in discs.iter().enumerate() {
        let inside = is_roomy(radius) && numbers.takes(middle);
        // Beneath it, where a caption stands.
        let down = std::f64::consts::FRAC_PI_2;
        match if inside { Some(middle) } else { numbers.beside(middle, radius, down) } {
            Some(place) => {
                if !inside {
                    draw_leader(plate, place, middle, radius);
                }
                draw_number(plate, place, index + 1);
            }
            None => unnumbered += 1,
        }
    }
    unnumbered
}

/// The numbers with their labels, down in as many columns as fit; says how many are listed.
fn list(plate: &mut Plate, openings: &[Opening<'_>]) -> Result<usize, Error> {
    let most = ROOM - 2.0 * RADIUS - GAP;
    let mut labels = Vec::with_capacity(openings.len());
    let mut widest = 100.0f64;
    for opening in openings {
        let line = LIST.lines(opening.label, most, 1)?.remove(0);
        widest = widest.max(LIST.width(&line)?);
        labels.push(line);
    }
    let column = 2.0 * RADIUS + GAP + widest + BETWEEN;
    let columns = (((ROOM + BETWEEN) / column) as usize).max(1);
    let rows = labels.len().div_ceil(columns).min(MOST_LINES);
    labels.truncate(rows * columns);
    let column = (ROOM + BETWEEN) / columns as f64;
    let top = plate.bottom;
    for (index, label) in labels.iter().enumerate() {
        let x = MARGIN + (index / rows) as f64 * column;
        let y = top + (index % rows) as f64 * LINE + RADIUS;
        draw_number(plate, [x + RADIUS + 2.0, y], index + 1);
        let baseline = y + 0.36 * LIST.size;
        plate.text([x + 2.0 * RADIUS + GAP, baseline], Anchor::Start, &LIST, label);
    }
    plate.bottom = top + rows as f64 * LINE;
    Ok(labels.len())
}

#[cfg(test)]
#[path = "sheet_tests.rs"]
mod tests;
