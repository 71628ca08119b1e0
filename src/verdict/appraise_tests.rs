//! Losses and their causes against other routes: sums over points of the very hole, no strips, no
//! chords and no closed forms.

use super::*;
use crate::camera::{Film, Shape, Support};
use crate::geometry::{Point, contains, shapes, signed_area};
use crate::verdict::merit::eye::Viewing;
use crate::verdict::target::target;
use crate::wave::{Distances, Light, MM_PER_NM};
use std::f64::consts::{PI, TAU};

/// A sheet so small that the merit over it is that of its middle, which the cells are summed for.
fn camera() -> Camera {
    let mut camera = Camera::demonstration().unwrap();
    camera.film = Film { width_mm: 1.0, height_mm: 1.0, shape: Shape::Flat };
    camera.light = Light::single(550.0).unwrap();
    camera.distances = Distances::distant(120.0).unwrap();
    camera
}

/// Whether a point is open: inside one more loop that opens than loops that close.
fn is_open(outline: &Outline, p: Point) -> bool {
    let inside = outline.loops().iter().filter(|points| contains(points, p));
    inside.map(|points| signed_area(points).signum()).sum::<f64>() > 0.5
}

/// The merit by its definition, from the hole as a field of cells: the OTF at f is the pupil
/// P = exp(iπ r²/λz) on open cells times itself moved by λ v f, over the open cells, its phase taken
/// out through the centroid; then Barten's root of max(0, Re) times the eye's sensitivity, and the mean over
/// directions, each as a plain sum. Nothing of it is shared with the strips, the chords and the quadrature of the code.
fn merit_by_cells(camera: &Camera, outline: &Outline) -> f64 {
    const CELLS: i32 = 240;
    const DIRECTIONS: usize = 24;
    const FREQUENCIES: usize = 60;
    let (low, high) = outline.bounds_mm();
    let reach = (high[0] - low[0]).max(high[1] - low[1]) / 2.0;
    let cell = 2.0 * reach / f64::from(CELLS);
    let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
    let place = |i: i32| (f64::from(i) + 0.5) * cell - reach;
    let mut open = vec![false; (CELLS * CELLS) as usize];
    for row in 0..CELLS {
        for column in 0..CELLS {
            let p = [middle[0] + place(column), middle[1] + place(row)];
            open[(row * CELLS + column) as usize] = is_open(outline, p);
        }
    }
    let (wave, z) = (550.0 * MM_PER_NM, 120.0);
    let count = open.iter().filter(|cell| **cell).count() as f64;
    let seen = Viewing::of(camera);
    let per_cycle = camera.lp_per_mm_at_one_cycle_per_degree();
    let finest = (2.0 * reach * 2f64.sqrt() / (wave * z) / per_cycle).min(60.0);
    let mut sum = 0.0;
    let (low, high) = (seen.lowest.sqrt(), finest.sqrt());
    for direction in 0..DIRECTIONS {
        let (sin, cos) = (PI * (direction as f64 + 0.5) / DIRECTIONS as f64).sin_cos();
        for k in 0..FREQUENCIES {
            // ν = x², as the root rises as a power below 1.
            let x = low + (high - low) * (k as f64 + 0.5) / FREQUENCIES as f64;
            let nu = x * x;
            let shift = wave * z * nu * per_cycle;
            // To whole cells: the frequency is that of the shift that was taken.
            let (across, up) =
                ((shift * cos / cell).round() as i32, (shift * sin / cell).round() as i32);
            let [mut re, mut im] = [0.0f64; 2];
            for row in up.max(0)..CELLS.min(CELLS + up) {
                for column in across.max(0)..CELLS.min(CELLS + across) {
                    let here = (row * CELLS + column) as usize;
                    let there = ((row - up) * CELLS + column - across) as usize;
                    if open[here] && open[there] {
                        let square = |c: i32, r: i32| place(c).powi(2) + place(r).powi(2);
                        let phase = PI / (wave * z)
                            * (square(column, row) - square(column - across, row - up));
                        re += phase.cos();
                        im += phase.sin();
                    }
                }
            }
            // The centroid of the point image is the geometrical image of the hole's centroid.
            let [cx, cy] = centroid_of(&open, CELLS, &place);
            let centred =
                TAU / (wave * z) * (cx * f64::from(across) * cell + cy * f64::from(up) * cell);
            let real = (re * centred.cos() + im * centred.sin()) / count;
            let step = (high - low) / FREQUENCIES as f64;
            sum += (seen.sensitivity(nu) * real.max(0.0)).sqrt() * 2.0 / x * step;
        }
    }
    sum / DIRECTIONS as f64 / std::f64::consts::LN_2
}

