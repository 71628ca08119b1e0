//! The plate of the tracing: the outline over the photo it was found in.

use super::axes::{BAR_HEIGHT, scale_bar};
use super::pixels::{Crop, shown};
use super::plate::{
    Anchor, BLUE, FINE, Frame, GAP, GREY, LABEL, MARGIN, NOTE, Plate, ROOM, Sampling, Stroke,
    VERMILION, bytes,
};
use crate::error::Error;
use crate::geometry::Outline;
use crate::quantity::Quantity;
use crate::raster::Raster;

/// The longer side of the photo on the plate.
const PHOTO: f64 = 940.0;
/// The width of the labels at each side of the photo.
const COLUMN: f64 = (ROOM - PHOTO) / 2.0 - 2.0 * GAP;
/// What is shown at each side of the outline, as a share of its longer side: the photo is 1.6
/// times the hole, so that there is metal to see and the burrs are still large.
const AROUND: f64 = 0.3;
const MARK_RADIUS: f64 = 11.0;

const RIM: Stroke = Stroke { colour: VERMILION, width: 2.0, dashed: false, cased: true };
const DISC: Stroke = Stroke { colour: GREY, width: 2.0, dashed: true, cased: true };
const MARK: Stroke = Stroke { colour: BLUE, width: 2.5, dashed: false, cased: true };

/// A place on the photo to point at, such as the tip of a burr.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The place, (x, y) in pixels of the photo as in [`Overlay::loops_px`].
    pub at_px: [f64; 2],
    /// What to write about it: a few words.
    pub label: String,
}

/// What the plate of the tracing shows.
#[derive(Debug, Clone, Copy)]
pub struct Overlay<'a> {
    /// The photo of the hole.
    pub photo: &'a Raster,
    /// The traced loops, each closed by itself, in pixels of the photo: x from the left edge, y
    /// down from the top edge, the pixel of column i and row j covering i..i+1 by j..j+1. Without
    /// any, the whole photo is shown.
    pub loops_px: &'a [Vec<[f64; 2]>],
    /// The width of a pixel on the hole, in mm.
    pub mm_per_px: f64,
    /// Places to point at, the most important first.
    pub marks: &'a [Mark],
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// The photo around the outline, enlarged, with the outline, the disc of the same area and the
/// marks over it, as the bytes of a PNG file.
///
/// # Errors
/// [`Error::Limit`] for a photo without pixels, a pixel that is not 1e-6 mm to 10 mm wide, or a
/// mark that is nowhere; [`Error::Outline`] for loops that are no outline.
pub fn overlay(view: &Overlay<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(view)?)
}

fn drawn(view: &Overlay<'_>) -> Result<String, Error> {
    if !(1e-6..=10.0).contains(&view.mm_per_px) {
        return Err(Error::limit(
            format!("{} mm is no width for a pixel", view.mm_per_px),
            "give between 0.000001 and 10 mm",
        ));
    }
    if view.marks.iter().any(|mark| !mark.at_px.iter().all(|place| place.is_finite())) {
        return Err(Error::limit("a mark is nowhere on the photo", "give it a place in pixels"));
    }
    let outline = match view.loops_px {
        [] => None,
        loops => Some(Outline::new(loops.to_vec())?),
    };
    let mut plate = Plate::new(view.title)?;
    let photo = Photo::placed(view, outline.as_ref(), plate.bottom)?;
    plate.picture(
        photo.frame,
        &shown(view.photo, photo.crop, [photo.frame.width, photo.frame.height])?,
        Sampling::Squares,
    )?;
    plate.clipped(photo.frame, |plate| {
        draw_outline(plate, &photo, outline.as_ref());
        Ok(())
    })?;
    plate.border(photo.frame, Stroke { colour: GREY, width: 1.0, ..FINE });
    let unlabelled = draw_marks(&mut plate, &photo, view.marks)?;
    plate.bottom = photo.frame.bottom() + GAP;
    draw_key(&mut plate, &photo, view.mm_per_px, outline.as_ref());
    if unlabelled > 0 {
        plate.bottom += GAP;
        let note = format!("{unlabelled} more are marked that found no room for a label.");
        plate.paragraph(MARGIN, ROOM, &NOTE, &note, 1)?;
    }
    plate.svg(view.caption)
}

/// The shown part of the photo, and where it stands on the plate.
struct Photo {
    crop: Crop,
    frame: Frame,
}

impl Photo {
    fn placed(view: &Overlay<'_>, outline: Option<&Outline>, top: f64) -> Result<Photo, Error> {
        let all = Crop::all(view.photo)?;
        let crop = outline.map_or(all, |outline| {
            let (mut low, mut high) = outline.bounds_mm();
            for mark in view.marks {
                for axis in [0, 1] {
                    low[axis] = low[axis].min(mark.at_px[axis]);
                    high[axis] = high[axis].max(mark.at_px[axis]);
                }
            }
            let around = AROUND * (high[0] - low[0]).max(high[1] - low[1]);
            all.within(low.map(|edge| edge - around), high.map(|edge| edge + around))
        });
        let [width, height] = crop.fitted(PHOTO, PHOTO);
        let x = MARGIN + ((ROOM - width) / 2.0).round();
        Ok(Photo { crop, frame: Frame { x, y: top.round(), width, height } })
    }

    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.frame.x + (x - self.crop.column as f64) * self.units_per_px(),
            self.frame.y + (y - self.crop.row as f64) * self.frame.height / self.crop.rows as f64,
        ]
    }

    fn units_per_px(&self) -> f64 {
        self.frame.width / self.crop.columns as f64
    }
}

