//! Panels in rows on a page, a slide or a phone.

use super::panel::Needs;
use super::{Columns, Diagram, Format, Panel, Shows, Size};
use crate::error::Error;
use crate::plate::canvas::{Frame, GAP, NOTE, Plate, escaped};
use crate::raster::{FACE_FILES, Page, drawn_size, pdf, png, rasterise};
use base64::{Engine, engine::general_purpose::STANDARD};
use image::RgbImage;
use rayon::prelude::*;

/// Between neighbouring panels, and between rows of them.
const BETWEEN: f64 = 40.0;
/// Panels side by side on a phone: at more, nobody could make them out. Three where that leaves none alone.
const MOST_ON_A_PHONE: [usize; 2] = [2, 3];
/// The height of a slide, and what a body on it has at least.
const SLIDE_HEIGHT: f64 = 900.0;
const LEAST_HEIGHT: f64 = 60.0;

/// How wide a sheet is meant to be printed, in mm.
fn printed_mm(size: Size) -> f64 {
    match size {
        Size::Page => 160.0,
        Size::Slide => 254.0,
        Size::Phone => 90.0,
    }
}

/// Units of the drawing to a mm of its print; none for a slide, which is not printed.
fn per_mm(size: Size) -> Option<f64> {
    let (width, _, _) = sheet(size);
    (size != Size::Slide).then(|| width / printed_mm(size))
}

/// Width and margin of a sheet in units of the drawing, and pixels to a unit.
fn sheet(size: Size) -> (f64, f64, f64) {
    match size {
        Size::Page => (1600.0, 64.0, 1.0),
        Size::Slide => (1600.0, 52.0, 1.2),
        Size::Phone => (720.0, 28.0, 1.5),
    }
}

/// The least width of a panel, and of one with axes, in units of the drawing: narrower, its words have no room.
const NARROWEST: f64 = 200.0;
const NARROWEST_CHART: f64 = 420.0;
/// How high a chart on a slide is at the most, over its width.
const HIGHEST: f64 = 0.85;

/// Panels side by side.
struct Row<'a> {
    panels: &'a [Panel],
    needs: Vec<Needs>,
    /// Of each panel.
    widths: Vec<f64>,
    /// Whether all are as wide as each other, so that what stands beneath each other belongs together.
    is_even: bool,
    per_mm: Option<f64>,
    room: f64,
    /// The headings, what stands between them and the bodies, the bodies, and what stands beneath.
    headings: f64,
    over: f64,
    height: f64,
    beneath: f64,
}

