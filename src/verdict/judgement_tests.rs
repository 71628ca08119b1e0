use super::*;
use crate::geometry::shapes;

/// Its rings and islands are its form: nothing of it costs as a burr or a speck, and nothing takes it off.
#[test]
fn a_screen_has_neither_burrs_nor_specks() {
    let camera = Camera::demonstration().unwrap();
    let reference = Reference::of(&camera);
    let plate = shapes::zone_plate(0.3, 4).unwrap();
    let looked = Looked { means: Means::Screen, diameter_uncertainty_mm: 0.01, again: false };
    let found = verdict(&camera, &reference, &plate, looked, &Hand::unknown()).unwrap();
    assert_eq!((found.causes_jnd.burrs, found.causes_jnd.debris), (0.0, 0.0));
    let causes = found.causes_jnd.size + found.causes_jnd.form;
    assert!((causes - found.loss_jnd).abs() < 1e-9, "{found:?}");
    assert_eq!((found.deburring, found.costs_jnd.remove), (None, None));
    assert_eq!(found.counterfactuals_jnd.without_burrs, found.loss_jnd);
}

/// A wild hand aims at less than a hand can, and so at the least: the part of the way that is told is that of the aim.
#[test]
fn the_part_of_the_way_is_that_of_the_aim() {
    let camera = Camera::demonstration().unwrap();
    let reference = Reference::of(&camera);
    let hole = shapes::disc(0.84 * reference.target.diameter_mm).unwrap();
    let looked = Looked { means: Means::Count, diameter_uncertainty_mm: 0.0, again: false };
    let hand = Hand::known(0.5, 1.5, 0.04, 0.15);
    let found = verdict(&camera, &reference, &hole, looked, &hand).unwrap();
    let told = found.reasons.iter().find_map(|reason| match reason {
        Reason::Widen { part, .. } => Some(*part),
        _ => None,
    });
    let own_mm = hole.equivalent_diameter_mm();
    let way = (found.counterfactuals_jnd.widened_diameter_mm / own_mm).ln();
    let part = (found.next_pass.aim_mm / own_mm).ln() / way;
    assert!((told.unwrap() - part).abs() < 1e-3, "{told:?} {part}");
    assert!(part > 1.2 * hand.aim_share, "{part}");
}

/// A good size that is known only to a fifth may be a bad one: it is called good as far as it is known.
#[test]
fn a_doubtful_size_is_not_surely_good() {
    let camera = Camera::demonstration().unwrap();
    let reference = Reference::of(&camera);
    let mm = reference.target.diameter_mm;
    let hole = shapes::disc(mm).unwrap();
    for (known, expected) in [(0.005, true), (0.03, true), (0.2, false)] {
        let looked =
            Looked { means: Means::Size, diameter_uncertainty_mm: known * mm, again: false };
        let found = verdict(&camera, &reference, &hole, looked, &Hand::unknown()).unwrap();
        assert_eq!(found.action, Action::Stop);
        let told = found.reasons.iter().find_map(|reason| match reason {
            Reason::Done { surely, .. } => Some(*surely),
            _ => None,
        });
        assert_eq!(told, Some(expected), "{known}: {:?}", found.size_doubt);
    }
}

/// A hole is kept for another film distance where its size alone is at fault: a crooked one is no better there, and one
/// that is too small is widened or measured first.
#[test]
fn a_hole_is_kept_for_another_distance_by_its_size_alone() {
    let camera = Camera::demonstration().unwrap();
    let reference = Reference::of(&camera);
    let mm = reference.target.diameter_mm;
    let round = |size: f64| shapes::disc(size * mm).unwrap();
    let crooked = shapes::ellipse(1.8 * mm, 1.0 * mm).unwrap();
    for (hole, known, kept) in
        [(round(1.4), 0.003, true), (crooked, 0.003, false), (round(0.8), 0.25, false)]
    {
        let diameter_uncertainty_mm = known * hole.equivalent_diameter_mm();
        let looked = Looked { means: Means::Outline, diameter_uncertainty_mm, again: false };
        let found = verdict(&camera, &reference, &hole, looked, &Hand::unknown()).unwrap();
        let said = found.reasons.iter().any(|reason| matches!(reason, Reason::Suits { .. }));
        assert_eq!(said, kept, "{:?}: {:?}", found.action, found.reasons);
    }
}
