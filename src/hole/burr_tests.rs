#![allow(clippy::unwrap_used)]

use super::*;
use crate::geometry::{distance, shapes};
use std::f64::consts::{PI, TAU};

/// Uniform in -1..1, the same every time (minimal-standard generator; `ParkMiller1988`).
fn noise(state: &mut u64) -> f64 {
    *state = *state * 48_271 % 0x7fff_ffff;
    *state as f64 / f64::from(0x3fff_ffff) - 1.0
}

/// The outline as a tracer would give it: vertices about every `step_mm`, each off by up to
/// `rough_mm` in x and y.
fn traced(outline: &Outline, step_mm: f64, rough_mm: f64) -> Outline {
    let mut state = 1;
    let around = outline.perimeter_mm();
    let step_mm = around / (around / step_mm).round() * (1.0 + 1e-12);
    let (mut rim, mut due) = (Vec::new(), 0.0);
    for (a, b) in outline.edges() {
        let length = distance(a, b);
        while due < length {
            let t = due / length;
            let mut jitter = || rough_mm * noise(&mut state);
            rim.push([a[0] + t * (b[0] - a[0]) + jitter(), a[1] + t * (b[1] - a[1]) + jitter()]);
            due += step_mm;
        }
        due -= length;
    }
    Outline::new(vec![rim]).unwrap()
}

/// A form r(φ) with straight-sided tongues (angle, half-width, depth as a part of the radius there).
fn burred(form: impl Fn(f64) -> f64, tongues: &[(f64, f64, f64)]) -> Outline {
    shapes::polar(7200, |angle| {
        let cut = tongues.iter().map(|&(at, half_width, depth)| {
            let off = (angle - at + PI).rem_euclid(TAU) - PI;
            depth * (1.0 - off.abs() / half_width).max(0.0)
        });
        form(angle) * (1.0 - cut.sum::<f64>())
    })
    .unwrap()
}

fn oval(ratio: f64) -> impl Fn(f64) -> f64 {
    move |angle: f64| 0.15 / (angle.cos().powi(2) / ratio + ratio * angle.sin().powi(2)).sqrt()
}

/// The width of a straight-sided tongue where it is half as deep, on a disc: by bisection along the
/// side from the rim (R cos w, R sin w) to the tip (R - depth, 0).
fn width_at_half_depth(radius: f64, half_width: f64, depth: f64) -> f64 {
    let (mut rim, mut tip) = (0.0f64, 1.0f64);
    let side = |t: f64| {
        let foot = [radius * half_width.cos(), radius * half_width.sin()];
        [foot[0] + t * (radius - depth - foot[0]), foot[1] * (1.0 - t)]
    };
    for _ in 0..60 {
        let middle = (rim + tip) / 2.0;
        let [x, y] = side(middle);
        if x.hypot(y) > radius - depth / 2.0 { rim = middle } else { tip = middle }
    }
    2.0 * side(rim)[1]
}

#[test]
fn a_tongue_has_its_angle_depth_and_width() {
    for (angle, half_width, depth) in
        [(0.7, 0.15, 0.05), (3.1, 0.1, 0.02), (5.5, 0.25, 0.08), (0.0, 0.05, 0.01), (2.0, 0.2, 0.1)]
    {
        let exact = shapes::burred_disc(0.3, angle, half_width, depth).unwrap();
        // A hole of 200 px, vertices 1 px apart and off by up to 0.2 px.
        let rough = traced(&exact, 0.0015, 0.0003);
        let width = width_at_half_depth(0.15, half_width, depth);
        // Exact: the smooth form to 1e-4 of the radius, for the foot of a tongue is taken for rim, and between
        // directions a side that bends in polar form. Traced: what a vertex is off, and half a vertex spacing.
        for (outline, depth_mm, width_mm) in [(exact, 1.5e-5, 5e-5), (rough, 0.001, 0.0015)] {
            let found = burrs(&outline);
            assert_eq!(found.len(), 1, "{angle} {half_width} {depth}: {found:?}");
            let off = (found[0].angle_deg - angle.to_degrees() + 180.0).rem_euclid(360.0) - 180.0;
            assert!(off.abs() < 1.0, "{off}");
            assert!((found[0].depth_mm - depth).abs() < depth_mm, "{found:?}");
            assert!((found[0].width_mm - width).abs() < width_mm, "{found:?} {width}");
        }
    }
}

