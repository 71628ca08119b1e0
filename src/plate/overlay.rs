//! The plate of the tracing: the outline over the photo it was found in.

use super::axes::scale_bar;
use super::canvas::{GAP, HUGE, LIST, MARGIN, Plate, REMARK, ROOM, SOLID, Stroke, bytes};
use super::ink::Colour;
use super::numbers::{Numbers, RADIUS, draw_leader, draw_number};
use super::pixels::Crop;
use super::view::{Pitch, View};
use crate::error::Error;
use crate::geometry::Outline;
use crate::geometry::reference_circles::{
    Circle, circumscribed, inscribed, least_squares, profile,
};
use crate::quantity::Quantity;
use crate::raster::Raster;

/// The most height that the photo takes, so that what it says stays in sight.
const PHOTO_HEIGHT: f64 = ROOM;
/// The room of the whole photo, small, in the upper right corner.
const INSET: [f64; 2] = [420.0, 330.0];
/// What is shown at each side of the outline, as a share of its longer side: the photo is 1.6
/// times the hole, so that there is metal to see, and room for numbers.
const AROUND: f64 = 0.3;
/// More marks than these are no help to anyone.
const MOST_MARKS: usize = 24;
/// The ring around what is marked.
const MARK_RADIUS: f64 = 10.0;
/// A line of the key.
const SAMPLE: f64 = 110.0;

const RIM: Stroke = Stroke { colour: Colour::Vermilion, width: 4.0, dashes: SOLID, cased: true };
const MARK: Stroke = Stroke { colour: Colour::Ink, width: 3.0, dashes: SOLID, cased: true };
const CROP: Stroke = Stroke { colour: Colour::Vermilion, width: 4.0, dashes: SOLID, cased: true };

/// The lines of a rule.
const SCALE_LINE: Stroke = Stroke { colour: Colour::Blue, width: 2.0, dashes: SOLID, cased: true };

/// The reference circles, told apart by their dashes and widths: colours are for those who see them.
const INSCRIBED: Stroke = Stroke { colour: Colour::Blue, width: 5.0, dashes: "30 14", cased: true };
const CIRCUMSCRIBED: Stroke =
    Stroke { colour: Colour::Ink, width: 4.0, dashes: "4 8", cased: true };
const LEAST_SQUARES: Stroke =
    Stroke { colour: Colour::Grey, width: 2.5, dashes: "24 7 4 7", cased: true };

/// Describes a place on the photo to point at, such as the tip of a burr.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The place, (x, y) in pixels of the photo as in [`Overlay::loops_px`].
    pub at_px: [f64; 2],
    /// What to write about it, beneath the photo after its number.
    pub label: String,
}

/// Tells what the plate of the tracing shows.
#[derive(Debug, Clone, Copy)]
pub struct Overlay<'a> {
    /// The photo of the hole.
    pub photo: &'a Raster,
    /// The traced loops, each closed by itself, in pixels of the photo: x from the left edge, y
    /// down from the top edge, the pixel of column i and row j covering i..i+1 by j..j+1. Without
    /// any, the whole photo is shown.
    pub loops_px: &'a [Vec<[f64; 2]>],
    /// The width and the height of a pixel on the hole, in mm.
    pub mm_per_px: [f64; 2],
    /// The lines of the rule that gave the scale, each from end to end in pixels; none without a rule.
    pub scale_lines_px: &'a [[[f64; 2]; 2]],
    /// What to write about those lines: how far they are apart.
    pub scale_words: &'a str,
    /// Places to point at, numbered from 1 in this order.
    pub marks: &'a [Mark],
    /// The heading of the plate.
    pub title: &'a str,
    /// What is printed largest: the size of the hole.
    pub size: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Draws the photo around the outline, enlarged and in true proportion, with the outline, its reference
/// circles and the numbered marks over it, and the whole photo small beside the size, as the bytes
/// of a PNG file.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a photo without pixels, a pixel that is not 1e-6 mm to 10 mm wide and high,
/// or a mark that is nowhere; [`Damaged`](crate::Kind::Damaged) for loops that are no outline.
pub fn overlay(view: &Overlay<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(view)?)
}

