//! Panels in rows on a page, a slide or a phone.

use super::panel::Needs;
use super::{Columns, Diagram, Format, Panel, Size};
use crate::error::Error;
use crate::plate::canvas::{Frame, GAP, NOTE, Plate, escaped};
use crate::raster::{FACE_FILES, Page, animation, drawn_size, pdf, png, rasterise};
use base64::{Engine, engine::general_purpose::STANDARD};
use rayon::prelude::*;

/// Between neighbouring panels, and between rows of them.
const BETWEEN: f64 = 40.0;
/// Panels side by side on a phone: at more, nobody could make them out.
const MOST_ON_A_PHONE: usize = 2;
/// The height of a slide, and what a body on it has at least.
const SLIDE_HEIGHT: f64 = 900.0;
const LEAST_HEIGHT: f64 = 60.0;

/// Width and margin of a sheet in units of the drawing, and pixels to a unit.
fn sheet(size: Size) -> (f64, f64, f64) {
    match size {
        Size::Page => (1600.0, 64.0, 1.0),
        Size::Slide => (1600.0, 52.0, 1.2),
        Size::Phone => (720.0, 28.0, 1.5),
    }
}

/// Panels side by side.
struct Row<'a> {
    panels: &'a [Panel],
    needs: Vec<Needs>,
    /// Of each panel.
    width: f64,
    /// The headings, what stands between them and the bodies, the bodies, and what stands beneath.
    headings: f64,
    over: f64,
    height: f64,
    beneath: f64,
}

impl Row<'_> {
    fn of(panels: &[Panel], width: f64) -> Result<Row<'_>, Error> {
        let needs = panels.iter().map(|panel| panel.needs(width)).collect::<Result<Vec<_>, _>>()?;
        let highest = |of: &dyn Fn(&Needs) -> f64| needs.iter().map(of).fold(0.0, f64::max);
        let (headings, over) = (highest(&Needs::heading_height), highest(&|needs| needs.over));
        let (height, beneath) = (highest(&|n| n.aspect) * width, highest(&|n| n.beneath));
        Ok(Row { panels, width, headings, over, height, beneath, needs })
    }

    /// All but the bodies, with what keeps rows apart.
    fn around(&self) -> f64 {
        self.headings + self.over + self.beneath + BETWEEN / 2.0
    }

    /// What the bodies cover where each keeps its shape.
    fn covered(&self) -> f64 {
        let each = self.needs.iter().map(|needs| {
            let width = self.width.min(self.height / needs.aspect);
            width * width * needs.aspect
        });
        each.sum()
    }
}

/// The height up to which all of `heights` may reach so that they add up to `room`; infinite where there is
/// room for all.
fn common_height(mut heights: Vec<f64>, room: f64) -> f64 {
    heights.sort_by(f64::total_cmp);
    let mut left = room;
    for (index, height) in heights.iter().enumerate() {
        let each = left / (heights.len() - index) as f64;
        if *height > each {
            return each;
        }
        left -= height;
    }
    f64::INFINITY
}

impl Diagram {
    /// Draws the figure as an SVG document, with its letters, its title and its description in words.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a figure without panels.
    pub fn svg(&self, format: Format) -> Result<String, Error> {
        let face = |(weight, file): (u16, &[u8])| {
            let file = STANDARD.encode(file);
            format!(
                "@font-face{{font-family:Inter;font-weight:{weight};src:url(data:font/ttf;base64,{file})}}"
            )
        };
        let faces: String = FACE_FILES.into_iter().map(face).collect();
        self.drawn(format, &format!("<style>{faces}</style>"))
    }

    /// The same with `letters`, which the painter of this crate has by itself.
    fn drawn(&self, format: Format, letters: &str) -> Result<String, Error> {
        if self.panels.is_empty() {
            return Err(Error::limit("a figure needs a panel", "add one"));
        }
        let (width, margin, _) = sheet(format.size);
        let mut plate = Plate::on(format.ground, width, margin, &self.title)?;
        let (rows, spare) = match format.size {
            Size::Slide => self.on_a_slide(&plate)?,
            size => (self.in_rows(plate.room(), self.side_by_side(size))?, 0.0),
        };
        let mut top = plate.bottom + spare / 2.0;
        for row in rows {
            for (index, (panel, needs)) in row.panels.iter().zip(&row.needs).enumerate() {
                let x = margin + index as f64 * (row.width + BETWEEN);
                let y = top + row.headings + row.over;
                let body = Frame { x, y, width: row.width, height: row.height };
                panel.draw(&mut plate, needs, [top, top + row.headings], body)?;
            }
            top += row.around() + row.height;
        }
        plate.bottom = top - BETWEEN / 2.0 + GAP;
        let lines = if format.size == Size::Phone { 24 } else { 8 };
        plate.paragraph(margin, plate.room(), &NOTE, &self.caption, lines)?;
        let height = match format.size {
            Size::Slide => SLIDE_HEIGHT,
            _ => (plate.bottom + margin - 20.0).ceil(),
        };
        let (title, words) = (escaped(&self.title), escaped(&self.alternative));
        let (title, words) = (format!("<title>{title}</title>"), format!("<desc>{words}</desc>"));
        Ok(plate.sheet(height, &format!("{title}{words}{letters}")))
    }

