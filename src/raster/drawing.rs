//! Drawings: SVG to pixels, with the letters that come with the library and no others.

use super::Raster;
use crate::error::Error;
use image::RgbImage;
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{ImageHrefResolver, Options, Tree, fontdb};
use std::sync::{Arc, LazyLock};

/// Lists every character that a drawing may write. One that the faces lack would become an empty box
/// without a word of warning; a test looks each of these up in both faces.
pub const LETTERS: &str = " !\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`\
    abcdefghijklmnopqrstuvwxyz{|}~ ¡¢£¥§©«®°±²³µ¶·¹»¼½¾¿ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖ×ØÙÚÛÜÝÞßàáâãäåæ\
    çèéêëìíîïðñòóôõö÷øùúûüýþÿΓΔΘΛΞΠΣΦΨΩαβγδεζηθικλμνξπρστυφχψω–—‘’“”…•′″⁰⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉←↑→↓√∞\
    ∑∂≈≠≤≥−";

/// Longest side of a drawing in pixels: beyond it the picture alone takes more than a gigabyte.
const LONGEST_PX: f64 = 16_384.0;

/// Holds the letters' faces by their weight, as TrueType files (Inter, SIL Open Font License 1.1).
pub const FACE_FILES: [(u16, &[u8]); 2] = [
    (400, include_bytes!("letters/Inter-Regular.ttf")),
    (600, include_bytes!("letters/Inter-SemiBold.ttf")),
];

static FACES: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut faces = fontdb::Database::new();
    FACE_FILES.iter().for_each(|(_, file)| faces.load_font_data(file.to_vec()));
    Arc::new(faces)
});

/// Returns the pixels of a drawing, `scale` pixels to one of its units, on white, in sRGB.
///
/// The drawing's letters are Inter (weights 400 and 600) whatever this machine has installed, and
/// its pictures are data URIs: no file and no address is ever opened.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the drawing is not SVG, or comes out empty or longer than 16 384 pixels.
pub fn rasterise(svg: &str, scale: f64) -> Result<RgbImage, Error> {
    let pixmap = painted(svg, scale)?;
    let (columns, rows) = (pixmap.width(), pixmap.height());
    // On white every pixel is opaque, so that dropping the fourth byte loses nothing.
    let bytes = pixmap.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
    RgbImage::from_raw(columns, rows, bytes)
        .ok_or_else(|| size_error(f64::from(columns), f64::from(rows)))
}

/// The same as the painter has it: four bytes a pixel, the fourth 255.
///
/// # Errors
/// As [`rasterise`].
pub(crate) fn painted(svg: &str, scale: f64) -> Result<Pixmap, Error> {
    let tree = tree(svg)?;
    let (width, height) =
        (f64::from(tree.size().width()) * scale, f64::from(tree.size().height()) * scale);
    let inside = 0.5..=LONGEST_PX;
    if !(inside.contains(&width) && inside.contains(&height)) {
        return Err(size_error(width, height));
    }
    let mut pixmap = Pixmap::new(width.round() as u32, height.round() as u32)
        .ok_or_else(|| size_error(width, height))?;
    pixmap.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(scale as f32, scale as f32), &mut pixmap.as_mut());
    Ok(pixmap)
}

/// Returns the width and height of a drawing, in its own units (px of 1/96 inch).
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when it is not SVG.
pub fn drawn_size(svg: &str) -> Result<[f64; 2], Error> {
    let size = tree(svg)?.size();
    Ok([f64::from(size.width()), f64::from(size.height())])
}

/// Returns the width of a line of text at letters of `size`, both in the drawing's units.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the text cannot be written into SVG as it stands (escape it first).
pub fn text_width(escaped: &str, size: f64, weight: u16) -> Result<f64, Error> {
    // Set large, so that the box of the letters is known to a hundredth of their size.
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><text y='5' xml:space='preserve' \
         font-family='Inter' font-weight='{weight}' font-size='100'>{escaped}</text></svg>"
    );
    Ok(f64::from(tree(&svg)?.root().abs_bounding_box().width()) * size / 100.0)
}

