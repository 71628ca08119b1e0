//! A form's words and files to a camera and a hole. No field names a file: photos, outlines and cameras
//! come as bytes, and a camera's curves by their known names only.

use super::received::{Received, Upload};
use crate::camera::{Camera, DEMONSTRATION, TEMPLATES, no_curves};
use crate::error::{Error, Wanted};
use crate::hole::{Hole, Photo, PhotoFile, Said, Scale, ScaleSource, Source, specimen};
use crate::quantity::Quantity;
use crate::raster::Transfer;
use std::sync::Arc;

/// The text of the camera that a form brings: a file, a text, a template, or the Cedar box.
pub(super) fn camera_text(form: &Received) -> Result<String, Error> {
    if let Some(file) = form.file("camera-file") {
        return String::from_utf8(file.bytes.clone()).map_err(|_| {
            Error::damaged("is not text in UTF-8", "choose a camera file (TOML)")
                .in_file(&file.name)
        });
    }
    if let Some(text) = form.said("camera") {
        return Ok(text.to_owned());
    }
    let named = TEMPLATES.iter().find(|template| template.word == form.text("template"));
    Ok(named.map_or(DEMONSTRATION, |template| template.text).to_owned())
}

/// The camera that a form brings.
pub(super) fn camera(form: &Received) -> Result<Camera, Error> {
    Camera::parse(&camera_text(form)?, "the camera", &no_curves)
}

/// What a form says of the hole: a photo or outline with its scale and place, or a size in words.
pub(super) fn source(form: &Received) -> Result<Source, Error> {
    if form.said("invented").is_some() {
        return invented();
    }
    let Some(file) = form.file("photo") else {
        let words = form.said("size").ok_or_else(|| {
            Error::not_there("no hole is named", "choose a photo, or type a size or a count")
                .wanting(Wanted::Hole)
        })?;
        return Source::of_words(&with_unit(words, "mm"), None).map_err(|why| why.in_field("size"));
    };
    let name = named(file);
    let (scales, graduation_mm) =
        if Said::is_photo(&name) { scale(form)? } else { (Vec::new(), None) };
    let said = Said {
        holes: vec![name.clone()],
        scales,
        graduation_mm,
        places_px: place(form)?.into_iter().collect(),
        transfer: Transfer::ByFile,
        ..Said::default()
    };
    said.source(&|asked| {
        if asked == name {
            return Ok(file.bytes.clone());
        }
        Err(Error::not_there("no such file came with the form", "choose the photo again"))
    })
}

/// The invented photo of an invented hole.
fn invented() -> Result<Source, Error> {
    let photo = specimen::demonstration()?;
    let photo = Photo {
        name: "the invented photo".into(),
        picture: PhotoFile::Opened(Arc::new(photo.raster), Vec::new()),
        resolution: None,
        blur: None,
        scale: ScaleSource::Stated(Scale::read(&format!(
            "{:.0} px = 1 mm",
            1.0 / photo.mm_per_px
        ))?),
        place_px: None,
    };
    Ok(Source::Photos { photos: vec![photo], one_scale: true })
}

pub(super) fn hole(form: &Received) -> Result<Hole, Error> {
    Hole::of(&source(form)?)
}

/// The scale as the library reads it, and the spacing of a rule's lines. Without a word the file's own
/// resolution is asked for.
fn scale(form: &Received) -> Result<(Vec<String>, Option<f64>), Error> {
    if let (Some(px), Some(apart)) = (form.said("px"), form.said("apart")) {
        return Ok((vec![format!("{px} px = {}", with_unit(apart, "mm"))], None));
    }
    if let Some(dpi) = form.said("dpi") {
        return Ok((vec![with_unit(dpi, "dpi")], None));
    }
    let auto = vec!["auto".to_owned()];
    match form.said("spacing") {
        Some(spacing) => {
            let spacing = Quantity::Length.read_positive(&with_unit(spacing, "mm"));
            Ok((auto, Some(spacing.map_err(|why| why.in_field("spacing"))?)))
        }
        None => Ok((auto, None)),
    }
}

fn place(form: &Received) -> Result<Option<[f64; 2]>, Error> {
    let read = |name: &str| {
        form.said(name)
            .map(|text| {
                text.parse::<f64>().ok().filter(|px| px.is_finite() && *px >= 0.0).ok_or_else(
                    || {
                        Error::words(text, "is not a place in the photo", "point at the hole again")
                            .in_field(name)
                    },
                )
            })
            .transpose()
    };
    Ok(read("x")?.zip(read("y")?).map(|(x, y)| [x, y]))
}

/// Words with a unit; a bare number is taken in the field's own.
pub(super) fn with_unit(words: &str, unit: &str) -> String {
    let words = words.trim();
    let is_bare = words.chars().all(|c| c.is_ascii_digit() || ".-+/ ".contains(c));
    if is_bare { format!("{words} {unit}") } else { words.to_owned() }
}

/// A file's name with the ending of what its first bytes say it is, where it has none of ours.
fn named(file: &Upload) -> String {
    let lower = file.name.to_lowercase();
    if Said::is_photo(&lower) || lower.ends_with(".csv") || lower.ends_with(".svg") {
        return file.name.clone();
    }
    let ending = match &file.bytes[..] {
        [0x89, b'P', b'N', b'G', ..] => "png",
        [0xff, 0xd8, ..] => "jpg",
        [b'I', b'I', 42, 0, ..] | [b'M', b'M', 0, 42, ..] => "tif",
        _ => return file.name.clone(),
    };
    format!("{}.{ending}", file.name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_brings_cameras_and_sizes_and_never_a_path() {
        for template in TEMPLATES {
            let named = camera(&Received::of(&[("template", template.word)])).unwrap();
            assert_eq!(named.name, template.name);
        }
        let hole_of = |size: &str| hole(&Received::of(&[("size", size)]));
        assert!((hole_of("0.34").unwrap().outline.equivalent_diameter_mm() - 0.34).abs() < 1e-9);
        assert!(
            (hole_of("4 per mm").unwrap().outline.equivalent_diameter_mm() - 0.25).abs() < 1e-9
        );
        for path in ["/etc/passwd", "Cargo.toml", "examples/pictures/outline.png", "../x.csv", ""] {
            assert!(hole_of(path).is_err(), "{path}");
        }
        let curve = "name = \"x\"\n[film]\ndistance = \"100 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n\
                     [light]\nfilter = \"/etc/passwd\"\n";
        assert!(camera(&Received::of(&[("camera", curve)])).is_err());
    }
}
