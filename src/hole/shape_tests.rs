//! Shapes in words: what they mean, that they come round, and what is refused.

use super::*;
use crate::hole::{Hole, Sizes, Source};

fn shape(words: &str) -> Shape {
    match Shape::read(words) {
        Ok(Some(shape)) => shape,
        other => panic!("{words}: {other:?}"),
    }
}

/// Areas in closed form: a regular polygon of n sides s has n s²/(4 tan(π/n)); zones of equal area are πλf each.
#[test]
fn areas_are_those_of_the_shapes() {
    let zone = PI * 550e-6 * 100.0;
    let cases = [
        ("round 0.34 mm", PI * 0.17f64.powi(2)),
        ("oval 0.42 x 0.37 mm", PI * 0.21 * 0.185),
        ("Oval 420 um × 0.37 mm at 30 deg", PI * 0.21 * 0.185),
        ("ellipse 0.42 by 0.37 mm", PI * 0.21 * 0.185),
        ("square 0.3 mm", 0.09),
        ("rectangle 0.4x0.3 mm", 0.12),
        ("slit 0.2 x 2 mm at 90°", 0.4),
        ("ring 0.5 / 0.2 mm", PI * (0.0625 - 0.01)),
        ("ring 0.5/0.2mm", PI * (0.0625 - 0.01)),
        ("triangle 0.4 mm", 3f64.sqrt() / 4.0 * 0.16),
        ("hexagon 0.2 mm", 1.5 * 3f64.sqrt() * 0.04),
        ("octagon 0.15 mm", 2.0 * (1.0 + 2f64.sqrt()) * 0.0225),
        ("two holes 0.2 mm, 0.5 mm apart", 2.0 * PI * 0.01),
        ("two holes 0.2, 0.5 mm apart", 2.0 * PI * 0.01),
        ("zone plate 8 zones for 100 mm", 8.0 * zone),
        ("zone plate 8 open zones for 100 mm at 440 nm", 8.0 * zone * 0.8),
        ("photon sieve 1 zone for 100 mm", zone),
        // A tongue on a flat side takes depth × width.
        ("square 0.3 mm, burr 0.05 mm deep, 0.02 mm wide at 0 deg", 0.09 - 0.001),
        (
            "square 0.3 mm with a burr 0.05 mm deep 0.02 mm wide at 0 deg and a burr 0.02 mm wide, 0.05 mm deep at 90 deg",
            0.09 - 0.002,
        ),
    ];
    for (words, area) in cases {
        let made = shape(words).outline.area_mm2();
        assert!((made / area - 1.0).abs() < 1e-9, "{words}: {made} {area}");
    }
}

/// Width lies along x and height along y before the turn; a polygon stands on a side.
#[test]
fn shapes_lie_as_they_are_said() {
    let cases = [
        ("slit 0.2 x 2 mm", [0.2, 2.0]),
        ("slit 0.2 x 2 mm at 90 deg", [2.0, 0.2]),
        ("two holes 0.2 mm, 0.5 mm apart", [0.7, 0.2]),
        ("triangle 0.4 mm", [0.4, 0.4 * 0.75f64.sqrt()]),
        ("hexagon 0.2 mm", [0.4, 0.2 * 3f64.sqrt()]),
    ];
    for (words, [width, height]) in cases {
        let (low, high) = shape(words).outline.bounds_mm();
        let off = (high[0] - low[0] - width).abs().max((high[1] - low[1] - height).abs());
        assert!(off < 1e-6, "{words}: {low:?} {high:?}");
    }
    let (low, high) = shape("triangle 0.4 mm").outline.bounds_mm();
    assert!(low[1].abs() < high[1].abs(), "it stands on a side");
}

/// The words of a shape mean the shape, and are said the same way again.
#[test]
fn words_come_round() {
    let all = NAMES.iter().map(|(.., example)| *example);
    let more = [
        "oval 0.42 x 0.37 mm ± 0.01 mm at -30 deg",
        "slit 8 thou x 1/10 in at 45 deg",
        "0.34 mm, burr 0.05 mm deep, 0.02 mm wide at 40 deg",
        "ring 0.5 / 0.2 mm ± 2 % at 10 deg, burr 0.03 mm deep, 0.02 mm wide at 400 deg, burr 20 um deep 10 um wide at 3 rad",
    ];
    for words in all.chain(more) {
        let first = shape(words);
        let again = shape(&first.words);
        assert_eq!(first.words, again.words, "{words}");
        let off =
            first.outline.loops().iter().flatten().zip(again.outline.loops().iter().flatten());
        let off = off.map(|(a, b)| crate::geometry::distance(*a, *b)).fold(0.0, f64::max);
        assert!(off < 1e-5, "{words}: {off}");
        assert!((first.uncertainty.relative / again.uncertainty.relative - 1.0).abs() < 1e-3);
    }
}

