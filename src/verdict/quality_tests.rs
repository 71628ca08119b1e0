use super::*;
use crate::camera::{Axis, Film, Shape, Support};
use crate::wave::analytic::DiscOtf;
use crate::wave::{Distances, fresnel_number};

/// A sheet so small that all of it is the middle, behind a thin plate.
pub(in crate::verdict) fn middle_only(mut camera: Camera) -> Camera {
    camera.film = Film { width_mm: 1.0, height_mm: 1.0, shape: Shape::Flat };
    camera.plate_mm = 0.0;
    camera
}

/// The merit of a disc in the middle of the film, from the closed form of its OTF.
pub(in crate::verdict) fn closed_form(camera: &Camera, diameter_mm: f64) -> f64 {
    let (distances, light) = (camera.distances, camera.light.condensed(8));
    let (closed, rule) = (DiscOtf::default(), Gauss::rule(200));
    let cut_off = |nm: f64| diameter_mm / (nm * MM_PER_NM * distances.film_mm());
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let finest = (cut_off(light.shortest_nm()) / per_cycle).min(100.0).sqrt();
    let blur = Blur::at_f_number(camera, distances.film_mm() / diameter_mm);
    let seen = rule.on(0.0, finest).map(|(root, weight)| {
        let nu = root * root;
        let f = nu * per_cycle;
        let of_one = |&(nm, share): &(f64, f64)| {
            let n = fresnel_number(diameter_mm / 2.0, nm, distances.effective_mm());
            share * closed.at(n, f / cut_off(nm))
        };
        let hole: f64 = light.lines().iter().map(of_one).sum();
        let each = (0..64).map(|i| f64::from(i) * PI / 64.0).map(f64::sin_cos);
        let mean = each.map(|(sin, cos)| (hole * blur.transfer([cos * f, sin * f])).max(0.0));
        weight * 2.0 * root * eye(nu) * mean.sum::<f64>() / 64.0
    });
    seen.sum::<f64>() / eye_total()
}

fn demonstration() -> Camera {
    Camera::demonstration().unwrap()
}

fn tube() -> Camera {
    let shape = Shape::Cylinder { radius_mm: 60.0, axis: Axis::Vertical };
    let film = Film { width_mm: 180.0, height_mm: 80.0, shape };
    Camera { film, ..demonstration() }
}

/// Metal as thick as the hole is wide: the corners are dark.
fn thick() -> Camera {
    Camera { plate_mm: 0.4, ..tube() }
}

/// On flat film at small angles the sheet's merit is that of the middle, whose closed form is another
/// route; with movement, whose directions count, and without.
#[test]
fn a_small_sheet_is_the_middle() {
    let support =
        Support { drift_mm_per_s: 0.03, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.4 };
    let moving = Camera { support: Some(support), ..demonstration() };
    for camera in [demonstration(), moving].map(middle_only) {
        for diameter in [0.15, 0.35, 0.38, 0.6, 1.2] {
            let closed = closed_form(&camera, diameter);
            let found = quality_of_disc(&camera, diameter);
            let disc = shapes::disc(diameter).unwrap();
            let at = quality_at(&camera, &disc, [0.0, 0.0]).unwrap();
            println!(
                "{diameter}: {closed:.6} sheet {:.1e} place {:.1e}",
                found - closed,
                at - closed
            );
            // Between few frequencies max(0, H) has a kink where H changes its sign; in the light of a hole
            // three times too large it does so many times.
            let bound = if diameter < 1.0 { 1e-4 } else { 3e-3 };
            assert!((found - closed).abs() < bound, "{diameter}: {found} {closed}");
            assert!((at - closed).abs() < bound, "{diameter}: {at} {closed}");
        }
    }
}

/// Four times as many places, and everything else finer too, change little: a fifth of a hundredth at most,
/// a tenth of the least gain that is worth touching a hole for; where metal as thick as the hole darkens the
/// corners, the border of the dark is rough.
#[test]
fn it_is_looked_at_closely_enough() {
    let finer = |usual: Fineness| Fineness {
        places: 2 * usual.places,
        directions: 24,
        strips: 160,
        frequencies: 60,
        lines: 6,
        smooth: 2e-5,
    };
    let holes = [
        shapes::disc(0.36).unwrap(),
        shapes::ellipse(0.45, 0.3).unwrap(),
        shapes::rectangle(0.3, 0.3).unwrap(),
        shapes::burred_disc(0.36, 1.0, 0.3, 0.1).unwrap(),
    ];
    for (name, camera, bound) in
        [("flat", demonstration(), 2e-3), ("tube", tube(), 2e-3), ("thick", thick(), 1e-2)]
    {
        let (usual, mut worst) = (Fineness::of(&camera), 0.0f64);
        for hole in &holes {
            let found = quality(&camera, hole);
            let places = over_sheet(
                &camera,
                hole,
                Part::Half,
                Fineness { places: 2 * usual.places, ..SHEET },
            );
            let all = over_sheet(&camera, hole, Part::Half, finer(usual));
            println!(
                "{name}: {all:.5}, by places {:.1e}, by all {:.1e} of it",
                found / places - 1.0,
                found / all - 1.0
            );
            worst = worst.max((found / all - 1.0).abs());
        }
        assert!(worst < bound, "{name}: {worst}");
    }
}

