//! Pictures that show no hole, or none that can be told: each is refused with its reason and with what to
//! do, and the questions come with what stands out.

use super::draw::{MM_PER_PX, Random};
use foramen::Kind;
use foramen::geometry::{Outline, shapes};
use foramen::hole::specimen::{Look, photograph};
use foramen::hole::{trace, trace_every};
use foramen::raster::Raster;
use ndarray::Array3;

/// A grey picture of 600 × 800 pixels.
fn drawn(light: impl Fn(f64, f64) -> f64) -> Raster {
    sized(600, 800, light)
}

fn sized(rows: usize, columns: usize, light: impl Fn(f64, f64) -> f64) -> Raster {
    let linear = Array3::from_shape_fn((1, rows, columns), |(_, row, column)| {
        light(column as f64 + 0.5, row as f64 + 0.5).clamp(0.0, 1.0) as f32
    });
    Raster { linear }
}

/// Noise of a normal distribution, roughly: the sum of three even ones.
#[allow(clippy::needless_pass_by_value)]
fn noisy(picture: Raster, sigma: f64, seed: u64) -> Raster {
    let mut random = Random(seed);
    Raster {
        linear: picture.linear.mapv(|light| {
            let sum: f64 = (0..3).map(|_| random.within(-1.0, 1.0)).sum();
            (f64::from(light) + sigma * sum).clamp(0.0, 1.0) as f32
        }),
    }
}

/// 1 in a disc, 0 outside, with an edge a pixel wide.
fn disc([x, y]: [f64; 2], radius: f64, at: [f64; 2]) -> f64 {
    (radius - (at[0] - x).hypot(at[1] - y) + 0.5).clamp(0.0, 1.0)
}

/// What is said of a picture, both lines, and how many candidates come with it.
fn said(picture: &Raster) -> (String, usize) {
    let fault = match trace(picture, None) {
        Ok(traced) => panic!("traced at {:?}: {:?}", traced.centroid_px, traced.warnings),
        Err(fault) => fault,
    };
    assert!(!fault.remedy().is_empty());
    for inner in ["edges cross", "no loop of points", "on loop", " mm"] {
        assert!(!fault.to_string().contains(inner), "{fault}");
    }
    let candidates = match fault.kind() {
        Kind::Undecided(candidates) => candidates.len(),
        _ => 0,
    };
    println!("{fault}\n    {} [{candidates} candidates]", fault.remedy());
    (fault.to_string(), candidates)
}

#[test]
fn pictures_without_a_hole_say_so() {
    let lens_cap = noisy(drawn(|_, _| 0.0005), 0.0003, 1);
    let cases = [
        (drawn(|_, _| 0.4), "same grey"),
        (drawn(|x, _| 0.2 + x / 2000.0), "shows no"),
        (lens_cap, "black"),
        (noisy(drawn(|_, _| 0.4), 0.05, 2), "noise"),
        (noisy(drawn(|_, _| 0.4), 0.3, 3), "noise"),
        // A hole of a single pixel.
        (drawn(|x, y| 0.02 + 0.9 * disc([400.5, 300.5], 0.5, [x, y])), "shows"),
    ];
    for (picture, words) in cases {
        let (said, _) = said(&picture);
        assert!(said.contains(words), "{words}: {said}");
    }
}

/// Noise alone is no sheet either, and is found to be noise without comparing each spot with each: 1.1
/// megapixels of it.
#[test]
fn noise_is_no_sheet() {
    let noise = noisy(sized(1000, 1100, |_, _| 0.4), 0.1, 4);
    let fault = trace_every(&noise).unwrap_err().to_string();
    assert!(fault.contains("noise"), "{fault}");
}

/// Each is a question, and comes with what stands out.
#[test]
fn doubtful_pictures_are_questions() {
    let mut random = Random(9);
    let specks: Vec<[f64; 2]> =
        (0..10_000).map(|_| [random.within(5.0, 1995.0), random.within(5.0, 1995.0)]).collect();
    let mut strewn = sized(2000, 2000, |_, _| 0.05);
    for [x, y] in &specks {
        for row in (*y as usize - 4)..(*y as usize + 4) {
            for column in (*x as usize - 4)..(*x as usize + 4) {
                let share = disc([*x, *y], 3.0, [column as f64 + 0.5, row as f64 + 0.5]);
                let light = &mut strewn.linear[[0, row, column]];
                *light = light.max(0.05 + 0.8 * share as f32);
            }
        }
    }
    let moire = drawn(|x, y| {
        0.3 + 0.25 * (x / 9.0).sin() * (y / 9.0).sin()
            + 0.2 * ((x + 0.3 * y) / 8.3).sin() * ((y - 0.3 * x) / 8.3).sin()
    });
    let text = drawn(|x, y| {
        let (line, letter) = ((y / 24.0).floor(), (x / 13.0).floor());
        let (u, v) = (x - 13.0 * letter, y - 24.0 * line);
        let kind = ((letter * 7.3 + line * 3.1).sin() * 43_758.5).rem_euclid(1.0);
        let round = disc([6.0, 12.0], 5.0, [u, v]) - disc([6.0, 12.0], 3.0, [u, v]);
        let bar = f64::from((2.5..4.5).contains(&u) && (4.0..18.0).contains(&v));
        let ink = if kind < 0.4 {
            round
        } else if kind < 0.8 {
            bar
        } else {
            0.0
        };
        0.8 - 0.75 * ink
    });
    let all_hole = drawn(|x, y| 0.03 + 0.8 * disc([400.0, 300.0], 294.0, [x, y]));
    let sheet_of_dots = drawn(|x, y| {
        let paper = f64::from((200.0..600.0).contains(&x) && (150.0..450.0).contains(&y));
        let [u, v] = [x, y].map(|at| (at / 40.0).fract() * 40.0);
        0.05 + 0.7 * paper * (1.0 - disc([20.0, 20.0], 8.0, [u, v]))
    });
    let cat = drawn(|x, y| {
        let face = disc([400.0, 300.0], 130.0, [x, y]);
        let ears =
            f64::from(y < 260.0 && y > 60.0 && ((x - 400.0).abs() - 90.0).abs() < (y - 60.0) / 6.0);
        let body =
            f64::from(y > 300.0 && y < 560.0 && (x - 400.0).abs() < 40.0 + (y - 300.0) / 3.0);
        let sofa = f64::from(y > 400.0 && x < 200.0 && x > 60.0 && y < 540.0);
        0.6 - 0.55 * face.max(ears).max(body).max(0.6 * sofa)
    });
    let two_holes = drawn(|x, y| {
        0.03 + 0.8 * disc([200.0, 300.0], 60.0, [x, y]) + 0.8 * disc([600.0, 300.0], 50.0, [x, y])
    });
    let hair = drawn(|x, y| {
        let across = f64::from((x - 0.4 * y - 300.0).abs() < 5.0);
        0.03 + 0.8 * disc([400.0, 300.0], 100.0, [x, y]) * (1.0 - across)
    });
    for (picture, words, least) in [
        (&strewn, "of like size", 20),
        (&moire, "of like size", 2),
        (&text, "of like size", 2),
        (&all_hole, "takes", 1),
        (&sheet_of_dots, "sheet_of_dots", 2),
        (&cat, "", 1),
        (&two_holes, "2 holes", 2),
        (&hair, "hair", 2),
    ] {
        let (said, candidates) = said(picture);
        assert!(candidates >= least, "{said}: {candidates}");
        assert!(said.contains(words) || words == "sheet_of_dots", "{said}");
    }
}