fn drawn(overlay: &Overlay<'_>) -> Result<String, Error> {
    let pitch = Pitch::checked(overlay.mm_per_px)?;
    if overlay.marks.iter().any(|mark| !mark.at_px.iter().all(|place| place.is_finite())) {
        return Err(Error::limit("a mark has no place on the photo", "give it a place in pixels"));
    }
    let outline = match overlay.loops_px {
        [] => None,
        loops => Some(pitch.outline(loops)?),
    };
    let circles = outline.as_ref().map_or_else(Vec::new, references);
    let all = Crop::all(overlay.photo)?;
    let crop = outline
        .as_ref()
        .map_or(all, |outline| cropped(all, pitch, outline, &circles, overlay.marks));
    let mut plate = Plate::new(overlay.title)?;
    let top = plate.bottom;
    let mut whole = View::placed(all, pitch, [0.0, top], INSET);
    whole.frame.x = MARGIN + ROOM - whole.frame.width;
    draw_whole(&mut plate, &whole, overlay.photo, crop)?;
    draw_scale_lines(&mut plate, &whole, overlay.scale_lines_px);
    draw_size_and_key(&mut plate, overlay.size, &circles)?;
    let top = plate.bottom.max(whole.frame.bottom()) + 1.5 * GAP;
    let view = View::placed(crop, pitch, [MARGIN, top], [ROOM, PHOTO_HEIGHT]).centred(MARGIN, ROOM);
    view.draw(&mut plate, overlay.photo)?;
    plate.clipped(view.frame, |plate| {
        draw_scale_lines(plate, &view, overlay.scale_lines_px);
        for reference in &circles {
            let radius = reference.circle.radius_mm * view.units_per_mm();
            plate.circle(view.place_of_mm(reference.circle.centre_mm), radius, reference.stroke);
        }
        for points in overlay.loops_px {
            let points: Vec<[f64; 2]> = points.iter().map(|point| view.place(*point)).collect();
            plate.ring(&points, RIM);
        }
        Ok(())
    })?;
    let middle = outline
        .as_ref()
        .map_or(view.frame.centre(), |outline| view.place_of_mm(outline.centroid_mm()));
    let shown = draw_marks(&mut plate, &view, overlay, middle);
    plate.bottom = view.frame.bottom() + 1.5 * GAP;
    scale_bar(
        &mut plate,
        [MARGIN, view.frame.bottom() + 1.5 * GAP],
        ROOM / 3.0,
        1.0 / view.units_per_mm(),
        &LIST,
        "",
    );
    plate.bottom += LIST.leading() + GAP;
    if !overlay.scale_lines_px.is_empty() {
        let y = plate.bottom + LIST.size / 2.0 + 4.0;
        plate.line(&[[MARGIN, y], [MARGIN + SAMPLE, y]], Stroke { cased: false, ..SCALE_LINE });
        let left = MARGIN + SAMPLE + GAP;
        plate.paragraph(left, ROOM - SAMPLE - GAP, &LIST, overlay.scale_words, 2)?;
        plate.bottom += GAP;
    }
    list_marks(&mut plate, overlay.marks, &shown)?;
    plate.bottom += 1.5 * GAP;
    plate.paragraph(MARGIN, ROOM, &REMARK, overlay.caption, 8)?;
    plate.svg("")
}

/// The part of the photo around the outline and its marks.
fn cropped(
    all: Crop,
    pitch: Pitch,
    outline: &Outline,
    circles: &[Reference],
    marks: &[Mark],
) -> Crop {
    let (mut low_mm, mut high_mm) = outline.bounds_mm();
    let around = AROUND * (high_mm[0] - low_mm[0]).max(high_mm[1] - low_mm[1]);
    for Reference { circle, .. } in circles {
        // A circle around a slit reaches beyond it: half of what is shown around the slit is enough
        // around the circle.
        let reach = circle.radius_mm - around / 2.0;
        for axis in [0, 1] {
            low_mm[axis] = low_mm[axis].min(circle.centre_mm[axis] - reach);
            high_mm[axis] = high_mm[axis].max(circle.centre_mm[axis] + reach);
        }
    }
    // The picture's y runs down: the upper edge is the lower number.
    let mut low = pitch.px([low_mm[0] - around, high_mm[1] + around]);
    let mut high = pitch.px([high_mm[0] + around, low_mm[1] - around]);
    for mark in marks {
        for axis in [0, 1] {
            low[axis] = low[axis].min(mark.at_px[axis]);
            high[axis] = high[axis].max(mark.at_px[axis]);
        }
    }
    all.within(low, high)
}

/// A circle to draw over the hole.
struct Reference {
    circle: Circle,
    stroke: Stroke,
    name: &'static str,
}

/// The reference circles, that which the others may cover last.
fn references(outline: &Outline) -> Vec<Reference> {
    let points: Vec<_> = outline.loops().iter().flatten().copied().collect();
    // A unit of the drawing is a thousandth of the hole.
    let accuracy_mm = 1e-4 * outline.equivalent_diameter_mm();
    vec![
        Reference {
            circle: circumscribed(&points),
            stroke: CIRCUMSCRIBED,
            name: "smallest circle around it",
        },
        Reference {
            circle: inscribed(outline, accuracy_mm),
            stroke: INSCRIBED,
            name: "largest circle that fits inside",
        },
        Reference {
            circle: least_squares(&profile(outline)),
            stroke: LEAST_SQUARES,
            name: "least-squares circle",
        },
    ]
}

