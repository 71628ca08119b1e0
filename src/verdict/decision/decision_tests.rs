use super::*;

/// The rule on round holes: within 1 jnd and up to 3 on the wide side it is left, a smaller one widened, a wider one made
/// anew, at every place between.
#[test]
fn a_round_hole_is_judged_by_its_loss_and_its_side() {
    for i in 0..200 {
        let loss = 0.05 * f64::from(i);
        let small = Standing::of_disc(loss, true).action();
        let wide = Standing::of_disc(loss, false).action();
        assert_eq!(small, if loss < 1.0 { Action::Stop } else { Action::Enlarge }, "{loss}");
        assert_eq!(wide, if loss <= 3.0 { Action::Stop } else { Action::StartOver }, "{loss}");
    }
}

/// How bold an action is: what it may spoil.
fn boldness(action: Action) -> u8 {
    match action {
        Action::Stop => 0,
        Action::Measure => 1,
        Action::Clean => 2,
        Action::Deburr => 3,
        Action::Enlarge => 4,
        Action::Ream => 5,
        Action::StartOver => 6,
    }
}

/// More burr never asks for more than taking it off: widening and reaming are decided without it, and a wide hole is
/// given up for it only above 3 jnd, where taking it off does not bring it below.
#[test]
fn more_burr_makes_nothing_bolder_than_deburring() {
    for size in 0..12 {
        for is_small in [true, false] {
            let smooth = 0.3 * f64::from(size);
            let mut last = None;
            for burr in 0..40 {
                let burr = 0.1 * f64::from(burr);
                let standing = Standing {
                    now: smooth + burr,
                    removal: (burr > 0.0).then_some((Removal::Deburring, smooth + 0.02)),
                    within_reach: if is_small { 0.0 } else { smooth },
                    ..Standing::of_disc(smooth, is_small)
                };
                let found = boldness(standing.action());
                let is_lost = !is_small && smooth + burr > 3.0 && smooth + 0.02 > 3.0;
                let alone = boldness(Standing::of_disc(smooth, is_small).action()).max(3);
                let most = if is_lost { 6 } else { alone };
                // A hole only a hair above 1 jnd is stopped with no burr that shows, and widened with one: its size is
                // what asks for it.
                assert!(found <= most, "{smooth} {burr} {is_small}: {found} above {most}");
                if let Some(last) = last {
                    assert!(found >= last, "{smooth} {burr}: {found} after {last}");
                }
                last = Some(found);
            }
        }
    }
}

/// Deburring and cleaning are last, and from half a jnd on.
#[test]
fn burrs_come_off_last() {
    let burred = |smooth: f64, burr: f64, is_small: bool| {
        let removal = Some((Removal::Deburring, smooth));
        let within_reach = if is_small { 0.0 } else { smooth };
        Standing {
            now: smooth + burr,
            removal,
            within_reach,
            ..Standing::of_disc(smooth, is_small)
        }
        .action()
    };
    assert_eq!(burred(2.0, 2.0, true), Action::Enlarge);
    assert_eq!(burred(0.3, 2.0, true), Action::Deburr);
    assert_eq!(burred(0.8, 0.4, true), Action::Stop);
    // Too wide with a burr that costs: it comes off.
    assert_eq!(burred(2.0, 2.0, false), Action::Deburr);
    // No eye can tell, whatever could be gained.
    assert_eq!(burred(0.1, 0.8, true), Action::Stop);
}

/// A wide hole above 3 jnd is saved by what brings it below, and by nothing else.
#[test]
fn a_wide_hole_is_saved_where_work_brings_it_below_3() {
    let wide = |now: f64, after: f64| {
        let removal = Some((Removal::Deburring, after));
        Standing { removal, ..Standing::of_disc(now, false) }.action()
    };
    assert_eq!(wide(3.2, 2.9), Action::Deburr);
    assert_eq!(wide(2.9, 2.6), Action::Stop);
    assert_eq!(wide(4.5, 3.2), Action::StartOver);
    assert_eq!(wide(3.2, 3.4), Action::StartOver);
    for hundredths in 0..600 {
        let now = 0.01 * f64::from(hundredths);
        for after in [0.5 * now, now - 0.3, now + 0.2] {
            assert!(wide(now, after) != Action::Stop || now <= TOO_WIDE_JND, "{now} {after}");
        }
    }
}

/// Reaming where it saves; never where a new hole is the only help.
#[test]
fn a_crooked_hole_is_reamed_where_that_saves() {
    let oval = |now: f64, saves: f64, is_small: bool, within_reach: f64| {
        let reaming = Some(Reaming {
            saves_on_stopping: saves,
            saves_on_widening: saves,
            after: within_reach + 0.2,
        });
        Standing { reaming, within_reach, ..Standing::of_disc(now, is_small) }.action()
    };
    assert_eq!(oval(4.0, 2.0, true, 0.0), Action::Ream);
    assert_eq!(oval(2.0, 0.8, false, 0.5), Action::Ream);
    assert_eq!(oval(2.0, 0.3, false, 0.5), Action::Stop);
    assert_eq!(oval(3.3, 0.3, false, 2.5), Action::Ream);
    assert_eq!(oval(6.0, 2.0, false, 3.5), Action::StartOver);
    // A long slot cannot be made good by any work, though it is small.
    assert_eq!(oval(9.0, 2.0, true, 4.0), Action::StartOver);
}
