//! Which hole is meant, and what is refused with its reason.

use super::draw::{MM_PER_PX, Random, hand_made};
use foramen::geometry::{Outline, shapes};
use foramen::hole::specimen::{Look, photograph};
use foramen::hole::{Hole, Said, Scale, Sheet, trace};
use foramen::raster::{Raster, display, png};
use std::sync::Arc;

fn scale() -> Scale {
    Scale::read("1000 px = 1 mm").unwrap()
}

/// A photo of openings on a plain plate, its middle that of the outline.
fn plain(outline: &Outline, side: usize, change: impl Fn(&mut Look)) -> Raster {
    let mut look = Look {
        rows: side,
        columns: side,
        mm_per_px: MM_PER_PX,
        centre_px: [side as f64 / 2.0; 2],
        blur_px: 0.8,
        noise: 0.005,
        wear: 0.0,
        ..Look::default()
    };
    change(&mut look);
    photograph(outline, &look).unwrap()
}

fn together(holes: &[Outline]) -> Outline {
    Outline::new(holes.iter().flat_map(|hole| hole.loops().to_vec()).collect()).unwrap()
}

fn size(picture: &Raster, at: Option<[f64; 2]>) -> Result<f64, String> {
    let found = trace(picture, at).map_err(|why| why.to_string())?;
    Ok(found.outline([1.0; 2]).unwrap().equivalent_diameter_mm())
}

#[test]
fn a_place_picks_one_of_two_like_holes() {
    let holes =
        [shapes::disc(0.08).unwrap().moved(-0.1, 0.0), shapes::disc(0.07).unwrap().moved(0.1, 0.0)];
    let picture = plain(&together(&holes), 400, |_| {});
    let refused = size(&picture, None).unwrap_err();
    assert!(refused.contains("100,200 px") && refused.contains("300,200 px"), "{refused}");
    // Within the hole, and beside it.
    assert!((size(&picture, Some([310.0, 190.0])).unwrap() / 70.0 - 1.0).abs() < 0.005);
    assert!((size(&picture, Some([100.0, 260.0])).unwrap() / 80.0 - 1.0).abs() < 0.005);
    let nothing = size(&picture, Some([200.0, 20.0])).unwrap_err();
    assert!(nothing.contains("no hole at 200,20"), "{nothing}");
}

/// A dark hole in a loupe's bright round field looks like a speck in a large hole: a confident wrong
/// number would be worse than a question.
#[test]
fn a_field_and_a_hole_with_a_speck_are_asked_about() {
    let field = shapes::annulus(0.36, 0.08).unwrap();
    let picture = plain(&field, 400, |_| {});
    let asked = size(&picture, None).unwrap_err();
    assert!(asked.contains("lit field"), "{asked}");
    assert!((size(&picture, Some([200.0, 200.0])).unwrap() / 80.0 - 1.0).abs() < 0.005);
    // A speck in a hole that does not fill the frame is a speck.
    let dusty = shapes::annulus(0.2, 0.03).unwrap();
    let found = size(&plain(&dusty, 400, |_| {}), None).unwrap();
    assert!((found / (200.0f64.powi(2) - 30.0f64.powi(2)).sqrt() - 1.0).abs() < 0.005, "{found}");
}

/// Glints brighter than the hole, and a bright scratch through the plate, are passed over.
#[test]
fn a_dim_hole_beside_glints_is_found() {
    let mut picture = plain(&shapes::disc(0.1).unwrap(), 300, |look| look.light = 0.25);
    for ((_, row, column), light) in picture.linear.indexed_iter_mut() {
        let glint = |r: f64, c: f64| (row as f64 - r).hypot(column as f64 - c) < 9.0;
        if glint(40.0, 60.0) || glint(250.0, 230.0) || (row + 2 * column) % 700 < 4 {
            *light = 1.0;
        }
    }
    let found = size(&picture, Some([150.0, 150.0])).unwrap();
    assert!((found / 100.0 - 1.0).abs() < 0.01, "{found}");
}

#[test]
fn small_and_blurred_holes_are_measured_widely_or_refused() {
    let disc = |px: f64| shapes::disc(px * MM_PER_PX).unwrap();
    // The truth lies within the interval, and the interval says how little is known.
    for (px, blur) in [(6.0, 0.5), (8.0, 0.8), (11.0, 1.0), (11.0, 2.0)] {
        let picture = plain(&disc(px), 60, |look| (look.blur_px, look.noise) = (blur, 0.002));
        let hole = Hole::of_picture(Arc::new(picture), scale(), None).unwrap();
        let (found, within) =
            (hole.outline.equivalent_diameter_mm(), hole.diameter_uncertainty_mm());
        println!("{px} px, blur {blur}: {:.2} ± {:.2} px", found * 1000.0, within * 1000.0);
        assert!((found - px * MM_PER_PX).abs() < within, "{px} px: {found} ± {within}");
        assert!(within > 0.005 * found && hole.warnings.iter().any(|w| w.contains("30 pixels")));
    }
    let tiny = size(&plain(&disc(3.5), 60, |look| look.noise = 0.0), None).unwrap_err();
    assert!(tiny.contains("pixels across"), "{tiny}");
    let smeared = size(&plain(&disc(40.0), 160, |look| look.blur_px = 14.0), None).unwrap_err();
    assert!(smeared.contains("blurred beyond use") && smeared.contains("px (σ)"), "{smeared}");
}

