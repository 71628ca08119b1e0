//! What the landscape is painted on: colours by place, in linear light.

use super::super::lines::{Light, Lines};
use crate::error::Error;
use crate::raster::{Raster, painted};
use ndarray::parallel::prelude::*;
use ndarray::{Array3, Axis};
use rayon::prelude::*;

/// Red, green and blue in linear light.
pub(super) type Colour = [f64; 3];

/// The two inks that crisp things are drawn with: the blue of the shadows and the light of lamps.
const COOL: Colour = [0.16, 0.21, 0.30];
const WARM: Colour = [1.0, 0.60, 0.22];

/// Units between the places at which what is smooth is painted: clouds have some two of them to their
/// smallest curl.
const NODES_APART: f64 = 1.25;

/// The film in units of the scene: the waterline at y = 0, y down, the middle at x = 0.
#[derive(Clone, Copy)]
pub(super) struct Frame {
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// Pixels to a unit.
    pub(super) scale: f64,
    /// Half the width, in units.
    pub(super) half: f64,
    /// The upper and the lower edge, in units.
    pub(super) top: f64,
    pub(super) bottom: f64,
}

impl Frame {
    /// A film that shows 1000 units of height, and at the least 1200 of width.
    pub(super) fn new(columns: usize, rows: usize) -> Frame {
        let scale = (rows as f64 / 1000.0).min(columns as f64 / 1200.0);
        let (wide, high) = (columns as f64 / scale, rows as f64 / scale);
        Frame { columns, rows, scale, half: wide / 2.0, top: -0.63 * high, bottom: 0.37 * high }
    }

    /// Where the middle of a column lies.
    pub(super) fn x(self, column: usize) -> f64 {
        (column as f64 + 0.5) / self.scale - self.half
    }

    /// Where the middle of a row lies.
    pub(super) fn y(self, row: usize) -> f64 {
        (row as f64 + 0.5) / self.scale + self.top
    }
}

/// A pixel's light in steps of a 65 534th, which holds a half exactly: far finer than a display's.
type Pixel = [u16; 3];

const FULL: f64 = 65_534.0;

fn pixel(colour: Colour) -> Pixel {
    colour.map(|light| (light.clamp(0.0, 1.0) * FULL + 0.5) as u16)
}

fn colour(pixel: Pixel) -> Colour {
    pixel.map(|light| f64::from(light) * (1.0 / FULL))
}

/// How much brighter the darkest things are shown than they are painted: a picture by daylight has about three times the
/// mean of a painting of dusk. The brightest stay as they are.
const BRIGHTER: f32 = 3.5;

/// Painted light as the scene has it: rising with it, 0 and 1 unchanged.
pub(super) fn lightened(painted: f32) -> f32 {
    BRIGHTER * painted / (1.0 + (BRIGHTER - 1.0) * painted)
}

/// A picture under work, row after row from the top.
pub(in super::super) struct Canvas {
    pub(super) frame: Frame,
    pixels: Vec<Pixel>,
}

impl Canvas {
    pub(super) fn new(frame: Frame) -> Canvas {
        Canvas { frame, pixels: vec![[0; 3]; frame.columns * frame.rows] }
    }

    /// Paints the rows whose middles lie between two heights, each from left to right, by their number.
    pub(super) fn paint(&mut self, from: f64, to: f64, line: impl Fn(usize, &mut [Colour]) + Sync) {
        paint(self.frame, 0, &mut self.pixels, |row| (from..to).contains(&self.frame.y(row)), line);
    }

    /// Paints the rows below the waterline with what is seen of those above it.
    pub(super) fn paint_water(&mut self, line: impl Fn(&Above, usize, &mut [Colour]) + Sync) {
        let frame = self.frame;
        let first = (0..frame.rows).find(|row| frame.y(*row) >= 0.0).unwrap_or(frame.rows);
        let (pixels, water) = self.pixels.split_at_mut(first * frame.columns);
        let above = Above { frame, pixels };
        paint(frame, first, water, |_| true, |row, colours| line(&above, row, colours));
    }

    /// The colour of the pixel nearest to a place; beyond the edges that of the edge.
    #[cfg(test)]
    pub(super) fn at(&self, x: f64, y: f64) -> Colour {
        Above { frame: self.frame, pixels: &self.pixels }.at(x, y)
    }

    /// Lays a drawing over the picture.
    pub(super) fn lay(&mut self, drawing: &Drawing) {
        let painted = self.pixels.par_iter_mut().zip(drawing.0.par_chunks_exact(4));
        painted.filter(|(_, paint)| paint[..3] != [255; 3]).for_each(|(to, paint)| {
            let [free, cool, warm] = [0, 1, 2].map(|ink| f64::from(paint[ink]) / 255.0);
            let under = colour(*to);
            *to = pixel([0, 1, 2].map(|channel| {
                let inks = (cool - free) * COOL[channel] + (warm - free) * WARM[channel];
                under[channel] * free + inks
            }));
        });
    }

    pub(super) fn into_raster(self) -> Raster {
        let Frame { columns, rows, .. } = self.frame;
        let mut linear = Array3::zeros((3, rows, columns));
        linear.axis_iter_mut(Axis(1)).into_par_iter().enumerate().for_each_init(
            || vec![Light::default(); columns],
            |line, (row, mut to)| {
                self.read(row, 0, line);
                for (channel, mut to) in to.outer_iter_mut().enumerate() {
                    to.iter_mut().zip(&*line).for_each(|(to, light)| *to = light[channel]);
                }
            },
        );
        Raster { linear }
    }
}

