//! What the landscape is painted on: colours by place, in linear light.

use crate::error::Error;
use crate::raster::{Raster, rasterise};
use ndarray::Array3;
use rayon::prelude::*;

/// Red, green and blue in linear light.
pub(super) type Colour = [f64; 3];

/// The two inks that crisp things are drawn with: the blue of the shadows and the light of lamps.
const COOL: Colour = [0.16, 0.21, 0.30];
const WARM: Colour = [1.0, 0.60, 0.22];

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
}

/// A picture under work, row after row from the top.
#[derive(Clone)]
pub(super) struct Canvas {
    pub(super) frame: Frame,
    pixels: Vec<[f32; 3]>,
}

impl Canvas {
    pub(super) fn new(frame: Frame) -> Canvas {
        Canvas { frame, pixels: vec![[0.0; 3]; frame.columns * frame.rows] }
    }

    /// Paints every pixel whose middle lies between two heights with the colour of its place.
    pub(super) fn paint(&mut self, from: f64, to: f64, colour: impl Fn(f64, f64) -> Colour + Sync) {
        let frame = self.frame;
        self.pixels.par_chunks_exact_mut(frame.columns).enumerate().for_each(|(row, pixels)| {
            let y = (row as f64 + 0.5) / frame.scale + frame.top;
            if !(from..to).contains(&y) {
                return;
            }
            for (column, pixel) in pixels.iter_mut().enumerate() {
                let x = (column as f64 + 0.5) / frame.scale - frame.half;
                *pixel = colour(x, y).map(|light| light as f32);
            }
        });
    }

    /// The colour of the pixel nearest to a place; beyond the edges that of the edge.
    pub(super) fn at(&self, x: f64, y: f64) -> Colour {
        let frame = self.frame;
        let column = (((x + frame.half) * frame.scale) as usize).min(frame.columns - 1);
        let row = (((y - frame.top) * frame.scale) as usize).min(frame.rows - 1);
        self.pixels[row * frame.columns + column].map(f64::from)
    }

    /// Lays a drawing over the picture, in SVG of the frame's units and in two inks.
    ///
    /// Its colours have no red: green is the amount of the cool ink, blue that of the warm one. On
    /// the painter's white what is left of red is then the share of the pixel that stays free, and
    /// what green and blue are above it is ink. So edges mix in linear light, as they do on film.
    pub(super) fn print(&mut self, drawing: &str) -> Result<(), Error> {
        let Frame { columns, rows, half, top, bottom, .. } = self.frame;
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{columns}' height='{rows}' \
             viewBox='{} {top} {} {}' preserveAspectRatio='none'>{drawing}</svg>",
            -half,
            2.0 * half,
            bottom - top,
        );
        let image = rasterise(&svg, 1.0)?;
        self.pixels.par_iter_mut().zip(image.par_chunks_exact(3)).for_each(|(pixel, paint)| {
            let [free, cool, warm] = [0, 1, 2].map(|ink| f32::from(paint[ink]) / 255.0);
            for (channel, light) in pixel.iter_mut().enumerate() {
                let inks =
                    (cool - free) * COOL[channel] as f32 + (warm - free) * WARM[channel] as f32;
                *light = *light * free + inks;
            }
        });
        Ok(())
    }

    pub(super) fn into_raster(self) -> Raster {
        let Frame { columns, rows, .. } = self.frame;
        let at = |(channel, row, column): (usize, usize, usize)| {
            self.pixels[row * columns + column][channel].clamp(0.0, 1.0)
        };
        Raster { linear: Array3::from_shape_fn((3, rows, columns), at) }
    }
}

/// Between two colours: `part` 0 is the first, 1 the second, and beyond them no further.
pub(super) fn mix(from: Colour, to: Colour, part: f64) -> Colour {
    let part = part.clamp(0.0, 1.0);
    [0, 1, 2].map(|channel| from[channel] + (to[channel] - from[channel]) * part)
}

/// A smooth step from 0 at `low` to 1 at `high`.
pub(super) fn step(low: f64, high: f64, value: f64) -> f64 {
    let part = ((value - low) / (high - low)).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}
