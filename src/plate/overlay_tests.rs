//! Plates of drawn holes.

use super::*;
use crate::plate::checks::{assert_tidy, keep, picture};
use std::f64::consts::TAU;

/// A bright disc with two burrs and a soft edge in warm metal, and its outline.
fn hole(size: usize, radius: f64) -> (Raster, Vec<Vec<[f64; 2]>>) {
    let centre = size as f64 / 2.0;
    let rim = move |angle: f64| {
        let burr = |at: f64, depth: f64| {
            let turn = (angle - at + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            depth * (-(turn / 0.08).powi(2)).exp()
        };
        radius * (1.0 + 0.03 * (2.0 * angle).cos() - burr(0.7, 0.2) - burr(3.4, 0.12))
    };
    let photo = picture(size, size, |row, column| {
        let (x, y) = (column - centre, row - centre);
        let open = (0.5 + rim(y.atan2(x)) - x.hypot(y)).clamp(0.0, 1.0);
        let grain = 0.04 * (row * 12.9 + column * 78.2).sin();
        [0.14, 0.10, 0.06].map(|metal: f64| metal + grain * metal + open * (0.9 - metal))
    });
    let outline = (0..400).map(|step| {
        let angle = TAU * f64::from(step) / 400.0;
        [centre + rim(angle) * angle.cos(), centre + rim(angle) * angle.sin()]
    });
    (photo, vec![outline.collect()])
}

fn view<'a>(photo: &'a Raster, loops_px: &'a [Vec<[f64; 2]>], marks: &'a [Mark]) -> Overlay<'a> {
    Overlay {
        photo,
        loops_px,
        mm_per_px: [0.34 / 200.0; 2],
        scale_lines_px: &[],
        scale_words: "",
        marks,
        title: "The hole as traced",
        size: "0.342 ± 0.004 mm",
        caption: "The rim is found at half the brightness between hole and metal.",
    }
}

/// Marks at a distance from the centre, as if many burrs stood around.
fn marks(size: usize, radius: f64, angles: &[f64]) -> Vec<Mark> {
    let mark = |angle: &f64| Mark {
        at_px: [
            size as f64 / 2.0 + 0.85 * radius * angle.cos(),
            size as f64 / 2.0 + 0.85 * radius * angle.sin(),
        ],
        label: "Burr: 0.031 ± 0.002 mm deep, 0.020 mm wide, at 40°".into(),
    };
    angles.iter().map(mark).collect()
}

#[test]
fn labels_stand_apart_however_many_marks_there_are() {
    let (photo, loops) = hole(300, 80.0);
    for count in [0, 1, 2, 9, 40, 200] {
        let angles: Vec<f64> = (0..count).map(|index| f64::from(index) * 0.05).collect();
        let marks = marks(300, 80.0, &angles);
        assert_tidy(&drawn(&view(&photo, &loops, &marks)).unwrap());
    }
}

#[test]
fn the_outline_lies_on_the_rim_of_the_photo() {
    // One bright pixel, and the outline around just that pixel.
    let photo = picture(21, 21, |row, column| {
        [if (10.0..11.0).contains(&row) && (10.0..11.0).contains(&column) { 1.0 } else { 0.0 }; 3]
    });
    let loops = [vec![[10.0, 10.0], [11.0, 10.0], [11.0, 11.0], [10.0, 11.0]]];
    let pitch = Pitch::checked([0.01, 0.01]).unwrap();
    let outline = pitch.outline(&loops).unwrap();
    let crop = cropped(Crop::all(&photo).unwrap(), pitch, &outline, &[], &[]);
    // Three tenths around it, rounded up to whole pixels: 9 to 12.
    assert_eq!(crop, Crop { column: 9, row: 9, columns: 3, rows: 3 });
    let view = View::placed(crop, pitch, [100.0, 50.0], [300.0, 300.0]);
    assert_eq!(view.place([10.0, 11.0]), [200.0, 250.0]);
    // The pixel's middle by the outline, whose y runs up.
    let [x, y] = view.place_of_mm(outline.centroid_mm());
    assert!((x - 250.0).abs() < 1e-9 && (y - 200.0).abs() < 1e-9, "{x} {y}");
}

