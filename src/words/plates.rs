//! The plates of an answer, each with its heading and its caption, as the bytes of a PNG file.

use super::verdict::hand;
use super::{gauge, log};
use crate::camera::Camera;
use crate::error::Error;
use crate::hole::{Hole, Sheet};
use crate::plate::{
    self, Comparison, FilmMaps, History, MapPanel, Mark, Measured, Opening, Overlay, PointImage,
    PsfView,
};
use crate::quantity::{Quantity, write_length_within};
use crate::raster::Raster;
use crate::task::preview::Orientation;
use crate::task::{self, gauge::SheetAnswer, gauge::SheetRow, psf};
use crate::verdict::merit::film_map::FilmMap;

/// What of a picture is enlarged: left, top, width and height as shares of the picture's.
const MIDDLE: [f64; 4] = [0.4, 0.52, 0.2, 0.2];
const CORNER: [f64; 4] = [0.79, 0.45, 0.2, 0.2];

/// Draws the traced outline over the photo; nothing for a hole without a photo.
///
/// # Errors
/// As [`plate::overlay()`].
pub fn outline(hole: &Hole, answer: &task::gauge::Answer) -> Result<Option<Vec<u8>>, Error> {
    let Some(picture) = &hole.picture else { return Ok(None) };
    let [column, row] = picture.traced.centroid_px;
    let mm_per_px = picture.scale.mm_per_px;
    // The outline lies about its centroid with y up; the picture's y runs down.
    let place = |[x, y]: [f64; 2]| [column + x / mm_per_px[0], row - y / mm_per_px[1]];
    let sizes = &answer.hole;
    let mark = |found: gauge::Found| Mark {
        at_px: place(found.at_mm),
        label: format!("{}: {}", found.what, found.sentence),
    };
    let marks: Vec<Mark> = gauge::found(sizes).into_iter().map(mark).collect();
    plate::overlay(&Overlay {
        photo: &picture.raster,
        loops_px: &picture.traced.loops_px,
        mm_per_px,
        scale_lines_px: &picture.scale.lines_px,
        scale_words: &picture.scale.source,
        marks: &marks,
        title: "The hole as traced: the diameter of the disc of the same area",
        size: &write_length_within(
            sizes.equivalent_diameter_mm,
            sizes.equivalent_diameter_uncertainty_mm,
        ),
        caption: "The rim is found at half the brightness between hole and metal. Directions are \
                  anticlockwise from the right. After ±: the true value is within it in 95 of 100 \
                  cases. A circle that you cannot see is hidden by the rim.",
    })
    .map(Some)
}

/// Draws the picture of a sheet with every measured hole outlined and numbered as in its table.
///
/// # Errors
/// As [`plate::sheet()`].
pub fn sheet(sheet: &Sheet, answer: &SheetAnswer) -> Result<Vec<u8>, Error> {
    let labels: Vec<String> = answer.holes.iter().map(sheet_label).collect();
    // A large scan is shown smaller than it is.
    let side = sheet.reduced_by as f64;
    let smaller = |[x, y]: [f64; 2]| [x / side, y / side];
    let loops: Vec<Vec<Vec<[f64; 2]>>> = sheet
        .holes
        .iter()
        .map(|found| {
            let picture = found.hole.as_ref().ok().and_then(|hole| hole.picture.as_ref());
            let loops = picture.map_or(&[][..], |picture| &picture.traced.loops_px);
            loops.iter().map(|points| points.iter().map(|p| smaller(*p)).collect()).collect()
        })
        .collect();
    let openings: Vec<Opening> = sheet
        .holes
        .iter()
        .zip(loops.iter().zip(&labels))
        .map(|(found, (loops_px, label))| Opening {
            loops_px,
            place_px: smaller(found.place_px),
            label,
        })
        .collect();
    plate::sheet(&plate::Sheet {
        photo: &sheet.raster,
        openings: &openings,
        mm_per_px: Some(sheet.scale.mm_per_px.map(|mm| mm * side)),
        title: "The holes of the sheet",
        caption: "Beside each number the diameter of the disc of the same area.",
    })
}

fn sheet_label(row: &SheetRow) -> String {
    row.hole.as_ref().map_or_else(
        || "not measured".into(),
        |hole| Quantity::Length.write(hole.equivalent_diameter_mm),
    )
}