fn draw_outline(plate: &mut Plate, photo: &Photo, outline: Option<&Outline>) {
    let Some(outline) = outline else { return };
    let radius = outline.equivalent_diameter_mm() / 2.0 * photo.units_per_px();
    plate.circle(photo.place(outline.centroid_mm()), radius, DISC);
    for points in outline.loops() {
        let points: Vec<[f64; 2]> = points.iter().map(|point| photo.place(*point)).collect();
        plate.ring(&points, RIM);
    }
}

/// A label beside the photo: its lines, and the mark it belongs to.
struct Label {
    lines: Vec<String>,
    at: [f64; 2],
}

impl Label {
    fn height(&self) -> f64 {
        self.lines.len() as f64 * LABEL.leading()
    }
}

/// Draws the marks with their labels beside the photo, and says how many found no room for one.
fn draw_marks(plate: &mut Plate, photo: &Photo, marks: &[Mark]) -> Result<usize, Error> {
    let frame = photo.frame;
    let (mut left, mut right, mut unlabelled) = (Vec::new(), Vec::new(), 0);
    for mark in marks {
        let [x, y] = photo.place(mark.at_px);
        let at = [x.clamp(frame.x, frame.right()), y.clamp(frame.y, frame.bottom())];
        let label = Label { lines: LABEL.lines(&mark.label, COLUMN, 4)?, at };
        let side = if at[0] < frame.centre()[0] { &mut left } else { &mut right };
        let used: f64 = side.iter().map(|label: &Label| label.height() + GAP).sum();
        if used + label.height() <= frame.height {
            side.push(label);
        } else {
            unlabelled += 1;
            plate.circle(at, MARK_RADIUS, MARK);
        }
    }
    draw_labels(plate, frame, left, frame.x - 2.0 * GAP, Anchor::End);
    draw_labels(plate, frame, right, frame.right() + 2.0 * GAP, Anchor::Start);
    Ok(unlabelled)
}

/// Draws one side's labels, each as near to the height of its mark as the others let it.
fn draw_labels(plate: &mut Plate, frame: Frame, mut labels: Vec<Label>, x: f64, anchor: Anchor) {
    labels.sort_by(|a, b| a.at[1].total_cmp(&b.at[1]));
    let mut below: f64 = labels.iter().map(|label| label.height() + GAP).sum::<f64>() - GAP;
    let mut top = frame.y;
    for label in labels {
        // Not above the label before, and so high that those still to come have room.
        let wanted = label.at[1] - label.height() / 2.0;
        let y = wanted.min(frame.bottom() - below).max(top);
        below -= label.height() + GAP;
        top = y + label.height() + GAP;
        draw_leader(plate, label.at, [x, y + label.height() / 2.0], frame);
        for (index, line) in label.lines.iter().enumerate() {
            let baseline = y + index as f64 * LABEL.leading() + LABEL.size;
            plate.text([x, baseline], anchor, &LABEL, line);
        }
    }
}

/// A line from a label to the ring around its mark.
fn draw_leader(plate: &mut Plate, at: [f64; 2], [x, y]: [f64; 2], frame: Frame) {
    let start = if x < frame.x { x + GAP / 2.0 } else { x - GAP / 2.0 };
    let (dx, dy) = (start - at[0], y - at[1]);
    let share = (MARK_RADIUS / dx.hypot(dy).max(MARK_RADIUS)).min(1.0);
    plate.line(
        &[[start, y], [at[0] + share * dx, at[1] + share * dy]],
        Stroke { width: 2.0, ..MARK },
    );
    plate.circle(at, MARK_RADIUS, MARK);
}

/// The scale bar, and what the lines are, in one row beneath the photo.
fn draw_key(plate: &mut Plate, photo: &Photo, mm_per_px: f64, outline: Option<&Outline>) {
    let top = plate.bottom;
    let baseline = top + BAR_HEIGHT / 2.0 + 0.36 * LABEL.size;
    // Under the photo where it is wide, and never so far right that the row runs out.
    let left = photo.frame.x.min(MARGIN + (ROOM - PHOTO) / 2.0);
    let mm_per_unit = mm_per_px / photo.units_per_px();
    scale_bar(plate, [left, top], photo.frame.width / 3.0, mm_per_unit, "");
    if let Some(outline) = outline {
        let disc = Quantity::Length.write(outline.equivalent_diameter_mm() * mm_per_px);
        let mut x = left + 480.0;
        for (stroke, words, width) in [
            (RIM, "traced rim".into(), 250.0),
            (DISC, format!("disc of the same area, {disc}"), 0.0),
        ] {
            let y = top + BAR_HEIGHT / 2.0;
            plate.line(&[[x, y], [x + 60.0, y]], Stroke { cased: false, ..stroke });
            plate.text([x + 60.0 + GAP, baseline], Anchor::Start, &LABEL, &words);
            x += width;
        }
    }
    plate.bottom = top + BAR_HEIGHT;
}

#[cfg(test)]
#[path = "overlay_tests.rs"]
mod tests;