/// Twelve holes on one sheet in reading order, dust and a strange large opening left out.
#[test]
fn every_hole_of_a_sheet() {
    let mut random = Random(41);
    let mut holes = Vec::new();
    let mut truth = Vec::new();
    for row in 0..3 {
        for column in 0..4 {
            let hole = hand_made(&mut random, 30.0 + f64::from(3 * row + column));
            let place = [
                f64::from(column) * 0.15 - 0.225 + random.within(-0.01, 0.01),
                0.15 - f64::from(row) * 0.15 + random.within(-0.01, 0.01),
            ];
            truth.push(hole.equivalent_diameter_mm());
            holes.push(hole.moved(place[0], place[1]));
        }
    }
    for _ in 0..40 {
        let at = [random.within(-0.29, 0.29), random.within(-0.29, 0.29)];
        let speck = shapes::disc(0.008).unwrap().moved(at[0], at[1]);
        let apart = |hole: &Outline| {
            let [x, y] = hole.centroid_mm();
            (x - at[0]).hypot(y - at[1]) > 0.045
        };
        if holes.iter().all(apart) {
            holes.push(speck);
        }
    }
    let picture = plain(&together(&holes), 600, |_| {});
    let sheet = Sheet::of_picture(Arc::new(picture), scale()).unwrap();
    assert_eq!(sheet.holes.len(), 12, "{:?}", sheet.warnings);
    assert!(sheet.warnings[0].contains("left out"), "{:?}", sheet.warnings);
    for (found, truth) in sheet.holes.iter().zip(truth) {
        let hole = found.hole.as_ref().unwrap();
        assert!((hole.outline.equivalent_diameter_mm() / truth - 1.0).abs() < 0.005);
    }
}

/// Three photos of one hole, each with noise and place of its own, through files and the one door.
#[test]
fn several_photos_of_one_hole_are_combined() {
    let hole = hand_made(&mut Random(5), 90.0);
    let folder = tempfile::tempdir().unwrap();
    let photos = (0..3).map(|i| {
        let picture = plain(&hole, 240, |look| {
            look.seed = i;
            look.noise = 0.02;
            look.centre_px[0] += 0.37 * i as f64;
        });
        let path = folder.path().join(format!("{i}.png"));
        std::fs::write(&path, png(&display(&picture).unwrap()).unwrap()).unwrap();
        path.to_string_lossy().into_owned()
    });
    let said =
        Said { holes: photos.collect(), scales: vec!["1000 px = 1 mm".into()], ..Said::default() };
    let memory = foramen::files::Memory::read("1 GB").unwrap();
    let found = Hole::of(&foramen::files::said(&said, memory).unwrap()).unwrap();
    let (size, truth) = (found.outline.equivalent_diameter_mm(), hole.equivalent_diameter_mm());
    assert_eq!(found.photos.len(), 3);
    assert!((size - truth).abs() < found.diameter_uncertainty_mm(), "{size} {truth}");
    assert!(found.diameter_uncertainty_mm() < 0.01 * size);
}

/// Pixels twice as high as wide: a disc stays a disc, and its area is that of both pitches.
#[test]
fn pixels_need_not_be_square() {
    let picture = plain(&shapes::disc(0.2).unwrap(), 300, |_| {});
    let rows: Vec<usize> = (0..150).collect();
    let squeezed = ndarray::Array3::from_shape_fn((3, rows.len(), 300), |(c, row, column)| {
        0.5 * (picture.linear[[c, 2 * row, column]] + picture.linear[[c, 2 * row + 1, column]])
    });
    let scale = Scale::read("1000 x 500 px = 1 mm").unwrap();
    let raster = Arc::new(Raster { linear: squeezed });
    let hole = Hole::of_picture(raster, scale, None).unwrap();
    let size = hole.outline.equivalent_diameter_mm();
    assert!((size / 0.2 - 1.0).abs() < 0.003, "{size}");
    let (low, high) = hole.outline.bounds_mm();
    assert!(((high[0] - low[0]) / (high[1] - low[1]) - 1.0).abs() < 0.01);
}