impl Lines for Canvas {
    fn size(&self) -> [usize; 3] {
        [3, self.frame.rows, self.frame.columns]
    }

    fn read(&self, row: usize, first: usize, to: &mut [Light]) {
        let pixels = &self.pixels[row * self.frame.columns + first..];
        for (to, [red, green, blue]) in to.iter_mut().zip(pixels) {
            let light =
                [*red, *green, *blue, 0].map(|number| f32::from(number) * (1.0 / FULL as f32));
            *to = light.map(lightened);
        }
    }
}

/// Rows that are done, from the top.
pub(super) struct Above<'a> {
    frame: Frame,
    pixels: &'a [Pixel],
}

impl Above<'_> {
    /// The colour of the pixel nearest to a place; beyond the edges that of the edge, and black without a row.
    pub(super) fn at(&self, x: f64, y: f64) -> Colour {
        let Frame { columns, half, top, scale, .. } = self.frame;
        let rows = self.pixels.len() / columns;
        let column = (((x + half) * scale) as usize).min(columns - 1);
        let row = (((y - top) * scale) as usize).min(rows.saturating_sub(1));
        self.pixels.get(row * columns + column).copied().map_or([0.0; 3], colour)
    }
}

/// Paints those of the pixels' rows that are wanted; the first is row number `first` of the frame.
fn paint(
    frame: Frame,
    first: usize,
    pixels: &mut [Pixel],
    wanted: impl Fn(usize) -> bool + Sync,
    line: impl Fn(usize, &mut [Colour]) + Sync,
) {
    pixels.par_chunks_exact_mut(frame.columns).enumerate().for_each_init(
        || vec![[0.0; 3]; frame.columns],
        |colours, (row, pixels)| {
            if wanted(first + row) {
                line(first + row, colours);
                pixels.iter_mut().zip(colours).for_each(|(to, colour)| *to = pixel(*colour));
            }
        },
    );
}

/// A picture so smooth that it is painted a few pixels apart only, and is straight between.
pub(super) struct Smooth {
    step: usize,
    nodes: Vec<Vec<Colour>>,
}

impl Smooth {
    /// Paints the rows from the top of a frame down to a height, at about each unit or at each pixel.
    pub(super) fn painted(
        frame: Frame,
        to: f64,
        colour: impl Fn(f64, f64) -> Colour + Sync,
    ) -> Smooth {
        let step = (NODES_APART * frame.scale).round().max(1.0) as usize;
        // A node at or beyond the last row and column.
        let count = |pixels: usize| (pixels - 1).div_ceil(step) + 1;
        let rows = (0..frame.rows).take_while(|row| frame.y(*row) < to).count().max(1);
        let nodes = (0..count(rows))
            .into_par_iter()
            .map(|j| {
                let y = frame.y(j * step);
                (0..count(frame.columns)).map(|i| colour(frame.x(i * step), y)).collect()
            })
            .collect();
        Smooth { step, nodes }
    }

    /// One row of it; black where none was painted.
    pub(super) fn lay(&self, row: usize, to: &mut [Colour]) {
        let (upper, down) = (row / self.step, (row % self.step) as f64 / self.step as f64);
        let Some(above) = self.nodes.get(upper) else {
            to.fill([0.0; 3]);
            return;
        };
        let below = self.nodes.get(upper + 1).unwrap_or(above);
        let at = |i: usize| between(above[i], below[i], down);
        let mut left = at(0);
        for (i, part) in to.chunks_mut(self.step).enumerate() {
            let right = at((i + 1).min(above.len() - 1));
            for (pixel, colour) in part.iter_mut().enumerate() {
                *colour = between(left, right, pixel as f64 / self.step as f64);
            }
            left = right;
        }
    }
}

/// A drawing in two inks, painted on white: four bytes a pixel.
///
/// Its colours have no red: green is the amount of the cool ink, blue that of the warm one. On
/// the painter's white what is left of red is then the share of the pixel that stays free, and
/// what green and blue are above it is ink. So edges mix in linear light, as they do on film.
pub(super) struct Drawing(Vec<u8>);

impl Drawing {
    /// The drawing of a frame, in SVG of its units.
    pub(super) fn of(frame: Frame, drawing: &str) -> Result<Drawing, Error> {
        let Frame { columns, rows, half, top, bottom, .. } = frame;
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{columns}' height='{rows}' \
             viewBox='{} {top} {} {}' preserveAspectRatio='none'>{drawing}</svg>",
            -half,
            2.0 * half,
            bottom - top,
        );
        Ok(Drawing(painted(&svg, 1.0)?.take()))
    }
}

/// A colour between two others.
fn between(from: Colour, to: Colour, part: f64) -> Colour {
    [0, 1, 2].map(|channel| from[channel] + (to[channel] - from[channel]) * part)
}

/// Between two colours: `part` 0 is the first, 1 the second, and beyond them no further.
pub(super) fn mix(from: Colour, to: Colour, part: f64) -> Colour {
    between(from, to, part.clamp(0.0, 1.0))
}

/// A smooth step from 0 at `low` to 1 at `high`.
pub(super) fn step(low: f64, high: f64, value: f64) -> f64 {
    let part = ((value - low) / (high - low)).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}