/// The lightness of a drawing whose coverage stands for light: white paint is 1, and a pixel half
/// covered by it is 0.5, in linear light. The display's curve has no place here, for the painter
/// mixes by area and its numbers are areas.
pub(crate) fn coverage(image: &RgbImage) -> Raster {
    let (columns, rows) = (image.width() as usize, image.height() as usize);
    let linear = ndarray::Array3::from_shape_fn((3, rows, columns), |(channel, row, column)| {
        f32::from(image.get_pixel(column as u32, row as u32)[channel]) / 255.0
    });
    Raster { linear }
}

pub(super) fn tree(svg: &str) -> Result<Tree, Error> {
    let data_only = ImageHrefResolver {
        resolve_data: ImageHrefResolver::default_data_resolver(),
        resolve_string: Box::new(|_, _| None),
    };
    let options = Options {
        font_family: "Inter".into(),
        fontdb: FACES.clone(),
        image_href_resolver: data_only,
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|why| {
        Error::limit(format!("the drawing cannot be read: {why}"), "give it as well-formed SVG")
    })
}

fn size_error(width: f64, height: f64) -> Error {
    Error::limit(
        format!("a drawing of {width:.0} x {height:.0} pixels cannot be made"),
        format!("keep each side between 1 and {LONGEST_PX} pixels"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::png;
    use base64::{Engine, engine::general_purpose::STANDARD};

    fn svg(inside: &str) -> String {
        format!("<svg xmlns='http://www.w3.org/2000/svg' width='40' height='20'>{inside}</svg>")
    }

    #[test]
    fn shapes_stand_where_they_are_drawn() {
        let image = rasterise(&svg("<rect width='20' height='10' fill='#000'/>"), 2.0).unwrap();
        assert_eq!(image.dimensions(), (80, 40));
        assert_eq!(image.get_pixel(5, 5).0, [0; 3]);
        assert_eq!(image.get_pixel(5, 35).0, [255; 3]);
        assert_eq!(image.get_pixel(75, 5).0, [255; 3]);
    }

    #[test]
    fn a_picture_in_a_drawing_is_shown() {
        let red = RgbImage::from_pixel(2, 2, image::Rgb([200, 0, 0]));
        let data = STANDARD.encode(png(&red).unwrap());
        let tag = format!(
            "<image width='40' height='20' preserveAspectRatio='none' \
            href='data:image/png;base64,{data}'/>"
        );
        assert_eq!(rasterise(&svg(&tag), 1.0).unwrap().get_pixel(20, 10).0, [200, 0, 0]);
    }

    #[test]
    fn every_letter_is_in_both_faces() {
        for weight in [400, 600] {
            for letter in LETTERS.chars() {
                let text = match letter {
                    '<' => "&lt;".into(),
                    '&' => "&amp;".into(),
                    other => other.to_string(),
                };
                let inside = format!(
                    "<text y='9' font-weight='{weight}' xml:space='preserve'>x{text}x</text>"
                );
                let tree = tree(&svg(&inside)).unwrap();
                let resvg::usvg::Node::Text(node) = &tree.root().children()[0] else {
                    panic!("{letter:?} is not text");
                };
                let glyphs: Vec<_> =
                    node.layouted().iter().flat_map(|span| &span.positioned_glyphs).collect();
                assert!(glyphs.iter().all(|g| g.id.0 != 0), "{letter:?}, weight {weight}");
                assert_eq!(glyphs.len(), 3, "{letter:?}, weight {weight}");
            }
        }
    }

    #[test]
    fn the_two_weights_differ_and_widths_add_up() {
        let (thin, fat) = (text_width("Hole", 10.0, 400), text_width("Hole", 10.0, 600));
        assert!(thin.unwrap() < fat.unwrap());
        // A digit of Inter is 0.5 to 0.7 of the size wide.
        let digits = text_width("8888", 10.0, 400).unwrap();
        assert!((20.0..28.0).contains(&digits), "{digits}");
        assert!((text_width("88888888", 10.0, 400).unwrap() - 2.0 * digits).abs() < 0.1);
    }

    #[test]
    fn refuses_what_cannot_be_drawn() {
        assert!(rasterise("<svg", 1.0).is_err());
        for scale in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e9] {
            assert!(rasterise(&svg(""), scale).is_err(), "{scale}");
        }
    }
}
