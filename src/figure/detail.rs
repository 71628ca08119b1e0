//! A detail of the built-in landscape through a hole.

use crate::camera::Camera;
use crate::diagram::Picture;
use crate::error::Error;
use crate::geometry::Outline;
use crate::picture::{Scene, View, film_pixels, in_the_middle};
use crate::raster::{Raster, display};
use ndarray::{Axis, Slice};
use std::ops::Range;

/// Pixels along the longer side of the film.
const PIXELS: usize = 1600;
/// The detail: left, top, width and height as shares of the film's: the farmhouse and what stands about it.
const DETAIL: [f64; 4] = [0.56, 0.435, 0.32, 0.22];
/// Pixels of the scene about the detail whose light falls into it.
const AROUND: usize = 128;

/// The detail on a camera's film, as a perfect image has it.
pub(super) struct Detail {
    /// With what lies about it.
    scene: Raster,
    /// Where it lies in that, rows and columns.
    inside: [Range<usize>; 2],
    film_px: [usize; 2],
    pixel_mm: f64,
}

impl Detail {
    pub(super) fn of(camera: &Camera) -> Result<Detail, Error> {
        let (columns, rows) = film_pixels(camera, PIXELS);
        let view = View::of(camera, None, columns, rows)?;
        let scene = view.image_of(Scene::Landscape)?;
        let [left, top, width, height] = DETAIL;
        let span = |from: f64, length: f64, pixels: usize| {
            let at = |share: f64| ((share * pixels as f64).round() as usize).min(pixels);
            at(from)..at(from + length).max(at(from) + 1)
        };
        let detail = [span(top, height, rows), span(left, width, columns)];
        let around = [(&detail[0], rows), (&detail[1], columns)].map(|(span, pixels)| {
            span.start.saturating_sub(AROUND)..(span.end + AROUND).min(pixels)
        });
        let inside = [0, 1].map(|side: usize| {
            let shift = around[side].start;
            detail[side].start - shift..detail[side].end - shift
        });
        Ok(Detail {
            scene: cut(&scene, &around),
            inside,
            film_px: [columns, rows],
            pixel_mm: camera.film.width_mm / columns as f64,
        })
    }

    /// How wide the detail is on the film, in mm.
    pub(super) fn width_mm(&self) -> f64 {
        self.inside[1].len() as f64 * self.pixel_mm
    }

    /// The detail through a hole, as bright as through any other.
    pub(super) fn through(&self, camera: &Camera, hole: &Outline) -> Result<Picture, Error> {
        let formed = in_the_middle(camera, hole, &self.scene, self.film_px)?;
        Ok(Picture {
            image: display(&cut(&formed, &self.inside))?,
            smooth: true,
            scale: Some((self.width_mm(), " on the film")),
            circles_mm: Vec::new(),
            samples: Vec::new(),
        })
    }
}

/// A part of a picture: rows and columns.
fn cut(picture: &Raster, [rows, columns]: &[Range<usize>; 2]) -> Raster {
    let part = |span: &Range<usize>| Slice::from(span.clone());
    let linear = picture.linear.slice_axis(Axis(1), part(rows));
    Raster { linear: linear.slice_axis(Axis(2), part(columns)).as_standard_layout().into_owned() }
}
