//! The plate of the point-spread function: the light of a point through this hole and through the
//! best disc.

use super::axes::{
    Axes, BAR_HEIGHT, BENEATH_PLOT, LEFT_OF_PLOT, MEASURED, REFERENCE, log_colour_bar, scale_bar,
};
use super::canvas::{
    Anchor, FINE, Frame, GAP, HEADING, LABEL, MARGIN, NOTE, Plate, ROOM, Sampling, Stroke, bytes,
};
use super::ink::Colour;
use super::pixels::{Crop, averaged};
use crate::error::Error;
use image::{Rgb, RgbImage};
use ndarray::Array2;

/// The scale ends this far below the brighter peak: four decades.
const FLOOR: f64 = 1e-4;
/// The profiles end where both stay below this share of the peak, on a linear scale a hair.
const PROFILE_FLOOR: f64 = 0.005;
const MAP: f64 = 608.0;
const BETWEEN: f64 = 40.0;
const PROFILE_HEIGHT: f64 = 330.0;
const MEASURES: &str = "share of the light per mm²";

/// Describes a point-spread function to be shown.
#[derive(Debug, Clone)]
pub struct PsfView<'a> {
    /// Light per mm² of film as a share of all that comes through the hole: rows from low y to
    /// high, columns from low x to high, the centre at index size / 2.
    pub density_per_mm2: &'a Array2<f64>,
    /// The distance between samples on the film, in mm.
    pub pitch_mm: f64,
    /// Whose light it is: a few words.
    pub title: String,
}

/// Tells what the plate of the point-spread function shows.
#[derive(Debug, Clone)]
pub struct PointImage<'a> {
    /// The light through this hole.
    pub this: PsfView<'a>,
    /// The light through the best disc.
    pub best: PsfView<'a>,
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Draws both point-spread functions on one scale of colours and one of lengths, y up, with their
/// profiles beneath, as the bytes of a PNG file.
///
/// The colours are logarithmic over four decades below the brighter peak; what is darker is black,
/// as is what is not a number. Both maps reach as far from the centre as either holds light
/// above that, and both grids go.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for a grid of fewer than 3 x 3 samples, a pitch outside 1e-6 mm to 100 mm, or
/// a brighter peak outside 1e-5 to 1e7 per mm²: no light, or no light on film.
pub fn point_image(view: &PointImage<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(view)?)
}

fn drawn(view: &PointImage<'_>) -> Result<String, Error> {
    let views = [&view.this, &view.best];
    for view in views {
        view.check()?;
    }
    let peak = views.map(PsfView::peak).into_iter().fold(0.0, f64::max);
    if !(1e-5..=1e7).contains(&peak) {
        return Err(Error::limit(
            format!("the light peaks at {peak:.1e} per mm², which is out of range"),
            "give a share of the light per mm² between 0.00001 and 10 000 000 at its brightest",
        ));
    }
    let mut plate = Plate::new(view.title)?;
    draw_maps(&mut plate, views, peak)?;
    draw_profiles(&mut plate, views, peak)?;
    plate.svg(view.caption)
}