/// The mirror of a tongue: a nick with straight sides, out of a disc.
fn nicked(radius: f64, at: f64, half_width: f64, depth: f64) -> Outline {
    let mut rim: Vec<Point> = (0..=1440)
        .map(|i| at + half_width + (TAU - 2.0 * half_width) * f64::from(i) / 1440.0)
        .map(|angle| [radius * angle.cos(), radius * angle.sin()])
        .collect();
    rim.push([(radius + depth) * at.cos(), (radius + depth) * at.sin()]);
    Outline::new(vec![rim]).unwrap()
}

#[test]
fn a_nick_has_its_angle_depth_and_area() {
    for (at, half_width, depth) in
        [(0.7, 0.15, 0.02), (3.1, 0.1, 0.05), (6.2, 0.05, 0.01), (2.0, 0.2, 0.03)]
    {
        let exact = nicked(0.15, at, half_width, depth);
        let rough = traced(&exact, 0.0015, 0.0003);
        // Two triangles from the centre to the tip, less the sector of the disc.
        let area = 0.15 * (0.15 + depth) * half_width.sin() - 0.15 * 0.15 * half_width;
        for (outline, depth_mm, part) in [(exact, 1.5e-5, 0.02), (rough, 0.001, 0.1)] {
            let found = burrs(&outline);
            assert_eq!(found.len(), 1, "{at} {half_width} {depth}: {found:?}");
            let nick = found[0];
            assert_eq!(nick.side, Side::Outward);
            assert!((nick.angle_deg - f64::to_degrees(at)).abs() < 1.0, "{nick:?}");
            assert!((nick.depth_mm - depth).abs() < depth_mm, "{nick:?}");
            // The ends, a tenth of the least depth high, are not counted; noise moves them.
            assert!((nick.area_mm2 / area - 1.0).abs() < part, "{nick:?}, {area}");
            // Metal does not grow back.
            assert_eq!(without_burrs(&outline).unwrap(), outline);
        }
    }
}

#[test]
fn a_burr_has_the_area_of_its_metal() {
    for (half_width, depth) in [(0.15, 0.05), (0.1, 0.02), (0.25, 0.08)] {
        let outline = shapes::burred_disc(0.3, 1.3, half_width, depth).unwrap();
        let area = 0.15 * 0.15 * half_width - 0.15 * (0.15 - depth) * half_width.sin();
        let found = burrs(&outline)[0];
        assert!((found.area_mm2 / area - 1.0).abs() < 0.02, "{found:?}, {area}");
    }
    // A hook that overhangs: 0.01 mm wide, out 0.05 mm and along 0.04 mm; the gap is no metal.
    let arc = (10..=352).map(|degree| f64::from(degree).to_radians());
    let mut rim: Vec<Point> = arc.map(|a| [0.15 * a.cos(), 0.15 * a.sin()]).collect();
    rim.extend([[0.10, -0.02], [0.09, 0.07], [0.11, 0.07], [0.12, 0.02]]);
    let outline = Outline::new(vec![rim]).unwrap();
    let disc = PI * 0.15 * 0.15;
    let found = burrs(&outline);
    assert!((found[0].area_mm2 / (disc - outline.area_mm2()) - 1.0).abs() < 0.02, "{found:?}");
}

#[test]
fn the_depth_of_a_burr_is_as_well_known_as_its_tip() {
    let outline = shapes::burred_disc(0.3, 1.3, 0.15, 0.05).unwrap();
    let known = SizeUncertainty { relative: 0.06, edge_mm: 0.1, rim_mm: 0.004, blur_mm: 0.0 };
    let rim = Rim::of(&outline);
    // 6 % of 0.05 mm and 0.004 mm; the mean place of the rim drops out; the smooth rim is exact.
    let found = described(&rim, &rim.departures(), &known)[0];
    assert!((found.depth_uncertainty_mm - 0.005).abs() < 1e-6, "{found:?}");
}