    /// Draws the figure as the bytes of a PNG file.
    ///
    /// # Errors
    /// As [`Diagram::svg`].
    pub fn png(&self, format: Format) -> Result<Vec<u8>, Error> {
        let (_, _, pixels) = sheet(format.size);
        png(&rasterise(&self.drawn(format, "")?, pixels)?)
    }

    /// Draws the figure as a page of a PDF file, as wide as it is meant to be printed: 160 mm in a text, 254 mm (ten
    /// inches) of a slide, 90 mm of a phone's.
    ///
    /// # Errors
    /// As [`Diagram::svg`].
    pub fn pdf(&self, format: Format) -> Result<Vec<u8>, Error> {
        let svg = self.drawn(format, "")?;
        let width_mm = match format.size {
            Size::Page => 160.0,
            Size::Slide => 254.0,
            Size::Phone => 90.0,
        };
        let [width, height] = drawn_size(&svg)?;
        let paper_mm = [width_mm, width_mm * height / width];
        pdf(&self.title, &[Page { svg: &svg, paper_mm }])
    }

    /// Draws figures one after the other as the bytes of an animated PNG file, each for so many seconds, at
    /// half the pixels of a still one.
    ///
    /// # Errors
    /// As [`Diagram::svg`]; [`BeyondLimit`](crate::Kind::BeyondLimit) when the frames come out at different heights.
    pub fn animated(frames: &[Diagram], format: Format, seconds: f64) -> Result<Vec<u8>, Error> {
        let (_, _, pixels) = sheet(format.size);
        let drawn = frames
            .par_iter()
            .map(|frame| rasterise(&frame.drawn(format, "")?, pixels / 2.0))
            .collect::<Result<Vec<_>, _>>()?;
        animation(&drawn, seconds)
    }

    fn side_by_side(&self, size: Size) -> usize {
        let columns = match self.columns {
            Columns::Fixed(columns) => columns,
            Columns::Free => self.panels.len().min(2),
        };
        let most = if size == Size::Phone { self.most_on_a_phone() } else { self.panels.len() };
        columns.clamp(1, most)
    }

    /// Charts need all the width of a phone.
    fn most_on_a_phone(&self) -> usize {
        let has_chart =
            self.panels.iter().any(|panel| matches!(panel.shows, super::Shows::Chart(_)));
        if has_chart { 1 } else { MOST_ON_A_PHONE }
    }

    /// The panels row by row: where there is room for fewer than stand together, each row is cut by itself.
    fn in_rows(&self, room: f64, columns: usize) -> Result<Vec<Row<'_>>, Error> {
        let together = match self.columns {
            Columns::Fixed(together) => together.max(columns),
            Columns::Free => self.panels.len(),
        };
        let rows = self.panels.chunks(together.max(1)).flat_map(|row| row.chunks(columns.max(1)));
        let laid = rows.map(|panels| {
            // What is left over for the last row has all the width.
            let side_by_side = match self.columns {
                Columns::Free => panels.len(),
                Columns::Fixed(_) => columns,
            } as f64;
            Row::of(panels, (room - (side_by_side - 1.0) * BETWEEN) / side_by_side)
        });
        laid.collect()
    }

    /// The rows that show the panels largest in the height that is left between title and caption, and what
    /// they leave of it. Rows that stand beneath each other elsewhere may stand side by side.
    fn on_a_slide(&self, plate: &Plate) -> Result<(Vec<Row<'_>>, f64), Error> {
        let room = plate.room();
        let caption = NOTE.lines(&self.caption, room, 8)?.len() as f64 * NOTE.leading();
        let (_, margin, _) = sheet(Size::Slide);
        let left = SLIDE_HEIGHT - plate.bottom - caption - GAP - (margin - 20.0);
        let step = match self.columns {
            Columns::Fixed(columns) => columns.max(1),
            Columns::Free => 1,
        };
        let (mut best, mut spare, mut largest) = (Vec::new(), 0.0, f64::NEG_INFINITY);
        for columns in (step..=self.panels.len().max(step)).step_by(step) {
            let mut rows = self.in_rows(room, columns)?;
            let around = rows.iter().map(Row::around).sum::<f64>() - BETWEEN / 2.0;
            let natural = rows.iter().map(|row| row.height).collect();
            let highest = common_height(natural, left - around).max(LEAST_HEIGHT);
            rows.iter_mut().for_each(|row| row.height = row.height.min(highest));
            let over = left - around - rows.iter().map(|row| row.height).sum::<f64>();
            // What leaves the slide is the worse the farther it does.
            let covered = if over < -1.0 { over } else { rows.iter().map(Row::covered).sum() };
            if covered > largest {
                (best, spare, largest) = (rows, over.max(0.0), covered);
            }
        }
        Ok((best, spare))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_share_the_height_that_is_left() {
        // The lowest keeps its height; the others share 500 evenly.
        assert_eq!(common_height(vec![500.0, 100.0, 300.0], 600.0), 250.0);
        assert_eq!(common_height(vec![100.0, 300.0], 400.0), f64::INFINITY);
        assert_eq!(common_height(vec![100.0, 300.0], 100.0), 50.0);
    }
}