fn centroid_of(open: &[bool], cells: i32, place: &impl Fn(i32) -> f64) -> Point {
    let (mut x, mut y, mut count) = (0.0, 0.0, 0.0);
    for (i, _) in open.iter().enumerate().filter(|(_, open)| **open) {
        x += place(i as i32 % cells);
        y += place(i as i32 / cells);
        count += 1.0;
    }
    [x / count, y / count]
}

/// An oval with a burr and a speck in it, too narrow by a seventh.
fn spoilt(size_mm: f64) -> Outline {
    let (a, b) = (0.55 * size_mm, 0.45 * size_mm);
    let rim = shapes::polar(1440, |p| {
        let oval = a * b / (b * p.cos()).hypot(a * p.sin());
        let turn = (p - 1.0).abs();
        oval - 0.6 * b * (1.0 - turn / 0.3).max(0.0)
    });
    let speck = shapes::disc(0.16 * size_mm).unwrap().moved(-0.2 * size_mm, -0.1 * size_mm);
    let island = speck.loops()[0].iter().rev().copied().collect();
    Outline::new(vec![rim.unwrap().loops()[0].clone(), island]).unwrap()
}

#[test]
fn causes_are_what_the_cells_of_the_hole_say() {
    let camera = camera();
    let target = target(&camera);
    let hole = spoilt(0.85 * target.diameter_mm);
    let found = appraise(&camera, &target, &hole).unwrap();
    assert_eq!((found.burrs, found.specks), (1, 1));
    let size_mm = 0.85 * target.diameter_mm;
    // The same hole without speck, without burr too, and a disc of its area, made anew.
    let oval = shapes::ellipse(1.1 * size_mm, 0.9 * size_mm).unwrap();
    let clean = Outline::new(vec![hole.loops()[0].clone()]).unwrap();
    let disc = shapes::disc((1.1f64 * 0.9).sqrt() * size_mm).unwrap();
    let best = merit_by_cells(&camera, &shapes::disc(target.diameter_mm).unwrap());
    let [hole, clean, oval, disc] =
        [&hole, &clean, &oval, &disc].map(|outline| best - merit_by_cells(&camera, outline));
    for (name, found, expected) in [
        ("loss", found.loss_jnd, hole),
        ("size", found.causes.size, disc),
        ("form", found.causes.form, oval - disc),
        ("burrs", found.causes.burrs, clean - oval),
        ("debris", found.causes.debris, hole - clean),
        ("without debris", found.counterfactuals.without_debris, clean),
    ] {
        println!("{name}: {found:.4}, by cells {expected:.4}");
        // Cells of a 240th of the hole: their rim is off by a tenth of a cell on average, shifts by a
        // quarter of one, which the mean over directions and frequencies makes a hundredth of a jnd.
        assert!((found - expected).abs() < 0.02, "{name}: {found} {expected}");
    }
    let causes = &found.causes;
    let sum = causes.size + causes.form + causes.burrs + causes.debris;
    assert!((sum - found.loss_jnd).abs() < 1e-9, "{sum} {}", found.loss_jnd);
    assert!(causes.burrs > 0.1 && causes.debris > 0.1 && causes.form > 0.1, "{causes:?}");
}

#[test]
fn the_best_disc_loses_nothing_and_gains_by_nothing() {
    let camera = Camera::demonstration().unwrap();
    let target = target(&camera);
    let best = shapes::disc(target.diameter_mm).unwrap();
    let found = appraise(&camera, &target, &best).unwrap();
    // The two routes to a disc's merit differ by hundredths of a jnd.
    let would = &found.counterfactuals;
    for loss in [found.loss_jnd, found.causes.form, would.rounded, would.widened, would.opened_out]
    {
        assert!(loss.abs() < 0.03, "{found:?}");
    }
    assert_eq!(
        (found.burrs, found.specks, found.causes.burrs, found.causes.debris),
        (0, 0, 0., 0.)
    );
}

