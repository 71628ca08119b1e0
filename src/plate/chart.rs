//! A chart to print at true size: on one sheet, or in tiles to be taped together.

use super::canvas::{Anchor, DASHED, FINE, Frame, LABEL, LIST, Plate, SOLID, Stroke, escaped};
use super::ink::{Colour, Ground};
use crate::error::Error;
use crate::geometry::Point;
use crate::raster::{Page, pdf};
use std::fmt::Write;

/// Free room at the sides of a tile, in mm: what printers leave white (common practice, no source).
const MARGIN_MM: f64 = 12.0;
/// The strip beneath a chart for its title and scale, in mm.
const STRIP_MM: f64 = 14.0;
/// White about the chart, in mm, over the larger of its sides.
const WHITE: f64 = 0.01;
/// Arms of the crosses at a tile's corners, in mm.
const CROSS_MM: f64 = 5.0;
/// The most tiles.
const MOST_TILES: usize = 150;
/// The longest side of a PDF's page, in mm: 14 400 points (`ISO32000`, annex C).
const LONGEST_MM: f64 = 5080.0;

/// Describes a chart to print.
#[derive(Debug, Clone)]
pub struct Chart<'a> {
    /// Outlines on the wall, in mm, and the grey of each as an sRGB code.
    pub shapes: Vec<(&'a [Point], u8)>,
    /// Width and height of what is printed, in mm.
    pub printed_mm: [f64; 2],
    /// What it is: camera and distance.
    pub title: &'a str,
}

/// Describes the page that goes before the tiles.
#[derive(Debug, Clone)]
pub struct Instructions<'a> {
    /// Its heading.
    pub title: &'a str,
    /// Its steps.
    pub steps: &'a [String],
}