impl Row<'_> {
    /// Panels as wide as each other, `side_by_side` of them to the room.
    fn even(
        panels: &[Panel],
        room: f64,
        side_by_side: usize,
        per_mm: Option<f64>,
    ) -> Result<Row<'_>, Error> {
        let count = side_by_side as f64;
        let width = (room - (count - 1.0) * BETWEEN) / count;
        Row::of(panels, vec![width; panels.len()], room, (true, per_mm))
    }

    /// Panels as high as each other, which fill the room.
    fn filled(panels: &[Panel], room: f64, per_mm: Option<f64>) -> Result<Row<'_>, Error> {
        let even = Row::even(panels, room, panels.len(), per_mm)?;
        let free = room - (panels.len() - 1) as f64 * BETWEEN;
        let wide: f64 = even.needs.iter().map(|needs| 1.0 / needs.aspect).sum();
        let widths = even.needs.iter().map(|needs| free / wide / needs.aspect).collect();
        let row = Row::of(panels, widths, room, (false, per_mm))?;
        // Where one would be too narrow for its words all are as wide as each other.
        let is_legible =
            panels.iter().zip(&row.widths).all(|(panel, width)| *width >= least(panel));
        Ok(if is_legible { row } else { Row { is_even: false, ..even } })
    }

    fn of(
        panels: &[Panel],
        widths: Vec<f64>,
        room: f64,
        (is_even, per_mm): (bool, Option<f64>),
    ) -> Result<Row<'_>, Error> {
        let needs = panels
            .iter()
            .zip(&widths)
            .map(|(panel, width)| panel.needs(*width, per_mm))
            .collect::<Result<Vec<_>, _>>()?;
        let highest = |of: &dyn Fn(&Needs) -> f64| needs.iter().map(of).fold(0.0, f64::max);
        let (headings, over) = (highest(&Needs::heading_height), highest(&|needs| needs.over));
        let beneath = highest(&|n| n.beneath);
        let height =
            needs.iter().zip(&widths).map(|(n, width)| n.aspect * width).fold(0.0, f64::max);
        Ok(Row { panels, widths, is_even, per_mm, room, headings, over, height, beneath, needs })
    }

    /// The same no higher than `highest`: pictures keep their shape, and charts take the width that those leave.
    fn lowered(self, highest: f64) -> Result<Self, Error> {
        if self.is_even || self.height <= highest {
            return Ok(Row { height: self.height.min(highest), ..self });
        }
        let is_chart = |panel: &Panel| matches!(panel.shows, Shows::Chart(_));
        let charts = self.panels.iter().filter(|panel| is_chart(panel)).count();
        let each = self.panels.iter().zip(&self.needs);
        let mut widths: Vec<f64> = each
            .map(|(panel, needs)| (highest / needs.aspect).max(least(panel)).min(self.room))
            .collect();
        let gaps = (self.panels.len() - 1) as f64 * BETWEEN;
        let spare = self.room - gaps - widths.iter().sum::<f64>();
        if spare < 0.0 {
            return Ok(Row { height: highest, ..self });
        }
        for (panel, width) in self.panels.iter().zip(&mut widths) {
            if is_chart(panel) {
                *width += spare / charts as f64;
            }
        }
        let row = Row::of(self.panels, widths, self.room, (false, self.per_mm))?;
        Ok(Row { height: highest, ..row })
    }

    fn is_charts(&self) -> bool {
        self.panels.iter().all(|panel| matches!(panel.shows, Shows::Chart(_)))
    }

    /// From where the first panel begins: a row that does not fill the room lies in its middle.
    fn indent(&self) -> f64 {
        let gaps = (self.panels.len() - 1) as f64 * BETWEEN;
        let spare = self.room - gaps - self.widths.iter().sum::<f64>();
        if self.is_even { 0.0 } else { (spare / 2.0).max(0.0) }
    }

    /// All but the bodies, with what keeps rows apart.
    fn around(&self) -> f64 {
        self.headings + self.over + self.beneath + BETWEEN / 2.0
    }

    /// What the bodies cover: pictures where each keeps its shape, charts up to half as wide again as they are on a page.
    fn covered(&self) -> f64 {
        let each = self.panels.iter().zip(&self.needs).zip(&self.widths);
        let covered = each.map(|((panel, needs), width)| {
            let wider = if matches!(panel.shows, Shows::Chart(_)) { 1.5 } else { 1.0 };
            self.height * width.min(wider * self.height / needs.aspect)
        });
        covered.sum()
    }
}

/// Panels in as few rows of at most so many as there must be, the first of them fuller: seven by three are three, two and two.
fn balanced(panels: &[Panel], most: usize) -> Vec<&[Panel]> {
    let rows = panels.len().div_ceil(most.max(1)).max(1);
    let (each, more) = (panels.len() / rows, panels.len() % rows);
    let (full, rest) = panels.split_at(more * (each + 1));
    full.chunks(each + 1).chain(rest.chunks(each.max(1))).collect()
}

