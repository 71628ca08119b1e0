//! Plates of short, long, flat and far histories.

use super::*;
use crate::plate::checks::{assert_tidy, keep};

fn grown(count: usize, first_mm: f64, growth: f64) -> Vec<Measured> {
    let size = |pass: usize| first_mm * (1.0 + growth).powi(pass as i32);
    (0..count)
        .map(|pass| Measured { diameter_mm: size(pass), uncertainty_mm: 0.02 * size(pass) })
        .collect()
}

fn view(measured: &[Measured]) -> History<'_> {
    History {
        measured,
        target_mm: 0.38,
        band_mm: [0.32, 0.445],
        title: "Hole \"brass 3\" in Cedar box",
        caption: "Bars are the diameters' uncertainties (k = 2, about 95 %).",
    }
}

fn cases() -> Vec<(&'static str, Vec<Measured>, f64)> {
    vec![
        ("history", grown(9, 0.22, 0.06), 0.38),
        ("history_one", grown(1, 0.25, 0.0), 0.38),
        ("history_forty", grown(40, 0.12, 0.03), 0.38),
        ("history_same", grown(6, 0.38, 0.0), 0.38),
        ("history_far", grown(5, 0.2, 0.05), 4.0),
        ("history_doubtful", vec![Measured { diameter_mm: 0.3, uncertainty_mm: 0.25 }; 3], 0.38),
        ("history_many", grown(1234, 0.2, 0.0004), 0.38),
    ]
}

fn at<'a>(measured: &'a [Measured], target_mm: f64) -> History<'a> {
    History { target_mm, band_mm: [0.85 * target_mm, 1.17 * target_mm], ..view(measured) }
}

#[test]
fn texts_stand_apart_in_every_history() {
    for (name, measured, target_mm) in cases() {
        println!("{name}");
        assert_tidy(&drawn(&at(&measured, target_mm)).unwrap());
    }
    let long = "very long & <odd> \u{1f300} ".repeat(90);
    let measured = grown(3, 0.3, 0.1);
    assert_tidy(&drawn(&History { title: &long, caption: &long, ..view(&measured) }).unwrap());
    for scale in [1e-5, 0.01, 90.0] {
        let measured: Vec<Measured> = measured
            .iter()
            .map(|found| Measured { diameter_mm: scale * found.diameter_mm, ..*found })
            .collect();
        assert_tidy(&drawn(&at(&measured, 0.3 * scale)).unwrap());
    }
}

#[test]
fn everything_is_within_the_span() {
    for (name, measured, target_mm) in cases() {
        let view = at(&measured, target_mm);
        let [low, high] = view.span_mm(&measured);
        for found in &measured {
            assert!(low < found.diameter_mm - found.uncertainty_mm, "{name}");
            assert!(high > found.diameter_mm + found.uncertainty_mm, "{name}");
        }
        assert!(low < view.band_mm[0] && view.band_mm[1] < high, "{name}");
    }
    // All of one size and no band: still a span.
    let one = [Measured { diameter_mm: 0.3, uncertainty_mm: 0.0 }];
    let [low, high] = History { target_mm: 0.3, band_mm: [0.3, 0.3], ..view(&one) }.span_mm(&one);
    assert!((low - 0.27).abs() < 1e-12 && (high - 0.33).abs() < 1e-12);
}

/// A larger diameter stands higher, a later one farther right, and the band is where it should be.
#[test]
fn marks_and_band_are_where_they_should_be() {
    let measured = [0.2, 0.3].map(|diameter_mm| Measured { diameter_mm, uncertainty_mm: 0.0 });
    let svg = drawn(&History { band_mm: [0.25, 0.35], target_mm: 0.3, ..view(&measured) }).unwrap();
    let numbers = |element: &str, key: &str| -> Vec<f64> {
        svg.split(element)
            .skip(1)
            .map(|rest| rest.split(&format!("{key}='")).nth(1).unwrap().split('\'').next().unwrap())
            .map(|number| number.parse().unwrap())
            .collect()
    };
    // First comes what is in the key above the plot, and before that the paper.
    let (xs, ys) = (numbers("<circle", " cx"), numbers("<circle", " cy"));
    assert!(xs[2] > xs[1] && ys[2] < ys[1], "{xs:?} {ys:?}");
    let (top, height) = (numbers("<rect", " y")[2], numbers("<rect", " height")[2]);
    // 0.3 mm is the band's middle, and 0.2 mm as far below it as the band is high: to 0.01 of a pixel,
    // as the drawing is written.
    assert!((top + height / 2.0 - ys[2]).abs() < 0.02, "{top} {height} {ys:?}");
    assert!((ys[1] - ys[2] - height).abs() < 0.03, "{height} {ys:?}");
}

#[test]
fn nonsense_is_refused() {
    let one = [Measured { diameter_mm: 0.3, uncertainty_mm: 0.01 }];
    assert!(history(&view(&[])).is_err());
    for odd in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(history(&view(&[Measured { diameter_mm: odd, ..one[0] }])).is_err());
        assert!(history(&History { target_mm: odd, ..view(&one) }).is_err());
        assert!(history(&History { band_mm: [0.3, odd], ..view(&one) }).is_err());
    }
    for uncertainty_mm in [-0.1, f64::NAN] {
        assert!(history(&view(&[Measured { uncertainty_mm, ..one[0] }])).is_err());
    }
}

#[test]
#[ignore = "writes plates to look at"]
fn samples() {
    for (name, measured, target_mm) in cases() {
        keep(name, &drawn(&at(&measured, target_mm)).unwrap());
    }
}