#[test]
fn form_and_roughness_are_no_burrs() {
    let lobed = |lobes: f64, depth: f64| {
        shapes::polar(3000, move |a| 0.15 * (1.0 + depth * (lobes * a).cos())).unwrap()
    };
    let squarish = |a: f64| 0.15 * (a.cos().powi(4) + a.sin().powi(4)).powf(-0.25);
    // One side filed flat, 5 % of the radius off the round.
    let flat = shapes::polar(3000, |a| 0.15f64.min(0.1425 / (a - 2.0).cos().max(0.1))).unwrap();
    let outlines = [
        shapes::disc(0.3).unwrap(),
        shapes::ellipse(0.3, 0.2).unwrap().turned(0.3),
        shapes::ellipse(0.4, 0.2).unwrap(),
        shapes::rectangle(0.3, 0.3).unwrap().turned(0.2),
        shapes::rectangle(0.3, 0.03).unwrap(),
        shapes::regular_polygon(3, 0.3).unwrap(),
        shapes::regular_polygon(6, 0.3).unwrap(),
        lobed(3.0, 0.1),
        lobed(5.0, 0.1),
        lobed(3.0, 0.05),
        lobed(4.0, 0.05),
        lobed(6.0, 0.05),
        lobed(7.0, 0.05),
        lobed(8.0, 0.05),
        lobed(9.0, 0.05),
        lobed(9.0, 0.02),
        shapes::polar(3000, squarish).unwrap(),
        flat,
    ];
    for (i, outline) in outlines.iter().enumerate() {
        assert_eq!(burrs(outline), vec![], "outline {i}");
        assert_eq!(&without_burrs(outline).unwrap(), outline);
        assert_eq!(burrs(&traced(outline, 0.0015, 0.0005)), vec![], "outline {i}, rough");
    }
    // A rim rough to 1.5 % of the radius.
    assert_eq!(burrs(&traced(&outlines[0], 0.005, 0.002)), vec![]);
}

#[test]
fn two_burrs_and_a_burr_on_an_oval() {
    let two = burred(|_| 0.15, &[(0.5, 0.12, 0.3), (2.2, 0.1, 0.15)]);
    let found = burrs(&two);
    assert_eq!(found.len(), 2, "{found:?}");
    for (burr, (angle, depth)) in found.iter().zip([(0.5f64, 0.3), (2.2, 0.15)]) {
        assert!((burr.angle_deg - angle.to_degrees()).abs() < 1.0, "{burr:?}");
        assert!((burr.depth_mm / (0.15 * depth) - 1.0).abs() < 0.03, "{burr:?}");
    }
    // Two large tongues on one side shift the centroid by about a twentieth of the radius and would
    // turn both directions with it; the centre of the smooth rim stays.
    let large = burrs(&burred(|_| 0.15, &[(0.5, 0.2, 0.7), (2.1, 0.25, 0.6)]));
    assert_eq!(large.len(), 2, "{large:?}");
    assert!((large[0].angle_deg - 0.5f64.to_degrees()).abs() < 0.1, "{large:?}");
    assert!((large[1].angle_deg - 2.1f64.to_degrees()).abs() < 0.1, "{large:?}");
    for ratio in [1.06f64, 1.25, 1.5] {
        let outline = burred(oval(ratio), &[(0.9, 0.12, 0.25)]);
        let depth = 0.25 * oval(ratio)(0.9);
        for outline in [traced(&outline, 0.0015, 0.0003), outline] {
            let found = burrs(&outline);
            assert_eq!(found.len(), 1, "{found:?}");
            assert!((found[0].angle_deg - 0.9f64.to_degrees()).abs() < 1.0, "{found:?}");
            assert!((found[0].depth_mm / depth - 1.0).abs() < 0.04, "{found:?}");
        }
    }
}

#[test]
fn without_its_burrs_a_disc_has_its_area() {
    let disc = PI * 0.15 * 0.15;
    for (half_width, depth) in [(0.15, 0.05), (0.05, 0.02), (0.25, 0.08)] {
        let burred = shapes::burred_disc(0.3, 1.0, half_width, depth).unwrap();
        for outline in [traced(&burred, 0.0015, 0.0003), burred] {
            let restored = without_burrs(&outline).unwrap();
            assert!((restored.area_mm2() / disc - 1.0).abs() < 3e-3);
            assert_eq!(burrs(&restored), vec![]);
        }
    }
}

