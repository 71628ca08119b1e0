//! Plates of drawn scenes.

use super::*;
use crate::plate::checks::{assert_tidy, keep, picture};

/// A sky over ploughed land with a sun, its edges `blur` pixels soft.
fn scene(rows: usize, columns: usize, blur: f64) -> Raster {
    let (height, width) = (rows as f64, columns as f64);
    picture(rows, columns, |row, column| {
        let soft = |distance: f64| 1.0 / (1.0 + (distance / blur).exp());
        let sun = soft((column - 0.5 * width).hypot(row - 0.5 * height) - 0.05 * width);
        let land = soft(0.6 * height - row + 0.03 * height * (9.0 * column / width).sin());
        let furrow = 0.5 + 0.4 * (column / 6.0).sin() * (-blur * blur / 30.0).exp();
        let sky = 0.35 + 0.4 * row / height;
        [0.9, 1.0, 1.2].map(|tint| (1.0 - land) * (sky * tint + 0.5 * sun) + land * furrow * 0.4)
    })
}

const CAPTION: &str = "One scene through this hole and through the best disc for this camera, each \
                       point of it spread as the hole spreads it. Below: the framed part, enlarged.";

fn view<'a>(pictures: &'a [(&'a Raster, &'a str)], details: &'a [[f64; 4]]) -> Comparison<'a> {
    Comparison {
        pictures,
        details,
        film_width_mm: 90.0,
        title: "The picture this hole takes",
        caption: CAPTION,
    }
}

const DETAIL: [[f64; 4]; 2] = [[0.40, 0.42, 0.22, 0.22], [0.78, 0.0, 0.22, 0.22]];
const BEST: &str = "Through the best disc, 0.34 mm";

#[test]
fn every_format_makes_a_tidy_plate() {
    let title = "long words and <signs> & more ".repeat(60);
    for (rows, columns) in [(1, 1), (60, 90), (90, 60), (80, 80), (1, 400), (400, 1)] {
        let (soft, sharp) = (scene(rows, columns, 4.0), scene(rows, columns, 1.0));
        let two = [(&soft, "Through this hole"), (&sharp, BEST)];
        assert_tidy(&drawn(&view(&two, &DETAIL[..1])).unwrap());
        let three = [two[0], two[1], (&sharp, title.as_str())];
        let plain = view(&three, &DETAIL);
        assert_tidy(&drawn(&Comparison { title: &title, caption: &title, ..plain }).unwrap());
    }
    let other = [(&scene(30, 40, 1.0), "this"), (&scene(40, 30, 1.0), "that")];
    assert_tidy(&drawn(&view(&other, &DETAIL)).unwrap());
}

#[test]
fn what_cannot_be_shown_is_refused() {
    let good = scene(20, 30, 1.0);
    let none = Raster { linear: ndarray::Array3::zeros((3, 0, 5)) };
    let two = [(&good, "this"), (&good, "that")];
    assert!(comparison(&view(&[two[0], (&none, "nothing")], &DETAIL)).is_err());
    assert!(comparison(&view(&[], &DETAIL)).is_err());
    assert!(comparison(&view(&[two[0]; 5], &DETAIL)).is_err());
    assert!(comparison(&view(&two, &[])).is_err());
    for film_width_mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(comparison(&Comparison { film_width_mm, ..view(&two, &DETAIL) }).is_err());
    }
    for detail in [[0.0, 0.0, 0.0, 1.0], [0.5, 0.0, 0.6, 0.1], [f64::NAN; 4], [-0.1, 0.0, 0.5, 0.5]]
    {
        assert!(comparison(&view(&two, &[detail])).is_err());
    }
    assert!(comparison(&view(&two, &[[0.0, 0.0, 1.0, 1.0]])).is_ok());
}

#[test]
#[ignore = "writes plates to look at"]
fn samples() {
    for (name, rows, columns) in
        [("landscape", 1000, 1500), ("portrait", 1500, 1000), ("square", 300, 300)]
    {
        let (left, right) = (scene(rows, columns, 6.0), scene(rows, columns, 1.5));
        let two = [(&left, "Through this hole"), (&right, BEST)];
        keep(&format!("comparison_{name}"), &drawn(&view(&two, &DETAIL)).unwrap());
    }
}