/// Turned by half a turn everything is what it was, whatever the hole and however thick the plate.
#[test]
fn half_the_sheet_stands_for_all_of_it() {
    let hole = shapes::burred_disc(0.36, 1.0, 0.3, 0.1).unwrap();
    for camera in [demonstration(), thick()] {
        for [x, y] in [[30.0, 20.0], [10.0, -35.0]] {
            let here = quality_at(&camera, &hole, [x, y]).unwrap();
            let there = quality_at(&camera, &hole, [-x, -y]).unwrap();
            assert!((here - there).abs() < 1e-9, "{here} {there}");
        }
    }
}

/// A disc's quarter is its half, with movement and without; the two look along other directions.
#[test]
fn a_quarter_stands_for_a_disc() {
    // What thick metal leaves open is a lens, of which few directions see less.
    for (camera, bound) in [(demonstration(), 1e-4), (thick(), 2e-3)] {
        let disc = shapes::disc(0.36).unwrap();
        let (half, quarter) = (quality(&camera, &disc), quality_of_disc(&camera, 0.36));
        assert!((half / quarter - 1.0).abs() < bound, "{half} {quarter}");
    }
    let drift =
        Support { drift_mm_per_s: 0.05, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.7 };
    let moving = Camera { support: Some(drift), ..demonstration() };
    let by_outline = quality(&moving, &shapes::disc(0.36).unwrap());
    assert_eq!(quality_of_disc(&moving, 0.36), by_outline);
}

/// The weights are a mean, and count the borders as they say: ∫ξ² 2^-ξ² over ∫ 2^-ξ², from 0 to 1, is
/// 0.276 36 (by parts: (√π erf √ln 2/(4 ln 2 √ln 2) - 1/(4 ln 2)) over √π erf √ln 2/(2 √ln 2)).
#[test]
fn the_weights_are_a_mean() {
    let camera = demonstration();
    let places = places(&camera, 8, Part::Half);
    let mean = |of: &dyn Fn(Point) -> f64| -> f64 {
        places.iter().map(|place| place.weight * of(place.at_mm)).sum()
    };
    let root = 2f64.ln().sqrt();
    let whole = PI.sqrt() * libm::erf(root) / (2.0 * root);
    let square = (whole - 0.5) / (2.0 * 2f64.ln()) / whole;
    let half = camera.film.width_mm / 2.0;
    assert!((mean(&|_| 1.0) - 1.0).abs() < 1e-14);
    assert!((mean(&|at| (at[0] / half).powi(2)) - square).abs() < 1e-9, "{square}");
    let half = camera.film.height_mm / 2.0;
    assert!((mean(&|at| (at[1] / half).powi(2)) - square).abs() < 1e-9);
}

/// Metal so thick that only the middle is lit: what is dark counts nothing, what is lit counts as it is.
#[test]
fn what_no_light_reaches_is_no_image() {
    let hole = shapes::disc(0.36).unwrap();
    let mut camera = demonstration();
    camera.film = Film { width_mm: 100.0, height_mm: 100.0, shape: Shape::Flat };
    camera.distances = Distances::distant(100.0).unwrap();
    let thin = quality(&Camera { plate_mm: 0.0, ..camera.clone() }, &hole);
    camera.plate_mm = 0.36 / 0.43;
    // Light reaches tan θ = 0.43; the borders lie at 0.5, the corners at 0.71.
    let thick = quality(&camera, &hole);
    assert!(thick > 0.0 && thick < 0.5 * thin, "{thick} {thin}");
    camera.plate_mm = 4.0;
    assert_eq!(quality(&camera, &hole), 0.0);
}

/// tests/reference/make_sheet_merit.py: flat and bent film, thin and thick metal, a near subject, by dense
/// quadrature over all the sheet and both ellipses' chords in closed form.
#[test]
fn sheets_are_worth_what_is_computed_elsewhere() {
    let table = include_str!("../../tests/reference/sheet_merit.csv");
    let rows = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    let mut count = 0;
    for row in rows {
        let cell = |i: usize| row.split(',').nth(i).unwrap().parse::<f64>().unwrap();
        let mut camera = demonstration();
        let shape = match cell(4) {
            0.0 => Shape::Flat,
            radius_mm => Shape::Cylinder { radius_mm, axis: Axis::Vertical },
        };
        camera.film = Film { width_mm: cell(2), height_mm: cell(3), shape };
        camera.distances = Distances::new(cell(5), cell(1)).unwrap();
        camera.light = Light::single(550.0).unwrap();
        camera.plate_mm = cell(6);
        camera.print.enlargement = 1.0;
        camera.print.viewing_distance_mm = 1f64.to_degrees() / cell(7);
        let found = quality_of_disc(&camera, cell(8)) / cell(9) - 1.0;
        println!("{row}: {found:.1e}");
        // Few places, directions and frequencies, as measured above.
        assert!(found.abs() < 2e-3, "{row}: {found}");
        count += 1;
    }
    assert_eq!(count, 12);
}