/// What would be if something were done is what the thing made anew loses: the oval's least-squares
/// circle is that of the mean of its radius over the angle (to first order; 3 % of oval here), and the
/// smallest disc around it has its length.
#[test]
fn what_would_be_is_what_is_when_it_is_made() {
    let camera = camera();
    let target = target(&camera);
    let best = target.diameter_mm;
    let oval = shapes::ellipse(0.8 * best, 0.6 * best).unwrap();
    let found = appraise(&camera, &target, &oval).unwrap().counterfactuals;
    let loss = |outline: &Outline| target.quality - quality(&camera, outline);
    let round = loss(&shapes::disc(found.rounded_diameter_mm).unwrap());
    assert!((found.rounded - round).abs() < 0.02, "{} {round}", found.rounded);
    // The mean radius of an oval, by its complete elliptic integral, summed.
    let mean: f64 = (0..3600)
        .map(|i| TAU * (f64::from(i) + 0.5) / 3600.0)
        .fold(0.0, |sum, p| sum + 0.8 * 0.6 * best / (0.6 * p.cos()).hypot(0.8 * p.sin()) / 3600.0);
    assert!((found.rounded_diameter_mm - mean).abs() < 1e-4 * best, "{found:?} {mean}");
    assert!((found.opened_out_diameter_mm - best).abs() < 1e-12 && found.opened_out.abs() < 0.03);
    let widened = loss(&oval.scaled(found.widened_diameter_mm / oval.equivalent_diameter_mm()));
    assert!((found.widened - widened).abs() < 0.03, "{} {widened}", found.widened);
    // No other size of it is better: a dense look.
    let least = (0..60).map(|i| loss(&oval.scaled(1.0 + 0.01 * f64::from(i))));
    let least = least.fold(f64::INFINITY, f64::min);
    assert!((found.widened - least).abs() < 0.03, "{} {least}", found.widened);
    let wide = appraise(&camera, &target, &oval.scaled(2.0)).unwrap().counterfactuals;
    assert!(
        (wide.opened_out_diameter_mm - 1.6 * best).abs() < 1e-3 * best && wide.opened_out > 1.0
    );
}

/// Does more burr ever raise the merit? Not in holes up to the best size, as far as is looked here. In
/// one that is too wide it does, for it takes area from it: there the loss it causes is below zero.
#[test]
fn more_burr_is_worse_unless_the_hole_is_too_wide() {
    let camera = Camera::demonstration().unwrap();
    let target = target(&camera);
    let burred = |size: f64, depth: f64, wide: f64| {
        let mm = size * target.diameter_mm;
        shapes::burred_disc(mm, 0.3, wide, depth * mm / 2.0).unwrap()
    };
    for size in [0.5, 0.75, 0.9, 1.0] {
        for wide in [0.1, 0.2, 0.3] {
            let merits = [0.0, 0.1, 0.2, 0.4, 0.6, 0.8].map(|depth| match depth {
                0.0 => quality(&camera, &shapes::disc(size * target.diameter_mm).unwrap()),
                depth => quality(&camera, &burred(size, depth, wide)),
            });
            assert!(merits.is_sorted_by(|a, b| a > b), "{size} {wide}: {merits:?}");
        }
    }
    let wide = appraise(&camera, &target, &burred(1.3, 0.2, 0.3)).unwrap();
    assert!(wide.burrs == 1 && wide.causes.burrs < -0.02, "{:?}", wide.causes);
}

fn lines(outline: &Outline) -> Lines {
    let camera = Camera::demonstration().unwrap();
    Lines::of(&camera, &target(&camera), outline)
}

