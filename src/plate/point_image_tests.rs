//! Plates of Airy-like light.

use super::*;
use crate::plate::checks::{assert_tidy, keep};
use std::f64::consts::PI;

/// The far field of a disc, squeezed along x and drawn out to one side, as a share per mm².
fn airy(size: usize, pitch_mm: f64, first_dark_mm: f64, squeeze: f64) -> Array2<f64> {
    let centre = (size / 2) as f64;
    let per_mm = 3.831_706 / first_dark_mm;
    // The light of the disc sums to one: its peak is the scale squared over 4 pi.
    let peak = per_mm * per_mm / (4.0 * PI) * squeeze;
    Array2::from_shape_fn((size, size), |(row, column)| {
        let (x, y) = ((column as f64 - centre) * squeeze, row as f64 - centre);
        let v = per_mm * pitch_mm * x.hypot(y);
        let amplitude = if v < 1e-9 { 1.0 } else { 2.0 * libm::j1(v) / v };
        // A streak upwards and to the right, to show which way the map stands.
        let streak =
            if y > 0.0 && (x - 0.3 * y).abs() < 1.5 { 0.02 * (-y / 30.0).exp() } else { 0.0 };
        peak * (amplitude * amplitude + streak)
    })
}

fn psf(density_per_mm2: &Array2<f64>, pitch_mm: f64) -> PsfView<'_> {
    PsfView { density_per_mm2, pitch_mm, title: "The best disc, 0.34 mm".into() }
}

fn view<'a>(this: PsfView<'a>, best: PsfView<'a>) -> PointImage<'a> {
    PointImage {
        this,
        best,
        title: "What a point of light becomes on the film",
        caption: "Computed from the hole's outline by the Fresnel diffraction integral, all \
                  wavelengths added. Both maps share one scale.",
    }
}

#[test]
fn maps_stand_upright_and_texts_apart() {
    let (this, best) = (airy(96, 0.01, 0.2, 0.7), airy(128, 0.008, 0.16, 1.0));
    assert_tidy(&drawn(&view(psf(&this, 0.01), psf(&best, 0.008))).unwrap());
    // The streak runs to high y, which is up: rows above the middle of the map.
    let mut up = Array2::zeros((5, 5));
    up[[4, 2]] = 1.0;
    let mut plate = Plate::new("").unwrap();
    let frame = Frame { x: 0.0, y: 0.0, width: 50.0, height: 50.0 };
    let grey = |light: f64| Rgb([(255.0 * light) as u8; 3]);
    draw_map(&mut plate, frame, &psf(&up, 1.0), 2.5, grey).unwrap();
    let image = crate::raster::rasterise(&plate.svg("").unwrap(), 1.0).unwrap();
    assert!(image.get_pixel(25, 5)[0] > 200 && image.get_pixel(25, 45)[0] < 50);
}

#[test]
fn maps_reach_as_far_as_the_light_does() {
    let mut spot = Array2::from_elem((101, 101), 1e-9);
    spot[[50, 57]] = 1.0;
    let small = psf(&spot, 0.01);
    assert!((shown_mm([&small, &small], FLOOR) - 1.08 * 0.075).abs() < 1e-12);
    assert_eq!(small.crop(0.075).columns, 15);
    // Never beyond the smaller grid.
    let full = Array2::from_elem((11, 11), 1.0);
    assert!((shown_mm([&psf(&full, 0.01), &small], FLOOR) - 0.055).abs() < 1e-12);
}

#[test]
fn odd_inputs_give_a_plate_or_an_error() {
    let good = airy(32, 0.01, 0.1, 1.0);
    let zero = Array2::zeros((32, 32));
    let holed = Array2::from_elem((32, 32), f64::NAN);
    for odd in [&zero, &holed] {
        assert_tidy(&drawn(&view(psf(odd, 0.01), psf(&good, 0.01))).unwrap());
        assert!(point_image(&view(psf(odd, 0.01), psf(odd, 0.01))).is_err());
    }
    for size in [0, 1, 2] {
        let tiny = Array2::from_elem((size, 9), 1.0);
        assert!(point_image(&view(psf(&good, 0.01), psf(&tiny, 0.01))).is_err());
    }
    let flat = Array2::from_elem((3, 50), 4.0);
    assert_tidy(&drawn(&view(psf(&flat, 1e-6), psf(&good, 100.0))).unwrap());
    for peak in [1e-5, 3e-3, 999.0, 9.9e6] {
        let scaled = &good / good[[16, 16]] * peak;
        assert_tidy(&drawn(&view(psf(&scaled, 0.01), psf(&scaled, 0.01))).unwrap());
    }
    for pitch_mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(point_image(&view(psf(&good, pitch_mm), psf(&good, 0.01))).is_err());
    }
    let mut titled = psf(&good, 0.01);
    titled.title = "very long & <odd> \u{1f300} ".repeat(90);
    assert_tidy(&drawn(&view(titled.clone(), titled)).unwrap());
}

#[test]
#[ignore = "writes plates to look at"]
fn samples() {
    let (this, best) = (airy(256, 0.006, 0.21, 0.8), airy(256, 0.006, 0.17, 1.0));
    let mut this = psf(&this, 0.006);
    this.title = "This hole".into();
    keep("point_image", &drawn(&view(this, psf(&best, 0.006))).unwrap());
    let (this, best) = (airy(1024, 0.0004, 0.006, 1.3), airy(48, 0.004, 0.03, 1.0));
    keep("point_image_mixed", &drawn(&view(psf(&this, 0.0004), psf(&best, 0.004))).unwrap());
}
