//! Chances and mean losses against drawing lots, and at their limits.

use super::*;
use crate::camera::Camera;
use crate::geometry::shapes;
use crate::hole::specimen::Random;
use crate::verdict::appraise::appraise;
use crate::verdict::target::{Target, target};

fn disc(size: f64) -> (Target, LossBySize) {
    let camera = Camera::demonstration().unwrap();
    let target = target(&camera);
    let disc = shapes::disc(size * target.diameter_mm).unwrap();
    let sizes = appraise(&camera, &target, &disc).unwrap().sizes;
    (target, sizes)
}

/// Over 400 000 lots: three standard errors of a chance are 0.0024, of a mean loss (whose own spread is
/// below 0.2) 0.001; the computed chances are right to 0.002.
#[test]
fn chances_are_those_of_drawn_lots() {
    const LOTS: usize = 400_000;
    let mut random = Random(5);
    for (size, relative, mean, deviation) in [
        (0.9, 0.03, 0.06, 0.04),
        (0.75, 0.07, 0.06, 0.04),
        (1.0, 0.0, 0.02, 0.05),
        (0.7, 0.1, 0.2, 0.3),
    ] {
        let (target, losses) = disc(size);
        let past = target.good_enough().high_mm / target.diameter_mm / size;
        let work = Work { after: &losses, growth: Spread { mean, deviation }, past };
        let each: Vec<(f64, f64)> = sizes(relative).collect();
        let found = Prospect::mean(
            each.iter().map(|(size, chance)| (*chance, work.prospect(*size, losses.at(*size)))),
        );
        let [mut loss, mut worse, mut past_band] = [0.0; 3];
        for _ in 0..LOTS {
            let own = 1.0 + relative * random.normal();
            let grown = own * (1.0 + (mean + deviation * random.normal()).max(0.0));
            loss += losses.at(grown) / LOTS as f64;
            worse += f64::from(u8::from(losses.at(grown) > losses.at(own) + 1e-6)) / LOTS as f64;
            past_band += f64::from(u8::from(grown > past)) / LOTS as f64;
        }
        println!("{size}: {found:?} against {loss:.4} {worse:.4} {past_band:.4}");
        assert!((found.expected_loss - loss).abs() < 1e-3, "{found:?} {loss}");
        assert!((found.chance_of_overshooting - worse).abs() < 4.4e-3, "{found:?} {worse}");
        assert!((found.chance_past_band - past_band).abs() < 4.4e-3, "{found:?} {past_band}");
    }
}

/// With nothing uncertain it is plain arithmetic.
#[test]
fn without_spread_it_is_arithmetic() {
    let (target, losses) = disc(0.9);
    let past = target.good_enough().high_mm / (0.9 * target.diameter_mm);
    let after = |mean| {
        let work = Work { after: &losses, growth: Spread { mean, deviation: 0.0 }, past };
        assert_eq!(sizes(0.0).collect::<Vec<_>>(), [(1.0, 1.0)]);
        work.prospect(1.0, losses.at(1.0))
    };
    let small = after(0.06);
    assert_eq!(small.expected_loss, losses.at(1.06));
    assert_eq!((small.chance_of_overshooting, small.chance_past_band), (0.0, 0.0));
    let wide = after(0.5);
    assert_eq!(wide.expected_loss, losses.at(1.5));
    assert_eq!((wide.chance_of_overshooting, wide.chance_past_band), (1.0, 1.0));
    // No growth is neither better nor worse.
    let none = after(0.0);
    assert_eq!((none.expected_loss, none.chance_of_overshooting), (losses.at(1.0), 0.0));
}

/// More growth is more likely past the band, and so is more spread from within it.
#[test]
fn chances_rise_with_growth_and_spread() {
    let (target, losses) = disc(0.9);
    let past = target.good_enough().high_mm / (0.9 * target.diameter_mm);
    let chance = |mean, deviation| {
        Work { after: &losses, growth: Spread { mean, deviation }, past }
            .prospect(1.0, losses.at(1.0))
            .chance_past_band
    };
    for pair in [0.0, 0.05, 0.1, 0.2, 0.3, 0.4].windows(2) {
        assert!(chance(pair[0], 0.1) < chance(pair[1], 0.1), "{pair:?}");
        // Five deviations and more away is nowhere.
        let spread = pair.iter().map(|deviation| chance(0.05, 0.1 + deviation));
        assert!(spread.is_sorted_by(|a, b| a < b), "{pair:?}");
    }
}

/// The places of a normal have its chances, mean and deviation: the midpoint rule is right to rounding
/// but for the tails beyond five deviations, 6e-7.
#[test]
fn places_have_the_moments_of_the_normal() {
    let moments = |count| {
        Spread { mean: 0.3, deviation: 0.04 }
            .places(count)
            .fold([0.0; 3], |sum, (x, w)| [sum[0] + w, sum[1] + w * x, sum[2] + w * x * x])
    };
    for count in [SIZES, GROWTHS] {
        let [all, first, second] = moments(count);
        assert!((all - 1.0).abs() < 1e-6 && (first - 0.3).abs() < 1e-6, "{count}: {all} {first}");
        assert!((second - first * first - 0.0016).abs() < 1e-6, "{count}: {second}");
    }
}
