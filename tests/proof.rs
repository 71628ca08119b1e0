//! A picture of the chart proves what it should: the whole loop, on pictures that the preview's own image formation
//! takes of it. What other hands' pictures give is in `tests/reference/proof_faults.csv`.

#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use foramen::camera::exposure::exposure;
use foramen::camera::{Camera, Film, Shape, Support};
use foramen::geometry::{Outline, Point, shapes};
use foramen::hole::Scale;
use foramen::picture::{film_kernels, form};
use foramen::proof::chart::reflectance;
use foramen::proof::{Cause, Chart, Finding, Scanner};
use foramen::raster::Raster;
use foramen::task::prove::{Answer, Request, run};
use foramen::wave::{Distances, Light};
use foramen::{Error, Kind};
use ndarray::Array3;
use std::sync::LazyLock;

const DISTANCE_MM: f64 = 600.0;
/// Of the scan, a side; the picture is formed on twice as many, as a scanner's squares average finer light.
const PIXELS: usize = 1200;
const FINE: usize = 2 * PIXELS;
/// The fine picture's own squares, as a standard deviation: a side over √12.
const SQUARE_MM: f64 = 60.0 / 2400.0 / 3.464;
const SIDE_MM: f64 = 60.0;
const DPI: &str = "508 dpi";

fn camera() -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.distances = Distances::new(DISTANCE_MM, 60.0).unwrap();
    camera.film = Film { width_mm: SIDE_MM, height_mm: SIDE_MM, shape: Shape::Flat };
    camera.light = Light::single(550.0).unwrap();
    camera.in_colour = false;
    camera.plate_mm = 0.0;
    camera.emulsion.blur_mm = 0.0;
    camera
}

fn chart_camera(camera: &Camera, distance_mm: f64) -> Camera {
    let distances = Distances::new(distance_mm, camera.distances.film_mm()).unwrap();
    Camera { distances, ..camera.clone() }
}

fn hole() -> Outline {
    shapes::disc(0.27).unwrap()
}

