#![allow(clippy::unwrap_used)]

use super::*;
use crate::hole::gauge::Sizes;

fn plain(rows: usize, columns: usize, mm_per_px: f64, centre_px: [f64; 2]) -> Look {
    let (light, plate) = (1.0, [0.0; 3]);
    let (blur_px, fall_off, wear, noise) = (0.0, 0.0, 0.0, 0.0);
    Look {
        rows,
        columns,
        mm_per_px,
        centre_px,
        light,
        plate,
        blur_px,
        fall_off,
        wear,
        noise,
        seed: 1,
    }
}

#[test]
fn a_plain_photo_holds_the_exact_area_at_its_place() {
    let hole = shapes::burred_disc(0.3, 0.8, 0.2, 0.08).unwrap().moved(0.01, 0.02);
    let look = plain(100, 130, 0.004, [60.3, 45.8]);
    let photo = photograph(&hole, &look).unwrap().linear;
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for ((channel, row, column), &value) in photo.indexed_iter() {
        if channel == 0 {
            area += f64::from(value);
            x += f64::from(value) * (column as f64 + 0.5);
            y += f64::from(value) * (row as f64 + 0.5);
        }
        assert!((-1e-6..=1.0 + 1e-6).contains(&value));
    }
    // Shares are exact; stored as f32 (6e-8 each).
    assert!((area * 0.004 * 0.004 / hole.area_mm2() - 1.0).abs() < 1e-6);
    let [cx, cy] = hole.centroid_mm();
    // A pixel's share counts at its middle: off by the share's lever, 1/12 px² along the rim, whose
    // sum over the rim all but cancels.
    assert!((x / area - (60.3 + cx / 0.004)).abs() < 0.005);
    assert!((y / area - (45.8 - cy / 0.004)).abs() < 0.005);
}

#[test]
fn shares_of_a_square_by_hand_also_beyond_the_border() {
    let square = shapes::rectangle(2.5, 1.5).unwrap();
    let photo = photograph(&square, &plain(3, 4, 1.0, [2.0, 1.5])).unwrap().linear;
    let row = |r: usize| (0..4).map(|c| photo[[1, r, c]]).collect::<Vec<f32>>();
    assert_eq!(row(0), [0.0625, 0.25, 0.25, 0.0625]);
    assert_eq!(row(1), [0.25, 1.0, 1.0, 0.25]);
    let large = shapes::rectangle(100.0, 100.0).unwrap();
    let photo = photograph(&large, &plain(3, 4, 1.0, [-48.0, 1.5])).unwrap().linear;
    assert_eq!((0..4).map(|c| photo[[0, 2, c]]).collect::<Vec<f32>>(), [1.0, 1.0, 0.0, 0.0]);
    let far = plain(3, 4, 1e-300, [f64::MAX, -1e300]);
    assert!(photograph(&large, &far).is_ok());
}

#[test]
fn the_demonstration_is_what_it_says() {
    let demonstration = demonstration().unwrap();
    let sizes = Sizes::of(&demonstration.outline, &crate::hole::SizeUncertainty::default(), None);
    assert!((sizes.equivalent_diameter_mm - 0.35).abs() < 1e-9);
    assert!((1.05..1.08).contains(&sizes.aspect_ratio), "{sizes:?}");
    assert_eq!(sizes.burrs.len(), 1, "{sizes:?}");
    let burr = &sizes.burrs[0];
    assert!((30.0..60.0).contains(&burr.angle_deg), "{burr:?}");
    assert!((0.28..0.32).contains(&(burr.depth_mm / 0.175)), "{burr:?}");
    let photo = &demonstration.raster.linear;
    assert!((0.7..0.9).contains(&photo[[1, 458, 441]]));
    let mean = |rows: [usize; 2], channel: usize| {
        let values = (rows[0]..rows[1]).flat_map(|r| (0..900).map(move |c| (r, c)));
        let values: Vec<f32> = values.map(|(r, c)| photo[[channel, r, c]]).collect();
        values.iter().sum::<f32>() / values.len() as f32
    };
    for channel in 0..3 {
        assert!((0.015..0.08).contains(&mean([0, 200], channel)));
    }
    let again = super::demonstration().unwrap();
    assert_eq!(again, demonstration);
}

#[test]
fn a_picture_that_cannot_be_is_refused() {
    let hole = shapes::disc(0.3).unwrap();
    let sound = Look::default();
    for look in [
        Look { rows: 0, ..sound.clone() },
        Look { columns: 1_000_000, ..sound.clone() },
        Look { mm_per_px: 0.0, ..sound.clone() },
        Look { mm_per_px: f64::NAN, ..sound.clone() },
        Look { blur_px: -1.0, ..sound.clone() },
    ] {
        let error = photograph(&hole, &look).unwrap_err();
        assert_eq!(*error.kind(), crate::error::Kind::BeyondLimit, "{look:?}");
    }
}