#[test]
fn pixels_that_are_no_squares_make_no_oval() {
    // A disc of 0.2 mm in pixels half as high as wide, so 200 rows and 100 columns of it.
    let angles = (0..400).map(|step| TAU * f64::from(step) / 400.0);
    let loops = [angles.map(|a| [100.0 + 50.0 * a.cos(), 200.0 + 100.0 * a.sin()]).collect()];
    let photo = picture(400, 200, |_, _| [0.5; 3]);
    let pitch = Pitch::checked([0.002, 0.001]).unwrap();
    let outline = pitch.outline(&loops).unwrap();
    for reference in references(&outline) {
        assert!((reference.circle.radius_mm - 0.1).abs() < 1e-4, "{}", reference.name);
    }
    let crop = cropped(Crop::all(&photo).unwrap(), pitch, &outline, &[], &[]);
    let view = View::placed(crop, pitch, [0.0, 0.0], [900.0, 900.0]);
    let [left, right] = [[50.0, 200.0], [150.0, 200.0]].map(|p| view.place(p)[0]);
    let [upper, lower] = [[100.0, 100.0], [100.0, 300.0]].map(|p| view.place(p)[1]);
    assert!(((right - left) / (lower - upper) - 1.0).abs() < 0.005);
}

#[test]
fn odd_inputs_give_a_plate_or_an_error() {
    let dot = picture(1, 1, |_, _| [0.5; 3]);
    assert_tidy(&drawn(&view(&dot, &[], &[])).unwrap());
    let (photo, loops) = hole(60, 12.0);
    let far = [Mark { at_px: [1e9, -1e9], label: "x".repeat(5000) }];
    assert_tidy(&drawn(&view(&photo, &loops, &far)).unwrap());
    let strip = picture(1, 3000, |_, column| [column / 3000.0; 3]);
    assert_tidy(&drawn(&view(&strip, &[], &far)).unwrap());
    let title = "A very long title & <more> of it \u{0} \u{4e2d} ".repeat(200);
    let long =
        Overlay { title: &title, size: &title, caption: &title, ..view(&photo, &loops, &[]) };
    assert_tidy(&drawn(&long).unwrap());

    let none = Raster { linear: ndarray::Array3::zeros((3, 0, 0)) };
    assert!(overlay(&view(&none, &[], &[])).is_err());
    assert!(overlay(&view(&photo, &[vec![[f64::NAN, 0.0]; 3]], &[])).is_err());
    assert!(overlay(&view(&photo, &[vec![]], &[])).is_err());
    let nowhere = [Mark { at_px: [f64::NAN, 0.0], label: String::new() }];
    assert!(overlay(&view(&photo, &loops, &nowhere)).is_err());
    for mm_per_px in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-300, 1e300].map(|mm| [mm; 2]) {
        assert!(overlay(&Overlay { mm_per_px, ..view(&photo, &loops, &[]) }).is_err());
    }
    for mm_per_px in [[1e-6; 2], [10.0; 2], [0.001, 0.003]] {
        assert_tidy(&drawn(&Overlay { mm_per_px, ..view(&photo, &loops, &[]) }).unwrap());
    }
}

#[test]
#[ignore = "writes plates to look at"]
fn samples() {
    let (photo, loops) = hole(800, 200.0);
    // At the tips of the two burrs.
    let two = [marks(800, 189.4, &[0.7]), marks(800, 213.2, &[3.4])].concat();
    keep("overlay", &drawn(&view(&photo, &loops, &two)).unwrap());
    let (photo, loops) = hole(40, 10.0);
    keep("overlay_small", &drawn(&view(&photo, &loops, &[])).unwrap());
    let (photo, loops) = hole(1000, 10.0);
    let one = marks(1000, 9.4, &[0.7]);
    keep("overlay_speck", &drawn(&view(&photo, &loops, &one)).unwrap());
    let (photo, loops) = hole(400, 100.0);
    let wide = Overlay { mm_per_px: [0.002, 0.001], ..view(&photo, &loops, &[]) };
    keep("overlay_unequal", &drawn(&wide).unwrap());
    let (photo, loops) = hole(5000, 2100.0);
    let many: Vec<f64> = (0..30).map(|index| f64::from(index) * 0.21).collect();
    keep("overlay_large", &drawn(&view(&photo, &loops, &marks(5000, 2100.0, &many))).unwrap());
}