#[test]
fn an_overhanging_tongue_goes_and_debris_stays() {
    // A hook: out of the rim near 0°, then along it.
    let mut rim: Vec<Point> = (10..=352)
        .map(|degree| f64::from(degree).to_radians())
        .map(|a| [0.15 * a.cos(), 0.15 * a.sin()])
        .collect();
    rim.extend([[0.10, -0.02], [0.09, 0.07], [0.11, 0.07], [0.12, 0.02]]);
    let speck: Vec<Point> = vec![[-0.05, -0.05], [-0.04, -0.05], [-0.04, -0.04], [-0.05, -0.04]];
    let pierced: Vec<Point> = vec![[0.10, 0.03], [0.105, 0.03], [0.105, 0.035], [0.10, 0.035]];
    let outline = Outline::new(vec![rim, speck.clone(), pierced]).unwrap();
    assert_eq!(burrs(&outline).len(), 1);
    let restored = without_burrs(&outline).unwrap();
    assert_eq!(restored.loops().len(), 2);
    let expected = PI * 0.15 * 0.15 - 1e-4;
    assert!((restored.area_mm2() / expected - 1.0).abs() < 3e-3);
    assert!(burrs(&restored).is_empty());
}

/// A hole as a hand makes it, and what was put into it: angle, half-width at the rim in rad, and
/// depth in parts of the radius there, below zero for a nick.
struct Made {
    outline: Outline,
    bumps: Vec<(f64, f64, f64)>,
}

/// Radius 100 px, an oval up to 1.2:1, lobes up to 2 %, a ragged rim, and up to three burrs or nicks
/// well apart; vertices a pixel apart, off by what tracing leaves (0.15 px).
fn made(state: &mut u64) -> Option<Made> {
    let mut within = |low: f64, high: f64| low + (high - low) * (noise(state) + 1.0) / 2.0;
    let count = within(0.0, 4.0) as usize;
    let mut bumps: Vec<(f64, f64, f64)> = Vec::new();
    while bumps.len() < count {
        let (at, half_width) = (within(0.0, TAU), within(0.03, 0.2));
        if bumps.iter().all(|b| ((b.0 - at + PI).rem_euclid(TAU) - PI).abs() > 0.6) {
            let side = if within(0.0, 1.0) < 0.6 { 1.0 } else { -1.0 };
            bumps.push((at, half_width, side * within(0.02, 0.35)));
        }
    }
    let mut waves = Vec::new();
    for n in (2..=6).chain(16..40) {
        let most = match n {
            2 => 0.09,
            3..=6 => 0.02,
            _ => 0.001,
        };
        waves.push((f64::from(n), within(0.0, most), within(0.0, TAU)));
    }
    let rim = |angle: f64| {
        let waved = |&(n, size, phase): &(f64, f64, f64)| size * (n * angle + phase).cos();
        let bump = |&(at, half_width, depth): &(f64, f64, f64)| {
            let off = (angle - at + PI).rem_euclid(TAU) - PI;
            depth * (1.0 - (off / half_width).abs()).max(0.0)
        };
        let form = 1.0 + waves.iter().map(waved).sum::<f64>();
        100.0 * form * (1.0 - bumps.iter().map(bump).sum::<f64>())
    };
    let exact = shapes::polar(7200, rim).unwrap();
    let mut rough = traced(&exact, 1.0, 0.0).loops()[0].clone();
    for p in &mut rough {
        *p = p.map(|c| c + 0.15 * 3f64.sqrt() * noise(state));
    }
    // Noise may make the sides of a slender tongue cross, as no tracing does.
    Some(Made { outline: Outline::new(vec![rough]).ok()?, bumps })
}

