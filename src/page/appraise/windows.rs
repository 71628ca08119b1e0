//! The three windows of an appraisal: the hole, the point of light, the picture.

use crate::error::Error;
use crate::geometry::Point;
use crate::page::answer::base64;
use crate::quantity::{Quantity, significant, write_length_within};
use crate::raster::{Raster, display, png};
use crate::task::appraise::{Judged, Pictures, Points, Request};
use image::{Rgb, RgbImage, imageops};
use maud::{Markup, html};
use ndarray::{Axis, Slice};
use std::fmt::Write;

/// Pixels of a window's side: sharp on a projector, light on a phone.
const SIDE: u32 = 480;
/// How much wider than the hole its window is.
const ROOM: f64 = 1.3;
/// Decades of light in the point's window.
const DECADES: f64 = 3.5;
/// The piece of the picture, as shares of its width and height: left, top, width; its height follows.
const PIECE: [f64; 3] = [0.61, 0.42, 0.13];

/// The hole as it is, cut out of its photo where there is one, with its rim and the best circle.
pub(super) fn hole(request: &Request, judged: &Judged) -> Result<Markup, Error> {
    let sizes = &judged.gauge.hole;
    let best_mm = judged.target.diameter_mm;
    let half = ROOM / 2.0 * sizes.circumscribed_diameter_mm.max(best_mm);
    let photo = request.hole.picture.as_ref().map(|picture| {
        let half_px = half / picture.scale.mean_mm_per_px();
        cut_out(&picture.raster, picture.traced.centroid_px, half_px)
    });
    let photo = photo.transpose()?;
    let size =
        write_length_within(sizes.equivalent_diameter_mm, sizes.equivalent_diameter_uncertainty_mm);
    let about = if photo.is_some() {
        let burrs = match sizes.burrs.len() {
            0 => "no burr".to_owned(),
            1 => "one burr".to_owned(),
            many => format!("{many} burrs"),
        };
        format!(
            "{:.0} % oval, {burrs}, rim traced from your photo",
            100.0 * (sizes.aspect_ratio - 1.0)
        )
    } else {
        "Only the size is known; the rim was not looked at.".to_owned()
    };
    let rim = path(request.hole.outline.loops());
    Ok(html! {
        figure {
            div.window {
                svg role="img" aria-label=(format!("The hole, {size}, with the best circle of {} about it.", Quantity::Length.write(best_mm)))
                    viewBox=(format!("{} {} {} {}", -half, -half, 2.0 * half, 2.0 * half)) {
                    @match &photo {
                        Some(png) => image href=(format!("data:image/png;base64,{}", base64(png))) x=(-half) y=(-half) width=(2.0 * half) height=(2.0 * half) {}
                        None => rect.metal x=(-half) y=(-half) width=(2.0 * half) height=(2.0 * half) {}
                    }
                    path d=(rim) class=(if photo.is_some() { "rim-line" } else { "light" }) {}
                    circle.ideal.under r=(best_mm / 2.0) {}
                    circle.ideal r=(best_mm / 2.0) {}
                }
            }
            figcaption {
                b { "The hole" } (size) br; span.quiet { (about) }
                @if photo.is_some() { " " button.link type="button" id="back" hidden { "Back to the photo" } }
            }
        }
    })
}

/// Loops as an SVG path, y down.
fn path(loops: &[Vec<Point>]) -> String {
    let mut text = String::new();
    for points in loops {
        for (i, [x, y]) in points.iter().enumerate() {
            // Writing to a string cannot fail.
            let _ = write!(text, "{}{x:.5} {:.5}", if i == 0 { "M" } else { "L" }, -y);
        }
        text.push('Z');
    }
    text
}