/// A hole wider than the best lets light straight through: an oval lying on its side smears
/// sideways, which upright lines show. One far too narrow diffracts most across its narrow side,
/// up and down, which level lines show.
#[test]
fn words_say_which_lines_suffer() {
    let best = target(&Camera::demonstration().unwrap()).diameter_mm;
    let oval = |size: f64, turn: f64| {
        let oval = shapes::ellipse(1.3 * size * best, size * best / 1.3).unwrap();
        lines(&oval.turned(turn))
    };
    for (size, turn, said, degrees) in [
        (1.5, 0.0, Lean::Upright, 90.0),
        (0.5, 0.0, Lean::Level, 0.0),
        (1.5, PI / 2.0, Lean::Level, 0.0),
        (1.5, PI / 4.0, Lean::Falling, 135.0),
        (1.5, 3.0 * PI / 4.0, Lean::Rising, 45.0),
    ] {
        let found = oval(size, turn);
        // To one of the directions that are looked along: reversed contrast makes the curve rough.
        let off = (found.worst_deg - degrees + 90.0).rem_euclid(180.0) - 90.0;
        assert!(off.abs() < 12.0, "{size} {turn}: {found:?}");
        assert_eq!(found.worst_lean(), Some(said), "{found:?}");
    }
    assert_eq!(lines(&shapes::disc(best).unwrap()).worst_lean(), None);
}

/// All causes together against one computation: the merit of the hole as it is over the best merit
/// of a dense look over discs in the ideal camera.
#[test]
fn causes_add_up_to_the_loss_against_the_ideal() {
    let mut camera = Camera::demonstration().unwrap();
    camera.plate_mm = 0.1;
    camera.support =
        Some(Support { drift_mm_per_s: 0.02, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.3 });
    let reference = Reference::of(&camera);
    let target = &reference.target;
    let hole = shapes::burred_disc(0.8 * target.diameter_mm, 0.5, 0.3, 0.1).unwrap();
    let appraisal = appraise(&camera, target, &hole).unwrap();
    let found = Budget::of(&reference, &appraisal.causes);
    let ideal = Camera { plate_mm: 0.0, support: None, ..camera.clone() };
    let best =
        (0..400).map(|i| quality_of_disc(&ideal, 0.2 + 0.001 * f64::from(i))).fold(0.0, f64::max);
    let loss = 1.0 - quality(&camera, &hole) / best;
    let sum = found.size + found.form + found.burrs + found.debris;
    // The dense look misses the flat top by less than 1e-5; two routes to a disc differ by 0.01 jnd of 130.
    assert!((found.loss - loss).abs() < 2e-4, "{} {loss}", found.loss);
    assert!((sum + found.thickness + found.motion - found.loss).abs() < 1e-12);
    assert!(found.motion > 0.001, "{found:?}");
    // Against the best disc of the same camera: what the hole itself causes.
    let own = sum / (1.0 - found.thickness - found.motion);
    let share = appraisal.loss_jnd / target.quality;
    assert!((own - share).abs() < 1e-9, "{own} {share}");
    camera.support = None;
    camera.plate_mm = 0.0;
    let thin = Budget::of(&Reference::of(&camera), &appraisal.causes);
    assert_eq!((thin.motion, thin.thickness), (0.0, 0.0));
    assert!((thin.loss - appraisal.loss_jnd / reference.target.quality).abs() < 0.01);
}

/// What the plate leaves open of a disc: A(θ)/A = (2/π)(arccos q - q √(1 - q²)), q = t tan θ / d, the
/// overlap of two discs.
#[test]
fn the_corner_sees_the_overlap_of_two_discs() {
    let mut camera = Camera::demonstration().unwrap();
    let disc = shapes::disc(0.3).unwrap();
    camera.plate_mm = 0.15;
    let found = Corner::of(&camera, &disc).unwrap().unwrap();
    let tangent =
        camera.film.width_mm.hypot(camera.film.height_mm) / (2.0 * camera.distances.film_mm());
    assert!((found.angle_deg.to_radians().tan() - tangent).abs() < 1e-9);
    let q: f64 = 0.15 * tangent / 0.3;
    let open = 2.0 / PI * (q.acos() - q * (1.0 - q * q).sqrt());
    // The disc is a polygon of many sides.
    assert!((found.open - open).abs() < 1e-4, "{} {open}", found.open);
    assert!(found.loss.is_some());
    camera.plate_mm = 1.0;
    let closed = Corner::of(&camera, &disc).unwrap().unwrap();
    assert_eq!((closed.open, closed.loss), (0.0, None));
    camera.plate_mm = 0.0;
    assert_eq!(Corner::of(&camera, &disc).unwrap(), None);
}