impl PsfView<'_> {
    fn check(&self) -> Result<(), Error> {
        let (rows, columns) = self.density_per_mm2.dim();
        if rows.min(columns) < 3 || !(1e-6..=100.0).contains(&self.pitch_mm) {
            return Err(Error::limit(
                format!("{columns} x {rows} samples {} mm apart do not make a map", self.pitch_mm),
                "give at least 3 x 3 samples, between 0.000001 and 100 mm apart",
            ));
        }
        Ok(())
    }

    /// The largest density that is a number.
    fn peak(&self) -> f64 {
        self.density_per_mm2.iter().copied().filter(|light| light.is_finite()).fold(0.0, f64::max)
    }

    /// Samples on each side of the centre that the grid has in every direction.
    fn half(&self) -> usize {
        let (rows, columns) = self.density_per_mm2.dim();
        (rows.min(columns) - 1) / 2
    }

    /// How far from the centre, along x or y, the light is above `floor`, in mm; the sample's own
    /// width included.
    fn reach_mm(&self, floor: f64) -> f64 {
        let (rows, columns) = self.density_per_mm2.dim();
        let bright = self.density_per_mm2.indexed_iter().filter(|(_, light)| **light >= floor);
        let steps = bright
            .map(|((row, column), _)| row.abs_diff(rows / 2).max(column.abs_diff(columns / 2)))
            .max()
            .unwrap_or(0);
        (steps as f64 + 0.5) * self.pitch_mm
    }

    /// How far the grid goes from the centre, in mm.
    fn limit_mm(&self) -> f64 {
        (self.half() as f64 + 0.5) * self.pitch_mm
    }

    /// The square of samples that holds `reach_mm` to each side of the centre.
    fn crop(&self, reach_mm: f64) -> Crop {
        let (rows, columns) = self.density_per_mm2.dim();
        let steps = (reach_mm / self.pitch_mm - 0.5 - 1e-9).ceil().max(1.0) as usize;
        let half = steps.min(self.half());
        let side = 2 * half + 1;
        Crop { column: columns / 2 - half, row: rows / 2 - half, columns: side, rows: side }
    }

    /// The light along x through the centre: (mm on the film, per mm²).
    fn profile(&self) -> impl Iterator<Item = [f64; 2]> {
        let (rows, columns) = self.density_per_mm2.dim();
        (0..columns).map(move |column| {
            let light = self.density_per_mm2[[rows / 2, column]];
            let x_mm = (column as f64 - (columns / 2) as f64) * self.pitch_mm;
            [x_mm, if light.is_finite() { light } else { 0.0 }]
        })
    }
}

