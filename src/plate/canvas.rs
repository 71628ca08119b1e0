//! The sheet that plates are drawn on, and the one place for their letters, colours and margins.

use super::ink::{Colour, Ground};
use crate::error::{Error, printable};
use crate::raster::{LETTERS, png, rasterise, text_width};
use base64::{Engine, engine::general_purpose::STANDARD};
use image::RgbImage;
use std::fmt::Write;

/// Width of every plate, in units of the drawing: a pixel each.
pub(crate) const WIDTH: f64 = 1600.0;
/// Free room at each side.
pub(crate) const MARGIN: f64 = 64.0;
/// Width between the margins.
pub(crate) const ROOM: f64 = WIDTH - 2.0 * MARGIN;
/// Between things that belong together.
pub(crate) const GAP: f64 = 16.0;

/// How a text is set.
pub(crate) struct Letters {
    pub(crate) size: f64,
    weight: u16,
    colour: Colour,
}

pub(crate) const TITLE: Letters = Letters { size: 36.0, weight: 600, colour: Colour::Ink };
pub(crate) const HEADING: Letters = Letters { size: 26.0, weight: 600, colour: Colour::Ink };
/// What a whole plate is about, and its lists: read on a phone, where a plate is a quarter as wide.
pub(crate) const HUGE: Letters = Letters { size: 88.0, weight: 600, colour: Colour::Ink };
pub(crate) const LIST: Letters = Letters { size: 34.0, weight: 400, colour: Colour::Ink };
pub(crate) const NUMBER: Letters = Letters { size: 28.0, weight: 600, colour: Colour::Ink };
pub(crate) const REMARK: Letters = Letters { size: 30.0, weight: 400, colour: Colour::Grey };
/// The heading of a part of a figure.
pub(crate) const PANEL: Letters = Letters { size: 24.0, weight: 600, colour: Colour::Ink };
/// What a mark of a chart stands for.
pub(crate) const MARK: Letters = Letters { size: 20.0, weight: 400, colour: Colour::Ink };
pub(crate) const LABEL: Letters = Letters { size: 22.0, weight: 400, colour: Colour::Ink };
pub(crate) const NOTE: Letters = Letters { size: 22.0, weight: 400, colour: Colour::Grey };

impl Letters {
    /// From one baseline to the next.
    pub(crate) fn leading(&self) -> f64 {
        1.35 * self.size
    }

    pub(crate) fn width(&self, text: &str) -> Result<f64, Error> {
        text_width(&escaped(text), self.size, self.weight)
    }

    /// The text in lines no wider than `width`, at most `most` of them; if it is longer, the last
    /// line ends in "…".
    pub(crate) fn lines(&self, text: &str, width: f64, most: usize) -> Result<Vec<String>, Error> {
        // A thousand letters a line fit nowhere, so that a novel costs no more than a page.
        let text: String = text.chars().take(1000 * most).map(legible).collect();
        let (mut lines, mut line) = (Vec::new(), String::new());
        for word in text.split_whitespace() {
            for part in self.parts(word, width)? {
                let longer = if line.is_empty() { part.clone() } else { format!("{line} {part}") };
                if self.width(&longer)? <= width {
                    line = longer;
                    continue;
                }
                if lines.len() + 1 == most {
                    lines.push(self.cut(line, width)?);
                    return Ok(lines);
                }
                lines.push(std::mem::replace(&mut line, part));
            }
        }
        lines.push(line);
        Ok(lines)
    }

    /// A word in parts that each fit: itself, but for words longer than a line.
    fn parts(&self, word: &str, width: f64) -> Result<Vec<String>, Error> {
        if self.width(word)? <= width {
            return Ok(vec![word.into()]);
        }
        let mut parts = vec![String::new()];
        let mut used = 0.0;
        for letter in word.chars() {
            let advance = self.width(&letter.to_string())?;
            if used + advance > width {
                parts.push(String::new());
                used = 0.0;
            }
            used += advance;
            if let Some(part) = parts.last_mut() {
                part.push(letter);
            }
        }
        parts.retain(|part| !part.is_empty());
        Ok(parts)
    }

    /// Ends a line in "…", dropping what that takes.
    fn cut(&self, mut line: String, width: f64) -> Result<String, Error> {
        while !line.is_empty() && self.width(&format!("{line}…"))? > width {
            line.pop();
        }
        Ok(format!("{}…", line.trim_end()))
    }
}

/// Where a text stands with respect to its point.
#[derive(Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A rectangle of the drawing, y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Frame {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl Frame {
    pub(crate) fn right(&self) -> f64 {
        self.x + self.width
    }

    pub(crate) fn bottom(&self) -> f64 {
        self.y + self.height
    }

    pub(crate) fn centre(&self) -> [f64; 2] {
        [self.x + self.width / 2.0, self.y + self.height / 2.0]
    }
}

/// How the samples of a picture are joined when it is drawn.
#[derive(Clone, Copy)]
pub(crate) enum Sampling {
    /// Every sample a sharp square: nothing between them is invented.
    Squares,
    /// Joined smoothly, for samples of something that is smooth.
    Smooth,
}

