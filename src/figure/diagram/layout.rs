//! Panels in rows on a page, a slide or a phone.

use super::{Columns, Diagram, Format, Panel, Size};
use crate::error::Error;
use crate::figure::plate::{Frame, GAP, NOTE, Plate, escaped};
use crate::raster::{png, rasterise};

/// Between neighbouring panels, and between rows of them.
const BETWEEN: f64 = 40.0;
/// Panels side by side on a phone: at more, nobody could make them out.
const MOST_ON_A_PHONE: usize = 2;
/// What is lowest and highest on a slide.
const SLIDE_HEIGHT: f64 = 900.0;

/// Width and margin of a sheet in units of the drawing, and pixels to a unit.
fn sheet(size: Size) -> (f64, f64, f64) {
    match size {
        Size::Page => (1600.0, 64.0, 1.0),
        Size::Slide => (1600.0, 52.0, 1.2),
        Size::Phone => (720.0, 28.0, 1.5),
    }
}

/// Rows of panels: how many side by side, how wide each, and what share of its full height each body has.
struct Rows {
    columns: usize,
    width: f64,
    share: f64,
    /// Height that is left over.
    spare: f64,
}

impl Diagram {
    /// The figure as an SVG document, with its title and its description in words.
    ///
    /// # Errors
    /// [`Error::Limit`] for a figure without panels.
    pub fn svg(&self, format: Format) -> Result<String, Error> {
        if self.panels.is_empty() {
            return Err(Error::limit("a figure of no panels shows nothing", "give it one"));
        }
        let (width, margin, _) = sheet(format.size);
        let mut plate = Plate::on(format.ground, width, margin, &self.title)?;
        let rows = match format.size {
            Size::Slide => self.on_a_slide(&plate)?,
            size => self.at_full_height(plate.room(), size)?,
        };
        let mut top = plate.bottom + rows.spare / 2.0;
        for panels in self.in_rows(rows.columns) {
            // What is left over for the last row has all the width.
            let width = match self.columns {
                Columns::Free => self.width(plate.room(), panels.len()),
                Columns::Fixed(_) => rows.width,
            };
            let needs =
                panels.iter().map(|panel| panel.needs(width)).collect::<Result<Vec<_>, _>>()?;
            let highest =
                |of: &dyn Fn(&super::panel::Needs) -> f64| needs.iter().map(of).fold(0.0, f64::max);
            let above = highest(&|needs| needs.above);
            let height = highest(&|needs| needs.aspect) * width * rows.share;
            let beneath = highest(&|needs| needs.beneath);
            for (index, (panel, needs)) in panels.iter().zip(&needs).enumerate() {
                let x = margin + index as f64 * (width + BETWEEN);
                let body = Frame { x, y: top + above, width, height };
                panel.draw(&mut plate, needs, top, body)?;
            }
            top += above + height + beneath + BETWEEN / 2.0;
        }
        plate.bottom = top - BETWEEN / 2.0 + GAP;
        let lines = if format.size == Size::Phone { 24 } else { 8 };
        plate.paragraph(margin, plate.room(), &NOTE, &self.caption, lines)?;
        let height = match format.size {
            Size::Slide => SLIDE_HEIGHT,
            _ => (plate.bottom + margin - 20.0).ceil(),
        };
        let (title, words) = (escaped(&self.title), escaped(&self.alternative));
        Ok(plate.sheet(height, &format!("<title>{title}</title><desc>{words}</desc>")))
    }

    /// The figure as the bytes of a PNG file.
    ///
    /// # Errors
    /// As [`Diagram::svg`].
    pub fn png(&self, format: Format) -> Result<Vec<u8>, Error> {
        let (_, _, pixels) = sheet(format.size);
        png(&rasterise(&self.svg(format)?, pixels)?)
    }

    fn at_full_height(&self, room: f64, size: Size) -> Result<Rows, Error> {
        let columns = match self.columns {
            Columns::Fixed(columns) => columns,
            Columns::Free => self.panels.len().min(2),
        };
        let most = if size == Size::Phone { self.most_on_a_phone() } else { self.panels.len() };
        let columns = columns.clamp(1, most);
        Ok(Rows { columns, width: self.width(room, columns), share: 1.0, spare: 0.0 })
    }

    /// Charts need all the width of a phone.
    fn most_on_a_phone(&self) -> usize {
        let has_chart =
            self.panels.iter().any(|panel| matches!(panel.shows, super::Shows::Chart(_)));
        if has_chart { 1 } else { MOST_ON_A_PHONE }
    }

    /// The panels row by row: where there is room for fewer than stand together, each row is cut by itself.
    fn in_rows(&self, columns: usize) -> impl Iterator<Item = &[Panel]> {
        let together = match self.columns {
            Columns::Fixed(columns) => columns,
            Columns::Free => self.panels.len(),
        };
        let rows = self.panels.chunks(together.max(1));
        rows.flat_map(move |row| row.chunks(columns.max(1)))
    }

    fn width(&self, room: f64, columns: usize) -> f64 {
        (room - (columns - 1) as f64 * BETWEEN) / columns as f64
    }

    /// The rows that show the panels largest in the height that is left between title and caption.
    fn on_a_slide(&self, plate: &Plate) -> Result<Rows, Error> {
        let room = plate.room();
        let caption = NOTE.lines(&self.caption, room, 8)?.len() as f64 * NOTE.leading();
        let (_, margin, _) = sheet(Size::Slide);
        let left = SLIDE_HEIGHT - plate.bottom - caption - GAP - (margin - 20.0);
        let tried = match self.columns {
            Columns::Fixed(columns) => columns..=columns,
            Columns::Free => 1..=self.panels.len(),
        };
        let mut best = Rows { columns: 1, width: room, share: 0.0, spare: 0.0 };
        let mut largest = 0.0;
        for columns in tried {
            let width = self.width(room, columns);
            let (mut fixed, mut bodies) = (-BETWEEN / 2.0, 0.0);
            for panels in self.in_rows(columns) {
                // A last row that is not full is widened: no wider than that is tried.
                let width = match self.columns {
                    Columns::Free => self.width(room, panels.len()),
                    Columns::Fixed(_) => width,
                };
                let [mut above, mut beneath, mut aspect] = [0.0f64; 3];
                for panel in panels {
                    let needs = panel.needs(width)?;
                    above = above.max(needs.above);
                    beneath = beneath.max(needs.beneath);
                    aspect = aspect.max(needs.aspect);
                }
                fixed += above + beneath + BETWEEN / 2.0;
                bodies += aspect * width;
            }
            let share = ((left - fixed) / bodies).clamp(0.05, 1.0);
            // Charts are stretched, pictures shrunk: the area that is drawn upon tells both.
            let area = width * width * share;
            if area > largest {
                let spare = (left - fixed - share * bodies).max(0.0);
                (best, largest) = (Rows { columns, width, share, spare }, area);
            }
        }
        Ok(best)
    }
}
