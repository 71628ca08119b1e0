use super::*;

/// Losses in the likeness of a disc's: 1 jnd at 14 % on either side, 3 at 25 %.
fn disc() -> Losses {
    Losses::of_disc(|x| 55.0 * x * x)
}

/// A hand that hits what it aims at, leaves no burrs and is free would end at the best size: then a hole costs what its
/// passes cost.
#[test]
fn a_sure_hand_needs_one_pass() {
    let sure = Hand::known(0.0, 1e-6, 0.0, 0.0);
    let plan = Plan::solve(&disc(), &sure);
    // From 0.2 below the best: one pass of 0.18 or 0.22, and the loss of 0.02 beside it.
    let costs = plan.costs(-0.2);
    assert!((costs.enlarge - PASS_JND - 55.0 * 0.02 * 0.02).abs() < 0.01, "{costs:?}");
    assert!((costs.stop - 2.2).abs() < 1e-9);
    // Nothing helps a hole that is too wide but a new one.
    let wide = plan.costs(0.3);
    assert!(wide.start_over < wide.stop && wide.start_over < wide.enlarge, "{wide:?}");
}

/// The price of a new hole is its making, its passes and what is lost in the end: by the sheet on decisions 2.9 to 3.2
/// with the loss of a disc at κ = 0.1, found 0.1 to 0.3 low with so few places.
#[test]
fn a_new_hole_costs_about_three() {
    let hand = Hand::known(0.0, 0.65, 0.04, 0.15);
    let price = Plan::solve(&disc(), &hand).new_hole_jnd();
    assert!((2.5..3.3).contains(&price), "{price}");
    // Edges of the best band: stop from 0.4 to 0.7 jnd on, start over from about 3 jnd.
    let plan = Plan::solve(&disc(), &hand);
    let stops = |x: f64| matches!(plan.best_on_disc(x, 0), Best::Stop);
    assert!(stops(-0.08) && !stops(-0.12), "{:?}", plan.costs(-0.1));
    assert!(stops(0.2) && matches!(plan.best_on_disc(0.26, 0), Best::StartOver));
}

/// More spread asks for a smaller part of the gap.
#[test]
fn a_wilder_hand_aims_at_less() {
    let aim =
        |spread: f64| Plan::solve(&disc(), &Hand::known(0.0, spread, 0.04, 0.15)).costs(-0.35).aim;
    assert!(
        aim(0.3) > aim(0.65) && aim(0.65) >= aim(0.9),
        "{} {} {}",
        aim(0.3),
        aim(0.65),
        aim(0.9)
    );
    // By the sheet at 0.7 of the best size and 0.65: 17 % is best, 10 to 21 % cost little more.
    assert!((0.1..=0.21).contains(&aim(0.65)), "{}", aim(0.65));
}

/// Reaming pays where the form costs, and not on a disc.
#[test]
fn a_crooked_hole_is_reamed() {
    let round = |x: f64| 55.0 * x * x;
    let oval = |x: f64| round(x) + 4.0;
    let hand = Hand::unknown();
    let crooked = Plan::solve(&Losses::of(oval, oval, round, 0.2, None), &hand);
    let costs = crooked.costs(-0.3);
    assert!(costs.ream < costs.enlarge && costs.ream < costs.stop, "{costs:?}");
    assert_eq!(Plan::solve(&disc(), &hand).costs(-0.3).ream, f64::INFINITY);
}

/// Debris is blown out for next to nothing; a burr comes off at the price of its work.
#[test]
fn what_stands_in_the_way_is_taken_off() {
    let round = |x: f64| 55.0 * x * x;
    let spoilt = |x: f64| round(x) + 1.5;
    for (removal, price) in [(Removal::Cleaning, CLEANING_JND), (Removal::Deburring, DEBURRING_JND)]
    {
        let plan =
            Plan::solve(&Losses::of(spoilt, round, round, 0.0, Some(removal)), &Hand::unknown());
        let costs = plan.costs(-0.02);
        assert!((costs.remove - price).abs() < 0.06 && costs.stop > 1.4, "{costs:?}");
    }
}