/// How a line is drawn.
#[derive(Clone, Copy)]
pub(crate) struct Stroke {
    pub(crate) colour: Colour,
    pub(crate) width: f64,
    /// Lengths of its dashes and of the gaps between them; empty for a line without gaps.
    pub(crate) dashes: &'static str,
    /// A border of the paper's colour, so that the line is seen on dark ground as well as on bright.
    pub(crate) cased: bool,
}

/// How lines are told apart where colours cannot be.
pub(crate) const SOLID: &str = "";
pub(crate) const DASHED: &str = "12 8";

/// The lines of axes, frames and scale bars.
pub(crate) const FINE: Stroke =
    Stroke { colour: Colour::Ink, width: 1.5, dashes: SOLID, cased: false };

/// A sheet under a title, filled from the top.
pub(crate) struct Plate {
    body: String,
    ground: Ground,
    width: f64,
    margin: f64,
    /// How far down the sheet is filled.
    pub(crate) bottom: f64,
}

impl Plate {
    /// A sheet with its title.
    pub(crate) fn new(title: &str) -> Result<Plate, Error> {
        Plate::on(Ground::Light, WIDTH, MARGIN, title)
    }

    /// A sheet of any width, with free room of `margin` at each side.
    pub(crate) fn on(ground: Ground, width: f64, margin: f64, title: &str) -> Result<Plate, Error> {
        let bottom = margin - 12.0;
        let mut plate = Plate { body: String::new(), ground, width, margin, bottom };
        plate.paragraph(margin, plate.room(), &TITLE, title, 3)?;
        plate.bottom += GAP;
        Ok(plate)
    }

    /// Width between the margins.
    pub(crate) fn room(&self) -> f64 {
        self.width - 2.0 * self.margin
    }

    /// A text in lines from the bottom of what is drawn, which it moves down.
    pub(crate) fn paragraph(
        &mut self,
        x: f64,
        width: f64,
        letters: &Letters,
        text: &str,
        most: usize,
    ) -> Result<(), Error> {
        for line in letters.lines(text, width, most)? {
            self.text([x, self.bottom + letters.size], Anchor::Start, letters, &line);
            self.bottom += letters.leading();
        }
        Ok(())
    }

    /// One line of text, its baseline at a point.
    pub(crate) fn text(&mut self, at: [f64; 2], anchor: Anchor, letters: &Letters, text: &str) {
        self.turned_text(at, 0.0, anchor, letters, text);
    }

    /// As [`Plate::text`], turned about its point, clockwise.
    pub(crate) fn turned_text(
        &mut self,
        [x, y]: [f64; 2],
        angle_deg: f64,
        anchor: Anchor,
        letters: &Letters,
        text: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let Letters { size, weight, colour } = letters;
        let colour = colour.on(self.ground);
        let turn = if angle_deg == 0.0 {
            String::new()
        } else {
            format!(" transform='rotate({angle_deg} {x:.2} {y:.2})'")
        };
        let text: String = text.chars().map(legible).collect();
        let text = escaped(&text);
        self.add(format_args!(
            "<text x='{x:.2}' y='{y:.2}' font-size='{size}' font-weight='{weight}' \
             fill='{colour}' text-anchor='{anchor}'{turn}>{text}</text>"
        ));
    }

    /// A line through points.
    pub(crate) fn line(&mut self, points: &[[f64; 2]], stroke: Stroke) {
        let path = path(points, false);
        self.stroke(&path, stroke);
    }

    /// A closed line through points.
    pub(crate) fn ring(&mut self, points: &[[f64; 2]], stroke: Stroke) {
        let path = path(points, true);
        self.stroke(&path, stroke);
    }

    /// The border of a rectangle.
    pub(crate) fn border(&mut self, frame: Frame, stroke: Stroke) {
        let (x, y) = (frame.x, frame.y);
        self.ring(
            &[[x, y], [frame.right(), y], [frame.right(), frame.bottom()], [x, frame.bottom()]],
            stroke,
        );
    }

    /// A circle.
    pub(crate) fn circle(&mut self, [x, y]: [f64; 2], radius: f64, stroke: Stroke) {
        let path = format!(
            "M{:.2} {y:.2}a{radius:.2} {radius:.2} 0 1 0 {width:.2} 0a{radius:.2} {radius:.2} 0 1 \
             0 -{width:.2} 0Z",
            x - radius,
            width = 2.0 * radius
        );
        self.stroke(&path, stroke);
    }

    /// A disc of paper with a border: ground for a number.
    pub(crate) fn disc(&mut self, at: [f64; 2], radius: f64, stroke: Stroke) {
        let [x, y] = at;
        let paper = Colour::Paper.on(self.ground);
        self.add(format_args!("<circle cx='{x:.2}' cy='{y:.2}' r='{radius:.2}' fill='{paper}'/>"));
        self.circle(at, radius, stroke);
    }

    /// What is bright inside closed lines, where they are nested every other one.
    pub(crate) fn opening(&mut self, rims: &[Vec<[f64; 2]>]) {
        let path: String = rims.iter().map(|rim| path(rim, true)).collect();
        let bright = Colour::White.on(self.ground);
        self.add(format_args!("<path d='{path}' fill='{bright}' fill-rule='evenodd'/>"));
    }