/// A burr by words is the burr that is measured: its depth and angle to 2 % and a degree of its own, its width to a tenth
/// (the rim's tongue is straight, the smooth rim under it is fitted).
#[test]
fn a_burr_is_measured_as_it_is_said() {
    for (words, angle, depth, width) in [
        ("round 0.3 mm, burr 0.05 mm deep, 0.02 mm wide at 40 deg", 40.0, 0.05, 0.02),
        ("0.3 mm, burr 0.03 mm deep, 0.03 mm wide at 200 deg", 200.0, 0.03, 0.03),
        (
            "oval 0.32 x 0.28 mm at 20 deg, burr 0.04 mm deep, 0.02 mm wide at 300 deg",
            300.0,
            0.04,
            0.02,
        ),
    ] {
        let shape = shape(words);
        let sizes = Sizes::of(&shape.outline, &shape.uncertainty, None);
        let [burr] = &sizes.burrs[..] else { panic!("{words}: {:?}", sizes.burrs) };
        assert!((burr.depth_mm / depth - 1.0).abs() < 0.02, "{words}: {burr:?}");
        assert!((burr.width_mm / width - 1.0).abs() < 0.10, "{words}: {burr:?}");
        assert!((burr.angle_deg - angle).abs() < 1.0, "{words}: {burr:?}");
    }
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let cases = [
        ("oval", "size is missing", "oval 0.42 x 0.37 mm"),
        ("oval 0.42 mm", "does not say its sizes", "oval 0.42 x 0.37 mm"),
        ("oval 0.42 x 0.37", "no unit", "unit"),
        ("oval 0,42 x 0,37 mm", "comma", "0.42 x 0.37"),
        ("oval 0.42 x -0.37 mm", "above zero", "above zero"),
        ("oval 0.42 x 0.37 mm at 30", "no unit", "30 deg"),
        ("oval 0.42 x 0.37 mm ± 0.5 mm", "not below its size", "±"),
        ("ring 0.2 / 0.5 mm", "smaller than the outer", "outer diameter first"),
        ("two holes 0.5 mm, 0.2 mm apart", "run into each other", "larger than the diameter"),
        ("two holes 0.5 mm", "does not say its sizes", "apart"),
        ("zone plate 0 zones for 100 mm", "0 zones", "1 to 40"),
        ("zone plate 900 zones for 100 mm", "900 zones", "1 to 40"),
        ("zone plate x zones for 100 mm", "sizes", "zone plate 8 zones"),
        ("zone plate 8 zones", "sizes", "zone plate 8 zones for 100 mm"),
        ("zone plate 40 zones for 0.05 mm", "narrower than the wavelength", "fewer zones"),
        ("zone plate 8 zones for 0.05 mm", "so wide for its distance", "longer distance"),
        ("round 0.3 mm, burr 0.3 mm deep, 0.02 mm wide at 40 deg", "reaches across", "below"),
        ("round 0.3 mm, burr 0.05 mm deep at 40 deg", "not a burr", "wide"),
        ("round 0.3 mm, burr", "not a burr", "deep"),
        ("round 0.3 mm, burr 0.05 mm deep, 0.05 mm deep at 4 deg", "not a burr", "wide"),
        ("round 0.3 mm, burr 1 mm tall at 4 deg", "not a burr", "deep"),
        ("ovla 0.42 x 0.37 mm", "no shape", "oval 0.42 x 0.37 mm"),
        ("slot 0.2 x 2 mm", "no shape", "slit 0.2 x 2 mm"),
        ("zoneplate 8 zones for 100 mm", "no shape", "zone plate 8 zones"),
        ("hexagonal 0.2 mm", "no shape", "hexagon 0.2 mm"),
    ];
    for (words, wrong, remedy) in cases {
        let error = Shape::read(words).unwrap_err();
        assert!(error.wrong().contains(wrong), "{words}: {error}");
        assert!(error.remedy().contains(remedy), "{words}: {}", error.remedy());
        assert_eq!(error.kind(), &crate::Kind::NotUnderstood, "{words}");
    }
    for other in ["0.34 mm", "4.5 per mm", "hello", "", "bring", "oval.csv", "ring/a", "burr"] {
        assert_eq!(Shape::read(other), Ok(None), "{other}");
    }
}

/// A zone plate is no hole to work on, and says so; a shape has a rim that is stated.
#[test]
fn screens_are_told_from_holes() {
    let of = |words: &str| Hole::of(&Source::of_words(words, None).unwrap()).unwrap();
    assert!(of("oval 0.42 x 0.37 mm").is_rim_seen());
    let plate = of("zone plate 3 zones for 100 mm");
    assert!(!plate.is_rim_seen() && plate.warnings[0].contains("gathers light"));
}