fn cut_out(raster: &Raster, [column, row]: [f64; 2], half_px: f64) -> Result<Vec<u8>, Error> {
    let side = (2.0 * half_px).round().max(2.0) as usize;
    let (columns, rows) = (raster.columns(), raster.rows());
    let [left, top] = [column - half_px, row - half_px];
    let inside = |from: f64, most: usize| {
        (from.max(0.0) as usize).min(most)..((from + side as f64).max(1.0) as usize).min(most)
    };
    let (across, down) = (inside(left, columns), inside(top, rows));
    let part = raster.linear.slice_axis(Axis(1), Slice::from(down.clone()));
    let part =
        part.slice_axis(Axis(2), Slice::from(across.clone())).as_standard_layout().into_owned();
    let seen = display(&Raster { linear: part })?;
    let mut window = RgbImage::new(side as u32, side as u32);
    imageops::replace(
        &mut window,
        &seen,
        (across.start as f64 - left).round() as i64,
        (down.start as f64 - top).round() as i64,
    );
    let drawn = if side as u32 > SIDE {
        imageops::resize(&window, SIDE, SIDE, imageops::FilterType::Triangle)
    } else {
        window
    };
    png(&drawn)
}

/// The image of a point: its left half through this hole, its right half through the best.
pub(super) fn point(light: &Points) -> Result<Markup, Error> {
    let (own, best) = (&light.psf.psf, &light.best_psf.psf);
    let (rows, columns) = own.density.dim();
    let peak = own.peak().max(best.peak());
    let image = RgbImage::from_fn(columns as u32, rows as u32, |column, row| {
        let psf = if (column as usize) < columns / 2 { own } else { best };
        let share = psf.density[[rows - 1 - row as usize, column as usize]] / peak;
        let bright = (1.0 + share.log10() / DECADES).clamp(0.0, 1.0);
        let colour =
            colorous::INFERNO.eval_continuous(if bright.is_finite() { bright } else { 0.0 });
        Rgb([colour.r, colour.g, colour.b])
    });
    let wide = |answer: &crate::task::psf::Answer| {
        answer
            .encircled_energy
            .iter()
            .find(|circle| circle.fraction == 0.8)
            .map_or(0.0, |circle| circle.diameter_um / 1000.0)
    };
    let words = format!(
        "80 % of its light in {} mm; of the best, in {} mm",
        significant(wide(&light.psf), 2),
        significant(wide(&light.best_psf), 2)
    );
    Ok(halves("A point of light", &words, &png(&image)?, "square"))
}

/// The same piece of the picture twice: through this hole and through the best.
pub(super) fn picture(pictures: &Pictures) -> Result<Markup, Error> {
    let film = &pictures.picture.picture;
    let (columns, rows) = (film.columns(), film.rows());
    // Each half is as wide as it is, and the window 5 to 4.
    let width = ((PIECE[2] * columns as f64) as usize).clamp(1, columns);
    let height = (width * 8 / 5).min(rows);
    let left = ((PIECE[0] * columns as f64) as usize).min(columns - width);
    let top = ((PIECE[1] * rows as f64) as usize).min(rows - height);
    let mut window = RgbImage::new(2 * width as u32, height as u32);
    for (i, picture) in [film, &pictures.best_picture.picture].into_iter().enumerate() {
        let part = picture.linear.slice_axis(Axis(1), Slice::from(top..top + height));
        let part = part
            .slice_axis(Axis(2), Slice::from(left..left + width))
            .as_standard_layout()
            .into_owned();
        imageops::replace(&mut window, &display(&Raster { linear: part })?, (i * width) as i64, 0);
    }
    let mm = width as f64 * pictures.picture.film_pixel_um / 1000.0;
    let words = format!("the same piece twice, {} mm wide on the film", significant(mm, 2));
    Ok(halves("The picture", &words, &png(&window)?, "wide"))
}

fn halves(title: &str, words: &str, png: &[u8], class: &str) -> Markup {
    html! {
        figure {
            div.window.(class) {
                img src=(format!("data:image/png;base64,{}", base64(png))) alt=(format!("{title}: left this hole, right the best. {words}."));
                span.half {}
                span.tag.this { "this hole" }
                span.tag.best { "the best" }
            }
            figcaption { b { (title) } span.quiet { (words) } }
        }
    }
}

/// A window whose picture is on its way.
pub(super) fn waiting(id: &str, title: &str, class: &str) -> Markup {
    html! {
        div id=(id) {
            figure {
                div.window.(class) { p.wait { (title) ", on its way" } }
                figcaption { b { (title) } }
            }
        }
    }
}
