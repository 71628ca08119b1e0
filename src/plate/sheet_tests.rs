//! Plates of invented sheets.

use super::*;
use crate::plate::checks::{assert_tidy, keep, picture};
use std::f64::consts::TAU;

fn disc([x, y]: [f64; 2], radius: f64) -> Vec<Vec<[f64; 2]>> {
    let angles = (0..60).map(|step| TAU * f64::from(step) / 60.0);
    vec![angles.map(|a| [x + radius * a.cos(), y + radius * a.sin()]).collect()]
}

/// A photo of a sheet with discs of these middles and radii, in pixels.
fn photo(rows: usize, columns: usize, discs: &[([f64; 2], f64)]) -> Raster {
    picture(rows, columns, |row, column| {
        let open = discs
            .iter()
            .map(|(at, radius)| radius + 0.5 - (column - at[0]).hypot(row - at[1]))
            .fold(0.0, f64::max)
            .min(1.0);
        [0.14, 0.10, 0.06].map(|metal: f64| metal + open * (0.9 - metal))
    })
}

fn plate(photo: &Raster, discs: &[([f64; 2], f64)], mm_per_px: [f64; 2]) -> String {
    let loops: Vec<_> = discs.iter().map(|(at, radius)| disc(*at, *radius)).collect();
    let labels: Vec<String> =
        discs.iter().map(|d| format!("{:.3} ± 0.004 mm", 2.0 * d.1 * mm_per_px[0])).collect();
    let openings: Vec<Opening<'_>> = loops
        .iter()
        .zip(&labels)
        .map(|(loops_px, label)| Opening { loops_px, place_px: [0.0; 2], label })
        .collect();
    drawn(&Sheet {
        photo,
        openings: &openings,
        mm_per_px: Some(mm_per_px),
        title: "The openings found in this photo",
        caption: "The number of each opening stands in it or beside it.",
    })
    .unwrap()
}

/// So many openings in rows, none quite where the grid has it.
fn grid(count: usize, columns: usize, pitch: f64, radius: f64) -> Vec<([f64; 2], f64)> {
    let place = |index: usize| {
        let (row, column) = ((index / columns) as f64, (index % columns) as f64);
        let off = [(index as f64 * 7.3).sin(), (index as f64 * 4.1).cos()];
        let at = [column + 0.5 + 0.1 * off[0], row + 0.5 + 0.1 * off[1]].map(|c| c * pitch);
        (at, radius * (1.0 + 0.3 * off[0]))
    };
    (0..count).map(place).collect()
}

/// Their list is cut, so that there is a picture of them.
#[test]
fn thousands_of_openings_are_drawn_and_the_first_are_listed() {
    let discs = grid(5000, 80, 12.0, 3.0);
    let svg = plate(&photo(756, 960, &[]), &discs, [0.01, 0.01]);
    assert!(svg.contains("more are not listed here."));
    assert!(bytes(&svg).is_ok());
}

#[test]
fn numbers_stand_apart_however_many_openings_there_are() {
    for (count, columns, radius) in [(0, 1, 1.0), (1, 1, 20.0), (50, 10, 6.0), (300, 20, 9.0)] {
        let discs = grid(count, columns, 60.0, radius);
        let photo = photo(60 * count.div_ceil(columns).max(1), 60 * columns, &discs);
        assert_tidy(&plate(&photo, &discs, [0.01, 0.01]));
        assert_tidy(&plate(&photo, &discs, [0.01, 0.02]));
    }
}

#[test]
fn openings_without_room_for_a_number_are_counted() {
    let discs = grid(900, 30, 10.0, 2.0);
    let svg = plate(&photo(300, 300, &discs), &discs, [0.01, 0.01]);
    assert!(svg.contains("too close together"));
    let none = Raster { linear: ndarray::Array3::zeros((3, 0, 0)) };
    let empty =
        Sheet { photo: &none, openings: &[], mm_per_px: Some([0.1; 2]), title: "", caption: "" };
    assert!(sheet(&empty).is_err());
    let nowhere = [Opening { loops_px: &[], place_px: [f64::NAN; 2], label: "" }];
    assert!(sheet(&Sheet { photo: &photo(9, 9, &[]), openings: &nowhere, ..empty }).is_err());
}

/// An opening that could not be traced has its number and its words all the same.
#[test]
fn what_has_no_rim_is_numbered() {
    let photo = photo(300, 300, &[([100.0, 100.0], 20.0)]);
    let loops = disc([100.0, 100.0], 20.0);
    let openings = [
        Opening { loops_px: &loops, place_px: [100.0; 2], label: "0.2 mm" },
        Opening { loops_px: &[], place_px: [200.0; 2], label: "not measured" },
    ];
    let plate =
        Sheet { photo: &photo, openings: &openings, mm_per_px: None, title: "t", caption: "c" };
    let svg = drawn(&plate).unwrap();
    assert_tidy(&svg);
    assert!(svg.contains(">2</text>") && svg.contains("not measured"));
}

#[test]
#[ignore = "writes plates to look at"]
fn samples() {
    let discs = grid(50, 10, 120.0, 9.0);
    keep("sheet", &plate(&photo(600, 1200, &discs), &discs, [0.01, 0.01]));
    let discs = grid(12, 3, 300.0, 110.0);
    keep("sheet_large", &plate(&photo(1200, 900, &discs), &discs, [0.001, 0.001]));
}
