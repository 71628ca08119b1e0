use super::*;
use crate::verdict::merit::tests::{closed_form, middle_only, set_square_print};
use crate::verdict::target::target;
use crate::wave::Light;

fn camera(film_mm: f64, subject_mm: f64, lp_per_mm_a_cycle: f64) -> Camera {
    let mut camera = middle_only(Camera::demonstration().unwrap());
    camera.light = Light::single(550.0).unwrap();
    camera.distances = Distances::new(subject_mm, film_mm).unwrap();
    camera.print.enlargement = 1.0;
    camera.print.viewing_distance_mm = 1f64.to_degrees() / lp_per_mm_a_cycle;
    // A print of 20 degrees, seen through holes so far away that all of it is the middle.
    if film_mm > 1e4 {
        set_square_print(&mut camera, 20.0);
    }
    camera
}

/// tests/reference/make_depth.py: best discs by Gauss quadrature of the OTF's chords, depths by
/// scanning every subject.
#[test]
fn depth_is_that_scanned_elsewhere() {
    let table = include_str!("../../../tests/reference/depth.csv");
    let rows: Vec<Vec<f64>> = table
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len(), 5);
    for row in rows {
        let camera = camera(row[0], row[1], row[2]);
        let found = target(&camera);
        // The top is flat: 1e-7 of the merit is 2e-4 of the diameter.
        assert!((found.diameter_mm / row[3] - 1.0).abs() < 2e-3, "{row:?}: {}", found.diameter_mm);
        // The quadratures of both sides; the print is seen by its solid angle.
        assert!((found.quality - row[4]).abs() < 0.1, "{row:?}: {}", found.quality);
        let depth = Subject::of(&camera, row[3]).depth;
        // A hundredth of a jnd where the merit falls by 1 within an eighth of 1/z.
        assert!((depth.nearest_mm / row[5] - 1.0).abs() < 1e-2, "{row:?}: {depth:?}");
        assert!((depth.horizon_loss_jnd - row[6]).abs() < 0.02, "{row:?}: {depth:?}");
        assert_eq!(depth.farthest_mm, f64::INFINITY);
    }
}

/// v/u and d (1 + v/u), by similar triangles.
#[test]
fn size_and_shadow_are_those_of_straight_rays() {
    for (film, subject, magnification) in [(100.0, 100.0, 1.0), (100.0, 1000.0, 0.1)] {
        let found = Subject::of(&camera(film, subject, 0.4), 0.3);
        assert!((found.magnification - magnification).abs() < 1e-15);
        assert!((found.shadow_mm - 0.3 * (1.0 + magnification)).abs() < 1e-15);
        assert_eq!(found.distance_mm, subject);
    }
    let distant = Subject::of(&camera(100.0, f64::INFINITY, 0.4), 0.3);
    assert_eq!((distant.magnification, distant.shadow_mm), (0.0, 0.3));
}

/// Only z = uv/(u + v) enters: with the eye's frequencies in the same proportion to the point image, the
/// best diameter goes with √z. A subject at ten times the film distance asks for 4.65 % less, one at the
/// film distance for 29.3 % less.
#[test]
fn the_best_diameter_goes_with_the_root_of_z() {
    let distant = target(&camera(1e6, f64::INFINITY, 0.004));
    for (subject, smaller) in [(1e7f64, 0.046_54), (1e6, 0.292_89)] {
        let stretch = (1.0 + 1e6 / subject).sqrt();
        let near = target(&camera(1e6, subject, 0.004 / stretch));
        let found = 1.0 - near.diameter_mm / distant.diameter_mm;
        // Both places on a flat top.
        assert!((found - smaller).abs() < 2e-3, "{subject}: {found}");
    }
}

/// The depth's ends lose what they say by the other route to the merit; the subject itself loses nothing.
#[test]
fn the_ends_lose_what_they_say() {
    let own = camera(100.0, 400.0, 0.4);
    let depth = Subject::of(&own, 0.35).depth;
    let merit = |camera: &Camera| closed_form(camera, 0.35);
    let loss = |subject| merit(&own) - merit(&camera(100.0, subject, 0.4));
    // Two routes whose merits differ by a hundredth of a jnd.
    assert!((loss(depth.nearest_mm) - DEPTH_JND).abs() < 0.03);
    assert!((loss(1e12) - depth.horizon_loss_jnd).abs() < 0.03);
    assert!(depth.nearest_mm < 400.0 && depth.horizon_loss < 0.0);
}