/// How far to show: as far as either is above `floor`, a little more, and no farther than both go.
fn shown_mm(views: [&PsfView<'_>; 2], floor: f64) -> f64 {
    let reach = views.map(|view| view.reach_mm(floor)).into_iter().fold(0.0, f64::max);
    // Three samples at least, so that there is a middle and something beside it.
    let least = views.map(|view| 1.5 * view.pitch_mm).into_iter().fold(0.0, f64::max);
    let limit = views.map(PsfView::limit_mm).into_iter().fold(f64::INFINITY, f64::min);
    (1.08 * reach).max(least).min(limit)
}

fn draw_maps(plate: &mut Plate, views: [&PsfView<'_>; 2], peak: f64) -> Result<(), Error> {
    let reach_mm = shown_mm(views, FLOOR * peak);
    let colour = |density: f64| {
        let along = (density / peak / FLOOR).ln() / (1.0 / FLOOR).ln();
        let along = if along.is_finite() { along.clamp(0.0, 1.0) } else { 0.0 };
        let colour = colorous::INFERNO.eval_continuous(along);
        Rgb([colour.r, colour.g, colour.b])
    };
    let lefts = [MARGIN, MARGIN + MAP + BETWEEN];
    let titles = heading_lines(views)?;
    let tallest = titles.iter().map(Vec::len).max().unwrap_or(1);
    let top = plate.bottom + tallest as f64 * HEADING.leading() + GAP / 2.0;
    for ((view, x), lines) in views.into_iter().zip(lefts).zip(titles) {
        for (index, line) in lines.iter().enumerate() {
            let y = plate.bottom + index as f64 * HEADING.leading() + HEADING.size;
            plate.text([x, y], Anchor::Start, &HEADING, line);
        }
        let frame = Frame { x, y: top, width: MAP, height: MAP };
        draw_map(plate, frame, view, reach_mm, colour)?;
        scale_bar(
            plate,
            [x, frame.bottom() + GAP],
            MAP / 3.0,
            2.0 * reach_mm / MAP,
            &LABEL,
            " on the film",
        );
    }
    let bar = Frame { x: lefts[1] + MAP + BETWEEN, y: top, width: 30.0, height: MAP };
    log_colour_bar(plate, bar, [FLOOR * peak, peak], colour, MEASURES)?;
    plate.bottom = top + MAP + GAP + BAR_HEIGHT + GAP;
    let note = "Colours are logarithmic and end at 1/10 000 of the brighter peak: black is less.";
    plate.paragraph(MARGIN, ROOM, &NOTE, note, 2)?;
    Ok(())
}

fn heading_lines(views: [&PsfView<'_>; 2]) -> Result<[Vec<String>; 2], Error> {
    let [this, best] = views.map(|view| HEADING.lines(&view.title, MAP, 2));
    Ok([this?, best?])
}

/// One map, y up, with ticks at its sides where the profile runs.
fn draw_map(
    plate: &mut Plate,
    frame: Frame,
    view: &PsfView<'_>,
    reach_mm: f64,
    colour: impl Fn(f64) -> Rgb<u8>,
) -> Result<(), Error> {
    let crop = view.crop(reach_mm);
    let units_per_mm = frame.width / (2.0 * reach_mm);
    let width = crop.columns as f64 * view.pitch_mm * units_per_mm;
    // Finer than the plate's own pixels is averaged; coarser is joined smoothly, as the light is.
    let side = (width.round() as usize).clamp(1, crop.columns);
    let light = averaged(&view.density_per_mm2.view(), crop, side, side);
    let image = RgbImage::from_fn(side as u32, side as u32, |column, row| {
        colour(light[[side - 1 - row as usize, column as usize]])
    });
    let [x, y] = frame.centre();
    let samples = Frame { x: x - width / 2.0, y: y - width / 2.0, width, height: width };
    plate.clipped(frame, |plate| plate.picture(samples, &image, Sampling::Smooth))?;
    let tick = Stroke { colour: Colour::White, width: 2.0, ..FINE };
    plate.line(&[[frame.x, y], [frame.x + 24.0, y]], tick);
    plate.line(&[[frame.right() - 24.0, y], [frame.right(), y]], tick);
    Ok(())
}

fn draw_profiles(plate: &mut Plate, views: [&PsfView<'_>; 2], peak: f64) -> Result<(), Error> {
    plate.bottom += 1.5 * GAP;
    let heading = "Along the horizontal line through the centre (white ticks on the maps)";
    plate.paragraph(MARGIN, ROOM, &HEADING, heading, 1)?;
    let y = plate.bottom + LABEL.leading();
    for (index, (view, stroke)) in views.into_iter().zip([MEASURED, REFERENCE]).enumerate() {
        let x = MARGIN + index as f64 * ROOM / 2.0;
        plate.line(&[[x, y - 8.0], [x + 60.0, y - 8.0]], stroke);
        for line in LABEL.lines(&view.title, ROOM / 2.0 - 100.0, 1)? {
            plate.text([x + 60.0 + GAP, y], Anchor::Start, &LABEL, &line);
        }
    }
    let reach_mm = shown_mm(views, PROFILE_FLOOR * peak);
    let axes = Axes {
        frame: Frame {
            x: MARGIN + LEFT_OF_PLOT,
            y: y + 1.5 * GAP,
            width: ROOM - LEFT_OF_PLOT - 2.0 * GAP,
            height: PROFILE_HEIGHT,
        },
        left: LEFT_OF_PLOT,
        logarithmic: [false; 2],
        x: [-reach_mm, reach_mm],
        y: [0.0, 1.06 * peak],
        x_label: "distance from the centre on the film, mm",
        y_label: MEASURES,
    };
    axes.draw(plate)?;
    axes.curve(plate, views[1].profile(), REFERENCE)?;
    axes.curve(plate, views[0].profile(), MEASURED)?;
    plate.bottom = axes.frame.bottom() + BENEATH_PLOT;
    Ok(())
}

#[cfg(test)]
#[path = "point_image_tests.rs"]
mod tests;