impl Chart<'_> {
    /// Width and height of the whole chart with its white border and the strip beneath, in mm.
    pub fn sheet_mm(&self) -> [f64; 2] {
        let white = WHITE * self.printed_mm[0].max(self.printed_mm[1]);
        [self.printed_mm[0] + 2.0 * white, self.printed_mm[1] + 2.0 * white + STRIP_MM]
    }

    /// How many tiles lie side by side and beneath each other on paper of this size.
    pub fn tiles(&self, paper_mm: [f64; 2]) -> [usize; 2] {
        let sheet = self.sheet_mm();
        [0, 1].map(|i| (sheet[i] / tile_mm(paper_mm)[i]).ceil().max(1.0) as usize)
    }

    /// The tiles that something is printed on, by column and row, in the order one reads.
    pub fn printed_tiles(&self, paper_mm: [f64; 2]) -> Vec<[usize; 2]> {
        let [across, down] = self.tiles(paper_mm);
        let all = (0..down).flat_map(|row| (0..across).map(move |column| [column, row]));
        all.filter(|place| !self.on_tile(paper_mm, *place).is_empty()).collect()
    }

    /// Draws the whole chart as one SVG drawing, a unit a mm.
    pub fn svg(&self) -> String {
        let size = self.sheet_mm();
        svg(size, &self.within([0.0, 0.0], size))
    }

    /// Draws the whole chart on one page of a PDF file.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) for a chart of more than 5 m.
    pub fn one_page(&self) -> Result<Vec<u8>, Error> {
        let paper_mm = self.sheet_mm();
        if paper_mm[0].max(paper_mm[1]) > LONGEST_MM {
            return Err(Error::limit(
                format!(
                    "the chart is {:.1} m large, and a page of a PDF file at most 5.08 m",
                    paper_mm[0].max(paper_mm[1]) / 1000.0
                ),
                "hang the chart nearer to the hole",
            ));
        }
        pdf(self.title, &[Page { svg: &self.svg(), paper_mm }])
    }

    /// Draws the chart in tiles, after a page of instructions with a map of them. Bare tiles are left out.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when that takes more than 150 sheets.
    pub fn tiled(&self, paper_mm: [f64; 2], instructions: &Instructions) -> Result<Vec<u8>, Error> {
        let [across, down] = self.tiles(paper_mm);
        if across * down > MOST_TILES {
            return Err(Error::limit(
                format!("the chart takes {across} × {down} sheets of this paper"),
                "hang it nearer to the hole, or have it printed on one sheet",
            ));
        }
        let printed = self.printed_tiles(paper_mm);
        let mut drawings = vec![self.instructions(paper_mm, &printed, instructions)?];
        drawings.extend(printed.iter().map(|place| self.tile(paper_mm, *place)));
        let pages: Vec<Page> = drawings.iter().map(|svg| Page { svg, paper_mm }).collect();
        pdf(self.title, &pages)
    }

    /// What lies in a window of the sheet, from its upper left corner, in units of a mm about the window's own corner.
    fn within(&self, [left, top]: Point, [width, height]: [f64; 2]) -> String {
        let sheet = self.sheet_mm();
        let middle = [sheet[0] / 2.0, (sheet[1] - STRIP_MM) / 2.0];
        let mut body = String::new();
        for (outline, code) in &self.shapes {
            let points = outline.iter().map(|[x, y]| [middle[0] + x - left, middle[1] - y - top]);
            let points: Vec<Point> = points.collect();
            let ends = |axis: usize| {
                points
                    .iter()
                    .fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[axis]), b.max(p[axis])))
            };
            let (x, y) = (ends(0), ends(1));
            // Bare paper is not printed.
            if *code == 255 || x.1 < 0.0 || x.0 > width || y.1 < 0.0 || y.0 > height {
                continue;
            }
            body.push_str("<path d='");
            for (i, [x, y]) in points.iter().enumerate() {
                // Writing to a string cannot fail.
                let _ = write!(body, "{}{x:.4} {y:.4}", if i == 0 { 'M' } else { 'L' });
            }
            let _ = write!(body, "Z' fill='rgb({code},{code},{code})'/>");
        }
        self.strip(&mut body, [0.02 * sheet[0] - left, sheet[1] - STRIP_MM - top], [width, height]);
        body
    }

    /// The title, and a scale of 100 mm, in the strip beneath.
    fn strip(&self, body: &mut String, [x, y]: Point, [width, height]: [f64; 2]) {
        // The scale, and letters of 4 mm, which are less than 3 mm wide.
        let long = 103.0 + 3.0 * (self.title.chars().count() + 9) as f64;
        if y > height || y + STRIP_MM < 0.0 || x > width || x + long < 0.0 {
            return;
        }
        let base = y + 9.0;
        let _ = write!(
            body,
            "<path d='M{x:.4} {base:.4}h100' stroke='#000' stroke-width='0.4' fill='none'/>"
        );
        for tick in 0..=10 {
            let (at, long) = (x + 10.0 * f64::from(tick), if tick % 5 == 0 { 4.0 } else { 2.5 });
            let _ = write!(
                body,
                "<path d='M{at:.4} {base:.4}v-{long}' stroke='#000' stroke-width='0.3' fill='none'/>"
            );
        }
        let words = escaped(self.title);
        let _ = write!(
            body,
            "<text x='{:.2}' y='{base:.2}' font-size='4'>100 mm   {words}</text>",
            x + 103.0
        );
    }

    /// What is printed on a tile.
    fn on_tile(&self, paper_mm: [f64; 2], [column, row]: [usize; 2]) -> String {
        let size = tile_mm(paper_mm);
        self.within([column as f64 * size[0], row as f64 * size[1]], size)
    }

    fn tile(&self, paper_mm: [f64; 2], place: [usize; 2]) -> String {
        let size = tile_mm(paper_mm);
        let inside = self.on_tile(paper_mm, place);
        let mut body = format!(
            "<clipPath id='t'><rect width='{}' height='{}'/></clipPath>\
             <g transform='translate({MARGIN_MM} {MARGIN_MM})'><g clip-path='url(#t)'>{inside}</g>",
            size[0], size[1]
        );
        for [x, y] in [[0.0, 0.0], [size[0], 0.0], [0.0, size[1]], size] {
            let _ = write!(
                body,
                "<path d='M{:.3} {y:.3}h{}M{x:.3} {:.3}v{}' stroke='#000' stroke-width='0.2' fill='none'/>",
                x - CROSS_MM,
                2.0 * CROSS_MM,
                y - CROSS_MM,
                2.0 * CROSS_MM
            );
        }
        let name = tile_name(place, self.tiles(paper_mm));
        let words = escaped(&format!("{name}   {}", self.title));
        let _ =
            write!(body, "<text x='8' y='{:.2}' font-size='3.5'>{words}</text></g>", size[1] + 7.0);
        svg(paper_mm, &body)
    }

    fn instructions(
        &self,
        paper_mm: [f64; 2],
        printed: &[[usize; 2]],
        page: &Instructions,
    ) -> Result<String, Error> {
        let mut plate = Plate::on(Ground::Light, 1600.0, 110.0, page.title)?;
        for (i, step) in page.steps.iter().enumerate() {
            plate.paragraph(110.0, 60.0, &LIST, &format!("{}.", i + 1), 1)?;
            plate.bottom -= LIST.leading();
            plate.paragraph(170.0, plate.room() - 60.0, &LIST, step, 8)?;
            plate.bottom += 10.0;
        }
        let height = 1600.0 * paper_mm[1] / paper_mm[0];
        let ([wide, high], tile, [across, down]) =
            (self.sheet_mm(), tile_mm(paper_mm), self.tiles(paper_mm));
        let room = [plate.room() * 0.6, height - plate.bottom - 130.0];
        let scale = (room[0] / (across as f64 * tile[0])).min(room[1] / (down as f64 * tile[1]));
        let corner = [110.0, plate.bottom + 30.0];
        for (outline, code) in self.shapes.iter().filter(|shape| shape.1 < 255) {
            let place = |[x, y]: &Point| {
                [
                    corner[0] + scale * (wide / 2.0 + x),
                    corner[1] + scale * ((high - STRIP_MM) / 2.0 - y),
                ]
            };
            let colour = if *code < 100 { Colour::Ink } else { Colour::Grey };
            plate.ring(
                &outline.iter().map(place).collect::<Vec<_>>(),
                Stroke { colour, width: 1.5, dashes: SOLID, cased: false },
            );
        }
        for row in 0..down {
            for column in 0..across {
                let [width, height] = tile.map(|mm| mm * scale);
                let frame = Frame {
                    x: corner[0] + column as f64 * width,
                    y: corner[1] + row as f64 * height,
                    width,
                    height,
                };
                plate.border(frame, Stroke { dashes: DASHED, ..FINE });
                if printed.contains(&[column, row]) {
                    let at = [frame.x + 8.0, frame.y + LABEL.size + 4.0];
                    plate.text(at, Anchor::Start, &LABEL, &letter(column, row));
                }
            }
        }
        Ok(plate.sheet(height, ""))
    }
}

/// "B3": the second column, the third row.
fn letter(column: usize, row: usize) -> String {
    format!("{}{}", char::from(b'A' + (column % 26) as u8), row + 1)
}

fn tile_name([column, row]: [usize; 2], [across, down]: [usize; 2]) -> String {
    format!(
        "{} (column {} of {across}, row {} of {down})",
        letter(column, row),
        column + 1,
        row + 1
    )
}

fn tile_mm(paper_mm: [f64; 2]) -> [f64; 2] {
    paper_mm.map(|mm| mm - 2.0 * MARGIN_MM)
}

fn svg([width, height]: [f64; 2], body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{width:.4}mm' height='{height:.4}mm' \
         viewBox='0 0 {width:.4} {height:.4}' font-family='Inter, sans-serif'>\
         <rect width='{width:.4}' height='{height:.4}' fill='#fff'/>{body}</svg>"
    )
}