    fn stroke(&mut self, path: &str, stroke: Stroke) {
        let Stroke { colour, width, dashes, cased } = stroke;
        let (colour, casing) = (colour.on(self.ground), Colour::Paper.on(self.ground));
        let gaps = match dashes {
            "" => String::new(),
            dashes => format!("stroke-dasharray='{dashes}'"),
        };
        if cased {
            // Whole under a dashed line too: on dark ground a casing in dashes would be all that
            // is seen of it, as two pale lines side by side.
            self.add(format_args!(
                "<path d='{path}' fill='none' stroke='{casing}' stroke-width='{:.1}' \
                 stroke-linejoin='round'/>",
                width + 3.0
            ));
        }
        self.add(format_args!(
            "<path d='{path}' fill='none' stroke='{colour}' stroke-width='{width}' \
             stroke-linejoin='round' {gaps}/>"
        ));
    }

    /// A ground for letters: a filled frame that lets some of what is behind it through.
    pub(crate) fn ground(&mut self, frame: Frame, colour: Colour, opacity: f64) {
        let colour = colour.on(self.ground);
        let Frame { x, y, width, height } = frame;
        self.add(format_args!(
            "<rect x='{x:.2}' y='{y:.2}' width='{width:.2}' height='{height:.2}' rx='4' \
             fill='{colour}' fill-opacity='{opacity}'/>"
        ));
    }

    /// A picture filling a frame.
    pub(crate) fn picture(
        &mut self,
        frame: Frame,
        image: &RgbImage,
        sampling: Sampling,
    ) -> Result<(), Error> {
        let rendering = match sampling {
            Sampling::Squares => "pixelated",
            Sampling::Smooth => "smooth",
        };
        let Frame { x, y, width, height } = frame;
        let data = STANDARD.encode(png(image)?);
        self.add(format_args!(
            "<image x='{x:.2}' y='{y:.2}' width='{width:.2}' height='{height:.2}' \
             preserveAspectRatio='none' style='image-rendering:{rendering}' \
             href='data:image/png;base64,{data}'/>"
        ));
        Ok(())
    }

    /// What `draw` draws, shown inside a frame only.
    pub(crate) fn clipped(
        &mut self,
        frame: Frame,
        draw: impl FnOnce(&mut Plate) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let Frame { x, y, width, height } = frame;
        // Where the body has grown to is a name no other clip has.
        let name = self.body.len();
        self.add(format_args!(
            "<clipPath id='c{name}'><rect x='{x:.2}' y='{y:.2}' width='{width:.2}' \
             height='{height:.2}'/></clipPath><g clip-path='url(#c{name})'>"
        ));
        draw(self)?;
        self.add(format_args!("</g>"));
        Ok(())
    }

    /// The drawing, with its caption beneath.
    pub(crate) fn svg(mut self, caption: &str) -> Result<String, Error> {
        self.bottom += 1.5 * GAP;
        self.paragraph(self.margin, self.room(), &NOTE, caption, 8)?;
        let height = (self.bottom + self.margin - 20.0).ceil();
        Ok(self.sheet(height, ""))
    }

    /// The drawing as a sheet of paper at its true size: the sheet's width is the paper's.
    pub(crate) fn at_true_size(self, [width_mm, height_mm]: [f64; 2]) -> String {
        let height = self.width * height_mm / width_mm;
        let sized = format!("width='{}' height='{height}'", self.width);
        // The first is the drawing's own size, the second that of the paper's ground.
        self.sheet(height, "").replacen(
            &sized,
            &format!("width='{width_mm}mm' height='{height_mm}mm'"),
            1,
        )
    }

    /// The drawing on paper of so much height; `words` are markup for those who do not see it.
    pub(crate) fn sheet(self, height: f64, words: &str) -> String {
        let Plate { body, ground, width, .. } = self;
        let paper = Colour::Paper.on(ground);
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' \
             viewBox='0 0 {width} {height}' font-family='Inter, sans-serif'>{words}<rect width='{width}' \
             height='{height}' fill='{paper}'/>{body}</svg>"
        )
    }

    fn add(&mut self, markup: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = self.body.write_fmt(markup);
    }
}

/// The PNG bytes of a drawing.
pub(crate) fn bytes(svg: &str) -> Result<Vec<u8>, Error> {
    png(&rasterise(svg, 1.0)?)
}

fn path(points: &[[f64; 2]], closed: bool) -> String {
    let mut path = String::new();
    for (index, [x, y]) in points.iter().enumerate() {
        // Writing to a string cannot fail.
        let _ = write!(path, "{}{x:.2} {y:.2}", if index == 0 { 'M' } else { 'L' });
    }
    if closed {
        path.push('Z');
    }
    path
}

/// A letter that the faces have: blanks for control characters, "?" for what they lack.
fn legible(letter: char) -> char {
    match letter {
        letter if letter.is_whitespace() || letter.is_control() => ' ',
        letter if LETTERS.contains(letter) => letter,
        _ => '?',
    }
}

pub(crate) fn escaped(text: &str) -> String {
    printable(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