/// Whether a point lies inside a polygon: by the crossings of a ray (even and odd).
fn inside(polygon: &[Point], [x, y]: Point) -> bool {
    let ends = polygon.iter().zip(polygon.iter().cycle().skip(1));
    let crossed = |(a, b): &(&Point, &Point)| {
        (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    };
    ends.filter(crossed).count() % 2 == 1
}

/// The perfect image of the chart, as a picture shows it: the film turned by half a turn.
fn perfect(chart: &Chart) -> Raster {
    let pitch = SIDE_MM / FINE as f64;
    let mut linear = Array3::from_elem((1, FINE, FINE), 1.0f32);
    for shape in chart.shapes() {
        let on_picture =
            |[x, y]: &Point| [(SIDE_MM / 2.0 - x) / pitch, (SIDE_MM / 2.0 + y) / pitch];
        let polygon: Vec<Point> = shape.film_mm.iter().map(on_picture).collect();
        let range = |axis: usize| {
            let ends = polygon
                .iter()
                .fold((f64::MAX, 0.0f64), |(a, b), p| (a.min(p[axis]), b.max(p[axis])));
            ends.0.max(0.0) as usize..(ends.1.ceil() as usize).min(FINE)
        };
        for row in range(1) {
            for column in range(0) {
                let at = |i: usize| (i as f64 + 0.5) / 6.0;
                let points = (0..36).map(|k| [column as f64 + at(k % 6), row as f64 + at(k / 6)]);
                let share = points.filter(|point| inside(&polygon, *point)).count() as f64 / 36.0;
                let light = &mut linear[[0, row, column]];
                *light =
                    (f64::from(*light) * (1.0 - share) + reflectance(shape.code) * share) as f32;
            }
        }
    }
    Raster { linear }
}

/// The picture that a camera takes of the chart through a hole.
fn taken(camera: &Camera, hole: &Outline) -> Raster {
    taken_at(camera, hole, DISTANCE_MM)
}

/// The same of a chart that was drawn for another distance and hangs there.
fn taken_at(camera: &Camera, hole: &Outline, distance_mm: f64) -> Raster {
    let chart = Chart::of(camera, distance_mm).unwrap();
    let camera = &chart_camera(camera, distance_mm);
    let kernels =
        film_kernels(camera, hole, [FINE, FINE], [7, 7], foramen::Watch::nobody()).unwrap();
    let fine = form(&perfect(&chart), &kernels).linear;
    let mean = |(_, row, column): (usize, usize, usize)| {
        let parts =
            [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(i, j)| fine[[0, 2 * row + i, 2 * column + j]]);
        parts.iter().sum::<f32>() / 4.0
    };
    Raster { linear: Array3::from_shape_fn((1, PIXELS, PIXELS), mean) }
}

static FAULTLESS: LazyLock<Raster> = LazyLock::new(|| taken(&camera(), &hole()));

fn proved(picture: &Raster) -> Result<Answer, Error> {
    proved_at(picture, DPI)
}

fn proved_at(picture: &Raster, dpi: &str) -> Result<Answer, Error> {
    let request = Request {
        camera: camera(),
        hole: hole(),
        distance_mm: DISTANCE_MM,
        picture: picture.clone(),
        scale: Scale::read(dpi).unwrap(),
        scanner: Scanner::stated(SQUARE_MM),
    };
    run(&request, foramen::Watch::nobody())
}

/// The preview lays the far light of a point evenly, which takes up to 1 % of contrast: measured as a trace of blur, too small
/// to see.
fn is_faultless(answer: &Answer) -> bool {
    let is_trace = |found: &Finding| matches!(found, Finding::AsSharp | Finding::Trace { .. });
    answer.findings.contains(&Finding::AsSharp) && answer.findings.iter().all(is_trace)
}

/// A picture by where each of its pixels comes from.
fn turned(picture: &Raster, from: impl Fn(usize, usize) -> (usize, usize)) -> Raster {
    let linear = Array3::from_shape_fn((1, PIXELS, PIXELS), |(_, row, column)| {
        let (row, column) = from(row, column);
        picture.linear[[0, row, column]]
    });
    Raster { linear }
}

/// Contrast up to half the Nyquist frequency within 1.5 % of full scale, at every place and along every direction: 1 % is the
/// preview's own error (`picture::film_kernels`), and half a per cent is for its squares. And the answer that the picture is as sharp as the hole allows.
#[test]
fn a_faultless_picture_is_as_sharp_as_the_hole_allows() {
    let answer = proved(&FAULTLESS).unwrap();
    println!("{}", foramen::words::prove::text(&answer));
    assert!(is_faultless(&answer), "{:?}", answer.findings);
    assert!(!answer.mirrored && !answer.negative && (answer.size - 1.0).abs() < 1e-3);
    let nyquist = 508.0 / 25.4 / 2.0;
    let mut worst = 0.0f64;
    for place in &answer.places {
        assert_eq!(place.directions.len(), 4);
        for one in &place.directions {
            for (i, f) in
                answer.frequency_lp_per_mm.iter().enumerate().filter(|(_, f)| **f <= nyquist / 2.0)
            {
                let off = one.measured[i] - one.predicted[i];
                worst = worst.max(off.abs());
                assert!(off.abs() < 0.015, "{:?} {}° {f}: {off}", place.at_mm, one.direction_deg);
            }
        }
    }
    println!("largest difference {worst:.4}");
}

/// Turned by a quarter and by half, mirrored, and as a negative: the same is said, and which way it lies.
#[test]
fn any_way_round_will_do() {
    let last = PIXELS - 1;
    let quarter = turned(&FAULTLESS, |row, column| (column, last - row));
    let half = turned(&FAULTLESS, |row, column| (last - row, last - column));
    let mirrored = turned(&FAULTLESS, |row, column| (row, last - column));
    let negative = Raster { linear: FAULTLESS.linear.mapv(|light| 0.05 * light.powf(-0.6)) };
    for (picture, is_mirrored, is_negative) in [
        (&quarter, false, false),
        (&half, false, false),
        (&mirrored, true, false),
        (&negative, false, true),
    ] {
        let answer = proved(picture).unwrap();
        assert_eq!((answer.mirrored, answer.negative), (is_mirrored, is_negative));
        assert!(is_faultless(&answer), "{:?}", answer.findings);
    }
    let angle = |picture: &Raster| proved(picture).unwrap().turned_deg;
    // The picture shows the film turned by half a turn.
    assert!((angle(&FAULTLESS).abs() - 180.0).abs() < 0.1);
    assert!(angle(&half).abs() < 0.1);
}

/// A camera that drifts: the movement is named with its length and its direction, and not taken for another fault.
#[test]
fn movement_is_named() {
    let mut moving = camera();
    let time_s = exposure(&moving, &hole()).unwrap().corrected_s;
    // So much that the image moves by 0.2 mm.
    let drift_mm_per_s = 0.2 / time_s;
    moving.support =
        Some(Support { drift_mm_per_s, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.6 });
    let answer = proved(&taken(&moving, &hole())).unwrap();
    println!("{}", foramen::words::prove::text(&answer));
    let Some(Finding::Blurred { fit, or: None, .. }) = answer.findings.first() else {
        panic!("{:?}", answer.findings)
    };
    let Cause::Moved { length_mm, direction_deg, .. } = fit.cause else { panic!("{fit:?}") };
    assert!((length_mm - 0.2).abs() < 0.02, "{length_mm}");
    assert!((direction_deg - 0.6f64.to_degrees()).abs() < 5.0, "{direction_deg}");
}

/// Another hole than was measured, and fog.
#[test]
fn another_hole_and_fog_are_named() {
    let answer = proved(&taken(&camera(), &shapes::disc(0.27 * 1.1).unwrap())).unwrap();
    let Cause::Resized { factor, .. } = answer.causes[0].cause else {
        panic!("{:?}", answer.causes)
    };
    assert!((factor - 1.1).abs() < 0.02, "{factor}");
    let fogged = Raster { linear: FAULTLESS.linear.mapv(|light| 0.6 * (light + 0.15)) };
    let answer = proved(&fogged).unwrap();
    let Some(Finding::Fogged { share, .. }) =
        answer.findings.iter().find(|found| matches!(found, Finding::Fogged { .. }))
    else {
        panic!("{:?}", answer.findings)
    };
    assert!((share - 0.15).abs() < 0.02, "{share}");
    assert!(answer.findings.contains(&Finding::AsSharp));
}

/// More fog than the octagons' own contrast, and about the film the scanner's lid, darker than any octagon.
#[test]
fn a_chart_in_strong_fog_is_found_beside_a_dark_lid() {
    let border = 70;
    for fog in [0.3f32, 0.8, 2.0] {
        let mut picture = Array3::from_elem((1, PIXELS + 2 * border, PIXELS + 2 * border), 0.02f32);
        for ((_, row, column), light) in FAULTLESS.linear.indexed_iter() {
            picture[[0, row + border, column + border]] = 0.3 * (light + fog);
        }
        let answer = proved(&Raster { linear: picture }).unwrap();
        let share = answer.findings.iter().find_map(|found| match found {
            Finding::Fogged { share, .. } => Some(*share),
            _ => None,
        });
        // Steps of 1 % uncertainty, the border's own light beside the film.
        let share = share.unwrap_or_else(|| panic!("{fog}: {:?}", answer.findings));
        assert!((share / f64::from(fog) - 1.0).abs() < 0.1, "{fog}: {share}");
    }
}

/// A chart of another distance, hung there, has an image of the right size: its octagons tell, since near ones are wider.
#[test]
fn a_chart_of_another_distance_is_told() {
    let answer = proved(&FAULTLESS).unwrap();
    let drawn = answer.drawn.unwrap();
    println!("{drawn:?} {:?}", answer.enlargement);
    assert!(drawn.is_tested && (drawn.octagon - 1.0).abs() < 0.002, "{drawn:?}");
    // 60 mm over 600 mm.
    assert!((answer.enlargement.measured - 0.1).abs() < 0.0002, "{:?}", answer.enlargement);
    let near = taken_at(&camera(), &hole(), 300.0);
    let answer = proved(&near).unwrap();
    let told = answer.findings.iter().find_map(|found| match found {
        Finding::OtherChart { drawn_for_mm, .. } => *drawn_for_mm,
        _ => None,
    });
    let [least, most] = told.unwrap_or_else(|| panic!("{:?} {:?}", answer.findings, answer.drawn));
    assert!(least < 300.0 && most > 300.0 && most < 500.0, "{least} {most}");
}

/// Blur that no print shows leaves the picture as sharp as the hole allows, though it is measured; blur that a print shows does not.
#[test]
fn blur_is_told_from_where_a_print_shows_it() {
    let mut costs = Vec::new();
    // What the preview itself blurs (see `is_faultless`) adds as a square.
    let own_mm = proved(&FAULTLESS).unwrap().extra_blur.sigma_mm;
    for (blur_mm, is_sharp) in [(0.010f64, true), (0.05, false)] {
        let mut soft = camera();
        soft.emulsion.blur_mm = blur_mm;
        let answer = proved(&taken(&soft, &hole())).unwrap();
        assert!(
            (answer.extra_blur.sigma_mm - blur_mm.hypot(own_mm)).abs() < 0.003,
            "{:?}",
            answer.extra_blur
        );
        assert_eq!(answer.findings.contains(&Finding::AsSharp), is_sharp, "{:?}", answer.findings);
        costs.extend(answer.findings.iter().find_map(|found| match found {
            Finding::Trace { loss_jnd, .. } | Finding::Blurred { loss_jnd, .. } => Some(*loss_jnd),
            _ => None,
        }));
    }
    println!("{costs:?}");
    assert!(costs.len() == 2 && costs[0] < 1.0 && costs[1] > 1.0, "{costs:?}");
}

/// Software that sharpens makes edges swing: told, and not praised.
#[test]
fn a_sharpened_picture_is_told() {
    let mut sharp = FAULTLESS.clone();
    let (reach, amount) = (6usize, 1.5f32);
    for row in reach..PIXELS - reach {
        for column in reach..PIXELS - reach {
            let around = [
                (row - reach, column),
                (row + reach, column),
                (row, column - reach),
                (row, column + reach),
            ];
            let mean: f32 =
                around.iter().map(|(r, c)| FAULTLESS.linear[[0, *r, *c]]).sum::<f32>() / 4.0;
            let light = FAULTLESS.linear[[0, row, column]];
            sharp.linear[[0, row, column]] = (light + amount * (light - mean)).max(0.001);
        }
    }
    let answer = proved(&sharp).unwrap();
    assert!(matches!(answer.findings[0], Finding::Sharpened { .. }), "{:?}", answer.findings);
    assert!(!answer.findings.contains(&Finding::AsSharp));
}

/// What cannot be proved from is refused, and the fault says why.
#[test]
fn bad_pictures_are_refused_with_what_is_wrong() {
    let refused = |picture: &Raster, dpi: &str, expected: &str| {
        let error = proved_at(picture, dpi).unwrap_err();
        assert!(error.to_string().contains(expected), "{error}");
        assert!(!matches!(error.kind(), Kind::Stopped));
    };
    let flat = Raster { linear: Array3::from_elem((1, PIXELS, PIXELS), 0.5) };
    refused(&flat, DPI, "shows no chart");
    // The corner with the middle octagons and a bottom row that is missing.
    let cut = Raster {
        linear: FAULTLESS.linear.slice_axis(ndarray::Axis(1), (0..800).into()).to_owned(),
    };
    refused(&cut, DPI, "not nine");
    refused(&FAULTLESS, "1016 dpi", "508 dpi");
    refused(&FAULTLESS, "254 dpi", "508 dpi");
    let stretched = turned(&FAULTLESS, |row, column| {
        (row, (column * 5 / 4).saturating_sub(150).min(PIXELS - 1))
    });
    refused(&stretched, DPI, "another camera");
    let dark = Raster { linear: FAULTLESS.linear.mapv(|light| 0.5 + 1e-4 * light) };
    refused(&dark, DPI, "");
    // The marks of another chart.
    let mut other = FAULTLESS.clone();
    let chart = Chart::of(&camera(), DISTANCE_MM).unwrap();
    let pitch = SIDE_MM / PIXELS as f64;
    for ([x, y], _) in chart.marks_mm() {
        let (column, row) = ((SIDE_MM / 2.0 - x) / pitch, (SIDE_MM / 2.0 + y) / pitch);
        for r in row as usize - 22..row as usize + 22 {
            for c in column as usize - 22..column as usize + 22 {
                other.linear[[0, r, c]] = other.linear[[0, 600, 300]].max(0.5);
            }
        }
    }
    refused(&other, DPI, "marks");
}