/// Draws the light of a point beside that of the best disc, both on one grid.
///
/// # Errors
/// As [`plate::point_image()`].
pub fn point_image(this: &psf::Answer, best: &psf::Answer, best_mm: f64) -> Result<Vec<u8>, Error> {
    let [x, y] = this.place.at_mm.map(|mm| Quantity::Length.write(mm));
    let place = if this.place.at_mm == [0.0, 0.0] {
        "in the middle of the film".into()
    } else {
        format!("at ({x}, {y}) from the middle of the film, as it lies there")
    };
    let caption = format!(
        "Computed {place} from the hole's outline by the Fresnel diffraction integral, all wavelengths \
         added. Both maps share one scale."
    );
    let view = |density_per_mm2, title| PsfView {
        density_per_mm2,
        pitch_mm: this.pitch_um / 1000.0,
        title,
    };
    let best_title = format!("The best disc, {}", Quantity::Length.write(best_mm));
    plate::point_image(&PointImage {
        this: view(&this.psf.density, "This hole".to_owned()),
        best: view(&best.psf.density, best_title),
        title: "What a point of light becomes on the film",
        caption: &caption,
    })
}

/// Draws maps of sharpness, light and distance over the film.
///
/// # Errors
/// As [`plate::film_maps()`].
pub fn film_maps(camera: &Camera, map: &FilmMap) -> Result<Vec<u8>, Error> {
    plate::film_maps(&FilmMaps {
        panels: &[
            MapPanel {
                title: "Sharpness",
                values: &map.sharpness,
                write: |share| format!("{:.1} %", 100.0 * share),
            },
            MapPanel {
                title: "Light against the middle",
                values: &map.stops,
                write: |stops| {
                    // No minus before a rounded nought.
                    if stops.abs() < 0.05 { "0 stops".into() } else { format!("{stops:+.1} stops") }
                },
            },
            MapPanel {
                title: "Distance from the hole",
                values: &map.distance_mm,
                write: |mm| Quantity::Length.write(mm),
            },
        ],
        film_mm: [camera.film.width_mm, camera.film.height_mm],
        title: "What this hole does over the film",
        caption: "The sheet laid flat, as seen from it looking out to the hole; the image on it is \
                  upside down. Sharpness is what an eye sees in the print, as a share of a perfect \
                  image. Computed at each place from the hole as the ray there sees it.",
    })
}

/// Draws this hole's picture beside the best disc's, and beside a perfect image where there is one.
///
/// # Errors
/// As [`plate::comparison()`].
pub fn pictures(
    camera: &Camera,
    this: &Raster,
    (best, best_mm): (&Raster, f64),
    perfect: Option<&Raster>,
    orientation: Orientation,
) -> Result<Vec<u8>, Error> {
    let through_best = format!("Through the best disc, {}", Quantity::Length.write(best_mm));
    let mut pictures = vec![(this, "Through this hole"), (best, through_best.as_str())];
    pictures.extend(perfect.map(|perfect| (perfect, "A perfect image")));
    plate::comparison(&Comparison {
        pictures: &pictures,
        details: &[MIDDLE, CORNER],
        film_width_mm: camera.film.width_mm,
        title: "The picture this hole takes",
        caption: &format!(
            "One scene, each point of it spread as the hole spreads it at its place on the film, with the \
             light that falls there. {} Below: the framed parts of the middle and of the edge, enlarged.",
            super::preview::orientation(orientation)
        ),
    })
}

/// Draws the diameter of a hole after each pass, with the best size and the good ones.
///
/// # Errors
/// As [`plate::history()`].
pub fn history(answer: &task::log::Answer) -> Result<Vec<u8>, Error> {
    let measured: Vec<Measured> = answer
        .history
        .iter()
        .map(|entry| Measured {
            diameter_mm: entry.diameter_mm,
            uncertainty_mm: entry.diameter_uncertainty_mm,
        })
        .collect();
    let last = answer.history.last().ok_or_else(|| {
        Error::not_there(
            format!("the log holds no diameters of \"{}\" to draw", answer.hole),
            "appraise the hole into it first",
        )
    })?;
    plate::history(&History {
        measured: &measured,
        target_mm: last.target_mm,
        band_mm: [last.band_low_mm, last.band_high_mm],
        title: &log::heading(answer),
        caption: &format!(
            "Bars are the diameters' uncertainties (k = 2, about 95 %); best and good sizes are \
             those of the last entry. {}",
            hand(&answer.growth)
        ),
    })
}
