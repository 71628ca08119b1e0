//! A teaching figure: one description, from which come its drawing at any size and on either ground,
//! its data and its words.

mod chart;
mod data;
mod layout;
mod panel;

pub use data::{Files, Index, Listed, Numbers, data};

use crate::geometry::{Outline, Point};
use crate::plate::canvas::{DASHED, SOLID, Stroke};
use crate::plate::ink::{Colour, Ground};
use image::RgbImage;
use ndarray::Array2;

/// Tells what a figure shows, and what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagram {
    /// The heading.
    pub title: String,
    /// What to see, and what it was computed from.
    pub caption: String,
    /// The figure in words, for those who do not see it.
    pub alternative: String,
    /// How many panels stand side by side.
    pub columns: Columns,
    /// The panels, row by row from the top left.
    pub panels: Vec<Panel>,
}

/// Tells how many panels are in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Columns {
    /// So many to a row, for what stands in a row and beneath each other belongs together; fewer only where
    /// there is no room, and on a slide whole rows side by side where that shows them larger.
    Fixed(usize),
    /// As many as show them largest.
    Free,
}

/// Describes one part of a figure under its own heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// The heading: a few words.
    pub title: String,
    /// What is drawn.
    pub shows: Shows,
}

/// Tells what a panel draws.
#[derive(Debug, Clone, PartialEq)]
pub enum Shows {
    /// Curves over axes.
    Chart(Chart),
    /// A picture or a map.
    Picture(Picture),
    /// Outlines in true proportion.
    Drawing(Drawing),
}

/// Describes curves over axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Along the bottom.
    pub x: Axis,
    /// Up the left side.
    pub y: Axis,
    /// The curves.
    pub curves: Vec<Curve>,
    /// Places along x that are pointed at.
    pub marks: Vec<Mark>,
    /// Ranges of x that are shaded.
    pub bands: Vec<Band>,
}

/// Describes one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it measures, with the unit.
    pub words: String,
    /// From where to where.
    pub span: [f64; 2],
    /// Equal steps are equal ratios; for axes above zero.
    pub logarithmic: bool,
}

impl Axis {
    /// Makes an axis of equal steps.
    pub fn linear(words: &str, span: [f64; 2]) -> Axis {
        Axis { words: words.into(), span, logarithmic: false }
    }

    /// Makes an axis of equal ratios, for a span above zero.
    pub fn logarithmic(words: &str, span: [f64; 2]) -> Axis {
        Axis { words: words.into(), span, logarithmic: true }
    }
}

/// Describes one curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// What it is: a few words for the legend.
    pub name: String,
    /// Its points.
    pub points: Vec<Point>,
    /// How it is drawn.
    pub line: Line,
}

/// Describes a place along x with a few words.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The place.
    pub x: f64,
    /// What is there.
    pub words: String,
}

/// Describes a shaded range along x.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// From where to where.
    pub span: [f64; 2],
    /// What it is: a few words for the legend.
    pub words: String,
}

/// Tells how lines are told apart: by colour and by dashes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// What the figure is about.
    First,
    /// What it is held against.
    Second,
    /// A third.
    Third,
    /// A fourth.
    Fourth,
    /// What only helps to read the others.
    Quiet,
}

impl Line {
    fn stroke(self) -> Stroke {
        let (colour, dashes, width) = match self {
            Line::First => (Colour::Blue, SOLID, 3.5),
            Line::Second => (Colour::Vermilion, DASHED, 3.5),
            Line::Third => (Colour::Green, "3 7", 4.0),
            Line::Fourth => (Colour::Purple, "20 6 4 6", 3.5),
            Line::Quiet => (Colour::Grey, "2 6", 2.0),
        };
        Stroke { colour, width, dashes, cased: false }
    }
}

/// Describes a picture in a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Its pixels.
    pub image: RgbImage,
    /// Whether they are samples of something smooth, to be joined smoothly.
    pub smooth: bool,
    /// Its width in mm, and where those millimetres lie, as in " on the film"; none for a picture
    /// without a scale.
    pub scale: Option<(f64, &'static str)>,
    /// Radii in mm of circles about its middle.
    pub circles_mm: Vec<f64>,
    /// What it is a map of, where it is one, rows from low y to high; of two maps side by side, both.
    pub samples: Vec<Array2<f64>>,
}

/// Describes outlines in true proportion, seen against the light: metal with its openings.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width and height of what is shown, in mm; the middle is the outlines' origin.
    pub span_mm: [f64; 2],
    /// Openings in the metal.
    pub openings: Vec<Outline>,
    /// Lines alone.
    pub rims: Vec<(Outline, Line)>,
    /// Straight strokes, from and to, in mm: graduation lines.
    pub strokes: Vec<[Point; 2]>,
    /// How many times it is enlarged on a page printed 160 mm wide, as under a loupe; as large as there is
    /// room where that does not matter.
    pub magnified: Option<f64>,
}

/// Tells how large a figure is, and on what ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Format {
    /// Where it is shown.
    pub size: Size,
    /// What it is drawn on.
    pub ground: Ground,
}

/// Tells where a figure is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// In a text: 1600 pixels wide, as high as it needs.
    Page,
    /// On a screen before a class: 1920 x 1080 pixels.
    Slide,
    /// In the hand: 1080 pixels wide, large letters, as high as it needs.
    Phone,
}