/// A plated hole lit from before: the land is bright, the hole and the board are dark. A place within the
/// hole means the hole, so does one on the land, and without a place land and hole are no rivals. Glints
/// brighter than all lie beside it.
#[test]
fn a_ring_and_its_hole_are_one_thing() {
    let via = drawn(|x, y| {
        let land = disc([400.0, 300.0], 110.0, [x, y]) - disc([400.0, 300.0], 62.0, [x, y]);
        let glints = [[80.0, 90.0], [700.0, 520.0], [620.0, 80.0]]
            .iter()
            .map(|at| disc(*at, 4.0, [x, y]))
            .fold(0.0, f64::max);
        0.03 + 0.2 * land + 0.9 * glints
    });
    for place in [None, Some([400.0, 300.0]), Some([430.0, 320.0]), Some([400.0, 214.0])] {
        let found = trace(&via, place).unwrap();
        let size = found.outline([1.0; 2]).unwrap().equivalent_diameter_mm();
        println!("{place:?}: {size:.2} px, {:?}", found.warnings);
        assert!((size - 124.0).abs() < 0.3, "{place:?}: {size}");
    }
}

/// Holes darker and lighter than their ground on one sheet are all measured.
#[test]
fn both_polarities_of_a_sheet() {
    let picture = drawn(|x, y| {
        let ground = if x < 400.0 { 0.1 } else { 0.7 };
        let hole = |k: usize| {
            let at = [100.0 + 200.0 * (k % 4) as f64, 150.0 + 300.0 * (k / 4) as f64];
            disc(at, 30.0 + k as f64, [x, y])
        };
        let light = if x < 400.0 { 0.7 } else { 0.08 };
        ground + (light - ground) * (0..8).map(hole).fold(0.0, f64::max)
    });
    let sheet = trace_every(&picture).unwrap();
    assert_eq!(sheet.holes.len(), 8, "{:?}", sheet.warnings);
    for (k, (_, traced)) in sheet.holes.iter().enumerate() {
        let traced = traced.as_ref().unwrap();
        let size = traced.outline([1.0; 2]).unwrap().equivalent_diameter_mm();
        assert!((size / (60.0 + 2.0 * k as f64) - 1.0).abs() < 0.005, "{k}: {size}");
    }
    assert!(sheet.warnings.iter().any(|w| w.contains("4 of the holes")), "{:?}", sheet.warnings);
}

/// Specks that touch each other and the rim when their blur is undone: no inner error, whatever the picture.
#[test]
fn crowded_specks_leave_an_outline() {
    let mut random = Random(77);
    let hole = shapes::disc(0.3).unwrap();
    let clean = photograph(
        &hole,
        &Look {
            rows: 420,
            columns: 420,
            mm_per_px: MM_PER_PX,
            centre_px: [210.0; 2],
            blur_px: 0.8,
            wear: 0.0,
            noise: 0.004,
            ..Look::default()
        },
    )
    .unwrap();
    for count in [20, 60, 120] {
        let specks: Vec<[f64; 3]> = (0..count)
            .map(|_| {
                [random.within(70.0, 350.0), random.within(70.0, 350.0), random.within(1.5, 4.0)]
            })
            .collect();
        let mut picture = clean.clone();
        for ((_, row, column), light) in picture.linear.indexed_iter_mut() {
            let at = [column as f64 + 0.5, row as f64 + 0.5];
            let dark = specks.iter().map(|s| disc([s[0], s[1]], s[2], at)).fold(0.0, f64::max);
            *light *= 1.0 - 0.9 * dark as f32;
        }
        match trace(&picture, Some([210.0; 2])) {
            Ok(traced) => {
                let outline: Outline = traced.outline([MM_PER_PX; 2]).unwrap();
                let size = outline.equivalent_diameter_mm();
                assert!(size > 0.2 && size < 0.31, "{count}: {size}");
            }
            Err(fault) => assert!(!fault.to_string().contains("cross"), "{fault}"),
        }
    }
}