fn least(panel: &Panel) -> f64 {
    if matches!(panel.shows, Shows::Chart(_)) { NARROWEST_CHART } else { NARROWEST }
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
        let svg = self.drawn(format, &format!("<style>{faces}</style>"))?;
        let is_to_scale = |panel: &Panel| matches!(&panel.shows, Shows::Drawing(drawing) if drawing.magnified.is_some());
        if format.size == Size::Slide || !self.panels.iter().any(is_to_scale) {
            return Ok(svg);
        }
        // What is drawn to scale states its size on paper; elsewhere the window decides.
        let [width, height] = drawn_size(&svg)?;
        let width_mm = printed_mm(format.size);
        let in_units = format!("width='{width}' height='{height}'");
        let in_mm = format!("width='{width_mm}mm' height='{:.2}mm'", width_mm * height / width);
        Ok(svg.replacen(&in_units, &in_mm, 1))
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
            size => (self.in_rows(plate.room(), self.side_by_side(size), per_mm(size))?, 0.0),
        };
        let mut top = plate.bottom + spare / 2.0;
        for row in rows {
            let (mut x, y) = (margin + row.indent(), top + row.headings + row.over);
            for ((panel, needs), width) in row.panels.iter().zip(&row.needs).zip(&row.widths) {
                let body = Frame { x, y, width: *width, height: row.height };
                panel.draw(&mut plate, needs, [top, top + row.headings], body, row.per_mm)?;
                x += width + BETWEEN;
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
        let width_mm = printed_mm(format.size);
        let [width, height] = drawn_size(&svg)?;
        let paper_mm = [width_mm, width_mm * height / width];
        pdf(&self.title, &[Page { svg: &svg, paper_mm }])
    }

    /// Draws figures one after the other, as the frames of a moving one, at half the pixels of a still one.
    ///
    /// # Errors
    /// As [`Diagram::svg`].
    pub fn frames(frames: &[Diagram], format: Format) -> Result<Vec<RgbImage>, Error> {
        let (_, _, pixels) = sheet(format.size);
        let drawn = |frame: &Diagram| rasterise(&frame.drawn(format, "")?, pixels / 2.0);
        frames.par_iter().map(drawn).collect()
    }

    fn side_by_side(&self, size: Size) -> usize {
        let columns = match self.columns {
            Columns::Fixed(columns) => columns,
            Columns::Free => self.panels.len().min(2),
        };
        let most = if size == Size::Phone { self.most_on_a_phone() } else { self.panels.len() };
        columns.clamp(1, most)
    }

    /// Charts need all the width of a phone, and so does what is drawn as under a loupe.
    fn most_on_a_phone(&self) -> usize {
        let is_wide = |panel: &Panel| match &panel.shows {
            Shows::Chart(_) => true,
            Shows::Drawing(drawing) => drawing.magnified.is_some(),
            Shows::Picture(_) => false,
        };
        match self.columns {
            _ if self.panels.iter().any(is_wide) => 1,
            Columns::Fixed(together) if together % 2 == 1 => MOST_ON_A_PHONE[1],
            _ => MOST_ON_A_PHONE[0],
        }
    }

    /// The panels row by row: where there is room for fewer than stand together, each row is cut by itself.
    fn in_rows(
        &self,
        room: f64,
        columns: usize,
        per_mm: Option<f64>,
    ) -> Result<Vec<Row<'_>>, Error> {
        let together = match self.columns {
            Columns::Fixed(together) => together.max(columns),
            Columns::Free => self.panels.len(),
        };
        let rows = self.panels.chunks(together.max(1)).flat_map(|row| balanced(row, columns));
        let laid = rows.map(|panels| match self.columns {
            Columns::Free => Row::filled(panels, room, per_mm),
            Columns::Fixed(_) => Row::even(panels, room, columns, per_mm),
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
            let rows = self.in_rows(room, columns, None)?;
            let highest = |rows: &[Row<'_>]| {
                let around = rows.iter().map(Row::around).sum::<f64>() - BETWEEN / 2.0;
                let natural = rows.iter().map(|row| row.height).collect();
                (around, common_height(natural, left - around).max(LEAST_HEIGHT))
            };
            let (_, most) = highest(&rows);
            let rows = rows.into_iter().map(|row| row.lowered(most));
            let mut rows = rows.collect::<Result<Vec<_>, _>>()?;
            // Narrower panels may have their words in more lines.
            let (around, most) = highest(&rows);
            rows.iter_mut().for_each(|row| row.height = row.height.min(most));
            let over = left - around - rows.iter().map(|row| row.height).sum::<f64>();
            // Charts have no shape of their own: alone in a row they take what height there is.
            let growing = rows.iter().filter(|row| row.is_charts()).count() as f64;
            for row in rows.iter_mut().filter(|row| row.is_charts()) {
                let widest = row.widths.iter().copied().fold(0.0, f64::max);
                row.height =
                    (row.height + over.max(0.0) / growing).min(HIGHEST * widest).max(row.height);
            }
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