/// The whole photo, small, with the enlarged part boxed.
fn draw_whole(plate: &mut Plate, whole: &View, photo: &Raster, crop: Crop) -> Result<(), Error> {
    whole.draw(plate, photo)?;
    let [low, high] = [
        whole.place([crop.column as f64, crop.row as f64]),
        whole.place([(crop.column + crop.columns) as f64, (crop.row + crop.rows) as f64]),
    ];
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    plate.ring(&corners, CROP);
    Ok(())
}

/// The lines of the rule that gave the scale.
fn draw_scale_lines(plate: &mut Plate, view: &View, lines_px: &[[[f64; 2]; 2]]) {
    for ends in lines_px {
        plate.line(&ends.map(|at| view.place(at)), SCALE_LINE);
    }
}

/// The size of the hole, large, and beneath it what the lines are.
fn draw_size_and_key(plate: &mut Plate, size: &str, circles: &[Reference]) -> Result<(), Error> {
    let width = ROOM - INSET[0] - 2.0 * GAP;
    plate.paragraph(MARGIN, width, &HUGE, size, 2)?;
    if circles.is_empty() {
        return Ok(());
    }
    let named = circles.iter().map(|reference| {
        let diameter = Quantity::Length.write(2.0 * reference.circle.radius_mm);
        (reference.stroke, format!("{}, {diameter}", reference.name))
    });
    for (stroke, words) in [(RIM, "traced rim".to_owned())].into_iter().chain(named) {
        let y = plate.bottom + LIST.size / 2.0 + 4.0;
        plate.line(&[[MARGIN, y], [MARGIN + SAMPLE, y]], Stroke { cased: false, ..stroke });
        let left = MARGIN + SAMPLE + GAP;
        plate.paragraph(left, width - SAMPLE - GAP, &LIST, &words, 1)?;
    }
    Ok(())
}

/// Rings the marks, with their numbers away from the middle of the hole where there is room; says
/// which found none.
fn draw_marks(
    plate: &mut Plate,
    view: &View,
    overlay: &Overlay<'_>,
    middle: [f64; 2],
) -> Vec<bool> {
    let mut numbers = Numbers::new(view.frame);
    overlay.loops_px.iter().for_each(|points| keep_rim_clear(&mut numbers, view, points));
    let places: Vec<[f64; 2]> =
        overlay.marks.iter().take(MOST_MARKS).map(|mark| view.place_within(mark.at_px)).collect();
    for place in &places {
        numbers.keep_clear(*place, MARK_RADIUS + 4.0);
    }
    let beside: Vec<Option<[f64; 2]>> = places
        .iter()
        .map(|at| {
            let outwards = (at[1] - middle[1]).atan2(at[0] - middle[0]);
            numbers.beside(*at, RADIUS, outwards)
        })
        .collect();
    for (at, ring) in places.iter().zip(&beside) {
        plate.circle(*at, MARK_RADIUS, MARK);
        if let Some(ring) = ring {
            draw_leader(plate, *ring, *at, MARK_RADIUS);
        }
    }
    for (number, ring) in beside.iter().enumerate() {
        if let Some(ring) = ring {
            draw_number(plate, *ring, number + 1);
        }
    }
    beside.iter().map(Option::is_some).collect()
}

/// Keeps numbers off a rim, by discs along it that no number fits between.
fn keep_rim_clear(numbers: &mut Numbers, view: &View, points: &[[f64; 2]]) {
    let mut last: Option<[f64; 2]> = None;
    for point in points {
        let place = view.place(*point);
        if last.is_none_or(|last| (place[0] - last[0]).hypot(place[1] - last[1]) > RADIUS / 2.0) {
            numbers.keep_clear(place, RIM.width);
            last = Some(place);
        }
    }
}

/// What the numbers stand for, and how many marks have none.
fn list_marks(plate: &mut Plate, marks: &[Mark], shown: &[bool]) -> Result<(), Error> {
    for (index, mark) in
        marks.iter().enumerate().filter(|(index, _)| shown.get(*index) == Some(&true))
    {
        plate.bottom += 1.5 * GAP;
        let y = plate.bottom + LIST.size / 2.0 + 4.0;
        draw_number(plate, [MARGIN + RADIUS + 2.0, y], index + 1);
        let left = MARGIN + 2.0 * RADIUS + 1.5 * GAP;
        plate.paragraph(left, MARGIN + ROOM - left, &LIST, &mark.label, 2)?;
    }
    let unshown = marks.len() - shown.iter().filter(|shown| **shown).count();
    if unshown > 0 {
        plate.bottom += GAP;
        let note = format!("{unshown} more have no number.");
        plate.paragraph(MARGIN, ROOM, &REMARK, &note, 1)?;
    }
    Ok(())
}

#[cfg(test)]
#[path = "overlay_tests.rs"]
mod tests;