/// Of burrs and nicks deeper than 5 % of the radius and wider than 3 px at half depth.
#[test]
fn burrs_are_found_and_nothing_else() {
    let mut state = 2024;
    let mut outlines = 0;
    let (mut present, mut missed, mut found_in_all, mut wrong) = (0, 0, 0, 0);
    for _ in 0..400 {
        let Some(Made { outline, bumps }) = made(&mut state) else { continue };
        outlines += 1;
        let found = burrs(&outline);
        let is = |burr: &Burr, bump: &(f64, f64, f64)| {
            let off = (burr.angle_deg.to_radians() - bump.0 + PI).rem_euclid(TAU) - PI;
            off.abs() < bump.1 + 0.03 && (burr.side == Side::Inward) == (bump.2 > 0.0)
        };
        // A triangle is half as wide at half its depth: half_width times 100 px.
        for bump in bumps.iter().filter(|bump| bump.2.abs() > 0.05 && 100.0 * bump.1 > 3.0) {
            present += 1;
            if !found.iter().any(|burr| is(burr, bump)) {
                missed += 1;
                println!("missed {bump:?}");
            }
        }
        for burr in found.iter().filter(|burr| burr.depth_mm > 5.0) {
            found_in_all += 1;
            if !bumps.iter().any(|bump| is(burr, bump)) {
                wrong += 1;
                println!("wrong {burr:?} beside {bumps:?}");
            }
        }
    }
    let recall = 1.0 - f64::from(missed) / f64::from(present);
    let precision = 1.0 - f64::from(wrong) / f64::from(found_in_all);
    println!(
        "{outlines} outlines, {present} burrs and nicks: recall {recall:.3}, precision {precision:.3}"
    );
    assert!(recall >= 0.95 && precision >= 0.95, "{recall} {precision}");
}

/// By the face of a clock: 0° is three, 90° twelve, 40° half past one (20 minutes to two is nearer to half
/// past one than to two).
#[test]
fn directions_are_told_by_the_clock() {
    for (angle, words) in [
        (0.0, "three o'clock"),
        (40.0, "half past one"),
        (90.0, "twelve o'clock"),
        (179.0, "nine o'clock"),
        (270.0, "six o'clock"),
        (359.9, "three o'clock"),
        (75.1, "half past twelve"),
    ] {
        assert_eq!(clock(angle), words, "{angle}");
    }
}

/// A bar of metal 0.03 wide from the rim to 0.05 short of the middle of a disc of 1.0: a burr 0.45 deep and
/// 0.03 wide, and the least-squares circle is still the disc's.
#[test]
fn a_scratch_to_the_middle_is_a_burr() {
    let (radius, half) = (0.5f64, 0.015f64);
    let edge = (half / radius).asin();
    let arc = (0..1440).map(|k| {
        let angle = edge + (TAU - 2.0 * edge) * f64::from(k) / 1439.0;
        [radius * angle.cos(), radius * angle.sin()]
    });
    // Short of the middle, and a little beyond it.
    for tip in [0.05, 0.15, 0.02, -0.03] {
        let points: Vec<Point> = arc.clone().chain([[tip, -half], [tip, half]]).collect();
        let outline = Outline::new(vec![points]).unwrap();
        let sizes = crate::hole::Sizes::of(&outline, &SizeUncertainty::default(), None);
        assert_eq!(sizes.burrs.len(), 1, "{tip}: {:?}", sizes.burrs);
        let burr = sizes.burrs[0];
        assert!((burr.depth_mm - (radius - tip)).abs() < 0.01, "{tip}: {burr:?}");
        assert!((burr.width_mm - 0.03).abs() < 0.006, "{tip}: {burr:?}");
        assert_eq!(burr.clock, "three o'clock", "{tip}");
        assert!((sizes.least_squares_diameter_mm - 1.0).abs() < 0.01, "{tip}: {sizes:?}");
        // Where the middle itself is filled, what its centre sees is no measure of raggedness.
        let least = if tip < 0.05 { 0.25 } else { 0.02 };
        assert!(sizes.raggedness_mm < least, "{tip}: {}", sizes.raggedness_mm);
    }
}

/// A burr that is shallower than its own uncertainty is not reported.
#[test]
fn a_burr_within_its_uncertainty_is_none() {
    let shape =
        shapes::polar(1440, |angle| 1.0 - 0.06 * (1.0 - (angle - 2.0).abs() / 0.1).max(0.0));
    let outline = shape.unwrap();
    let found = |rim_mm: f64| {
        let known = SizeUncertainty { rim_mm, ..SizeUncertainty::default() };
        crate::hole::Sizes::of(&outline, &known, None).burrs.len()
    };
    assert_eq!((found(0.03), found(0.07)), (1, 0));
}
